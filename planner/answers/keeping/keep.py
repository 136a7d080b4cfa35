"""What has been begun and stays: panels with good frames, and ground that solved frames show."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import shapely
from numpy.typing import NDArray

from planner.answers.find_region import find_region
from planner.errors import InputError
from planner.frames.review.reading import FrameReader
from planner.geometry import steady, vector_to_plane
from planner.mosaic.panel import Panel, panel_corners
from planner.mosaic.region import Region
from planner.progress import Progress
from planner.request.panels import PanelRequest, listed_panels
from planner.request.request import Request
from planner.words import counted, floored, listed

from .folder_frames import FolderFrame, frames_in, matched
from .taken_ground import TakenGround, taken_grounds

__all__ = ["EVERY_GROUND", "Kept", "keep_frames", "keep_reviewed"]

Good = Mapping[str, Mapping[str, int]]
DECIMALS = 10
NAMED, NAMED_WITH_REASON = 6, 3
EVERY_GROUND = "--keep-all"
"""What keeps the ground of all frames, as every face calls it."""
LOWEST_DEPTH = 0.05
"""Ground nearer than this, in radii, to the horizon of the region's middle is far off it."""
LEAST_AREA = 1e-14
"""Steradians of the region that a panel must show to touch it."""


@dataclass(frozen=True)
class Kept:
    """A request whose panels stay, and how it came to that.

    Parameters
    ----------
    request : Request
        Its panels are those that stay.
    let_go : tuple of str
        Names of panels without good frames.
    off : tuple of str
        Names of panels, or of files, with good frames off the region.
    left_aside : tuple of FolderFrame
        Frames that a review would not call good, each with the reason.
    unsolved : int
        Frames without a solution, which tell nothing.
    made_up : int
        Frames that a rehearsal made up.
    """

    request: Request
    let_go: tuple[str, ...]
    off: tuple[str, ...]
    left_aside: tuple[FolderFrame, ...] = ()
    unsolved: int = 0
    made_up: int = 0

    def words(self) -> Iterator[str]:
        """Say what stays and what goes, one sentence each."""
        yield f"kept: {listed([_stays(one) for one in self.request.panels], NAMED)}"
        if self.let_go:
            yield f"let go, without good frames: {listed(self.let_go, NAMED)}; no other panel gets their names"
        if self.off:
            yield f"left aside, off the region: {listed(self.off, NAMED)}"
        if self.left_aside:
            yield (
                f"left aside, not good by a review's limits: {_left_aside(self.left_aside)}; "
                f"{EVERY_GROUND} keeps their ground too, at its own angle"
            )
        if self.unsolved:
            yield f"left aside, without a solution: {counted(self.unsolved, 'frame')}"
        if self.made_up:
            yield (
                f"made up, to practise with: {counted(self.made_up, 'frame')}; nobody has taken them, and a plan "
                "file that is written says so"
            )


def keep_reviewed(request: Request, good: Good, *, made_up: int = 0) -> Kept:
    """Keep the panels of a plan file that have good frames, and those that it keeps in any case.

    Parameters
    ----------
    request : Request
        With panels, settled or listed.
    good : mapping
        Good exposures by panel and filter; a panel may have good frames of no filter of the plan.
    made_up : int, optional
        How many of the frames a rehearsal made up.

    Raises
    ------
    InputError
        If no panel stays, or the request lists none.
    """
    if not request.panels:
        raise InputError(
            f"which panels stay is known of settled or listed ones, but {request.title!r} has none; settle the "
            "plan as it was when it was shot, or give the folder with its frames"
        )
    if not any(one.name in good or one.keep for one in request.panels):
        raise InputError("the review has no good frames of any panel, so none stays; plan anew instead")
    return replace(_kept(request, good, (), ()), made_up=made_up)


def keep_frames(
    request: Request, folder: Path, *, every_ground: bool = False, progress: Progress | None = None
) -> Kept:
    """Keep what solved frames in a folder show: the plan file's own panels where frames match, else their ground.

    Frames of one place, angle and size are one ground: what all of them show. Ground of frames that a review would
    not call good is left aside: beside panels that the plan file lists all that fits none of them, else what is
    turned against the angle that it asks for.

    Parameters
    ----------
    request : Request
    folder : Path
        Frames in it and in all folders below it are only read.
    every_ground : bool, optional
        Whether such ground is kept too, at its own angle and size.
    progress : callable, optional

    Raises
    ------
    InputError
        If no frame is solved, or none shows any of the region and stays.
    """
    found = frames_in(folder, FrameReader(), progress)
    if not found.solved:
        raise InputError(f"{folder} has no solved frames; solve them first, or give another folder")
    good, others = matched(request, found.solved)
    shown, left_aside, off = _shown(request, others, every_ground=every_ground)
    if not (good or shown):
        raise InputError(_nothing_stays(folder, len(found.solved), left_aside))
    kept = _kept(request, good, shown, off)
    return replace(kept, left_aside=tuple(left_aside), unsolved=found.unsolved, made_up=found.made_up)


def _nothing_stays(folder: Path, count: int, left_aside: Sequence[FolderFrame]) -> str:
    if not left_aside:
        return (
            f"none of the {count} solved frames in {folder} shows any of the region; check folder and region"
        )
    return (
        f"none of the {count} solved frames in {folder} is good by a review's limits: {_left_aside(left_aside)}; "
        f"give {EVERY_GROUND} to keep their ground at its own angle, or another folder"
    )


def _shown(
    request: Request, others: Sequence[FolderFrame], *, every_ground: bool
) -> tuple[list[TakenGround], list[FolderFrame], list[str]]:
    """Return the ground of frames that fit no panel, the frames left aside for a fault, and those off the region."""
    grounds = taken_grounds([one.solution for one in others], request.camera)
    touching = _touches(find_region(request.region).region, [ground.panel for ground in grounds])
    off = [
        others[k].name
        for ground, near in zip(grounds, touching, strict=True)
        if not near
        for k in ground.frames
    ]
    near = [ground for ground, touches in zip(grounds, touching, strict=True) if touches]
    new = {id(ground) for ground in _new(near, request.panels)}
    refused = {
        k
        for ground in near
        if id(ground) in new and not every_ground
        for k in ground.frames
        if others[k].fault
    }
    if refused:
        wanted = [others[k] for ground in near for k in ground.frames if k not in refused]
        near = taken_grounds([one.solution for one in wanted], request.camera)
    return near, [others[k] for k in sorted(refused)], off


def _kept(request: Request, good: Good, grounds: Sequence[TakenGround], off: Sequence[str]) -> Kept:
    """Return the request with the panels that stay, and ground that frames have shown."""
    begun = [one for one in _in_order(request.panels) if one.name in good or one.keep]
    stay = [one for one, touches in zip(begun, _touching(request, begun), strict=True) if touches or one.keep]
    if not stay and not grounds:
        raise InputError(
            f"all panels with good frames ({listed([one.name for one in begun], NAMED)}) lie off the region, so none "
            "stays; check the region, or plan anew"
        )
    let_go = [one.name for one in request.panels if one not in begun]
    aside = [one.name for one in begun if one not in stay]
    used = tuple(dict.fromkeys((*request.names_used, *let_go, *aside)))
    panels = [_with_taken(one, good.get(one.name, {})) for one in stay]
    panels += _ground_panels(_new(grounds, stay), {*used, *(one.name for one in stay)})
    numbered = tuple(replace(one, order=number) for number, one in enumerate(panels, start=1))
    grown = replace(request, panels=numbered, settled=None, names_used=used)
    return Kept(grown, tuple(let_go), (*aside, *off))


def _in_order(panels: Sequence[PanelRequest]) -> list[PanelRequest]:
    return [one for _, one in sorted(enumerate(panels, start=1), key=lambda pair: pair[1].order or pair[0])]


def _with_taken(panel: PanelRequest, good: Mapping[str, int]) -> PanelRequest:
    had = panel.taken or {}
    taken = {name: max(had.get(name, 0), good.get(name, 0)) for name in dict.fromkeys((*had, *good))}
    return replace(panel, keep=True, taken={name: count for name, count in taken.items() if count} or None)


def _new(grounds: Sequence[TakenGround], stay: Sequence[PanelRequest]) -> list[TakenGround]:
    """Ground that is not among the panels that stay already, as where the same folder is given again."""
    known = {_place(one.ra_deg, one.dec_deg) for one in stay if one.field_deg is not None}
    return [ground for ground in grounds if _place(ground.panel.ra_deg, ground.panel.dec_deg) not in known]


def _place(ra_deg: float, dec_deg: float) -> tuple[float, float]:
    return round(ra_deg, 6) % 360.0, round(dec_deg, 6)


def _ground_panels(grounds: Sequence[TakenGround], used: set[str]) -> list[PanelRequest]:
    """Return ground that frames have shown as panels that want no exposures, with names that are not used."""
    numbers = range(1, len(used) + len(grounds) + 1)
    free = [name for number in numbers if (name := f"taken {number}") not in used]
    return [
        PanelRequest(
            name,
            round(ground.panel.ra_deg, DECIMALS) % 360.0,
            round(ground.panel.dec_deg, DECIMALS),
            round(ground.panel.position_angle_deg, DECIMALS) % 360.0,
            keep=True,
            field_deg=_down(ground.field_deg),
        )
        for name, ground in zip(free, grounds, strict=False)
    ]


def _down(field_deg: tuple[float, float]) -> tuple[float, float]:
    """Round down, so that no more ground is told than frames have shown."""
    width, height = (floored(value, DECIMALS) for value in field_deg)
    return width, height


def _touching(request: Request, panels: Sequence[PanelRequest]) -> list[bool]:
    """Whether panels show any of the region; beside a picture that is to be full none is asked."""
    if request.picture is not None and request.picture.filled:
        return [True] * len(panels)
    field = request.camera.field
    shown = [replace(one, field=one.field or field) for one in listed_panels(panels)]
    return _touches(find_region(request.region).region, shown)


def _touches(region: Region, panels: Sequence[Panel]) -> list[bool]:
    """Whether panels with fields of their own show any of a region."""
    corners = [panel_corners([panel], panel.field)[0] for panel in panels if panel.field is not None]
    return [_touches_at(region, four) for four in corners]


def _touches_at(region: Region, corners: NDArray[np.float64]) -> bool:
    """Whether a field with these corners, shape (4, 3), shows any of a region."""
    if float(steady.dot(corners, region.basis[2]).min()) <= LOWEST_DEPTH:
        return False
    shown = shapely.Polygon(vector_to_plane(corners, region.basis))
    return float(shapely.intersection(shown, region.polygon).area) > LEAST_AREA


def _stays(panel: PanelRequest) -> str:
    """Name what stays; of ground its angle too, which is its own."""
    return (
        panel.name if panel.field_deg is None else f"{panel.name} (at {panel.position_angle_deg:.1f} degrees)"
    )


def _left_aside(frames: Sequence[FolderFrame]) -> str:
    return listed([f"{one.name} ({one.fault})" for one in frames], NAMED_WITH_REASON)
