"""Nebulae of ten published catalogues and OpenNGC, merged into objects, with outlines: everything offline.

For screens and charts::

    nebulae = all_nebulae()                       # read once, 3 ms
    nebulae.within(center, radius_rad, smallest_arcmin=5)   # indices, largest first
    nebulae[index]                                # Nebula: names, kind, centre, sizes with sources, levels
    nebulae.kind(index), nebulae.major_arcmin[index]        # without reading the rest
    nebulae.outlines_within(center, radius_rad)   # rings: nebula, level, corners; faint levels first
    nebulae.outline(index, level)                 # rings of one nebula
    names_like("wiz")                             # nebulae, for a search while one types
    find_named("Sh2-132")                         # Nebula, or CatalogueObject where OpenNGC alone has it
"""

from .about import nebulae_about, size_hint
from .choice import NebulaPart, NebulaRegion, nebula_region
from .data import NEBULAE_LICENCE, NEBULAE_SOURCES, Nebulae, Outline, all_nebulae
from .lookup import find_group, find_named, find_nebula, names_like, nebulae_named
from .nebula import KINDS, LEVELS, Nebula, NebulaSize

__all__ = [
    "KINDS",
    "LEVELS",
    "NEBULAE_LICENCE",
    "NEBULAE_SOURCES",
    "Nebula",
    "NebulaPart",
    "NebulaRegion",
    "NebulaSize",
    "Nebulae",
    "Outline",
    "all_nebulae",
    "find_group",
    "find_named",
    "find_nebula",
    "names_like",
    "nebula_region",
    "nebulae_about",
    "nebulae_named",
    "size_hint",
]
