"""The review of a mosaic that several instruments share: each frame against its own, all of them together."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from planner.mosaic.mosaic import Mosaic
from planner.mosaic.proof.cover import Gap
from planner.progress import Progress, silent
from planner.request.request import Request
from planner.request.settled import panels_mark
from planner.rig.camera import Camera
from planner.rig.plate_solution import PlateSolution

from .coverage import frame_coverage, frame_gap
from .dark_sky import dark_sky_of, with_dark_sky
from .depth import depth_map
from .drift import Drift
from .footprints import Footprints, joined
from .limits import Limits
from .match import VERDICT_WORDS, Match, Verdict
from .reading import AnyReader, ReadFrame
from .reshoot import all_to_reshoot
from .review import FrameResult, Review, ReviewWork, read_folder
from .shots import Shots
from .tally import PanelExposure, Reshoot

__all__ = ["ReviewPart", "SharedReview", "SharedWork", "review_shared_folder"]

ALIKE = 0.02
"""Fields whose sides differ by less than this in all are told apart by their filters."""
RANKS: dict[Verdict, int] = {name: number for number, name in enumerate(VERDICT_WORDS)}  # type: ignore[misc]


@dataclass(frozen=True)
class ReviewPart:
    """One instrument, as far as a review is concerned.

    Parameters
    ----------
    name : str
    request : Request
    mosaic : Mosaic
        The panels that it takes.
    limits : Limits
        Of a good frame.
    """

    name: str
    request: Request
    mosaic: Mosaic
    limits: Limits


@dataclass(frozen=True)
class SharedReview:
    """What a folder of frames came to.

    Parameters
    ----------
    review : Review
        Of all instruments together: rows and frames name theirs; the drift is empty.
    each : dict of str to Review
        Name of an instrument to what its own frames came to; coverage and depth are those of all.
    """

    review: Review
    each: dict[str, Review]

    @property
    def drifts(self) -> dict[str, Drift]:
        """Name of an instrument to how its angle ran."""
        return {name: one.drift for name, one in self.each.items()}


def review_shared_folder(
    parts: Sequence[ReviewPart],
    reference: Mosaic,
    folder: Path,
    *,
    reader: AnyReader,
    on_frame: Callable[[FrameResult], None] = lambda result: None,
    progress: Progress = silent,
) -> SharedReview:
    """Review all frames in a folder and below it against the instruments that share a mosaic; files are only read.

    A frame belongs to the instrument whose field has its size; where fields are alike, to one that takes its filter.

    Parameters
    ----------
    parts : sequence of ReviewPart
    reference : Mosaic
        Its region is what must be covered.
    folder : Path
    reader : AnyReader
    on_frame, progress : callable
        As for `review_folder`.

    Raises
    ------
    FileError
        If the folder is missing or cannot be read.
    """
    work = SharedWork(parts, reference)
    unread = read_folder(folder, reader, work.judge, on_frame, progress)
    progress("proving the coverage", 0.0)
    return work.review(unread, progress)


class SharedWork:
    """Numbers of each instrument, gathered frame by frame.

    Parameters
    ----------
    parts : sequence of ReviewPart
    reference : Mosaic
        Its region is what must be covered.
    """

    def __init__(self, parts: Sequence[ReviewPart], reference: Mosaic) -> None:
        self.parts, self.reference = parts, reference
        self.works = [ReviewWork(one.request, one.mosaic, one.limits) for one in parts]
        self.fields = [_whole_field(one.request.camera) for one in parts]

    @property
    def filters(self) -> tuple[str, ...]:
        """Names of all filters, in the order of the instruments."""
        return tuple(dict.fromkeys(one.name for work in self.works for one in work.request.filters))

    def judge(self, frames: list[ReadFrame]) -> Iterator[FrameResult]:
        """Judge and count a batch of frames, one result for each that is no flat; flats are counted apart."""
        for flat in (frame for frame in frames if frame.flat):
            work = self.works[self._by_filter(flat) or 0]
            work.flats.add(flat.angle_deg, work.names.of_header(flat.filter))
        frames = [frame for frame in frames if not frame.flat]
        solved = [frame.solution for frame in frames if frame.solution is not None]
        found = iter(zip(*(work.matcher.match(solved) for work in self.works), strict=True))
        for frame in frames:
            matches = next(found) if frame.solution is not None else None
            owner = self._by_filter(frame) if matches is None else self._owner(frame, matches)
            known = frame if owner is not None else replace(frame, aim=None)  # for whose panel is not known
            result = self.works[owner or 0].count(known, None if matches is None else matches[owner or 0])
            yield result if owner is None else replace(result, instrument=self.parts[owner].name)

    def _owner(self, frame: ReadFrame, matches: Sequence[Match]) -> int:
        """Number of the instrument that a solved frame is of."""
        assert frame.solution is not None
        misfits = [_misfit(frame.solution, field) for field in self.fields]
        least = min(misfits)

        def rank(number: int) -> tuple[bool, bool, int, float]:
            match = matches[number]
            other_field = misfits[number] > least + ALIKE
            return other_field, not self._takes(number, frame), RANKS[match.verdict], match.offset_arcmin

        return min(range(len(self.works)), key=rank)

    def _by_filter(self, frame: ReadFrame) -> int | None:
        """Number of the only instrument that takes the filter of a frame without solution, if there is one."""
        takers = [number for number in range(len(self.works)) if self._takes(number, frame)]
        return takers[0] if len(takers) == 1 else None

    def _takes(self, number: int, frame: ReadFrame) -> bool:
        name = self.works[number].names.of_header(frame.filter)
        return any(one.name == name for one in self.works[number].request.filters)

    def review(self, unread: tuple[str, ...], progress: Callable[[str, float], None]) -> SharedReview:
        """Return what all frames so far come to."""
        ground, names = self._ground()
        filters = self.filters
        asked = self.works[0].request.mosaic
        coverage = frame_coverage(self.reference, asked, ground)
        gaps = {
            name: frame_gap(self.reference, ground.chosen(ground.filters == names[name])) for name in filters
        }
        progress("measuring the depth", 0.5)
        rows, dark_s, untold = self._exposures()
        review = Review(
            verdicts=self.verdicts(),
            panels=rows,
            coverage=coverage,
            uncovered_deg2={name: gap.area_deg2 for name, gap in gaps.items()},
            reshoot=tuple(self._reshoot(coverage.gap, gaps)),
            depth=depth_map(self.reference.region, ground, tuple(names), dark_sky_seconds=dark_s),
            drift=Drift(()),
            flats=tuple(one for work in self.works for one in work.flats.counts()),
            flats_missing=tuple(one for work in self.works for one in work.flats.missing(work.tally.good())),
            made_up=sum(work.made_up for work in self.works),
            unread_folders=unread,
            moonlight_untold=untold,
            shots=replace(Shots.none(), elsewhere=sum(work.shots.elsewhere for work in self.works)),
        )
        parts = zip(self.parts, self.works, strict=True)
        return SharedReview(review, {one.name: _own(review, one, work) for one, work in parts})

    def verdicts(self) -> dict[Verdict, int]:
        """Return how many frames of all instruments have each verdict."""
        sums: dict[Verdict, int] = {}
        for work in self.works:
            for verdict, count in work.tally.verdicts.items():
                sums[verdict] = sums.get(verdict, 0) + count
        return sums

    def _ground(self) -> tuple[Footprints, dict[str, int]]:
        """Footprints of all instruments, panels and filters numbered through, and the filters' numbers."""
        names = {name: 0 for work in self.works for name in work.filter_numbers}
        names = {name: number for number, name in enumerate(names)}
        grounds, first = [], 0
        for work in self.works:
            own = work.ground.footprints()
            numbers = np.array([*(names[name] for name in work.filter_numbers), -1], dtype=np.intp)
            grounds.append(replace(own, filters=numbers[own.filters], panels=own.panels + first))
            first += len(work.mosaic.panels)
        return joined(grounds), names

    def _exposures(self) -> tuple[tuple[PanelExposure, ...], NDArray[np.float64] | None, int | None]:
        """Rows of all instruments; what each frame is worth at a dark sky, and of how many that is not known."""
        rows: list[PanelExposure] = []
        seconds, untold, told = [], 0, False
        for part, work in zip(self.parts, self.works, strict=True):
            ground, names = work.ground.footprints(), work.filter_numbers
            dark = dark_sky_of(ground, work.request.sites, work.request.filters, names)
            own = with_dark_sky(work.tally.exposures(), dark, ground, work.mosaic.panels, names)
            rows += [replace(row, instrument=part.name) for row in own]
            told = told or dark is not None
            seconds.append(np.zeros(len(ground)) if dark is None else dark.seconds)
            untold += len(ground) if dark is None else dark.untold
        return tuple(rows), np.concatenate(seconds) if told else None, untold if told else None

    def _reshoot(self, gap: Gap, gaps: dict[str, Gap]) -> Iterator[Reshoot]:
        for part, work in zip(self.parts, self.works, strict=True):
            for row in all_to_reshoot(work.mosaic, work.request.filters, work.tally, gap, gaps):
                yield replace(row, instrument=part.name)


def _own(review: Review, part: ReviewPart, work: ReviewWork) -> Review:
    """What the frames of one instrument came to, told as of a mosaic of its own."""
    filters = [one.name for one in part.request.filters]
    return replace(
        review,
        verdicts=dict(work.tally.verdicts),
        panels=tuple(replace(row, instrument=None) for row in review.panels if row.instrument == part.name),
        uncovered_deg2={name: review.uncovered_deg2[name] for name in filters},
        reshoot=tuple(replace(row, instrument=None) for row in review.reshoot if row.instrument == part.name),
        drift=work.angles.drift(),
        shots=work.shots.shots(),
        flats=work.flats.counts(),
        flats_missing=work.flats.missing(work.tally.good()),
        made_up=work.made_up,
        title=part.request.title,
        panels_mark=panels_mark(part.mosaic.panels),
    )


def _whole_field(camera: Camera) -> tuple[float, float]:
    """Field of the whole sensor, width and height in degrees."""
    field = replace(camera, usable=(1.0, 1.0)).field
    return field.width_deg, field.height_deg


def _misfit(solution: PlateSolution, field_deg: tuple[float, float]) -> float:
    """How much a frame's sides differ from those of a field, in all, as natural logarithms."""
    return sum(abs(math.log(seen / side)) for seen, side in zip(solution.field_deg, field_deg, strict=True))
