"""Season files (TOML): plans of one instrument, those among them that it shares with others."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from planner.errors import InputError
from planner.files.text_file import parse_toml, read_text
from planner.request.request import Request, SeasonRequest
from planner.request.shared import SharedRequest

from .faults import Faults, PlanFileError
from .named_file import refuse_missing
from .other_kind import SEASON, refuse_other_kind
from .read import check_names, read_plan_file, text_of
from .shared import read_shared_file, shares_mosaic
from .typed_table import shown

__all__ = ["read_season_file"]


def read_season_file(path: str | Path) -> SeasonRequest:
    """Read a season file and the plan files that it names, relative to itself.

    Of a plan that several instruments share it takes the part of the one whose setup file is that of the season.

    Raises
    ------
    FileError
        If a file cannot be read or has faults, or the plans cannot share one season.
    """
    path = Path(path)
    document = parse_toml(read_text(path, SEASON), path, SEASON)
    faults = Faults(path)
    refuse_other_kind(document, SEASON, faults)
    check_names(document, ("title", "plans", "setup", "turns_allowed"), faults)
    title = text_of(document, "title", path.stem, faults)
    names = _plan_names(document.get("plans"), faults)
    setup = _setup(document, path, faults)
    turns = document.get("turns_allowed", 0)
    if isinstance(turns, bool) or not isinstance(turns, int):
        faults.add("turns_allowed", f"must be a whole number, got {shown(turns)}")
    faults.stop()
    files = [path.parent / name for name in names]
    for name, file in zip(names, files, strict=True):
        refuse_missing("plans", name, file, faults)
    faults.stop()
    plans = [read_shared_file(file) if shares_mosaic(file) else read_plan_file(file) for file in files]
    try:
        return SeasonRequest(title, tuple(_requests(plans, setup)), turns, setup)
    except InputError as error:
        faults.add_error("", error)
    raise PlanFileError(tuple(faults.found), path)


def _plan_names(names: object, faults: Faults) -> list[str]:
    if not isinstance(names, list) or not names or not all(isinstance(name, str) and name for name in names):
        faults.add(
            "plans",
            f"must be a list of plan files, got {'nothing' if names is None else shown(names)}; "
            "name them as in plans = [\"a.toml\", \"b.toml\"]",
        )
        return []
    twice = {name for name in names if names.count(name) > 1}
    if twice:
        faults.add("plans", f"name {sorted(twice)[0]!r} twice; name each plan once")
    return names


def _setup(document: Mapping[str, Any], path: Path, faults: Faults) -> Path | None:
    name = document.get("setup")
    if name is None or (isinstance(name, str) and name):
        return path.parent / name if name else None
    faults.add("setup", f"must be a file name, got {shown(name)}; name a setup file or leave it out")
    return None


def _requests(plans: Iterable[Request | SharedRequest], setup: Path | None) -> list[Request]:
    """Requests of the plans; of those that are shared the part of the season's instrument."""
    plans = list(plans)
    own = [one for one in plans if isinstance(one, Request)]
    shared = [one for one in plans if isinstance(one, SharedRequest)]
    if not shared:
        if setup is not None:
            raise InputError(
                "setup says which instrument a season is about where plans are shared, but none of these is; "
                "leave it out"
            )
        return own
    wanted = setup or _only_setup(own, shared[0])
    return [one if isinstance(one, Request) else _part(one, wanted) for one in plans]


def _only_setup(own: Iterable[Request], shared: SharedRequest) -> Path:
    """The setup file of the plans that are not shared."""
    found = {one.setup_path.resolve(): one.setup_path for one in own if one.setup_path is not None}
    if len(found) != 1:
        names = " and ".join(one.name for one in shared.instruments)
        raise InputError(
            f"the plan {shared.title!r} is shared by {names}; name the setup file of the instrument that the season "
            "is about: setup = FILE"
        )
    return next(iter(found.values()))


def _part(shared: SharedRequest, setup: Path) -> Request:
    """What a shared plan asks of the season's instrument."""
    for one in shared.instruments:
        path = one.request.setup_path
        if path is not None and path.resolve() == setup.resolve():
            if one.panels is not None:
                raise InputError(
                    f"a season lays out whole regions, but {one.name} takes only the panels "
                    f"{list(one.panels)[:4]} of {shared.title!r}; leave that plan out of the season"
                )
            return replace(one.request, path=shared.path)
    there = ", ".join(one.request.setup_path.name for one in shared.instruments if one.request.setup_path)
    raise InputError(
        f"none of the instruments of {shared.title!r} has the season's setup file {setup.name}, they have {there}; "
        "leave that plan out of the season"
    )
