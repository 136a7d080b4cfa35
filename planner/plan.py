"""The plan: a request carried through to panels, picture, seams and stars."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from planner.mosaic.build import Layout, build_mosaic
from planner.mosaic.mosaic import Mosaic
from planner.mosaic.orientation import Orientation
from planner.mosaic.proven import prove
from planner.mosaic.rectangle import Rectangle, smallest_rectangle
from planner.mosaic.region import Region
from planner.mosaic.terms import Terms
from planner.notes import plan_notes
from planner.panel_request import listed_panels
from planner.regions import SourcedRegion, find_region
from planner.request import Request

__all__ = ["Picture", "Plan", "StarCounts", "layout_of", "make_plan", "picture_of", "terms_of"]

Effort = Literal["quick", "usual", "thorough"]
Progress = Callable[[str, float], None]


@dataclass(frozen=True)
class Picture(Rectangle):
    """The rectangle of sky that the finished print shows; see `Rectangle`.

    Parameters
    ----------
    pixels : (int, int)
        Width and height at the panels' scale at the centre, binned pixels.
    """

    pixels: tuple[int, int]


@dataclass(frozen=True)
class StarCounts:
    """Catalogue stars to magnitude 10: in every seam, and in all seams of every panel together."""

    seams: tuple[int, ...]
    panels: tuple[int, ...]


@dataclass(frozen=True, eq=False)
class Plan:
    """A request and what has been planned for it.

    Parameters
    ----------
    request : Request
    mosaic : Mosaic
        Panels over the region, proven.
    picture : Picture
    star_counts : StarCounts
    notes : tuple of str
        What the user should know, one sentence each.
    """

    request: Request
    mosaic: Mosaic
    picture: Picture
    star_counts: StarCounts
    notes: tuple[str, ...]

    @property
    def shortfalls(self) -> tuple[str, ...]:
        """What the plan does not give although it was asked for, one sentence each; empty if all is met."""
        return self.mosaic.shortfalls


def make_plan(request: Request, *, effort: Effort = "usual", progress: Progress | None = None) -> Plan:
    """Plan a request: find the region, lay out and prove the panels, count stars in the seams.

    Parameters
    ----------
    request : Request
    effort : {'quick', 'usual', 'thorough'}
        How long the search for fewer panels goes on, in steps: the same request gives the same plan anywhere.
    progress : callable, optional
        Called with what is being done and the share done, in [0, 1].

    Raises
    ------
    InputError
        If the region cannot be found or planned.
    """
    sourced = find_region(request.region)
    terms, layout = terms_of(request), layout_of(request, sourced, effort)
    if request.panels:
        panels = listed_panels(request.panels)
        mosaic = prove(sourced.region, terms, panels, turns=layout.turns, panel_count_bound=len(panels))
    else:
        mosaic = build_mosaic(sourced.region, terms, layout, progress=progress)
    picture = picture_of(request, mosaic, sourced.region)
    counts = _count_stars(mosaic)
    notes = (*sourced.notes, *plan_notes(request, mosaic, picture, counts.seams))
    return Plan(request, mosaic, picture, counts, notes)


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
    """Return the layout that a request allows; an earlier picture's angle is the default angle."""
    asked = request.mosaic
    picture_deg = request.picture.position_angle_deg if request.picture else None
    angle_deg = asked.position_angle_deg
    if angle_deg is None and asked.turns == "per_panel":
        angle_deg = picture_deg
    if angle_deg is None and asked.position_angle_range_deg is None:
        angle_deg = sourced.position_angle_deg
    return Layout(
        kind=asked.layout,
        turns=asked.turns,
        angle_deg=angle_deg,
        angle_range_deg=asked.position_angle_range_deg,
        columns=asked.columns,
        rows=asked.rows,
        picture_angle_deg=picture_deg,
        effort=effort,
    )


def picture_of(request: Request, mosaic: Mosaic, region: Region) -> Picture:
    """Return the picture: the smallest rectangle about the region, at the asked angle and aspect."""
    asked = request.picture
    if asked and asked.position_angle_deg is not None:
        stands = Orientation.common(asked.position_angle_deg)
    elif mosaic.axes:
        stands = Orientation.square_with(
            mosaic.axes.ra_deg, mosaic.axes.dec_deg, mosaic.axes.position_angle_deg
        )
    else:
        stands = Orientation.common(mosaic.panels[0].position_angle_deg)
    rectangle = smallest_rectangle(region, stands)
    if asked and asked.aspect:
        rectangle = rectangle.with_aspect(*asked.aspect)
    return Picture(
        rectangle.center_deg,
        rectangle.width_deg,
        rectangle.height_deg,
        rectangle.position_angle_deg,
        _pixels(rectangle, request.camera.scale_arcsec_px),
    )


def _pixels(rectangle: Rectangle, scale_arcsec_px: float) -> tuple[int, int]:
    """Size in pixels of a picture in the tangent plane, scaled as the panels are at their centres."""
    scale_rad = math.radians(scale_arcsec_px / 3600)
    sizes = (2 * math.tan(math.radians(size) / 2) for size in (rectangle.width_deg, rectangle.height_deg))
    width, height = (max(1, round(size / scale_rad)) for size in sizes)
    return width, height


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
