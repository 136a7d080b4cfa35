"""Plan files of a mosaic that several instruments share, read into a request for each of them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from planner.errors import InputError, nearest_names
from planner.files.text_file import parse_toml, read_text
from planner.night.settings import Filter
from planner.request.panels import PanelRequest
from planner.request.request import MOUNT_KEYS, MosaicRequest, Request, Setup
from planner.request.settled import SettledRequest
from planner.request.shared import Instrument, SetupFile, SharedRequest

from .faults import Faults, PlanFileError
from .named_file import refuse_missing
from .other_kind import PLAN, SHARED
from .read import default_title, read_setup_file, request_from_text, tables_of, values_of
from .typed_table import Where, read_table, shown

__all__ = [
    "one_request_from_text",
    "read_shared_file",
    "request_of",
    "shared_from_text",
    "shares_mosaic",
    "sharing_from_text",
]

OWN = ("setup", "camera", "angle_device", "mount", "site")
"""What belongs to the instruments, so that it stands in their setup files."""
ONE_LAYOUT = {"panels": "[[panels]]", "settled": "[settled]"}
"""Tables that keep the panels of one layout."""
LAYOUT, SETTLED = "own_panels", "settled"
"""The layout of an instrument, where the plan file keeps it, and what belongs to it."""


def shares_mosaic(path: str | Path) -> bool:
    """Whether a plan file names several instruments; False for what cannot be read, which its reader will tell."""
    try:
        return SHARED in parse_toml(read_text(Path(path), PLAN), Path(path), PLAN)
    except InputError:
        return False


def read_shared_file(path: str | Path) -> SharedRequest:
    """Read a plan file with ``[[setup_files]]``, and the setup files that it names.

    Raises
    ------
    FileError
        If a file cannot be read or has faults; the sentence names table and key.
    """
    path = Path(path)
    return shared_from_text(read_text(path, PLAN), path=path)


def shared_from_text(text: str, *, path: Path | None = None) -> SharedRequest:
    """Read the text of a plan file with ``[[setup_files]]``; parameters and errors as for `request_from_text`."""
    document, faults = parse_toml(text, path, PLAN), Faults(path)
    for name in OWN:
        if name in document:
            faults.add(
                name if name == "setup" else f"[{name}]",
                "and [[setup_files]] exclude each other; it belongs in the setup files of the instruments",
            )
    for name, place in ONE_LAYOUT.items():
        if name in document:
            faults.add(
                place,
                "is for one instrument; where [[setup_files]] share the mosaic, each of them has its own_panels",
            )
    faults.stop()
    values = tables_of(document, ("title", SHARED), path, faults)
    asked = _setup_files(document[SHARED], path, faults)
    if "region" not in values:
        faults.add("[region]", f"is missing; a {PLAN} needs it")
    faults.stop()
    values.setdefault("title", default_title(values["region"], path))
    instruments = _instruments(asked, values, faults)
    try:
        return SharedRequest(values["title"], instruments, path)
    except InputError as error:
        faults.add_error("", error)
    raise PlanFileError(tuple(faults.found), path)


def one_request_from_text(text: str, *, path: Path | None = None) -> Request:
    """Read a plan file as a request of one instrument: of several that of the finest, which has the picture's scale.

    Parameters and errors as for `request_from_text`.
    """
    shared = sharing_from_text(text, path=path)
    return request_from_text(text, path=path) if shared is None else request_of(shared, shared.finest)


def sharing_from_text(text: str, *, path: Path | None = None) -> SharedRequest | None:
    """Read a plan file if several instruments share it; None of a plan of one.

    Parameters and errors as for `request_from_text`.
    """
    if SHARED not in text or SHARED not in parse_toml(text, path, PLAN):
        return None
    return shared_from_text(text, path=path)


def request_of(shared: SharedRequest, one: Instrument) -> Request:
    """Return the request of an instrument under the title of the whole, as if the plan file were its own."""
    return replace(one.request, title=shared.title, path=shared.path)


def _setup_files(tables: object, path: Path | None, faults: Faults) -> list[SetupFile]:
    if not isinstance(tables, list):
        faults.add(
            f"[[{SHARED}]]", f"must be a list of tables, got {shown(tables)}; write [[{SHARED}]] above each"
        )
        return []
    folder = path.parent if path else Path()
    found = [
        read_table(
            SetupFile, _with_layout(table, number, folder, faults), Where(_place(number), folder, faults)
        )
        for number, table in enumerate(tables, start=1)
    ]
    read = [one for one in found if one is not None]
    for number, one in enumerate(found, start=1):
        if one is not None:
            refuse_missing(f"{_place(number)} file", one.file.name, one.file, faults)
    twice = [
        one.file for number, one in enumerate(read) if one.file in [other.file for other in read[:number]]
    ]
    if twice:
        faults.add(
            f"[[{SHARED}]] file", f"{twice[0]} stands twice; name each instrument once, with all it takes"
        )
    return read


def _place(number: int) -> str:
    return f"[[{SHARED}]] {number}"


def _with_layout(table: object, number: int, folder: Path, faults: Faults) -> object:
    """Return the table with the tables inside it read: the layout that the plan file keeps of an instrument."""
    if not isinstance(table, Mapping):
        return table
    read: dict[str, Any] = {}
    if LAYOUT in table:
        listed = table[LAYOUT]
        if not isinstance(listed, list):
            faults.add(
                f"{_place(number)} {LAYOUT}",
                f"must be a list of tables, got {shown(listed)}; write [[{SHARED}.{LAYOUT}]] above each",
            )
            listed = []
        places = (Where(f"{_place(number)} {LAYOUT} {k}", folder, faults) for k in range(1, len(listed) + 1))
        panels = [read_table(PanelRequest, one, place) for one, place in zip(listed, places, strict=True)]
        read[LAYOUT] = tuple(one for one in panels if one is not None)
    if SETTLED in table:
        settled = read_table(
            SettledRequest, table[SETTLED], Where(f"{_place(number)} {SETTLED}", folder, faults)
        )
        read[SETTLED] = settled if len(read.get(LAYOUT, ())) == len(table.get(LAYOUT, ())) else None
    return {**table, **read}


def _instruments(
    asked: Sequence[SetupFile], values: Mapping[str, Any], faults: Faults
) -> tuple[Instrument, ...]:
    setups = [read_setup_file(one.file) for one in asked]
    names = _names(setups)
    found = []
    for number, (one, setup, name) in enumerate(zip(asked, setups, names, strict=True), start=1):
        try:
            found.append(Instrument(name, _request(one, setup, name, values), one.panels))
        except InputError as error:
            faults.add(f"[[{SHARED}]] {number}", f"({name}): {error}")
    given = [one.name for one in values.get("filters", ())]
    taken = {name for one in found for name in one.filters}
    left = [name for name in given if name not in taken]
    if left and not faults.found:
        faults.add(
            f"[[{SHARED}]] filters",
            f"leave {left} of the plan's filters to nobody{_doubles(found)}; add them to one instrument",
        )
    faults.stop()
    return tuple(found)


def _names(setups: Sequence[Setup]) -> list[str]:
    """Titles, or names of files; with the file's name beside it where two are alike."""
    stems = [setup.path.stem if setup.path else "instrument" for setup in setups]
    plain = [setup.title or stem for setup, stem in zip(setups, stems, strict=True)]
    return [
        f"{name} ({stem})" if plain.count(name) > 1 else name for name, stem in zip(plain, stems, strict=True)
    ]


def _doubles(instruments: Sequence[Instrument]) -> str:
    """Tell which filters several instruments name."""
    of: dict[str, list[str]] = {}
    for one in instruments:
        for name in one.filters:
            of.setdefault(name, []).append(one.name)
    told = [f"{name!r} to {' and '.join(names)}" for name, names in of.items() if len(names) > 1]
    return f", but {', '.join(told)}" if told else ""


def _request(asked: SetupFile, setup: Setup, name: str, values: Mapping[str, Any]) -> Request:
    """The plan's wishes asked of one instrument: its own tables serve where the plan file has none of that name."""
    if setup.camera is None:
        raise InputError(f"{asked.file} has no [camera] table; add one")
    merged = {**values_of(setup), **values}
    if setup.mosaic is not None and "mosaic" in values:
        merged["mosaic"] = _with_errors(values["mosaic"], setup.mosaic)
    if asked.position_angle_deg is not None:
        wished = merged.get("mosaic", MosaicRequest())
        angle_deg = asked.position_angle_deg
        merged["mosaic"] = replace(wished, position_angle_deg=angle_deg, position_angle_range_deg=None)
    merged["filters"] = _filters(asked, merged.get("filters", ()))
    kept = {"panels": asked.own_panels, "settled": asked.settled}
    title = f"{values['title']}, {name}"
    return Request(**{**merged, **kept, "title": title}, setup_path=asked.file, shares=True)


def _with_errors(wished: MosaicRequest, theirs: MosaicRequest) -> MosaicRequest:
    """What is wanted of the mosaic, with the errors of the mount, which belong to the instrument."""
    return replace(wished, **{key: getattr(theirs, key) for key in MOUNT_KEYS})


def _filters(asked: SetupFile, there: Sequence[Filter]) -> tuple[Filter, ...]:
    if asked.filters is None:
        return tuple(there)
    names = [one.name for one in there]
    for name in asked.filters:
        if name not in names:
            hint = nearest_names(name, names) or f"; name one of {names}"
            raise InputError(f"its filters name {name!r}, which [[filters]] does not have{hint}")
    return tuple(one for one in there if one.name in asked.filters)
