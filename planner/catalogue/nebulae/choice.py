"""What part of the sky a nebula is: an outline's level, or the ellipse of a catalogue, and what else there is."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.catalogue.outlines import ellipse_vectors
from planner.errors import InputError

from .about import size_hint
from .data import all_nebulae
from .nebula import LEVELS, Nebula, NebulaSize

__all__ = ["NebulaPart", "NebulaRegion", "nebula_region"]

FAR_LARGER = 2.5
"""An outline that is more than this many times the largest catalogue size shows the complex around the nebula."""
MOST_OTHERS = 3

NebulaPart = NDArray[np.float64]
"""Corners of one piece, unit vectors, shape (K, 3); great circles join them."""


@dataclass(frozen=True, eq=False)
class NebulaRegion:
    """The part of the sky that a nebula is taken to be.

    Parameters
    ----------
    parts : tuple of NebulaPart
        One or several pieces.
    center_deg : (float, float) or None
        Of an ellipse; None for an outline.
    note : str
        What was taken, from where, and what else there is.
    """

    parts: tuple[NebulaPart, ...]
    center_deg: tuple[float, float] | None
    note: str


def nebula_region(
    nebula: Nebula,
    *,
    level: str | None = None,
    size_arcmin: tuple[float, float] | None = None,
    position_angle_deg: float = 0.0,
) -> NebulaRegion:
    """Choose what a nebula covers: the size given here; its outline; the catalogue of its kind; OpenNGC.

    Without `level`, the outline's level is the faintest that is no larger than 2.5 times the largest size that a
    catalogue gives (with no such size, the faintest; with none so small, the smallest). An outline that holds
    less than a twelfth of the catalogue's size is its bright core: it is taken only where `level` asks for it.

    Parameters
    ----------
    nebula : Nebula
    level : {'faint', 'middle', 'bright'}, optional
        The nearest that exists is taken, and the note says so.
    size_arcmin : (float, float), optional
        Major and minor axis.
    position_angle_deg : float
        Of the major axis of `size_arcmin`, degrees east of north.

    Raises
    ------
    InputError
        If there is no size at all, or `level` is asked of a nebula without an outline.
    """
    center = (nebula.ra_deg, nebula.dec_deg)
    if size_arcmin is not None:
        note = (
            f"{nebula.name}: the size given, {_axes(*size_arcmin)}; {_others(nebula) or 'no other is known'}"
        )
        return NebulaRegion((ellipse_vectors(center, *size_arcmin, position_angle_deg),), center, note)
    if level is not None and not nebula.levels:
        raise InputError(f"{nebula.label} has no outline, so no level {level!r}; leave region.level out")
    if level is not None or (nebula.levels and not nebula.shows_core):
        return _outline(nebula, level)
    if nebula.size is None:
        raise InputError(f"no catalogue has the size of {nebula.label} ({nebula.kind}); {size_hint(nebula)}")
    return _ellipse(nebula, nebula.size)


def _outline(nebula: Nebula, level: str | None) -> NebulaRegion:
    taken, why = _nearest_level(nebula, level) if level else _usual_level(nebula)
    rings = tuple(ring.vectors for ring in all_nebulae().outline(nebula.index, taken))
    area = nebula.areas_deg2[nebula.levels.index(taken)]
    note = f"{nebula.name}: outline, {taken} level, {_area(area)}{why}"
    others = _others(nebula, taken)
    return NebulaRegion(rings, None, f"{note}; {others}" if others else note)


def _nearest_level(nebula: Nebula, level: str) -> tuple[str, str]:
    wanted = LEVELS.index(level)
    taken = min(nebula.levels, key=lambda name: abs(LEVELS.index(name) - wanted))
    return taken, "" if taken == level else f" (there is no {level} level)"


def _usual_level(nebula: Nebula) -> tuple[str, str]:
    largest = nebula.largest_area_deg2
    pairs = list(zip(nebula.levels, nebula.areas_deg2, strict=True))
    fit = [name for name, area in pairs if largest == 0.0 or area <= FAR_LARGER * largest]
    taken = fit[0] if fit else nebula.levels[-1]
    if taken == nebula.levels[0]:
        return taken, ""
    return taken, f" (fainter ones are far larger than the {_area(largest)} of catalogues)"


def _ellipse(nebula: Nebula, size: NebulaSize) -> NebulaRegion:
    major, minor, angle = size.major_arcmin, size.minor_arcmin, size.position_angle_deg
    assert major is not None and minor is not None
    center = (nebula.ra_deg, nebula.dec_deg)
    note = f"{nebula.name}: {size.source} gives {_axes(major, minor)}"
    if size.doubt:
        note += f" ({size.doubt})"
    if angle is None and major != minor:
        note += (
            f"; nothing says how the ellipse is turned: the circle over its longer axis ({major:g} arc minutes) "
            "is taken, give size_arcmin and position_angle_deg to narrow it"
        )
        minor = major
    others = _others(nebula, size.source)
    vectors = ellipse_vectors(center, major, minor, angle or 0.0)
    return NebulaRegion((vectors,), center, f"{note}; {others}" if others else note)


def _others(nebula: Nebula, taken: str = "") -> str:
    """Say what else there is: other levels of the outline, then the sizes of catalogues, the best first."""
    said = []
    levels = [
        f"{name} {_area(area)}"
        for name, area in zip(nebula.levels, nebula.areas_deg2, strict=True)
        if name != taken
    ]
    if levels:
        core = " (its bright core)" if taken not in LEVELS and taken and nebula.shows_core else ""
        said.append(
            f"the outline's {'other levels' if taken in LEVELS else 'levels'}{core}: {', '.join(levels)}"
        )
    for size in sorted(nebula.sizes, key=lambda size: size.wrong):
        if size.major_arcmin is None or size.source == taken:
            continue
        doubt = f" ({size.doubt})" if size.doubt else ""
        said.append(f"{size.source} gives {_axes(size.major_arcmin, size.minor_arcmin)}{doubt}")
    sizes_first = sorted(said, key=lambda text: text.startswith("the outline"))
    return "; ".join(sizes_first[:MOST_OTHERS])


def _axes(major: float, minor: float | None) -> str:
    return f"{major:g} arc minutes" if minor in (None, major) else f"{major:g} x {minor:g} arc minutes"


def _area(area_deg2: float) -> str:
    return f"{area_deg2:.1f} square degrees" if area_deg2 >= 0.95 else f"{area_deg2:.2g} square degrees"
