"""How well everything fits one frame: the best centre and angle, margins, the angles and focal lengths that do."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import shapely

from planner.errors import InputError
from planner.geometry import sky_basis
from planner.mosaic.fit import Opening, Placement, Shape, best_placement, placement_at, room_bound, room_curve
from planner.progress import Effort, Progress
from planner.rig.reachable_arcs import common_arcs, travel_arc

from .compare import best_plan_in_reach, setup_names, setup_request
from .find_region import find_region

if TYPE_CHECKING:
    from planner.mosaic.panel import Field
    from planner.mosaic.region import Region
    from planner.request.request import Request, Setup
    from planner.rig.angle_device import AngleDevice

    from .plan import Plan

__all__ = [
    "ANY_ANGLE_ARCMIN",
    "ARCMIN",
    "HOLDS",
    "ROUND",
    "FieldFit",
    "Fitted",
    "Margins",
    "PartInside",
    "SetupFit",
    "allowed_arcs",
    "arcs_in_reach",
    "fit_field",
    "fit_setups",
    "own_name",
    "stretches_in_reach",
]

ARCMIN = math.degrees(1.0) * 60
"""Arc minutes in a radian of the tangent plane."""
Arc = tuple[float, float]
HOLDS = -1e-9
"""Radians: a margin short of zero by so little (0.2 milliarcseconds) is none."""
CLOSE = 1e-6
"""Radians (0.0035 arc minutes): a bound so near to the best margin is near enough."""
MOST_WORK = 1_000_000
"""Boxes times corners that the bound may look at: chosen by eye, some tenths of a second."""
SCALE_ROUNDS = 5
"""For the scale at which it would just fit the angle is found to 0.001 degrees: some 1e-5 of the scale."""
ANY_ANGLE_ARCMIN, ROUND = 0.02, 1.3e-3
"""Where margins over all angles differ by less than this, or than this part of the radius (as those of the 64-sided
polygon that stands for a circle do: 1 - cos(pi / 64)), the angle makes no difference, and north is up."""
BESIDE_DEG = (-0.5, -0.25, 0.0, 0.25, 0.5)
"""Angles beside the best one for the curve, which has every whole degree too."""


@dataclass(frozen=True)
class Margins:
    """Room at the frame's sides at its angle, arc minutes of the tangent plane; below 0 where something is cut."""

    top: float
    bottom: float
    left: float
    right: float


@dataclass(frozen=True, eq=False)
class Fitted:
    """One frame about something.

    Parameters
    ----------
    placement : Placement
        With the largest margin.
    """

    placement: Placement

    @property
    def margin_arcmin(self) -> float:
        """The least of the four margins."""
        return self.placement.room * ARCMIN

    @property
    def fits(self) -> bool:
        """Whether the frame holds everything."""
        return self.placement.room >= HOLDS


@dataclass(frozen=True, eq=False)
class FieldFit(Fitted):
    """How well something fits one field.

    Parameters
    ----------
    placement : Placement
        With the largest margin.
    margins_arcmin : Margins
    bound_arcmin : float or None
        No placement at an angle allowed has a larger margin; None where it was not asked for.
    fits_at_deg : tuple of (float, float)
        Angles at which some centre holds everything: from in [0, 180), to may pass 180.
    curve : (ndarray, ndarray)
        Position angles in [0, 180) and the largest margin at each, arc minutes, shapes (K,).
    scale : float
        By which the field would have to be larger to just hold everything; below 1 where it fits.
    any_angle : bool
        Whether the angle makes no difference.
    """

    margins_arcmin: Margins
    bound_arcmin: float | None
    fits_at_deg: tuple[Arc, ...]
    curve: tuple[np.ndarray, np.ndarray]
    scale: float
    any_angle: bool


@dataclass(frozen=True)
class PartInside:
    """Which share of a part's area lies in the frame, in [0, 1]."""

    name: str
    share: float


@dataclass(frozen=True, eq=False)
class SetupFit:
    """What one setup's frame does.

    Parameters
    ----------
    name : str
        The setup's title, or its file's name.
    request : Request
        The plan file's wishes with the setup's equipment.
    arcs_deg : tuple of (float, float) or None
        First angle and span, modulo 180, that the angle device reaches; None where all are.
    fit : FieldFit
    inside : tuple of PartInside
        One for each part, or for the whole.
    plan, grid : Plan or None
        Where it does not fit: the fewest panels found, and the smallest full grid.
    asked_arcmin : float or None
        Margin at the angle that the plan file pins.
    notes : tuple of str
    """

    name: str
    request: Request
    arcs_deg: tuple[Arc, ...] | None
    fit: FieldFit
    inside: tuple[PartInside, ...]
    plan: Plan | None
    grid: Plan | None
    asked_arcmin: float | None
    notes: tuple[str, ...]

    @property
    def field(self) -> Field:
        """The setup's usable field."""
        return self.request.camera.field

    @property
    def longest_focal_length_mm(self) -> float:
        """At which the sensor just holds everything."""
        return self.request.camera.focal_length_mm / self.fit.scale

    @property
    def holds_nothing(self) -> bool:
        """Whether the best frame, in the middle of parts far apart, holds none of them."""
        return not any(part.share > 0.0 for part in self.inside)

    @property
    def panels(self) -> int | None:
        """Panels of the plan, where one frame does not do."""
        return None if self.plan is None else len(self.plan.mosaic.panels)


def fit_setups(
    request: Request,
    setups: Sequence[Setup] = (),
    *,
    effort: Effort = "quick",
    progress: Progress | None = None,
) -> tuple[SetupFit, ...]:
    """Return how well a plan file's region fits one frame of its own camera, or of each setup's, in their order.

    Parameters
    ----------
    request : Request
    setups : sequence of Setup
    effort : {'quick', 'usual', 'thorough'}
        How long panels are searched where one frame does not do.
    progress : callable, optional

    Raises
    ------
    InputError
        If the region cannot be found or is too wide for one plane, or a setup has no camera.
    """
    sourced = find_region(request.region)
    named = zip(setup_names(setups), setups, strict=True)
    asked = [(name, setup_request(request, one)) for name, one in named] or [(own_name(request), request)]
    shape = Shape.around([sourced.region.outline_vectors])
    found = []
    for number, (name, one) in enumerate(asked):
        if progress is not None:
            progress(f"fitting into {name}", number / len(asked))
        found.append(_setup_fit(name, one, shape, sourced.region, effort))
    return tuple(found)


def own_name(request: Request) -> str:
    """What to call the plan file's own equipment: its setup file, or the plan."""
    return request.setup_path.stem if request.setup_path else request.title


def _setup_fit(name: str, request: Request, shape: Shape, region: Region, effort: Effort) -> SetupFit:
    field, arcs = request.camera.field, allowed_arcs(request)
    fit = fit_field(shape, field, arcs)
    notes, plans = list(_notes(request, fit)), []
    if not fit.fits:
        try:
            plans = [best_plan_in_reach(one, effort) for one in _anew(request)]
        except InputError as error:
            notes.append(f"no mosaic of it: {error}")
    plans.sort(key=lambda plan: (bool(plan.shortfalls), len(plan.mosaic.panels)))
    angle = request.mosaic.position_angle_deg
    return SetupFit(
        name=name,
        request=request,
        arcs_deg=arcs,
        fit=fit,
        inside=tuple(_inside(region, fit.placement, field)),
        plan=plans[0] if plans else None,
        grid=next((plan for plan in plans if plan.request.mosaic.layout == "grid"), None),
        asked_arcmin=None if angle is None else _margin_at(shape, field, angle),
        notes=(*notes, *(plans[0].shortfalls if plans else ())),
    )


def _margin_at(shape: Shape, field: Field, angle_deg: float) -> float:
    return placement_at(shape, Opening.margins(field), math.radians(angle_deg)).room * ARCMIN


def _anew(request: Request) -> Iterator[Request]:
    """Yield the request without panels or a grid of its own: as its layout allows, and as a full grid."""
    asked = replace(request.mosaic, columns=None, rows=None)
    free = replace(request, panels=(), settled=None, mosaic=asked)
    yield free
    if asked.layout != "grid":
        yield replace(free, mosaic=replace(asked, layout="grid", angles=1))


def fit_field(
    shape: Shape, field: Field, arcs_deg: Sequence[Arc] | None = None, *, prove: bool = True
) -> FieldFit:
    """Return how well a shape fits a field, over all centres and the angles allowed.

    Parameters
    ----------
    shape : Shape
    field : Field
    arcs_deg : sequence of (float, float), optional
        First angle and span, modulo 180; all angles where left out.
    prove : bool
        Whether to bound the margin of every other placement too.
    """
    margins = Opening.margins(field)
    arcs = (
        None if arcs_deg is None else [(math.radians(start), math.radians(span)) for start, span in arcs_deg]
    )
    best = best_placement(shape, margins, arcs)
    drawn = (*range(180), *(best.position_angle_deg + beside for beside in BESIDE_DEG))
    curve = room_curve(shape, margins, also_rad=tuple(map(math.radians, drawn)))
    any_angle = ARCMIN * float(np.ptp(curve.rooms)) < max(
        ANY_ANGLE_ARCMIN, ROUND * ARCMIN * math.tan(shape.radius_rad)
    )
    bound = None
    if prove:
        most = max(1000, MOST_WORK // len(shape.corners))
        bound = ARCMIN * room_bound(shape, margins, best.room, close=CLOSE, most_boxes=most, arcs=arcs)
    if any_angle and arcs is None:
        best = placement_at(shape, margins, 0.0)
    left, right, top, bottom = (ARCMIN * room for room in best.rooms)
    return FieldFit(
        placement=best,
        margins_arcmin=Margins(top, bottom, left, right),
        bound_arcmin=bound,
        fits_at_deg=stretches_in_reach(curve.stretches_deg, arcs_deg),
        curve=(curve.angles_deg, curve.rooms * ARCMIN),
        scale=1.0 - best_placement(shape, Opening.scales(field), arcs, rounds=SCALE_ROUNDS).room,
        any_angle=any_angle,
    )


def allowed_arcs(request: Request) -> tuple[Arc, ...] | None:
    """Angles that the device reaches, first and span in degrees, modulo 180; None where all are."""
    return arcs_in_reach(request.angle_device, request.camera.field.period_deg)


def arcs_in_reach(device: AngleDevice | None, period_deg: float) -> tuple[Arc, ...] | None:
    """Angles that a device reaches, first and span in degrees, modulo 180; None where all are."""
    start, span = travel_arc(device, period_deg=period_deg)
    if span >= period_deg:
        return None
    return tuple((start + turn, span) for turn in np.arange(0.0, 180.0, period_deg).tolist())


def stretches_in_reach(stretches: Sequence[Arc], arcs: Sequence[Arc] | None) -> tuple[Arc, ...]:
    """Stretches, from and to, within the arcs, first and span."""
    if arcs is None:
        return tuple(stretches)
    found = [
        (start % 180.0, start % 180.0 + span)
        for low, high in stretches
        for arc in arcs
        for start, span in common_arcs((low % 180.0, high - low), arc, period_deg=180.0)
    ]
    return tuple(sorted(set(found)))


def _inside(region: Region, placement: Placement, field: Field) -> Iterator[PartInside]:
    """Yield which share of each part's area in the frame's plane lies inside the frame."""
    basis = sky_basis(*placement.center_deg, placement.position_angle_deg)
    frame = shapely.box(-field.half_width, -field.half_height, field.half_width, field.half_height)
    named = [(part.name, part.region) for part in region.parts] or [("the region", region)]
    for name, part in named:
        seen = part.seen_from(basis)
        yield PartInside(name, min(1.0, float(seen.intersection(frame).area / seen.area)))


def _notes(request: Request, fit: FieldFit) -> Iterator[str]:
    device = request.angle_device
    if device is not None and device.kind == "fixed":
        yield f"its camera is fixed at position angle {device.zero_deg:g}: no other angle was looked at"
    elif allowed_arcs(request) is not None:
        yield "only angles within the travel of its angle device were looked at"
    if fit.any_angle:
        yield "the angle makes no difference"
