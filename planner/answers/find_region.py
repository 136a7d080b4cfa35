"""From what a plan file says of its region to the region on the sky."""

from __future__ import annotations

from dataclasses import dataclass

from planner.errors import InputError
from planner.mosaic.region import Region
from planner.request.region import RegionRequest

__all__ = ["SourcedRegion", "find_region"]

FRAME_HAIR = 1e-7
"""Of an earlier picture's size, by which its rim is drawn in (a thousandth of a pixel), so that one panel of the
same camera provably covers it."""


@dataclass(frozen=True)
class SourcedRegion:
    """A region with what its source says beside it.

    Parameters
    ----------
    region : Region
        After the margin.
    position_angle_deg : float or None
        The angle of an earlier picture, the default angle of the panels.
    notes : tuple of str
    """

    region: Region
    position_angle_deg: float | None = None
    notes: tuple[str, ...] = ()


def find_region(asked: RegionRequest) -> SourcedRegion:
    """Return the region that a plan file asks for, with its margin.

    Raises
    ------
    InputError
        If the object is unknown or has no size, the frame is not solved, or the outline is not a simple polygon.
    """
    found = _without_margin(asked)
    grown = found.region.grown(asked.margin_arcmin / 60)
    return SourcedRegion(grown, found.position_angle_deg, found.notes)


def _without_margin(asked: RegionRequest) -> SourcedRegion:
    if asked.object is not None:
        from .object_region import object_region

        region, notes = object_region(asked)
        return SourcedRegion(region, None, notes)
    if asked.earlier_picture is not None:
        from planner.frames.header.header import footprint_region

        vectors, angle_deg = footprint_region(asked.earlier_picture)
        inside = vectors + FRAME_HAIR * (vectors.mean(axis=0) - vectors)
        return SourcedRegion(Region.from_vectors(inside), angle_deg)
    if asked.outline is not None:
        return SourcedRegion(Region(tuple((ra % 360.0, dec) for ra, dec in asked.outline)))
    return SourcedRegion(_centred_region(asked))


def _centred_region(asked: RegionRequest) -> Region:
    if asked.center is None:
        raise InputError("region needs object, center, frame or outline, got none; give one")
    if asked.radius_deg is not None:
        return Region.circle(asked.center, asked.radius_deg)
    if asked.width_deg is None or asked.height_deg is None:
        raise InputError("region.center needs radius_deg, or width_deg and height_deg beside it; give them")
    return Region.rectangle(asked.center, asked.width_deg, asked.height_deg, asked.position_angle_deg)
