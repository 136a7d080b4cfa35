"""From what a plan file says of its region to the region on the sky."""

from __future__ import annotations

from dataclasses import dataclass, replace

from planner.errors import InputError
from planner.mosaic.region import Part, Region
from planner.request.region import RegionRequest

__all__ = ["SourcedRegion", "find_region"]

FOOTPRINT_HAIR = 1e-7
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
        If the object is unknown or has no size, the earlier picture is not solved, or the outline is not a
        simple polygon.
    """
    if asked.all_parts:
        return _region_of_parts(asked)
    found = _without_margin(asked)
    grown = found.region.grown(asked.margin_arcmin / 60)
    return SourcedRegion(grown, found.position_angle_deg, found.notes)


def _region_of_parts(asked: RegionRequest) -> SourcedRegion:
    """Return what parts give together; the angle is that of the first earlier picture among them."""
    _refuse_same_objects(asked)
    found, parts = [], []
    for name, part in zip(asked.part_names, asked.all_parts, strict=True):
        margin_arcmin = part.margin_arcmin + asked.margin_arcmin
        found.append(find_region(replace(part, margin_arcmin=0.0)))
        parts.append(Part(name, found[-1].region.grown(margin_arcmin / 60), margin_arcmin))
    angles = [one.position_angle_deg for one in found if one.position_angle_deg is not None]
    notes = tuple(dict.fromkeys(note for one in found for note in one.notes))
    return SourcedRegion(Region.from_parts(parts, join=asked.join), angles[0] if angles else None, notes)


def _refuse_same_objects(asked: RegionRequest) -> None:
    """Refuse one object under two names."""
    from .object_region import label_of_object

    seen: dict[str, str] = {}
    for part in asked.all_parts:
        if part.object is None:
            continue
        label = label_of_object(part)
        if label in seen:
            raise InputError(
                f"[region] {seen[label]!r} and {part.object!r} are the same object, {label}; name it once"
            )
        seen[label] = part.object


def _without_margin(asked: RegionRequest) -> SourcedRegion:
    if asked.object is not None:
        from .object_region import object_region

        region, notes = object_region(asked)
        return SourcedRegion(region, None, notes)
    if asked.earlier_picture is not None:
        from planner.frames.header.header import footprint_region

        vectors, angle_deg = footprint_region(asked.earlier_picture)
        inside = vectors + FOOTPRINT_HAIR * (vectors.mean(axis=0) - vectors)
        return SourcedRegion(Region.from_vectors(inside), angle_deg)
    if asked.outline is not None:
        return SourcedRegion(Region(tuple((ra % 360.0, dec) for ra, dec in asked.outline)))
    return SourcedRegion(_centred_region(asked))


def _centred_region(asked: RegionRequest) -> Region:
    if asked.center is None:
        raise InputError("region needs object, center, earlier_picture or outline, got none; give one")
    if asked.radius_deg is not None:
        return Region.circle(asked.center, asked.radius_deg)
    if asked.width_deg is None or asked.height_deg is None:
        raise InputError("region.center needs radius_deg, or width_deg and height_deg beside it; give them")
    return Region.rectangle(asked.center, asked.width_deg, asked.height_deg, asked.position_angle_deg)
