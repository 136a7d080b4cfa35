"""The region that an object's name means: a nebula's outline or a catalogue's ellipse, with a note of which."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from planner.errors import InputError
from planner.mosaic.region import Region

if TYPE_CHECKING:
    from planner.catalogue import CatalogueObject
    from planner.catalogue.nebulae import Nebula, NebulaRegion
    from planner.request.region import RegionRequest

__all__ = ["label_of_object", "object_region"]


def object_region(asked: RegionRequest) -> tuple[Region, tuple[str, ...]]:
    """Return the region of an object, without margin, and notes: what was taken, from where, what else there is.

    In this order: the user's own `size_arcmin`; a nebula's outline; the catalogue made for its kind; OpenNGC.

    Raises
    ------
    InputError
        If the name means nothing or several things, or nothing says how large the object is.
    """
    from planner.catalogue.nebulae import Nebula, find_group, find_named, nebula_region

    assert asked.object is not None
    group = find_group(asked.object) if asked.size_arcmin is None else ()
    if group:
        return _group_region(asked.object, group, asked.level)
    found = find_named(asked.object)
    if not isinstance(found, Nebula):
        return _catalogue_region(found, asked)
    chosen = nebula_region(
        found, level=asked.level, size_arcmin=asked.size_arcmin, position_angle_deg=asked.position_angle_deg
    )
    return _region_of(found.name, [chosen], (chosen.note,))


def label_of_object(asked: RegionRequest) -> str:
    """Return one name for all names of an object.

    Raises
    ------
    InputError
        As `object_region`.
    """
    from planner.catalogue.nebulae import Nebula, find_group, find_named

    assert asked.object is not None
    if asked.size_arcmin is None and (group := find_group(asked.object)):
        return ", ".join(nebula.name for nebula in group)
    found = find_named(asked.object)
    return found.name if isinstance(found, Nebula) else found.label


def _group_region(name: str, group: Sequence[Nebula], level: str | None) -> tuple[Region, tuple[str, ...]]:
    """Region of all lettered entries of a bare number together."""
    from planner.catalogue.nebulae import nebula_region

    chosen = [nebula_region(nebula, level=level if nebula.levels else None) for nebula in group]
    names = ", ".join(nebula.name for nebula in group)
    return _region_of(name, chosen, (f"{name}: {names} together", *(item.note for item in chosen)))


def _region_of(
    name: str, chosen: Sequence[NebulaRegion], notes: tuple[str, ...]
) -> tuple[Region, tuple[str, ...]]:
    regions = [Region.from_rings(item.parts, item.center_deg) for item in chosen]
    region = regions[0] if len(regions) == 1 else Region.from_parts(regions)
    pieces = sum(len(item.parts) for item in chosen)
    return region, notes if pieces == 1 else (
        *notes,
        f"{name}: its {pieces} pieces are covered, not what lies between",
    )


def _catalogue_region(found: CatalogueObject, asked: RegionRequest) -> tuple[Region, tuple[str, ...]]:
    """Region of an object that OpenNGC alone has."""
    from planner.catalogue import no_size_error, object_outline_vectors, outline_note
    from planner.catalogue.nebulae import size_hint

    if asked.size_arcmin is None and found.major_arcmin is None:
        raise no_size_error(found, size_hint(found))
    if asked.level is not None:
        raise InputError(f"{found.label} has no outline, so no level {asked.level!r}; leave region.level out")
    turned = asked.size_arcmin is not None or asked.position_angle_deg != 0.0
    angle_deg = asked.position_angle_deg if turned else None
    vectors = object_outline_vectors(found, size_arcmin=asked.size_arcmin, position_angle_deg=angle_deg)
    note = None if turned else outline_note(found)
    return Region.from_vectors(vectors, (found.ra_deg, found.dec_deg)), (note,) if note else ()
