"""Changes of state, as plain lines: a camera turned, a panel complete, a gap closed."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from planner.frames.review.match import VERDICT_WORDS
from planner.frames.review.reading import ReadFrame
from planner.frames.review.review import FrameResult
from planner.frames.review.standing import Standing

__all__ = ["Look", "WatchState", "look_lines", "summary", "told_changes"]

ANY = ""
"""Stands for frames of any filter, and for a panel of a plan without filters."""
MOST_LINES = 12
"""More lines than so many at once are put together."""


@dataclass(frozen=True)
class Look:
    """What one look at the folder gave.

    Parameters
    ----------
    results : tuple of FrameResult
        Frames read now, as judged; those of the index are not told again.
    news : tuple of str
        Changes of state, one plain line each.
    changed : bool
        Whether the review is another one than before.
    waiting : int
        Frames that are still being written.
    left : int
        Frames that were not read yet for want of time.
    flats : tuple of ReadFrame
        Flats read now.
    """

    results: tuple[FrameResult, ...] = ()
    news: tuple[str, ...] = ()
    changed: bool = False
    waiting: int = 0
    left: int = 0
    flats: tuple[ReadFrame, ...] = ()


@dataclass(frozen=True)
class WatchState:
    """What a change is told of.

    Parameters
    ----------
    turned : mapping of str to str
        Name of an instrument (empty where the mosaic has one alone) to how its camera is turned, in words, by the
        latest frame that tells; empty where it stands as planned.
    complete : frozenset of (str, str)
        Panels and filters.
    covered : frozenset of str
        Filters whose good frames cover the region; an empty name stands for frames of any.
    """

    turned: Mapping[str, str] = field(default_factory=dict)
    complete: frozenset[tuple[str, str]] = frozenset()
    covered: frozenset[str] = frozenset()

    @classmethod
    def of(cls, standing: Standing, turned: Mapping[str, str]) -> WatchState:
        """State of frames as they stand."""
        complete = frozenset((panel, name or ANY) for panel, name in standing.complete)
        return cls(dict(turned), complete, frozenset(name or ANY for name in standing.covered))

    @classmethod
    def from_document(cls, document: dict[str, Any]) -> WatchState | None:
        """State that was kept; None where it makes no sense."""
        try:
            complete = frozenset((str(panel), str(name)) for panel, name in document["complete"])
            turned = {str(whose): str(words) for whose, words in document["turned"].items()}
            return cls(turned, complete, frozenset(map(str, document["covered"])))
        except (AttributeError, KeyError, TypeError, ValueError):
            return None

    def document(self) -> dict[str, Any]:
        """Return the state as it is kept."""
        complete = [list(one) for one in sorted(self.complete)]
        return {"turned": dict(self.turned), "complete": complete, "covered": sorted(self.covered)}


def told_changes(before: WatchState, after: WatchState, standing: Standing) -> list[str]:
    """Say in plain lines what has changed from one state to another.

    Parameters
    ----------
    before, after : WatchState
    standing : Standing
        Of the state after.
    """
    panels = [*_panel_lines(before, after, standing)]
    if len(panels) > MOST_LINES:
        done = f"{len(standing.complete_panels)} of {len(standing.panels)}"
        panels = [f"many panels have changed: {done} panels are complete now"]
    return [*_camera_lines(before, after), *panels, *_gap_lines(before, after, standing)]


def _camera_lines(before: WatchState, after: WatchState) -> Iterator[str]:
    for whose in dict.fromkeys((*before.turned, *after.turned)):
        was, now = before.turned.get(whose, ""), after.turned.get(whose, "")
        camera = f"the camera of {whose}" if whose else "the camera"
        if now and not was:
            yield f"{camera} is turned: {now}"
        elif was and not now:
            yield f"{camera} stands as planned again"


def _panel_lines(before: WatchState, after: WatchState, standing: Standing) -> Iterator[str]:
    names: dict[str, list[str]] = {}
    for panel, name in standing.wanted:
        names.setdefault(panel, []).append(name or ANY)
    was_all = is_all = True
    for panel, filters in names.items():
        new = [one for one in filters if (panel, one) in after.complete - before.complete]
        lost = [one for one in filters if (panel, one) in before.complete - after.complete]
        whole = all((panel, one) in after.complete for one in filters)
        was_all = was_all and all((panel, one) in before.complete for one in filters)
        is_all = is_all and whole
        if new:
            yield f"panel {panel} is complete" + ("" if whole else _in(new))
        if lost:
            yield f"panel {panel} is no longer complete{_in(lost)}"
    if is_all and not was_all:
        yield "the mosaic is complete: all exposures wanted are there"


def _in(filters: list[str]) -> str:
    named = [one for one in filters if one != ANY]
    return f" in {', '.join(named)}" if named else ""


def _gap_lines(before: WatchState, after: WatchState, standing: Standing) -> Iterator[str]:
    for name, area in standing.gap_deg2.items():
        if name is not None and len(standing.gap_deg2) == 2:
            continue  # the only filter: told of frames of any already
        key, of_filter = name or ANY, f"{name} frames" if name else "frames"
        if key in after.covered - before.covered:
            yield f"a gap is closed: good {of_filter} cover the whole region"
        elif key in before.covered - after.covered:
            yield f"a gap is open: good {of_filter} leave {area:.4g} square degrees of the region uncovered"


def look_lines(look: Look, folder: Path) -> list[str]:
    """Frames judged and flats found by a look, a line each.

    Parameters
    ----------
    look : Look
    folder : Path
        File names are told relative to it.
    """
    frames = [_frame_line(one, folder) for one in look.results]
    return frames + [_flat_line(one, folder) for one in look.flats]


def _frame_line(result: FrameResult, folder: Path) -> str:
    name = result.path.relative_to(folder).as_posix()
    words = VERDICT_WORDS[result.verdict]
    return _joined(name, words, result.label or result.instrument or "-", result.filter or "-", result.reason)


def _flat_line(flat: ReadFrame, folder: Path) -> str:
    angle = "" if flat.angle_deg is None else f"position angle {flat.angle_deg:.2f}"
    return _joined(flat.path.relative_to(folder).as_posix(), "flat", "-", flat.filter or "-", angle)


def _joined(*parts: str) -> str:
    return "  ".join(part for part in parts if part)


def summary(standing: Standing, *, waiting: int = 0, left: int = 0) -> str:
    """Where everything stands, in one line.

    Parameters
    ----------
    standing : Standing
    waiting : int
        Frames that are still being written.
    left : int
        Frames not read yet.
    """
    told = {str(name): count for name, count in standing.verdicts.items()}
    counts = ", ".join(f"{told[name]} {words}" for name, words in VERDICT_WORDS.items() if told.get(name))
    parts = [
        f"{standing.frames} frame{'' if standing.frames == 1 else 's'}" + (f" ({counts})" if counts else ""),
        f"{len(standing.complete_panels)} of {len(standing.panels)} panels complete",
        "region covered"
        if not standing.gap_deg2[None]
        else f"{standing.gap_deg2[None]:.3g} square degrees open",
    ]
    if standing.made_up:
        parts.append(f"{standing.made_up} made up, to practise with")
    parts += [f"{waiting} still being written"] * bool(waiting) + [f"{left} to be read"] * bool(left)
    return "; ".join(parts)
