"""Solved frames of a folder: which of them fit panels that a plan file lists, and what speaks against the others."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from planner.frames.review.filter_names import FilterNames
from planner.frames.review.folder import count_frames, frame_files
from planner.frames.review.limits import Limits
from planner.frames.review.match import Match, PanelMatcher, nearest_turn_deg
from planner.frames.review.reading import FrameReader
from planner.frames.review.scale_check import ScaleCheck
from planner.frames.review.tally import Tally
from planner.mosaic.panel import Panel
from planner.progress import Progress
from planner.request.panels import listed_panels
from planner.request.request import Request
from planner.rig.plate_solution import PlateSolution

__all__ = ["FolderFrame", "FolderFrames", "Good", "frames_in", "matched"]

Good = dict[str, dict[str, int]]
"""Good exposures by the panel's name and the plan's filter."""
BATCH = 256


@dataclass(frozen=True)
class FolderFrame:
    """One solved frame of a folder.

    Parameters
    ----------
    name : str
        As seen from the folder.
    solution : PlateSolution
    fault : str
        Why a review would not call it good, in words; empty where nothing is known against it.
    """

    name: str
    solution: PlateSolution
    fault: str = ""


@dataclass(frozen=True)
class FolderFrames:
    """What a folder holds.

    Parameters
    ----------
    solved : tuple of FolderFrame
    unsolved : int
        Frames without a solution.
    made_up : int
        Solved frames that a rehearsal made up.
    """

    solved: tuple[FolderFrame, ...]
    unsolved: int
    made_up: int


def frames_in(folder: Path, reader: FrameReader, progress: Progress | None) -> FolderFrames:
    """Read the frames in a folder and in all folders below it; flats are none of them."""
    total = max(1, count_frames(folder))
    solved: list[FolderFrame] = []
    unsolved = made_up = 0
    for number, path in enumerate(frame_files(folder)):
        if progress is not None and number % BATCH == 0:
            progress(f"reading frames, {number} of {total} read", min(1.0, number / total))
        frame = reader.read(path)
        if frame.solution is not None:
            solved.append(FolderFrame(path.relative_to(folder).as_posix(), frame.solution))
            made_up += frame.made_up
        else:
            unsolved += not frame.flat
    return FolderFrames(tuple(solved), unsolved, made_up)


def matched(request: Request, frames: Sequence[FolderFrame]) -> tuple[Good, list[FolderFrame]]:
    """Return the good exposures of the panels that a plan file lists, and the frames that are of none.

    Where it lists panels, those others have the fault that a review names; where it lists none but asks for one
    camera angle, frames of its camera that are turned against that.
    """
    own, limits = [one for one in listed_panels(request.panels) if one.field is None], Limits.of_plan(request)
    if not own:
        return {}, list(_against_the_angle(request, limits, frames))
    matches = PanelMatcher(own, request.camera, limits).match([one.solution for one in frames])
    others = [
        FolderFrame(one.name, one.solution, match.reason)
        for one, match in zip(frames, matches, strict=True)
        if match.verdict != "good" or match.panel is None
    ]
    return _good(request, own, frames, matches), others


def _good(
    request: Request, own: Sequence[Panel], frames: Sequence[FolderFrame], matches: Sequence[Match]
) -> Good:
    """Count good frames as a review does, by their seconds."""
    names, tally = FilterNames(one.name for one in request.filters), Tally(own, request.filters)
    good: Good = {}
    for frame, match in zip(frames, matches, strict=True):
        if match.verdict == "good" and match.panel is not None:
            one = frame.solution
            tally.add("good", match.panel, names.of_header(one.filter), one.exposure_s)
            good[own[match.panel].name] = {}
    lengths = {one.name: one.exposure_s for one in request.filters}
    for row in tally.exposures():
        if row.name in good and row.filter in lengths:
            good[row.name][row.filter] = int(row.seconds / lengths[row.filter] + 1e-6)
    return good


def _against_the_angle(
    request: Request, limits: Limits, frames: Sequence[FolderFrame]
) -> Iterator[FolderFrame]:
    """Hold frames of the plan's camera against the one angle that it asks for, where it does."""
    wanted, scale = request.mosaic.position_angle_deg, ScaleCheck(request.camera, limits)
    for one in frames:
        fault = ""
        if wanted is not None and request.mosaic.angles == 1 and not scale.fault(one.solution):
            fault = _turned(one.solution.position_angle_deg - wanted, request.camera.field.period_deg, limits)
        yield FolderFrame(one.name, one.solution, fault)


def _turned(off_deg: float, period_deg: float, limits: Limits) -> str:
    turn_deg = float(nearest_turn_deg(off_deg, period_deg))
    if abs(turn_deg) <= limits.angle_deg:
        return ""
    return (
        f"turned by {turn_deg:+.1f} degrees against the plan's angle, at most {limits.angle_deg:.1f} wanted"
    )
