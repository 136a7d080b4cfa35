"""The nebulae at the place of an object that has no size itself: what its name is mostly said for."""

from __future__ import annotations

import re

from planner.catalogue.objects import CatalogueObject
from planner.geometry import sky_to_vector

from .data import all_nebulae
from .nebula import Nebula

__all__ = ["nebulae_about", "size_hint"]

MOST_SHOWN = 4


def nebulae_about(found: Nebula | CatalogueObject) -> list[Nebula]:
    """Nebulae with a size that stand for an object without one, the likeliest first.

    First those beside which a catalogue puts the object's name, then the parts that bear its number with a letter,
    then those whose circle holds its place, the smallest first.

    Parameters
    ----------
    found : Nebula or CatalogueObject

    Returns
    -------
    list of Nebula
        Empty where there is none.

    >>> from planner.catalogue import find_object
    >>> [nebula.name for nebula in nebulae_about(find_object("IC 1318"))[:3]]
    ['Sh2-108', 'LBN 245', 'LBN 251']
    """
    nebulae = all_nebulae()
    vector = sky_to_vector(found.ra_deg, found.dec_deg)
    holding = sorted(nebulae.within(vector, 0.0, smallest_arcmin=0.1), key=lambda k: nebulae.major_arcmin[k])
    naming: list[Nebula] = []
    lettered: list[Nebula] = []
    part = re.compile(rf"{re.escape(found.name)} ?[a-z]", re.IGNORECASE)
    for nebula in map(nebulae.__getitem__, nebulae.indices_mentioning(found.name)):
        if found.name in nebula.near:
            naming.append(nebula)
        elif any(part.fullmatch(name) for name in nebula.names):
            lettered.append(nebula)
    ordered = [*naming, *lettered, *(nebulae[index] for index in holding)]
    others = (nebula for nebula in ordered if nebula.has_extent and nebula.name != found.name)
    return list({nebula.index: nebula for nebula in others}.values())


def size_hint(found: Nebula | CatalogueObject) -> str:
    """Say what to do where no catalogue has the size of an object."""
    others = nebulae_about(found)
    if not others:
        return "give region.size_arcmin"
    shown = ", ".join(_shown(nebula) for nebula in others[:MOST_SHOWN])
    return f"give region.size_arcmin, or name a nebula at its place: {shown}"


def _shown(nebula: Nebula) -> str:
    words = f"{nebula.common_name}, " if nebula.common_name else ""
    return f"{nebula.name} ({words}{nebula.kind}, {nebula.across_deg * 60:.0f} arc minutes)"
