"""The review: all frames in a folder against a plan."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

from planner.mosaic.mosaic import Mosaic
from planner.mosaic.panel import Panel
from planner.mosaic.proof.cover import Gap
from planner.night.settings import Filter
from planner.progress import Progress, silent
from planner.request.request import Request
from planner.request.settled import panels_mark
from planner.words import counted

from .coverage import FrameCoverage, frame_coverage, frame_gap, gap_of_panels
from .dark_sky import dark_sky_of, with_dark_sky
from .depth import DepthMap, depth_map
from .drift import AngleLog, Drift
from .filter_names import FilterNames
from .flats import FlatCount, FlatLog
from .folder import count_frames, frame_files
from .footprints import FootprintLog, Footprints
from .limits import Limits
from .match import Match, PanelMatcher, Verdict
from .reading import AnyReader, FrameReader, ReadFrame
from .reshoot import all_to_reshoot
from .shots import ShotLog, Shots, begun_s
from .tally import PanelExposure, Reshoot, Tally, label_of

__all__ = ["FrameResult", "Review", "ReviewWork", "read_folder", "review_folder"]

BATCH = 256
"""Frames judged at once."""


@dataclass(frozen=True)
class FrameResult:
    """One frame against the plan.

    Parameters
    ----------
    path : Path
    panel : str or None
        Name; None where the frame shows none of the plan's panels.
    filter : str or None
        The plan's name for it where the plan has it.
    exposure_s : float or None
    offset_arcmin, angle_off_deg : float or None
        See `Match`; None without a solution or a panel.
    verdict : str
    reason : str
        Empty for a good frame with a solution of its own.
    instrument : str or None
        Whose frame it is, where several share the mosaic.
    aimed_at : str or None
        Of a frame without solution: panel at which it was pointed, by its header.
    start_s : float or None
        Begin of the exposure, POSIX seconds; None where the header tells none that makes sense.
    elsewhere : bool
        Whether it is none of this plan's: another part of the sky, or another scale.
    """

    path: Path
    panel: str | None
    filter: str | None
    exposure_s: float | None
    offset_arcmin: float | None
    angle_off_deg: float | None
    verdict: Verdict
    reason: str
    instrument: str | None = None
    aimed_at: str | None = None
    start_s: float | None = None
    elsewhere: bool = False

    @property
    def label(self) -> str | None:
        """Name of the panel, with its instrument where several share the mosaic."""
        return label_of(self.instrument, self.panel) if self.panel else None


@dataclass(frozen=True)
class Review:
    """What a folder of frames came to.

    Parameters
    ----------
    verdicts : dict of str to int
        Frames by verdict.
    panels : tuple of PanelExposure
    coverage : FrameCoverage
        By good frames of any filter.
    uncovered_deg2 : dict of str to float
        What good frames of each of the plan's filters leave of the region, square degrees.
    reshoot : tuple of Reshoot
    depth : DepthMap
    drift : Drift
    flats : tuple of FlatCount
        Flats, which are not among the frames, by camera angle and filter.
    flats_missing : tuple of FlatCount
        Good frames without flats of their camera angle and filter.
    made_up : int
        Frames whose headers say that a rehearsal made them up.
    unread_folders : tuple of str
        Sentences about subfolders that could not be read.
    moonlight_untold : int or None
        Good frames of which it cannot be told in what moonlight they were taken, which count nothing at a dark sky;
        None where the plan has no site or no filters, so that nothing is told of a dark sky.
    title, panels_mark : str
        Of the plan, and the digest of its panels.
    shots : Shots
        When frames were exposed, good or not.
    """

    verdicts: dict[Verdict, int]
    panels: tuple[PanelExposure, ...]
    coverage: FrameCoverage
    uncovered_deg2: dict[str, float]
    reshoot: tuple[Reshoot, ...]
    depth: DepthMap
    drift: Drift
    made_up: int = 0
    flats: tuple[FlatCount, ...] = ()
    flats_missing: tuple[FlatCount, ...] = ()
    unread_folders: tuple[str, ...] = ()
    moonlight_untold: int | None = None
    title: str = ""
    panels_mark: str = ""
    shots: Shots = field(default_factory=Shots.none)

    @property
    def frame_count(self) -> int:
        """Frames looked at."""
        return sum(self.verdicts.values())

    @property
    def elsewhere_words(self) -> str | None:
        """Say how many frames are none of this plan's; None where all are."""
        count = self.shots.elsewhere
        if not count:
            return None
        are, they = ("is", "it shows") if count == 1 else ("are", "they show")
        return (
            f"{count} of {self.frame_count} {are} none of this plan's: {they}, by stars or header, another part of "
            "the sky, or another camera's scale"
        )

    @property
    def filter_words(self) -> str | None:
        """Say which filters of good frames the plan does not have, so that they count for nothing; None if none."""
        counts: dict[str, int] = {}
        for row in self.panels:
            if self.uncovered_deg2 and row.wanted is None:
                name = row.filter or "no filter named"
                counts[name] = counts.get(name, 0) + row.exposures
        if not counts:
            return None
        told = ", ".join(f"{name} ({count} good frame{'s' * (count > 1)})" for name, count in counts.items())
        why = "not in the plan, so that nothing wanted is done by them"
        return f"{why}: {told}; name them in [[filters]] or mend FILTER"

    @property
    def made_up_words(self) -> str | None:
        """Say that frames are made up, and how many; None where none are."""
        if not self.made_up:
            return None
        told = "{} is" if self.made_up == 1 else "{} are"
        frames = told.format(f"{self.made_up} of {counted(self.frame_count, 'frame')}")
        return f"{frames} made up, to practise with: nobody has taken {'it' if self.made_up == 1 else 'them'}"


def review_folder(
    request: Request,
    mosaic: Mosaic,
    folder: Path,
    *,
    limits: Limits | None = None,
    reader: AnyReader | None = None,
    on_frame: Callable[[FrameResult], None] = lambda result: None,
    progress: Progress = silent,
) -> Review:
    """Review all frames in a folder and below it; files are only read.

    Parameters
    ----------
    request : Request
    mosaic : Mosaic
        The plan's panels over its region.
    folder : Path
    limits : Limits, optional
        By default those of the plan.
    reader : AnyReader, optional
        By default one that solves nothing.
    on_frame : callable
        Called with each frame, in the order of their names; the review itself keeps only numbers.
    progress : callable
        Called with what is being done and the part done.

    Raises
    ------
    FileError
        If the folder is missing or cannot be read.
    """
    work = ReviewWork(request, mosaic, limits or Limits.of_plan(request))
    unread = read_folder(folder, reader or FrameReader(), work.judge, on_frame, progress)
    progress("proving the coverage", 0.0)
    return work.review(unread, progress)


def read_folder(
    folder: Path,
    reader: AnyReader,
    judge: Callable[[list[ReadFrame]], Iterator[FrameResult]],
    on_frame: Callable[[FrameResult], None],
    progress: Callable[[str, float], None],
) -> tuple[str, ...]:
    """Read all frames in a folder and below it and have them judged, a batch at a time.

    Returns
    -------
    tuple of str
        Sentences about subfolders that could not be read.
    """
    unread: list[str] = []
    total = max(1, count_frames(folder))
    for number, batch in enumerate(_batches(frame_files(folder, unread.append))):
        progress(f"reading frames, {number * BATCH} of {total} read", min(1.0, number * BATCH / total))
        for result in judge([reader.read(path) for path in batch]):
            on_frame(result)
    return tuple(unread)


def _batches(paths: Iterable[Path]) -> Iterator[list[Path]]:
    paths = iter(paths)
    while batch := list(itertools.islice(paths, BATCH)):
        yield batch


class ReviewWork:
    """Numbers gathered frame by frame.

    Parameters
    ----------
    request : Request
    mosaic : Mosaic
        The plan's panels over its region.
    limits : Limits
        Of a good frame.
    """

    def __init__(self, request: Request, mosaic: Mosaic, limits: Limits) -> None:
        self.request, self.mosaic = request, mosaic
        self.names = FilterNames(one.name for one in request.filters)
        self.matcher = PanelMatcher(mosaic.panels, request.camera, limits)
        self.listed = {one.name: one for one in request.panels}
        self.tally = Tally(
            mosaic.panels,
            request.filters,
            self._wanted,
            had=self._had,
            begun=[panel.name for panel in mosaic.panels if panel.kept],
        )
        self.ground = FootprintLog(request.camera)
        self.angles = AngleLog([panel.name for panel in mosaic.panels])
        self.made_up = 0
        self.flats = FlatLog(mosaic.panels)
        self.shots = ShotLog()
        self.filter_numbers: dict[str, int] = {one.name: number for number, one in enumerate(request.filters)}

    def judge(self, frames: list[ReadFrame]) -> Iterator[FrameResult]:
        """Judge and count a batch of frames, one result for each that is no flat; flats are counted apart."""
        for flat in (frame for frame in frames if frame.flat):
            self.flats.add(flat.angle_deg, self.names.of_header(flat.filter))
        frames = [frame for frame in frames if not frame.flat]
        solved = [frame.solution for frame in frames if frame.solution is not None]
        matches = iter(self.matcher.match(solved))
        for frame in frames:
            yield self.count(frame, next(matches) if frame.solution is not None else None)

    def count(self, frame: ReadFrame, match: Match | None) -> FrameResult:
        """Count one frame and put together what is told of it."""
        self.made_up += frame.made_up
        name = self.names.of_header(frame.filter)
        aimed = None if frame.aim is None else self.matcher.aimed_at(frame.aim)
        elsewhere = match.foreign if match is not None else frame.aim is not None and aimed is None
        self._log(frame, name, match, elsewhere=elsewhere)
        result = self._counted(frame, name, match, aimed)
        reason = result.reason
        if match is None and elsewhere:
            reason = f"{reason}; by its header it was pointed at another part of the sky"
        return replace(result, reason=reason, start_s=begun_s(frame.date_obs), elsewhere=elsewhere)

    def _counted(
        self, frame: ReadFrame, name: str | None, match: Match | None, aimed: int | None
    ) -> FrameResult:
        seconds = frame.exposure_s
        if match is None or frame.solution is None:
            return self._count_lost(frame, name, aimed)
        counted = self.tally.add(match.verdict, match.panel, name, seconds)
        if match.panel is not None and not match.foreign:
            self.angles.add(
                frame.solution.date_obs,
                match.angle_off_deg,
                upside_down=match.upside_down,
                mirrored=frame.solution.parity == "mirrored",
                panel=match.panel,
                turned=abs(match.turn_deg) > self.matcher.limits.angle_deg,
                name=str(frame.path),
            )
        if match.verdict == "good" and match.panel is not None:
            number = -1 if name is None else self.filter_numbers.setdefault(name, len(self.filter_numbers))
            self.ground.add(frame.solution, panel=match.panel, filter_number=number, seconds=counted)
        panel = None if match.panel is None else self.mosaic.panels[match.panel].name
        offset, angle = (None, None) if panel is None else (match.offset_arcmin, match.angle_off_deg)
        reason = "; ".join(text for text in (match.reason, frame.reason) if text)
        return FrameResult(frame.path, panel, name, seconds, offset, angle, match.verdict, reason)

    def _count_lost(self, frame: ReadFrame, name: str | None, aimed: int | None) -> FrameResult:
        """Count a frame without a solution; its header may tell for which panel it was meant."""
        verdict = frame.fault or "unsolved"
        name = None if verdict == "unreadable" else name
        self.tally.add(verdict, None, name, None)
        self.tally.add_lost(aimed, name, frame.stars)
        panel = None if aimed is None else self.mosaic.panels[aimed].name
        seconds, reason = frame.exposure_s, frame.reason
        return FrameResult(frame.path, None, name, seconds, None, None, verdict, reason, aimed_at=panel)

    def _log(self, frame: ReadFrame, name: str | None, match: Match | None, *, elsewhere: bool) -> None:
        """Keep when a frame was exposed, if it could be read and is not from elsewhere."""
        if frame.fault == "unreadable":
            return
        if elsewhere:
            self.shots.elsewhere += 1
            return
        planned = (one.exposure_s for one in self.request.filters if one.name == name)
        seconds = next(planned, 0.0) if frame.exposure_s is None else frame.exposure_s
        panel = None if match is None else match.panel
        self.shots.add(frame.date_obs, seconds, panel=panel, filter_name=name, solved=match is not None)

    def review(self, unread: tuple[str, ...], progress: Callable[[str, float], None]) -> Review:
        """Return what all frames so far come to."""
        ground, mosaic = self.ground.footprints(), self.mosaic
        coverage = frame_coverage(mosaic, self.request.mosaic, ground, self._taken(self.request.filters))
        gaps = {
            one.name: frame_gap(
                mosaic, _of_filter(ground, self.filter_numbers[one.name]), self.gap_without([one])
            )
            for one in self.request.filters
        }
        progress("measuring the depth", 0.5)
        names = self.filter_numbers
        dark = dark_sky_of(ground, self.request.sites, self.request.filters, names)
        return Review(
            verdicts=dict(self.tally.verdicts),
            panels=with_dark_sky(self.tally.exposures(), dark, ground, mosaic.panels, names),
            coverage=coverage,
            uncovered_deg2={name: gap.area_deg2 for name, gap in gaps.items()},
            reshoot=all_to_reshoot(mosaic, self.request.filters, self.tally, coverage.gap, gaps),
            depth=depth_map(
                mosaic.region, ground, tuple(names), dark_sky_seconds=None if dark is None else dark.seconds
            ),
            drift=self.angles.drift(),
            made_up=self.made_up,
            flats=self.flats.counts(),
            flats_missing=self.flats.missing(self.tally.good()),
            unread_folders=unread,
            moonlight_untold=None if dark is None else dark.untold,
            title=self.request.title,
            panels_mark=panels_mark(mosaic.panels),
            shots=self.shots.shots(),
        )

    def _wanted(self, panel: str, one: Filter) -> int:
        """Exposures wanted of a panel; one that the plan file lists may want a number of its own."""
        listed = self.listed.get(panel)
        return one.exposures if listed is None else listed.wanted(one.name, one.exposures)

    def _had(self, panel: str, one: Filter) -> int:
        """Good exposures that a kept panel has in any case."""
        return self.listed[panel].had(one.name) if panel in self.listed else 0

    def gap_without(self, filters: Sequence[Filter]) -> Gap | None:
        """What kept panels leave that have frames of some filters in any case; None where there are none."""
        return gap_of_panels(self.mosaic, self._taken(filters))

    def _taken(self, filters: Sequence[Filter]) -> list[Panel]:
        """Kept panels that have good frames of any of some filters, or want none of them, in any case."""
        return [
            panel
            for panel in self.mosaic.panels
            if panel.kept
            and (
                not self.listed[panel.name].still_wants(filters)
                or any(self._had(panel.name, one) for one in filters)
            )
        ]


def _of_filter(ground: Footprints, number: int) -> Footprints:
    return ground.chosen(ground.filters == number)
