"""review.json: the review as one document, written frame by frame: a million frames need little memory."""

from __future__ import annotations

import json
import os
import tempfile
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import IO, TYPE_CHECKING, Any, Protocol

from planner.errors import FileError
from planner.frames.review.shots import YEAR_2000_S
from planner.night.clock import DAY_S, utc_text

from .json_text import json_text, plain_number, without_none

if TYPE_CHECKING:
    from planner.frames.review.depth import DepthMap
    from planner.frames.review.drift import AngleChange, Drift
    from planner.frames.review.flats import FlatCount
    from planner.frames.review.review import FrameResult, Review

__all__ = ["SCHEMA", "FrameSpool", "frame_line", "review_document", "review_pieces"]

SCHEMA = "review 1"
PIECE = 1 << 20


class FrameLines(Protocol):
    """Frames of a document as lines of JSON."""

    count: int
    folder: Path

    def pieces(self) -> Iterator[str]:
        """Return all lines, piece by piece, joined by commas."""


class FrameSpool:
    """Frames of a review as lines of JSON, kept on disk until the document is written.

    Parameters
    ----------
    folder : Path
        File names are written relative to it.
    """

    def __init__(self, folder: Path) -> None:
        self.folder, self.count = folder, 0
        self._stream: IO[str] = tempfile.TemporaryFile("w+", encoding="ascii", newline="")

    def __enter__(self) -> FrameSpool:
        return self

    def __exit__(self, *_: object) -> None:
        self._stream.close()

    def add(self, result: FrameResult) -> None:
        """Keep one frame.

        Raises
        ------
        FileError
            If the disk for temporary files is full.
        """
        try:
            self._stream.write((",\n  " if self.count else "") + frame_line(result, self.folder))
        except OSError as error:
            raise _no_room(error) from error
        self.count += 1

    def _flush(self) -> None:
        try:
            self._stream.flush()
        except OSError as error:
            raise _no_room(error) from error

    def pieces(self) -> Iterator[str]:
        """Return all lines, piece by piece, joined by commas."""
        self._flush()
        self._stream.seek(0)
        while piece := self._stream.read(PIECE):
            yield piece
        self._stream.seek(0, os.SEEK_END)


def _no_room(error: OSError) -> FileError:
    return FileError(f"cannot write to {tempfile.gettempdir()}: {error.strerror or error}; make room there")


def frame_line(result: FrameResult, folder: Path) -> str:
    """One frame as JSON; keys without ground are absent, signs outside ASCII are escaped."""
    parts = [f'"file": {_quoted(_relative(result.path, folder))}']
    parts += [
        f'"{key}": {_quoted(value)}'
        for key, value in (
            ("instrument", result.instrument),
            ("panel", result.panel),
            ("aimed_at", result.aimed_at),
            ("filter", result.filter),
            ("start", None if result.start_s is None else utc_text(result.start_s)),
        )
        if value is not None
    ]
    numbers = (
        ("exposure_s", result.exposure_s),
        ("offset_arcmin", result.offset_arcmin),
        ("angle_off_deg", result.angle_off_deg),
    )
    parts += [
        f'"{key}": {plain_number(round(value, 6), exact=False)}'
        for key, value in numbers
        if value is not None
    ]
    parts += ['"elsewhere": true'] * result.elsewhere
    parts += [f'"verdict": "{result.verdict}"', f'"reason": {_quoted(result.reason)}']
    return "{" + ", ".join(parts) + "}"


def _quoted(text: str) -> str:
    return json.dumps(text)


def _relative(path: Path, folder: Path) -> str:
    return path.relative_to(folder).as_posix() if path.is_relative_to(folder) else path.as_posix()


def review_pieces(
    review: Review, spool: FrameLines, drifts: Mapping[str, Drift] | None = None
) -> Iterator[str]:
    """Return the whole document as text, piece by piece; `drifts` as for `review_document`."""
    yield f'{{\n "schema": "{SCHEMA}",\n "frames": ['
    if spool.count:
        yield "\n  "
        yield from spool.pieces()
        yield "\n "
    yield "],\n"
    yield json_text(review_document(review, drifts, spool.folder)).removeprefix("{\n")


def review_document(
    review: Review, drifts: Mapping[str, Drift] | None = None, folder: Path | None = None
) -> dict[str, Any]:
    """Return the review without its schema and its frames, as a document.

    Parameters
    ----------
    review : Review
    drifts : mapping, optional
        Where several instruments share the mosaic: name to how its angle ran.
    folder : Path, optional
        File names are written relative to it.
    """
    return {
        "made_up": review.made_up,
        "panels": [
            _without_none(
                instrument=row.instrument,
                name=row.name,
                filter=row.filter,
                exposures=row.exposures,
                wanted=row.wanted,
                worth=row.worth,
                stacks=row.stacks if row.stacks else None,
                seconds=round(row.seconds, 3),
                dark_sky_seconds=None if row.dark_sky_seconds is None else round(row.dark_sky_seconds, 3),
            )
            for row in review.panels
        ],
        "covered_by_good_frames": review.coverage.covered,
        "gap_area_deg2": review.coverage.gap.area_deg2,
        "overlap_found": _down(review.coverage.overlap_found),
        "reshoot": [
            _without_none(
                instrument=row.instrument,
                panel=row.panel,
                filter=row.filter,
                exposures=row.exposures,
                reason=row.reason,
            )
            for row in review.reshoot
        ],
        "depth": _depth(review.depth, review.uncovered_deg2),
        **({"drift": _drift(review.drift, folder)} if drifts is None else _instruments(drifts, folder)),
        "flats": [_flats(one) for one in review.flats],
        "flats_missing": [_flats(one) for one in review.flats_missing],
        **_without_none(moonlight_untold=review.moonlight_untold),
        "plan": {"title": review.title, "panels": review.panels_mark},
    }


def _flats(count: FlatCount) -> dict[str, Any]:
    angle = None if count.position_angle_deg is None else round(count.position_angle_deg, 10)
    return _without_none(position_angle_deg=angle, filter=count.filter, frames=count.frames)


def _without_none(**values: Any) -> dict[str, Any]:
    return without_none(values)


def _down(value: float) -> float:
    """Round down, so that what is told never exceeds what has been proven."""
    return int(value * 1e8) / 1e8


def _depth(depth: DepthMap, uncovered_deg2: dict[str, float]) -> dict[str, Any]:
    filters = [
        {"filter": name, **_least(depth, name), **_gap(uncovered_deg2, name)} for name in depth.filters
    ]
    return {**_least(depth, None), "exact": depth.exact, "filters": filters}


def _least(depth: DepthMap, name: str | None) -> dict[str, Any]:
    """Least depth through a filter, or through all together, and the same at a dark sky where that is known."""
    least = depth.least(name)
    found: dict[str, Any] = {
        "least_seconds": round(least.seconds, 3),
        "at_deg": [least.ra_deg, least.dec_deg],
    }
    if depth.dark_sky is not None:
        dark = depth.dark_sky.least(name)
        found["least_dark_sky_seconds"] = round(dark.seconds, 3)
        found["dark_sky_at_deg"] = [dark.ra_deg, dark.dec_deg]
    return found


def _gap(uncovered_deg2: dict[str, float], name: str) -> dict[str, Any]:
    return {"gap_area_deg2": uncovered_deg2[name]} if name in uncovered_deg2 else {}


def _instruments(drifts: Mapping[str, Drift], folder: Path | None) -> dict[str, Any]:
    return {"instruments": [{"name": name, "drift": _drift(drift, folder)} for name, drift in drifts.items()]}


def _drift(drift: Drift, folder: Path | None) -> dict[str, Any]:
    states = [
        _without_none(
            state=one.state,
            frames=len(one.days),
            angle_off_deg=one.now_deg,
            rate_deg_per_month=one.rate_deg_per_month,
            creep_deg_per_hour=one.creep_deg_per_hour,
        )
        for one in drift.states
    ]
    changes = [_change(one, folder) for one in drift.changes]
    return _without_none(turn_back_deg=drift.turn_back_deg, states=states, changes=changes)


def _change(one: AngleChange, folder: Path | None) -> dict[str, Any]:
    after, before = (
        name if folder is None else _relative(Path(name), folder) for name in (one.after, one.before)
    )
    return {
        "after": after,
        "before": before,
        "from": utc_text(YEAR_2000_S + one.from_day * DAY_S),
        "to": utc_text(YEAR_2000_S + one.to_day * DAY_S),
        "change_deg": round(one.change_deg, 6),
        "at_flip": one.at_flip,
        "panels": [{"name": each.panel, "frames": each.frames, "turned": each.turned} for each in one.panels],
    }
