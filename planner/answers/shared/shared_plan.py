"""Plans of the instruments that share a mosaic: each laid out and proven for itself, then together."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, fields, replace
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np

from planner.answers.plan import Plan, make_plan
from planner.errors import InputError, nearest_names
from planner.frames.review.coverage import FrameCoverage, frame_coverage
from planner.frames.review.footprints import Footprints, joined
from planner.mosaic.mosaic import Mosaic
from planner.mosaic.panel import panel_bases
from planner.plain_names import file_stems
from planner.progress import Effort, Progress
from planner.request.panels import PanelRequest
from planner.request.picture import Picture
from planner.request.region import RegionRequest
from planner.request.request import Request
from planner.request.shared import Instrument, SharedRequest

if TYPE_CHECKING:
    from planner.frames.review.limits import Limits
    from planner.frames.review.shared import ReviewPart
    from planner.frames.solve.any_solver import AnySolver

__all__ = [
    "InstrumentPlan",
    "PartPlan",
    "SharedPlan",
    "Together",
    "make_instrument_plan",
    "make_shared_plan",
    "over_picture",
    "part_of",
    "part_of_whole",
]

PART_NOTE = (
    "these panels are its part of a mosaic that several instruments share; what they leave is the others'"
)


@dataclass(frozen=True, eq=False)
class PartPlan(Plan):
    """The panels that an instrument takes of its layout: what it leaves is the others', so that no gap is told.

    Parameters
    ----------
    told : tuple of str
        What falls short.
    whole : Mosaic, optional
        The instrument's whole layout, where it takes a part of it.
    """

    told: tuple[str, ...] = field(default=(), kw_only=True)
    whole: Mosaic | None = field(default=None, kw_only=True)

    @property
    def layout(self) -> Mosaic:
        """The panels that cover the region together: the whole layout."""
        return self.mosaic if self.whole is None else self.whole

    @property
    def shortfalls(self) -> tuple[str, ...]:
        """What falls short, one sentence each."""
        return self.told


@dataclass(frozen=True, eq=False)
class InstrumentPlan:
    """One instrument's part of a shared mosaic.

    Parameters
    ----------
    instrument : Instrument
    whole : Plan
        Its layout over the whole region, proven for itself.
    plan : Plan
        The panels that it takes: the same where it takes all.
    """

    instrument: Instrument
    whole: Plan
    plan: Plan

    @property
    def name(self) -> str:
        """Name of the instrument."""
        return self.instrument.name

    def review_part(self, limits: Limits) -> ReviewPart:
        """Return what a review must know of it, with limits of a good frame."""
        from planner.frames.review.shared import ReviewPart

        return ReviewPart(self.name, self.plan.request, self.plan.mosaic, limits)

    @property
    def through(self) -> str:
        """The filters that it takes, as words behind a name; empty where the plan has none."""
        return f" through {', '.join(self.instrument.filters)}" if self.instrument.filters else ""

    @property
    def takes_all(self) -> bool:
        """Whether it takes every panel of its layout."""
        return self.plan is self.whole

    @property
    def panels(self) -> tuple[str, ...]:
        """Names of the panels that it takes."""
        return tuple(panel.name for panel in self.plan.mosaic.panels)


@dataclass(frozen=True)
class Together:
    """What the panels of all instruments that take a filter cover.

    Parameters
    ----------
    filter : str or None
        None where the plan has no filters.
    instruments : tuple of str
        Names of those that take it.
    gap_area_deg2 : float
        Exactly 0 where the region is covered.
    overlap_found : float
        A proven lower bound, a fraction of a side of the smallest field among them; 0 with a gap.
    """

    filter: str | None
    instruments: tuple[str, ...]
    gap_area_deg2: float
    overlap_found: float

    @property
    def covered(self) -> bool:
        """Whether every point of the region lies in a panel."""
        return self.gap_area_deg2 == 0.0


@dataclass(frozen=True, eq=False)
class SharedPlan:
    """A shared mosaic, planned.

    Parameters
    ----------
    request : SharedRequest
    instruments : tuple of InstrumentPlan
        In the order of the file.
    """

    request: SharedRequest
    instruments: tuple[InstrumentPlan, ...]

    @property
    def title(self) -> str:
        """Title of the plan file."""
        return self.request.title

    @property
    def finest(self) -> InstrumentPlan:
        """The instrument with the finest image scale, which is the picture's."""
        return next(one for one in self.instruments if one.instrument is self.request.finest)

    @property
    def wholes(self) -> tuple[Plan, ...]:
        """Plan of each instrument's whole layout."""
        return tuple(one.whole for one in self.instruments)

    @cached_property
    def folders(self) -> tuple[str, ...]:
        """Folders for the own files of each instrument, all different."""
        return tuple(name.lower() for name in file_stems([one.name for one in self.instruments]))

    def solver(self) -> AnySolver:
        """Return what solves a frame of any of the instruments."""
        from planner.frames.solve.any_solver import AnySolver

        return AnySolver(tuple(one.plan.solver() for one in self.instruments))

    def each(self, limits: Callable[[Request], Limits]) -> dict[str, Limits]:
        """Return what good frames of each instrument keep to, by name, as a call gives it for a request."""
        return {one.name: limits(one.plan.request) for one in self.instruments}

    @property
    def picture(self) -> Picture:
        """The finished print, at the finest scale."""
        return self.finest.whole.picture

    @cached_property
    def finest_shown(self) -> Plan:
        """The finest instrument's plan under the title of the whole, with what all of it falls short of."""
        plan = self.finest.plan
        shown = replace(plan, request=replace(plan.request, title=self.title), picture=self.picture)
        return _told(shown, self.shortfalls)

    @cached_property
    def together(self) -> tuple[Together, ...]:
        """What all instruments together cover, filter by filter."""
        return tuple(self._together(name) for name in self.request.filters or (None,))

    @property
    def shortfalls(self) -> tuple[str, ...]:
        """What falls short, one sentence each; empty if all is met."""
        return tuple(self._shortfalls())

    def _shortfalls(self) -> Iterator[str]:
        for one in self.instruments:
            for text in one.whole.shortfalls:
                yield f"{one.name}: {text}"
        open_through: dict[tuple[tuple[str, ...], str], list[str]] = {}
        for both in self.together:
            if not both.covered:
                gap = f"{both.gap_area_deg2:.3g} square degrees uncovered"
                open_through.setdefault((both.instruments, gap), []).append(both.filter or "")
        for (names, gap), filters in open_through.items():
            through = f" through {', '.join(filters)}" if any(filters) else ""
            leave = "together leave" if len(names) > 1 else "leaves"
            yield f"{' and '.join(names)} {leave} {gap}{through}"

    def _together(self, name: str | None) -> Together:
        takers = [one for one in self.instruments if name is None or name in one.instrument.filters]
        names = tuple(one.name for one in takers)
        alone = [one.whole.mosaic for one in takers if one.takes_all]
        if alone:
            best = max(alone, key=lambda mosaic: (mosaic.covered, mosaic.overlap_found))
            return Together(name, names, best.gap_area_deg2, best.overlap_found)
        found = _coverage_of_parts(takers)
        return Together(name, names, found.gap.area_deg2, found.overlap_found)


def make_shared_plan(
    request: SharedRequest, *, effort: Effort = "usual", progress: Progress | None = None
) -> SharedPlan:
    """Plan every instrument's layout over the whole region, and pick the panels that each takes.

    A picture that is to be full is that of the finest instrument, which is planned first; the others cover it whole.

    Parameters
    ----------
    request : SharedRequest
    effort : {'quick', 'usual', 'thorough'}
    progress : Progress, optional

    Raises
    ------
    InputError
        If the region cannot be found or planned, or an instrument takes a panel that its layout does not have.
    """
    found: dict[str, InstrumentPlan] = {}
    finest = request.finest
    order = sorted(request.instruments, key=lambda one: one is not finest)
    for number, one in enumerate(order):
        tell = part_of(progress, one.name, number, len(order))
        found[one.name] = _instrument_plan(one, found.get(finest.name), effort, tell)
    return SharedPlan(request, tuple(found[one.name] for one in request.instruments))


def make_instrument_plan(
    request: SharedRequest, name: str, *, effort: Effort = "usual", progress: Progress | None = None
) -> InstrumentPlan:
    """Plan one instrument's part alone, as `make_shared_plan` does it; parameters and errors as there.

    Parameters
    ----------
    name : str
        Of the instrument.
    """
    finest = request.finest
    one = next(one for one in request.instruments if one.name == name)
    leans = one is not finest and one.request.picture is not None and one.request.picture.filled
    if not leans:
        return _instrument_plan(one, None, effort, progress)
    first = _instrument_plan(finest, None, effort, part_of(progress, finest.name, 0, 2))
    return _instrument_plan(one, first, effort, part_of(progress, name, 1, 2))


def _instrument_plan(
    one: Instrument, first: InstrumentPlan | None, effort: Effort, progress: Progress | None
) -> InstrumentPlan:
    """Plan an instrument's layout and pick what it takes; `first` is the finest's, whose picture all cover."""
    asked = one if first is None else replace(one, request=over_picture(one.request, first.whole.picture))
    whole = make_plan(asked.request, effort=effort, progress=progress)
    return InstrumentPlan(one, whole, part_of_whole(asked, whole))


def over_picture(request: Request, picture: Picture) -> Request:
    """Return the request with a full picture as its region; as it is where the picture need not be full."""
    if request.picture is None or not request.picture.filled:
        return request
    region = RegionRequest(
        center=picture.center_deg,
        width_deg=picture.width_deg,
        height_deg=picture.height_deg,
        position_angle_deg=picture.position_angle_deg,
    )
    asked = replace(
        request.picture,
        filled=False,
        aspect=None,
        upright=None,
        position_angle_deg=picture.position_angle_deg,
    )
    return _settled_over(request, replace(request, region=region, picture=asked))


def _settled_over(request: Request, asked: Request) -> Request:
    """The request over a full picture; what belongs to its settled panels is told of the request as it was."""
    if request.settled is None:
        return asked
    changed = request.changed_tables
    same: dict[str, Any] = {name: mark for name, mark in asked.marks.items() if name not in changed}
    picture = request.settled.picture if "picture" in changed else None
    return replace(asked, settled=replace(request.settled, **same, picture=picture))


def part_of(progress: Progress | None, name: str, number: int, count: int) -> Progress | None:
    """Tell an instrument's progress as a part of the progress of all of them."""
    if progress is None:
        return None
    return lambda what, share: progress(f"{name}: {what}", (number + share) / count)


def part_of_whole(instrument: Instrument, whole: Plan) -> Plan:
    """Return the panels that an instrument takes of its whole layout, proven for what they are.

    Raises
    ------
    InputError
        If it takes a panel that the layout does not have.
    """
    if instrument.panels is None:
        return whole
    there = [panel.name for panel in whole.mosaic.panels]
    for name in instrument.panels:
        if name not in there:
            hint = nearest_names(name, there) or f"; it has {', '.join(there[:8])}"
            raise InputError(
                f"setup_files.panels of {instrument.name!r} name {name!r}, no panel of its layout{hint}"
            )
    plan = make_plan(_listed(instrument, whole))
    bare = replace(plan, mosaic=replace(plan.mosaic, gap_center_deg=None), notes=(PART_NOTE,))
    return replace(_told(bare, ()), whole=whole.mosaic)


def _told(plan: Plan, shortfalls: tuple[str, ...]) -> PartPlan:
    """The same plan, of which something else is told to fall short."""
    return PartPlan(**{one.name: getattr(plan, one.name) for one in fields(Plan)}, told=shortfalls)


def _listed(instrument: Instrument, whole: Plan) -> Request:
    """The request with exactly the panels that an instrument takes."""
    taken = [panel for panel in whole.mosaic.panels if panel.name in (instrument.panels or ())]
    listed = {one.name: one.exposures for one in instrument.request.panels}
    panels = tuple(
        PanelRequest(
            one.name, one.ra_deg, one.dec_deg, one.position_angle_deg, exposures=listed.get(one.name)
        )
        for one in sorted(taken, key=lambda one: one.order)
    )
    asked = replace(instrument.request.mosaic, columns=None, rows=None, position_angle_range_deg=None)
    return replace(instrument.request, mosaic=asked, panels=panels, settled=None)


def _coverage_of_parts(parts: Sequence[InstrumentPlan]) -> FrameCoverage:
    """What panels of several fields cover together, proven as frames of several sizes are."""
    footprints = joined([_footprints(one.plan) for one in parts])
    footprints = replace(footprints, panels=np.arange(len(footprints)))
    mosaic = parts[0].whole.mosaic
    return frame_coverage(mosaic, parts[0].whole.request.mosaic, footprints)


def _footprints(plan: Plan) -> Footprints:
    """Panels as if each were a frame."""
    mosaic, count = plan.mosaic, len(plan.mosaic.panels)
    sizes = np.tile([mosaic.field.half_width, mosaic.field.half_height], (count, 1))
    numbers = np.arange(count)
    return Footprints(
        panel_bases(mosaic.panels), sizes, np.zeros(count), np.zeros(count, dtype=np.intp), numbers
    )
