"""What had to be looked at twice: facts that place, size and name do not tell by themselves.

Found by comparing the tables with each other and with OpenNGC. Common names are general knowledge, no source.
"""

from __future__ import annotations

__all__ = [
    "BAD_SIZES",
    "EXPANDED",
    "KINDS",
    "MORE_NAMES",
    "NOT_SAME",
    "NOTED_SIZES",
    "OUTLINE_OF",
    "TOGETHER",
    "WRONG_NAMES",
]

BAD_SIZES = {
    "vdB 36": "measured from its illuminating star Rigel, which stands elsewhere",
    "NGC 6302": "that of its core",
    "Sh2-6": "its place is 16 arc minutes off",
    "Ced 137b": "its right ascension contradicts IC 4628, which it names",
}
"""Sizes or places that are not to be used, by entry."""

NOTED_SIZES = {
    "B 168": "10 arc minutes is its width; it is some 100 long",
    "NGC 6960": "that of the whole remnant, of which this is the western part",
    "vdB 142": "its brightest knot; all of the trunk, IC 1396A, is some 14 arc minutes long",
    "Sh2-276": "an incomplete ring, which the circle holds",
    "Sh2-220": "a circle about everything; the nebula is long and narrow",
    "RCW 86": "the bright rim of the remnant SNR G315.4-2.3, which is 42 arc minutes wide",
    "LBN 142": "contradicts itself in the table",
    "LBN 590": "contradicts itself in the table",
    "LBN 601": "contradicts itself in the table",
    "LBN 766": "contradicts itself in the table",
    "RCW 1": "a crude place",
    "RCW 54": "a crude place",
    "RCW 63": "a crude place",
}
"""What to know about a size that is used all the same."""

NOT_SAME = [
    ("NGC 6960", "Sh2-103"),
    ("NGC 6960", "SNR G74.0-8.5"),
    ("Ced 182a", "Sh2-103"),
    ("LBN 191", "NGC 6960"),
    ("NGC 2024", "Sh2-277"),
    ("NGC 3603", "RCW 57"),
    ("LBN 537", "Sh2-157"),
    ("LBN 744", "Sh2-216"),
    ("LBN 1052", "Sh2-308"),
]
"""Pairs that are never one object: a part and the whole, a knot and its nebula."""

TOGETHER = [
    ("Ced 137b", "IC 4628"),
    ("Gum 28", "NGC 3199"),
    ("NGC 3199", "RCW 48"),
    ("NGC 1909", "vdB 36"),
    ("Ced 139", "NGC 6302"),
    ("Gum 60", "NGC 6302"),
    ("LBN 27", "NGC 6514"),
    ("LBN 706", "Sh2-206"),
    ("LBN 854", "Sh2-252"),
    ("NGC 1491", "Sh2-206"),
    ("NGC 6302", "RCW 124"),
    ("NGC 6302", "Sh2-6"),
    ("Sh2-185", "vdB 5"),
    ("NGC 6514", "Sh2-30"),
    ("NGC 6514", "RCW 147"),
    ("Gum 76", "NGC 6514"),
]
"""Pairs that are one object although their places or sizes do not agree."""

KINDS = {"LBN 777": "dark", "Ced 182a": "supernova remnant", "Ced 182b": "supernova remnant"}
"""Kinds where a table's rule of thumb fails: dust, and parts of the Cygnus Loop."""

WRONG_NAMES = {
    "IC 434": ("Flame Nebula",),
    "NGC 6960": ("Veil Nebula",),
    "Sh2-277": ("Flame Nebula",),
    "Ced 195a": ("IC 1396a",),
    "Ced 195b": ("IC 1396b",),
}
"""Names that an entry bears in a table but that belong to another object."""

MORE_NAMES = {
    "NGC 2024": ("Flame Nebula",),
    "IC 4628": ("Prawn Nebula",),
    "IC 4592": ("Blue Horsehead Nebula",),
    "IC 447": ("Dreyer's Nebula",),
    "IC 63": ("Ghost of Cassiopeia",),
    "SNR G116.9+0.2": ("Abell 85",),
    "SNR G263.9-3.3": ("Vela SNR",),
    "Sh2-114": ("Flying Dragon Nebula",),
    "Sh2-27": ("Zeta Ophiuchi Nebula",),
}
"""Names that are told of nothing else in the tables."""

EXPANDED = {
    "lam Cen": "Lambda Centauri",
    "eta Car": "Eta Carinae",
    "rho Oph": "Rho Ophiuchi",
    "omi Per": "Omicron Persei",
}
"""Abbreviated names of stars, spelt out."""

OUTLINE_OF = {"C9": "Sh2-155", "M045": "Mel 22", "LMC": "ESO 56-115", "LBN1037": "vdB 94"}
"""Objects of outlines whose own label is no object of that extent."""
