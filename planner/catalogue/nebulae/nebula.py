"""One nebula: its names, kind, sizes with their sources, and the levels of its outline."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

__all__ = ["KINDS", "LEVELS", "Level", "Nebula", "NebulaSize"]

LEVELS = ("faint", "middle", "bright")
"""Brightness levels of outlines, the largest first."""

Level = str
"""One of `LEVELS`."""

KINDS = (
    "nebula",
    "emission",
    "reflection",
    "dark",
    "supernova remnant",
    "planetary nebula",
    "complex",
    "star cluster",
    "galaxy",
)
"""Kinds of objects; a complex is an outline of everything faint in a constellation."""


CORE_SHARE = 0.08
"""An outline below this share of the catalogue's size shows the bright core alone."""


@dataclass(frozen=True)
class NebulaSize:
    """What one catalogue says about a nebula's size and place.

    Parameters
    ----------
    source : str
        Catalogue and number, such as ``Sharpless 131``.
    ra_deg, dec_deg : float
        ICRS degrees.
    major_arcmin, minor_arcmin : float or None
        Whole axes; None where this catalogue gives a place alone.
    doubt : str
        Why this size is not taken, or how to take it; empty for most.
    wrong : bool
        Whether the size is left out of everything.
    position_angle_deg : float or None
        Of the longer axis, degrees east of north; only OpenNGC tells, for some.
    """

    source: str
    ra_deg: float
    dec_deg: float
    major_arcmin: float | None
    minor_arcmin: float | None
    doubt: str = ""
    wrong: bool = False
    position_angle_deg: float | None = None

    @property
    def is_known(self) -> bool:
        """Whether there is a size that can be used."""
        return self.major_arcmin is not None and not self.wrong

    @property
    def area_deg2(self) -> float:
        """Area of the ellipse, square degrees; 0 where no size is known."""
        if self.major_arcmin is None or self.minor_arcmin is None or self.wrong:
            return 0.0
        return math.pi * self.major_arcmin * self.minor_arcmin / 4 / 3600


@dataclass(frozen=True)
class Nebula:
    """One nebula with all that the catalogues say of it.

    Parameters
    ----------
    index : int
        Its place in the data, [0, count).
    name : str
        The shortest well-known designation, such as ``IC 1396``.
    names : tuple of str
        All names: the name first, then common names, then other catalogues.
    near : tuple of str
        Names that catalogues put beside it but that lie elsewhere: inside it or around it.
    kind : str
        One of `KINDS`.
    ra_deg, dec_deg : float
        Centre, ICRS degrees: that of the size that is taken; OpenNGC's of a Messier object; that of the outline
        where there is no size.
    sizes : tuple of NebulaSize
        The catalogue made for this kind of nebula first, OpenNGC last.
    levels : tuple of str
        Levels that its outline has, the faintest first; empty without an outline.
    areas_deg2 : tuple of float
        Area inside each level's outline, square degrees.
    outline_name : str
        Under which its outline stands in the data; empty without one.
    """

    index: int
    name: str
    names: tuple[str, ...]
    kind: str
    ra_deg: float
    dec_deg: float
    sizes: tuple[NebulaSize, ...] = ()
    near: tuple[str, ...] = ()
    levels: tuple[Level, ...] = ()
    areas_deg2: tuple[float, ...] = ()
    outline_name: str = field(default="")

    @property
    def common_name(self) -> str:
        """The first name in words beside the designation; empty where there is none."""
        return next((name for name in self.names[1:] if not any(sign.isdigit() for sign in name)), "")

    @property
    def label(self) -> str:
        """Name for a list: the designation, and the common name in brackets."""
        return f"{self.name} ({self.common_name})" if self.common_name else self.name

    @property
    def size(self) -> NebulaSize | None:
        """Return the size that is taken where there is no outline: the first that can be used."""
        return next((size for size in self.sizes if size.is_known), None)

    @property
    def has_extent(self) -> bool:
        """Whether anything says how large it is: a catalogue's size, or an outline."""
        return self.size is not None or bool(self.levels)

    @property
    def largest_area_deg2(self) -> float:
        """Area of the largest ellipse that a catalogue gives, square degrees; 0 without any size."""
        return max((size.area_deg2 for size in self.sizes), default=0.0)

    @property
    def shows_core(self) -> bool:
        """Whether the outline holds far less than the size that is taken: the bright core alone."""
        taken = self.size.area_deg2 if self.size else 0.0
        return bool(self.levels) and self.areas_deg2[0] < CORE_SHARE * taken

    @property
    def across_deg(self) -> float:
        """How wide it is, degrees: the longer axis, or the circle of its outline's area where that is more."""
        outline = 2 * math.sqrt(max(self.areas_deg2, default=0.0) / math.pi)
        return max((self.major_arcmin or 0.0) / 60.0, outline)

    @property
    def major_arcmin(self) -> float | None:
        """Longer axis of the size that is taken, arc minutes."""
        return self.size.major_arcmin if self.size else None
