"""The same region asked of several setups: panels, hours, cost and print of each, and what one cannot do."""

from __future__ import annotations

import math
import operator
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from planner.errors import InputError
from planner.mosaic.angle_range import AngleRange
from planner.night.rising import hours_in_reach
from planner.progress import Effort, Progress
from planner.request.request import MOUNT_KEYS, Request, Setup
from planner.rig.print_size import USUAL_PPI, print_size_cm
from planner.rig.reachable_arcs import common_arcs, travel_arc
from planner.rig.readings import panel_readings

if TYPE_CHECKING:
    from planner.mosaic.mosaic import Mosaic
    from planner.night.settings import Site

    from .plan import Plan

__all__ = [
    "Cost",
    "Hours",
    "SetupAnswer",
    "answer_of_plan",
    "best_plan_in_reach",
    "compare_setups",
    "setup_names",
    "setup_request",
    "sorted_answers",
]


@dataclass(frozen=True)
class Hours:
    """Hours that all exposures of all panels take.

    Parameters
    ----------
    exposures : float
    overheads : float
        At least: one block for every panel and filter, and what every exposure needs besides.
    dark_sky : float, optional
        Hours at a dark sky that the exposures are worth if they fall evenly on all hours of the season in which the
        filters may be used; None without a season or a site, or where it has no such hour.
    """

    exposures: float
    overheads: float
    dark_sky: float | None = None

    @property
    def all(self) -> float:
        """Both together."""
        return self.exposures + self.overheads


@dataclass(frozen=True)
class Cost:
    """What the hours cost, overheads included: all at the cheapest and all at the dearest price of an hour."""

    least: float
    most: float
    currency: str


@dataclass(frozen=True, eq=False)
class SetupAnswer:
    """What one setup gives.

    Parameters
    ----------
    name : str
        The setup's title, or its file's name.
    request : Request or None
        The plan file's wishes with the setup's equipment.
    plan : Plan or None
        At the best angle that the device can be set to; None where there is no plan.
    hours : Hours or None
        None without filters or a plan, or where the setup cannot do it.
    cost : Cost or None
        None without prices.
    print_width_cm : float or None
    cannot : tuple of str
        What the setup cannot do, one sentence each; empty if it can do all.
    notes : tuple of str
    scale_arcsec_px : float
    """

    name: str
    scale_arcsec_px: float
    request: Request | None = None
    plan: Plan | None = None
    hours: Hours | None = None
    cost: Cost | None = None
    print_width_cm: float | None = None
    cannot: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()

    @property
    def panels(self) -> int | None:
        """Number of panels."""
        return None if self.plan is None else len(self.plan.mosaic.panels)

    @property
    def position_angle_deg(self) -> float | None:
        """The panels' angle (of the axes where each panel has its own), [0, 360)."""
        return None if self.plan is None else _angle_deg(self.plan.mosaic)


def compare_setups(
    request: Request, setups: Sequence[Setup], *, effort: Effort = "usual", progress: Progress | None = None
) -> tuple[SetupAnswer, ...]:
    """Plan the same region with every setup, and sort the answers.

    First those that can do it, by hours of exposure where they are known, then by panels, then by name.

    Raises
    ------
    InputError
        If a setup has no camera, or the region cannot be found.
    """
    from .find_region import find_region

    find_region(request.region)
    answers = []
    for number, (setup, name) in enumerate(zip(setups, setup_names(setups), strict=True)):
        if progress is not None:
            progress(f"planning with {name}", number / len(setups))
        answers.append(_answer(request, setup, name, effort))
    return sorted_answers(answers)


def sorted_answers(answers: Sequence[SetupAnswer]) -> tuple[SetupAnswer, ...]:
    """Answers in the order in which they are told: first those that can do it, by hours, by panels, by name."""
    return tuple(sorted(answers, key=_place))


def setup_names(setups: Sequence[Setup]) -> list[str]:
    """Titles, or names of files; with the file beside it where two are alike."""
    plain = [setup.name for setup in setups]
    return [
        f"{name} ({setup.path})" if plain.count(name) > 1 and setup.path else name
        for name, setup in zip(plain, setups, strict=True)
    ]


def _place(answer: SetupAnswer) -> tuple[bool, float, float, str]:
    hours = math.inf if answer.hours is None else answer.hours.exposures
    return bool(answer.cannot), hours, answer.panels or math.inf, answer.name


def setup_request(request: Request, setup: Setup) -> Request:
    """Return the plan file's wishes with a setup's equipment.

    Region, picture, overlap, camera angles and layout are the plan file's; camera, device, mount, sites, prices
    and the errors of the mount are the setup's; filters and nights too where it has them. A list of panels is let go.
    """
    plain = replace(request, panels=(), settled=None)
    theirs = setup.mosaic
    errors = {name: getattr(theirs, name) for name in MOUNT_KEYS} if theirs else {}
    merged = replace(
        setup, mosaic=replace(request.mosaic, **errors), picture=request.picture or setup.picture
    )
    return plain.with_setup(merged)


def _answer(request: Request, setup: Setup, name: str, effort: Effort) -> SetupAnswer:
    """Plan with one setup; what makes that impossible is its answer."""
    if setup.camera is None:
        raise InputError(f"{setup.path or name} has no [camera] table; add one")
    answer = SetupAnswer(name, setup.camera.scale_arcsec_px)
    try:
        asked = setup_request(request, setup)
        plan = best_plan_in_reach(asked, effort)
    except InputError as error:
        return replace(answer, cannot=(str(error),))
    return replace(answer_of_plan(plan, asked, wished=request), name=name)


def answer_of_plan(plan: Plan, asked: Request, *, wished: Request | None = None) -> SetupAnswer:
    """What a plan comes to; the name is that of the plan.

    Parameters
    ----------
    plan : Plan
    asked : Request
        What it was made for, before its angles were cut down to those that the device can be set to.
    wished : Request, optional
        The plan file's wishes, where the plan is made with another setup.
    """
    cannot = tuple(_cannot(plan))
    able = SetupAnswer(
        asked.title,
        asked.camera.scale_arcsec_px,
        request=asked,
        plan=plan,
        cannot=cannot,
        notes=tuple(_notes(wished or asked, asked)),
        print_width_cm=_print(plan),
    )
    if cannot or not asked.filters:
        return able
    sites = _sites_in_reach(plan)
    hours = _hours(plan, sites)
    return replace(able, hours=hours, cost=_cost(sites, hours))


def best_plan_in_reach(request: Request, effort: Effort) -> Plan:
    """Plan at the best angle that the device can be set to.

    Raises
    ------
    InputError
        If it can be set to none that the plan file allows.
    """
    from .plan import make_plan

    plans = [make_plan(one, effort=effort) for one in _within_travel(request)]
    return min(plans, key=lambda plan: (bool(plan.shortfalls), len(plan.mosaic.panels)))


def _within_travel(request: Request) -> Iterator[Request]:
    """The request with its angles cut down to those within the device's travel."""
    asked, period = request.mosaic, request.camera.field.period_deg
    travel = travel_arc(request.angle_device, period_deg=period)
    if asked.angles != 1 and travel[1] == 0.0:
        asked = replace(asked, angles=1)
    if travel[1] >= period or asked.angles != 1:
        yield request
        return
    arcs = common_arcs(_wished_arc(request), travel, period_deg=period)
    if not arcs:
        raise InputError(_out_of_travel(request))
    for start, span in arcs:
        pinned = None if span > 1e-6 else start
        ends = (start, start + span) if pinned is None else None
        yield replace(
            request, mosaic=replace(asked, position_angle_deg=pinned, position_angle_range_deg=_turned(ends))
        )


def _wished_arc(request: Request) -> tuple[float, float]:
    """Angles that the plan file allows: first and span, degrees."""
    asked, period = request.mosaic, request.camera.field.period_deg
    if asked.position_angle_deg is not None:
        return asked.position_angle_deg % period, 0.0
    allowed = AngleRange.between(asked.position_angle_range_deg, period)
    return allowed.start_deg % period, allowed.span_deg


def _turned(ends: tuple[float, float] | None) -> tuple[float, float] | None:
    """Ends of a range, within the angles that a request may name."""
    return None if ends is None else (ends[0], ends[1] if ends[1] <= 360.0 else ends[1] - 360.0)


def _out_of_travel(request: Request) -> str:
    device, asked = request.angle_device, request.mosaic
    wish = asked.position_angle_deg
    text = (
        f"the angle {wish:g}" if wish is not None else f"angles {list(asked.position_angle_range_deg or ())}"
    )
    if device is not None and device.kind == "fixed":
        return f"its camera is fixed at position angle {device.zero_deg:g}, the plan asks for {text}"
    return f"its angle device cannot reach {text} that the plan asks for"


def _cannot(plan: Plan) -> Iterator[str]:
    """What the setup cannot do, one sentence each."""
    request, device = plan.request, plan.request.angle_device
    yield from plan.shortfalls
    if request.mount and request.mount.kind == "altaz" and (device is None or device.kind != "rotator"):
        yield "its altazimuth mount turns the field during exposures and it has no rotator"
    if device is not None:
        off = sum(not one.reachable for one in panel_readings(plan.mosaic.panels, plan.mosaic.field, device))
        if off:
            yield f"{off} of {len(plan.mosaic.panels)} panels stand at angles that its device cannot reach"
    if request.sites and not _sites_in_reach(plan):
        yield _never_rises(plan)


def _sites_in_reach(plan: Plan) -> tuple[Site, ...]:
    """Sites over which every panel's centre rises high enough."""
    dec = [panel.dec_deg for panel in plan.mosaic.panels]
    return tuple(site for site in plan.request.sites if (hours_in_reach(site, dec) > 0.0).all())


def _never_rises(plan: Plan) -> str:
    """Say how many panels never rise high enough, at the site where that is the fewest."""
    dec = [panel.dec_deg for panel in plan.mosaic.panels]
    low = {site: int((hours_in_reach(site, dec) == 0.0).sum()) for site in plan.request.sites}
    site = min(low, key=lambda one: low[one])
    which = (
        "the region never rises" if low[site] == len(dec) else f"{low[site]} of {len(dec)} panels never rise"
    )
    return f"{which} above {site.lowest_altitude_deg:g} degrees and the horizon of {site.name}"


def _hours(plan: Plan, sites: Sequence[Site]) -> Hours:
    from .season_moonlight import season_shares

    request, panels = plan.request, len(plan.mosaic.panels)
    each = [one.exposures * one.exposure_s / 3600.0 for one in request.filters]
    shares = season_shares(plan, sites)
    overheads = 0.0
    if request.nights is not None:
        each_s = request.nights.overhead_per_exposure_s * sum(one.exposures for one in request.filters)
        overheads = request.nights.overhead_per_panel_min * len(request.filters) / 60.0 + each_s / 3600.0
    dark_sky = None if shares is None else panels * sum(map(operator.mul, each, shares))
    return Hours(panels * sum(each), panels * overheads, dark_sky)


def _cost(sites: Sequence[Site], hours: Hours) -> Cost | None:
    """Cost at the sites that see the region; None without prices, or with prices in several currencies."""
    prices = [price for site in sites for _, price in site.hour_price]
    currencies = {site.currency for site in sites if site.hour_price}
    if not prices or len(currencies) != 1:
        return None
    return Cost(min(prices) * hours.all, max(prices) * hours.all, currencies.pop())


def _print(plan: Plan) -> float:
    asked = plan.request.picture
    return print_size_cm(plan.picture.pixels, ppi=asked.print_ppi if asked else USUAL_PPI)[0]


def _notes(request: Request, asked: Request) -> Iterator[str]:
    """What to know about a comparison with this setup."""
    if not asked.sites:
        yield "it has no [site]: whether the region rises there is unknown"
    if not asked.filters:
        yield "no [[filters]] are given: hours are unknown"
    elif request.filters and asked.filters != request.filters:
        yield (
            f"its own [[filters]] count ({_filters(asked)}), not those that the plan file has by itself or from its "
            f"setup ({_filters(request)})"
        )
    device = asked.angle_device
    if device is not None and device.kind == "fixed":
        yield f"its camera is fixed at position angle {device.zero_deg:g}"
        if asked.mosaic.angles != 1:
            yield f"angles = {asked.mosaic.angles!r} is left aside, since it cannot turn"
    if request.unsettled.panels:
        yield "the listed panels are left aside: every setup plans its own"


def _filters(request: Request) -> str:
    return ", ".join(f"{one.name} {one.exposures} x {one.exposure_s:g} s" for one in request.filters)


def _angle_deg(mosaic: Mosaic) -> float:
    angle = mosaic.axes.position_angle_deg if mosaic.axes else mosaic.panels[0].position_angle_deg
    return angle % 360.0
