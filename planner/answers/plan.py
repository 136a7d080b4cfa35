"""The plan: a request carried through to panels, picture, seams and stars."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import TYPE_CHECKING

from planner.mosaic.build import build_mosaic
from planner.mosaic.mosaic import Axes, Mosaic
from planner.mosaic.orientation import Orientation
from planner.mosaic.proof.prove import area_bound, prove
from planner.mosaic.rectangle import refuse_too_wide
from planner.mosaic.region import Region
from planner.mosaic.terms import Layout, Terms
from planner.progress import Effort, Progress
from planner.request.panels import listed_panels
from planner.request.picture import Picture, picture_from, picture_of, smallest_picture
from planner.request.request import Request

from .find_region import SourcedRegion, find_region
from .plan_notes import plan_notes
from .settled_words import unlike_asked

if TYPE_CHECKING:
    from planner.frames.solve.frame_solver import FrameSolver

    from .full_picture import FullPicture

__all__ = ["Draft", "Plan", "StarCounts", "layout_of", "make_draft", "make_plan", "plan_of_draft", "terms_of"]


@dataclass(frozen=True)
class StarCounts:
    """Catalogue stars to magnitude 10: in every seam, and in all seams of every panel together."""

    seams: tuple[int, ...]
    panels: tuple[int, ...]


@dataclass(frozen=True, eq=False)
class Draft:
    """A request with its panels, proven to give what was asked, before the overlap is measured and stars are counted.

    Parameters
    ----------
    request : Request
    mosaic : Mosaic
        Panels over the region, proven; of a plan, measured too.
    picture : Picture
    wanted : Region, optional
        The region asked for, where panels cover more: a picture that is to be full.
    """

    request: Request
    mosaic: Mosaic
    picture: Picture
    wanted: Region | None = field(default=None, kw_only=True)

    @property
    def region(self) -> Region:
        """The region asked for, after its margin."""
        return self.mosaic.region if self.wanted is None else self.wanted

    @property
    def shortfalls(self) -> tuple[str, ...]:
        """What the plan does not give although it was asked for, one sentence each; empty if all is met."""
        found = (*self.mosaic.shortfalls, *self._unlike_asked())
        if self.wanted is None or self.mosaic.covered:
            return found
        share = 100.0 * self.mosaic.gap_area_deg2 / self.mosaic.region.area_deg2
        return (f"{share:.2g} per cent of the picture is empty", *found)

    def _unlike_asked(self) -> tuple[str, ...]:
        """What camera angles and counts settled panels have otherwise than the changed request asks."""
        return unlike_asked(self.request, self.mosaic) if self.request.changed_tables else ()


@dataclass(frozen=True, eq=False)
class Plan(Draft):
    """A request and what has been planned for it: a draft, and what is known beyond it.

    Parameters
    ----------
    star_counts : StarCounts
    notes : tuple of str
        What the user should know, one sentence each.
    """

    star_counts: StarCounts
    notes: tuple[str, ...]

    @property
    def layout(self) -> Mosaic:
        """The panels that cover the region together: its own, unless it is a part of a layout."""
        return self.mosaic

    def solver(self) -> FrameSolver:
        """Return what solves frames of the panels."""
        from planner.frames.solve.frame_solver import FrameSolver

        return FrameSolver(self.request.camera, self.mosaic.panels)

    @cached_property
    def full_picture(self) -> FullPicture | None:
        """The largest picture without an empty corner that the panels give; None if they give none."""
        from .full_picture import full_picture_of

        return full_picture_of(self.request, self.mosaic)


def make_plan(request: Request, *, effort: Effort = "usual", progress: Progress | None = None) -> Plan:
    """Plan a request: find the region, lay out and prove the panels, count stars in the seams.

    Parameters
    ----------
    request : Request
    effort : {'quick', 'usual', 'thorough'}
        How long the search for fewer panels goes on, in steps: the same request gives the same plan anywhere.
    progress : Progress, optional

    Raises
    ------
    InputError
        If the region cannot be found or planned.
    """
    sourced = find_region(request.region)
    layout = layout_of(request, sourced, effort)
    return _finished(_drafted(request, sourced, layout, progress=progress), sourced)


def make_draft(request: Request, *, effort: Effort = "usual") -> Draft:
    """Return the panels that `make_plan` finds, sooner: the overlaps found are only proven to be those asked for.

    Parameters
    ----------
    request : Request
    effort : as in `make_plan`

    Raises
    ------
    InputError
        If the region cannot be found or planned.
    """
    sourced = find_region(request.region)
    return _drafted(request, sourced, replace(layout_of(request, sourced, effort), measure=False))


def plan_of_draft(draft: Draft) -> Plan:
    """Return the plan that `make_plan` makes in the place of a draft."""
    sourced, was = find_region(draft.request.region), draft.mosaic
    mosaic = prove(
        was.region,
        terms_of(draft.request),
        was.panels,
        angles=was.angles,
        axes=was.axes,
        panel_count_bound=was.panel_count_bound,
    )
    return _finished(replace(draft, mosaic=mosaic), sourced)


def _drafted(
    request: Request, sourced: SourcedRegion, layout: Layout, *, progress: Progress | None = None
) -> Draft:
    terms, region = terms_of(request), sourced.region
    refuse_too_wide(region)  # before a search that would be in vain
    if request.picture and request.picture.filled:
        return _filled_draft(request, region, layout, progress=progress)
    mosaic = _mosaic_over(request, region, terms, layout, progress)
    return Draft(request, mosaic, picture_of(request, mosaic, region))


def _mosaic_over(
    request: Request, region: Region, terms: Terms, layout: Layout, progress: Progress | None
) -> Mosaic:
    """Return the panels over a region: those that the plan file lists, these and others, or all from a search."""
    if request.grows:
        from .grow import grown_mosaic

        return grown_mosaic(request, region, terms, layout, progress)
    if request.panels:
        return _listed_mosaic(request, region, layout)
    return build_mosaic(region, terms, layout, progress=progress)


def _listed_mosaic(request: Request, region: Region, layout: Layout) -> Mosaic:
    """Prove panels as a plan file lists or keeps them.

    The bound of settled ones holds for what was asked then; for others that of the area stands.
    """
    panels, settled, terms = listed_panels(request.panels), request.settled, terms_of(request)
    least = min(len(panels), area_bound(region, terms))
    bound = settled.panel_count_bound if settled and not request.changed_tables else least
    return prove(
        region,
        terms,
        panels,
        angles=layout.angles,
        axes=Axes(*settled.axes_deg) if settled and settled.axes_deg else None,
        panel_count_bound=bound,
        measure=layout.measure,
    )


def _filled_draft(
    request: Request, region: Region, layout: Layout, *, progress: Progress | None = None
) -> Draft:
    """Return panels over the whole of the picture about a region."""
    from .filled_picture import filled_rectangle

    terms, kept = terms_of(request), request.settled is not None and not request.changed_tables
    if request.panels and not kept and not request.grows:
        angle_deg = request.picture.position_angle_deg if request.picture else None
        panels = listed_panels(request.panels)
        stands = Orientation.common(panels[0].position_angle_deg if angle_deg is None else angle_deg)
        rectangle = smallest_picture(request, region, stands)
    else:
        rectangle, layout = filled_rectangle(request, region, terms, layout)
    mosaic = _mosaic_over(request, rectangle.as_region(), terms, layout, progress)
    picture = picture_from(rectangle, request.camera.scale_arcsec_px)
    return Draft(request, mosaic, picture, wanted=region)


def _finished(draft: Draft, sourced: SourcedRegion) -> Plan:
    """Return the plan of a draft whose mosaic is measured."""
    counts = _count_stars(draft.mosaic)
    notes = (*sourced.notes, *plan_notes(draft.request, draft.mosaic, draft.picture, counts.seams))
    if draft.wanted is not None and draft.mosaic.covered:
        notes = (*notes, *_filled_notes(draft))
    return Plan(draft.request, draft.mosaic, draft.picture, counts, notes, wanted=draft.wanted)


def _filled_notes(draft: Draft) -> Iterator[str]:
    from .filled_picture import room_about

    room_arcmin = 60.0 * room_about(draft.region, draft.picture)
    yield f"the picture is full; at least {room_arcmin:.1f} arc minutes lie between the region and its sides"


def terms_of(request: Request) -> Terms:
    """Return the terms that a request sets for its mosaic."""
    asked = request.mosaic
    return Terms(
        field=request.camera.field,
        overlap=asked.overlap,
        overlap_arcmin=asked.overlap_arcmin,
        shift_arcmin=asked.pointing_error_arcmin + asked.dither_arcmin,
        turn_deg=asked.angle_error_deg,
        least_overlap_arcmin=asked.least_overlap_arcmin,
    )


def layout_of(request: Request, sourced: SourcedRegion, effort: Effort) -> Layout:
    """Return the layout that a request allows; an earlier picture's angle is the default angle.

    A fixed camera has no angle but its own; what a request asks for besides is planned all the same.
    """
    asked = request.mosaic
    picture_deg = request.picture.position_angle_deg if request.picture else None
    angle_deg = asked.position_angle_deg
    if angle_deg is None and asked.angles == "per_panel":
        angle_deg = picture_deg
    if angle_deg is None and asked.position_angle_range_deg is None:
        device = request.angle_device
        own = device is not None and device.kind == "fixed" and asked.angles == 1
        angle_deg = device.zero_deg % 360.0 if device is not None and own else sourced.position_angle_deg
    return Layout(
        kind=asked.layout,
        angles=asked.angles,
        angle_deg=angle_deg,
        angle_range_deg=asked.position_angle_range_deg,
        columns=asked.columns,
        rows=asked.rows,
        picture_angle_deg=picture_deg,
        effort=effort,
    )


def _count_stars(mosaic: Mosaic) -> StarCounts:
    """Count catalogue stars in each seam and, once each, in all seams of each panel."""
    if not mosaic.seams:
        return StarCounts((), (0,) * len(mosaic.panels))
    from planner.catalogue import stars_in_polygons

    seam, star = stars_in_polygons([seam.corners for seam in mosaic.seams])
    inside: list[set[int]] = [set() for _ in mosaic.panels]
    seams = [0] * len(mosaic.seams)
    for which, index in zip(seam.tolist(), star.tolist(), strict=True):
        seams[which] += 1
        inside[mosaic.seams[which].first].add(index)
        inside[mosaic.seams[which].second].add(index)
    return StarCounts(tuple(seams), tuple(map(len, inside)))
