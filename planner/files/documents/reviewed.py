"""review.json read back: what is done already of a plan and when, and which of its panels have good frames."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from planner.errors import FileError, nearest_names
from planner.files.text_file import read_bytes
from planner.frames.review.shots import ShotLog, Shots, begun_s
from planner.night.settings import Filter
from planner.request.panels import listed_panels
from planner.request.settled import panels_mark
from planner.words import counted

from .review import SCHEMA

if TYPE_CHECKING:
    from planner.answers.plan import Plan
    from planner.request.request import Request

__all__ = ["Good", "Reviewed", "Shot", "made_up_words", "read_good", "read_shot"]

LARGEST_BYTES = 200_000_000
"""Of a review.json: some 600,000 frames."""
MOST_SECONDS = 1e10
CURE = "give the review.json that the review wrote"

Good = dict[str, dict[str, int]]
"""Good exposures by the panel's name and the plan's filter; panels with good frames of other filters have none."""


class Reviewed(NamedTuple):
    """What a review says of panels.

    Parameters
    ----------
    good : dict
        Good exposures by panel and filter.
    made_up : int
        Frames that a rehearsal made up.
    """

    good: Good
    made_up: int


@dataclass(frozen=True)
class _Row:
    """Good exposures of a panel through a filter; 0 seconds where the review does not tell."""

    panel: str
    filter: str
    exposures: int
    seconds: float
    wanted: int = 0

    def count(self, lengths_s: Mapping[str, float]) -> int:
        """Exposures of the plan's length that they are worth."""
        return int(self.seconds / lengths_s[self.filter] + 1e-6) if self.seconds else self.exposures


@dataclass(frozen=True)
class Shot:
    """What a review tells of a plan.

    Parameters
    ----------
    done : dict
        (panel, filter) to good exposures that need not be shot again.
    shots : Shots
        When its frames were exposed; as the review had them.
    """

    done: dict[tuple[str, str], int]
    shots: Shots


def read_shot(
    path: Path, plan: Plan, *, instrument: str | None = None, instruments: Sequence[str] = ()
) -> Shot:
    """Read from review.json what is done of a plan, and when its frames were exposed.

    Seconds count, as they do in a review: frames longer or shorter than planned, and stacks of frames, make up
    for as many of the plan's exposures as their seconds fill. Filters that the plan does not have are left out.

    Parameters
    ----------
    path : Path
    plan : Plan
    instrument : str, optional
        Where several share the mosaic: whose rows are read, the plan being its own.
    instruments : sequence of str
        Names of all that share it.

    Raises
    ------
    FileError
        If the file cannot be read, is no review, or names a panel or an instrument that the plan does not have.
    """
    lengths_s = _lengths_s(plan.request.filters)
    done: dict[tuple[str, str], int] = {}
    document = _document(path)
    if instrument is not None:
        document = _part_of(path, document, instrument, instruments)
    else:
        _refuse_another_mosaic(path, document, plan)
    names = [panel.name for panel in plan.mosaic.panels]
    again = _again(document)
    for row in _rows(path, document, names):
        if row.filter in lengths_s:
            key = row.panel, row.filter
            left = done.get(key, 0) + row.count(lengths_s)
            done[key] = min(left, row.wanted - again[key]) if key in again and row.wanted else left
    return Shot(done, _shots(path, document, names, lengths_s))


def _refuse_another_mosaic(path: Path, document: Mapping[str, Any], plan: Plan) -> None:
    """Refuse a review of other panels under another title; those of one title may have grown since."""
    reviewed = document.get("plan")
    if not isinstance(reviewed, Mapping) or "title" not in reviewed:
        return
    title, own = str(reviewed["title"]), plan.request.title
    if title != own and reviewed.get("panels") != panels_mark(plan.mosaic.panels):
        raise _of_other_panels(path, title, own)


def _of_other_panels(path: Path, title: Any, own: str) -> FileError:
    return FileError(
        f"{path} is the review of other panels ({str(title)[:80]!r}) than those of {own!r}; "
        "review the frames against this plan file"
    )


def _again(document: Mapping[str, Any]) -> dict[tuple[str, str], int]:
    """Exposures to shoot again: more than those missing where good frames leave a gap."""
    rows = document.get("reshoot", [])
    return {
        (row["panel"], row["filter"]): row["exposures"]
        for row in (rows if isinstance(rows, list) else [])
        if isinstance(row, Mapping)
        and isinstance(row.get("exposures"), int)
        and isinstance(row.get("panel"), str)
        and isinstance(row.get("filter"), str)
    }


def _shots(
    path: Path, document: Mapping[str, Any], names: Sequence[str], lengths_s: Mapping[str, float]
) -> Shots:
    """When frames were exposed; those that could not be read and those from elsewhere are left out."""
    log, places = ShotLog(), {name: number for number, name in enumerate(names)}
    frames = document.get("frames", [])
    for number, row in enumerate(frames if isinstance(frames, list) else [None], start=1):
        if not isinstance(row, Mapping):
            raise FileError(f"{path}: entry {number} of frames must be a table, got {row!r}; {CURE}")
        if row.get("verdict") == "unreadable" or row.get("elsewhere"):
            log.elsewhere += bool(row.get("elsewhere"))
            continue
        chosen, start, seconds = row.get("filter"), row.get("start"), row.get("exposure_s")
        usual = lengths_s.get(str(chosen), 0.0)
        log.add(
            start if isinstance(start, str) and begun_s(start) is not None else None,
            float(seconds) if isinstance(seconds, int | float) else usual,
            panel=places.get(str(row.get("panel"))),
            filter_name=None if chosen is None else str(chosen),
            solved=row.get("verdict") != "unsolved",
        )
    return log.shots()


def _part_of(
    path: Path, document: Mapping[str, Any], instrument: str, instruments: Sequence[str]
) -> dict[str, Any]:
    """Return the document with the rows of one instrument only."""
    for row in document["panels"]:
        name = row.get("instrument") if isinstance(row, Mapping) else None
        if name not in instruments:
            named = "no instrument" if name is None else f"the instrument {name!r}"
            raise FileError(
                f"{path} names {named}, but those that share the mosaic are {', '.join(instruments)}; "
                "review this plan"
            )
    own = {
        key: [row for row in rows if isinstance(row, Mapping) and row.get("instrument") == instrument]
        for key in ("panels", "frames", "reshoot")
        if isinstance(rows := document.get(key), list)
    }
    return {**document, **own}


def read_good(path: Path, request: Request) -> Reviewed:
    """Read which of the panels that a plan file lists have good frames, and how many of each filter.

    Parameters
    ----------
    path : Path
        Of a review.json.
    request : Request
        With panels.

    Raises
    ------
    FileError
        If the file cannot be read, is no review, or is the review of another plan.
    """
    document, lengths_s = _document(path), _lengths_s(request.filters)
    reviewed = document.get("plan")
    mark = reviewed.get("panels") if isinstance(reviewed, Mapping) else None
    rows = list(_rows(path, document, [one.name for one in request.panels]))
    if mark is not None and mark != panels_mark(listed_panels(request.panels)):
        title = reviewed.get("title") if isinstance(reviewed, Mapping) else None
        raise _of_other_panels(path, title, request.title)
    good: Good = {}
    for row in rows:
        if row.exposures:
            counts = good.setdefault(row.panel, {})
            if row.filter in lengths_s:
                counts[row.filter] = counts.get(row.filter, 0) + row.count(lengths_s)
    return Reviewed(good, _made_up(document))


def made_up_words(path: Path) -> str | None:
    """Say how many frames of a review a rehearsal made up; None where all are real.

    Parameters
    ----------
    path : Path
        Of a review.json.

    Raises
    ------
    FileError
        If the file cannot be read, or is no review.
    """
    count = _made_up(_document(path))
    if not count:
        return None
    return f"{path.name} counts {counted(count, 'frame')} made up, to practise with: shoot nothing by what is left"


def _made_up(document: Mapping[str, Any]) -> int:
    """Count the frames that a rehearsal made up, as far as the review tells it."""
    count = document.get("made_up", 0)
    return count if isinstance(count, int) and count > 0 else 0


def _lengths_s(filters: Sequence[Filter]) -> dict[str, float]:
    return {one.name: one.exposure_s for one in filters}


def _document(path: Path) -> Mapping[str, Any]:
    content = read_bytes(path, "review.json", LARGEST_BYTES)
    try:
        document = json.loads(content)
    except (ValueError, RecursionError) as error:
        raise FileError(
            f"{path} is cut off or no JSON; write it anew with `review PLAN FRAMES --out FOLDER`"
        ) from error
    if not isinstance(document, Mapping) or document.get("schema") != SCHEMA:
        got = document.get("schema") if isinstance(document, Mapping) else type(document).__name__
        raise FileError(f"{path} must have the schema {SCHEMA!r}, got {got!r}; give a review.json")
    if not isinstance(document.get("panels"), list):
        raise FileError(f"{path} has no list of panels; {CURE}")
    return document


def _rows(path: Path, document: Mapping[str, Any], panels: Sequence[str]) -> list[_Row]:
    rows = [_row(path, number, row) for number, row in enumerate(document["panels"], start=1)]
    for row in rows:
        if row.panel not in panels:
            hint = nearest_names(row.panel, panels)
            raise FileError(f"{path} names panel {row.panel!r}, not one of the plan{hint}; review this plan")
    return rows


def _row(path: Path, number: int, row: Any) -> _Row:
    if not isinstance(row, Mapping):
        raise FileError(f"{path}: entry {number} of panels must be a table, got {row!r}")
    panel, chosen, count = row.get("name"), row.get("filter", ""), row.get("exposures", 0)
    place = f"{path}: entry {number} of panels"
    if not isinstance(panel, str) or not isinstance(chosen, str):
        raise FileError(f"{place} wants name and filter as text, got {panel!r} and {chosen!r}")
    if isinstance(count, bool) or not isinstance(count, int) or not 0 <= count <= 1_000_000:
        raise FileError(f"{place} wants exposures as a whole number, got {count!r}")
    seconds = row.get("seconds", 0.0)
    if isinstance(seconds, bool) or not isinstance(seconds, int | float) or not 0 <= seconds <= MOST_SECONDS:
        raise FileError(f"{place} wants seconds as a number in [0, {MOST_SECONDS:g}], got {seconds!r}")
    wanted = row.get("wanted", 0)
    return _Row(panel, chosen, count, float(seconds), wanted if isinstance(wanted, int) else 0)
