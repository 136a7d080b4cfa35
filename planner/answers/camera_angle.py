"""The camera angle of a plan: what to set, from solved frames and their readings."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from planner.errors import InputError
from planner.frames.review.limits import Limits
from planner.frames.solve.found_solution import FoundSolution, found_solution
from planner.geometry.looking import Looking
from planner.rig.angle_device import AngleDevice
from planner.rig.angle_report import AngleReport, Replanned, SolvedFrame, angle_report
from planner.rig.effects import Effects, altaz_effect, effects
from planner.rig.frame_check import check_frame
from planner.rig.matching import Match, match_picture
from planner.rig.mount import Mount, flips
from planner.rig.plan_tolerances import Tolerances, measure_tolerances
from planner.rig.turn import check_reading
from planner.words import counted

from .panel_facts import still_to_do
from .set_by_hand import hand_error_notes

if TYPE_CHECKING:
    from planner.request.request import Request

    from .plan import Plan

__all__ = [
    "CameraAngle",
    "camera_angle",
    "frame_limit_deg",
    "match_of",
    "solved_frames",
    "tolerances_of",
    "with_measured_focal_length",
]

WEST: Looking = "west"


@dataclass(frozen=True)
class CameraAngle:
    """The answer: a plan, the report on its camera angle, and what turns the field besides."""

    plan: Plan
    report: AngleReport
    effects: Effects


def solved_frames(
    paths: Sequence[Path],
    readings_deg: Sequence[float],
    device: AngleDevice | None,
    *,
    looking: Sequence[Looking] = (),
    mount: Mount | None = None,
    read: Callable[[Path], FoundSolution] = found_solution,
) -> tuple[SolvedFrame, ...]:
    """Read the plate solutions of frames that were taken at known readings.

    Parameters
    ----------
    paths : sequence of Path
    readings_deg : sequence of float
        One for each frame, in the same order; a fixed camera needs none, its reading is 0.
    device : AngleDevice or None
    looking : sequence of {'west', 'east'}
        To which side the telescope looked: once for all frames, or once for each; left out, west.
    mount : Mount, optional
    read : callable, optional
        Finds the solution of one file; left out, by `found_solution` without solving.

    Raises
    ------
    FileError
        If a file holds no plate solution, and none is found.
    InputError
        If the numbers of frames, readings and sides do not go together, the mount does not flip, or a reading
        is outside the travel.
    """
    if device is not None and device.kind == "fixed" and not readings_deg:
        readings_deg = [0.0] * len(paths)
    if readings_deg and not paths:
        for reading in readings_deg:
            check_reading(device, reading)
        raise InputError(
            "a reading says where the scale stood at a frame, got no frame; give --frame with it, or leave it out"
        )
    if len(paths) != len(readings_deg):
        raise InputError(
            f"frames and readings go in pairs, got {counted(len(paths), 'frame')} and "
            f"{counted(len(readings_deg), 'reading')}; give one reading for each frame (0 if the device has no scale)"
        )
    for reading in readings_deg:
        check_reading(device, reading)
    rows = zip(paths, readings_deg, _sides(looking, len(paths), mount), strict=True)
    return tuple(_solved_frame(path.name, read(path), reading, side) for path, reading, side in rows)


def _solved_frame(name: str, found: FoundSolution, reading_deg: float, looking: Looking) -> SolvedFrame:
    return SolvedFrame(name, found.solution, reading_deg, looking, found.origin, found.made_up)


def _sides(looking: Sequence[Looking], frames: int, mount: Mount | None) -> Sequence[Looking]:
    """To which side the telescope looked for each frame."""
    if looking and not flips(mount):
        kind = mount.kind if mount else "german"
        raise InputError(
            f"which way the telescope looks is asked of a German mount only, got mount.kind = {kind!r}; "
            "leave it out: this mount does not flip"
        )
    if len(looking) not in {0, 1, frames}:
        raise InputError(
            f"which way the telescope looked is told once for all frames or once for each, got {len(looking)} "
            f"for {frames}; give one for each frame"
        )
    return looking if len(looking) == frames else (looking[0] if looking else WEST,) * frames


def with_measured_focal_length(request: Request, frame: SolvedFrame) -> Request:
    """Return the request with the focal length that a solved frame shows, for the plan to be made anew."""
    measured_mm = check_frame(frame.solution, request.camera).focal_length_mm
    return replace(request, camera=replace(request.camera, focal_length_mm=measured_mm))


def match_of(request: Request, earlier: Path) -> Match:
    """Angle and centre that lay new frames of the request's camera on an earlier, plate-solved picture."""
    found = found_solution(earlier)
    return replace(match_picture(found.solution, request.camera.field), made_up=found.made_up)


def frame_limit_deg(request: Request) -> float:
    """Return how far a frame may be turned against its panel and still count as good, degrees."""
    return Limits.of_plan(request).angle_deg


def tolerances_of(plan: Plan, *, with_picture: bool = True) -> Tolerances:
    """Return the angle errors that all panels of a plan's layout forgive.

    Parameters
    ----------
    plan : Plan
    with_picture : bool
        Whether to work out what the picture's rectangle forgives too, which takes a while.
    """
    from .plan import terms_of

    wanted = plan.request.mosaic
    return measure_tolerances(
        plan.layout,
        picture=plan.picture.as_region() if with_picture else None,
        box=terms_of(plan.request).demands[0].box,
        shift_arcmin=wanted.pointing_error_arcmin + wanted.dither_arcmin,
    )


def camera_angle(
    plan: Plan, *, frames: Sequence[SolvedFrame] = (), match: Match | None = None
) -> CameraAngle:
    """Work out what to set for a plan, how exact it must be, and what turns the field besides.

    Parameters
    ----------
    plan : Plan
    frames : sequence of SolvedFrame
        See `solved_frames`; the device stands where the last one was taken.
    match : Match, optional
        See `match_of`; the turn then goes to its angle.
    """
    request = plan.request
    report = angle_report(
        request.title,
        plan.mosaic,
        camera=request.camera,
        device=request.angle_device,
        tolerances=tolerances_of(plan),
        frame_limit_deg=frame_limit_deg(request),
        frames=frames,
        match=match,
        mount=request.mount,
        replan=lambda angle_deg: _replanned(request, angle_deg),
        panels=still_to_do(plan).mosaic.panels,
        notes=tuple(hand_error_notes(request, plan.layout)),
    )
    return CameraAngle(plan, report, _effects(still_to_do(plan)))


def _replanned(request: Request, position_angle_deg: float) -> Replanned | None:
    """Make the plan anew at an angle; None where no plan can be made there, or the panels are listed."""
    from .plan import make_plan

    if request.unsettled.panels:
        return None
    pinned = replace(
        request.mosaic, angles=1, position_angle_deg=position_angle_deg % 360.0, position_angle_range_deg=None
    )
    try:
        mosaic = make_plan(replace(request.unsettled, mosaic=pinned)).mosaic
    except InputError:
        return None
    return Replanned(len(mosaic.panels), mosaic.covered, mosaic.overlap_found)


def _effects(plan: Plan) -> Effects:
    request, picture = plan.request, plan.picture
    exposure_s = max((one.exposure_s for one in request.filters), default=None)
    altaz = None
    if request.mount is not None and request.mount.kind == "altaz" and request.sites:
        site = request.sites[0]
        altaz = altaz_effect(
            plan.mosaic.panels,
            request.camera,
            latitude_deg=site.latitude_deg,
            lowest_altitude_deg=site.lowest_altitude_deg,
            exposure_s=exposure_s,
        )
    return effects(
        plan.mosaic.panels,
        plan.mosaic.field,
        request.camera,
        picture=(*picture.center_deg, picture.position_angle_deg),
        exposure_s=exposure_s,
        altaz=altaz,
    )
