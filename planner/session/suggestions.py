"""What a search offers while one types: nebulae by name, with kind, size, and whether one frame holds each."""

from __future__ import annotations

import math
from functools import lru_cache
from typing import Any

from planner.errors import PlannerError
from planner.mosaic.panel import Field

__all__ = ["suggestions"]

LONGEST = 60
"""Letters of the text that are looked at."""


def suggestions(text: str, field: Field) -> list[dict[str, Any]]:
    """Return nebulae whose names begin like a text, largest first, as plain values for the browser."""
    from planner.catalogue.nebulae import names_like

    return [
        {
            "name": one.name,
            "title": one.label,
            "about": _about(one.kind, one.across_deg, _fits(one.name, field)),
            "ra": round(one.ra_deg, 5),
            "dec": round(one.dec_deg, 5),
            "across": one.across_deg,
        }
        for one in names_like(text[:LONGEST])
    ]


def _about(kind: str, across_deg: float, fits: bool | None) -> str:
    if fits is None:
        return f"{kind}, no size"
    size = f"{across_deg:.1f}°" if across_deg >= 1 else f"{60 * across_deg:.0f}′"
    return f"{kind}, {size}, {'fits one frame' if fits else 'wider than one frame'}"


@lru_cache(maxsize=4096)
def _fits(name: str, field: Field) -> bool | None:
    """Whether some frame holds an object's whole region; None where nothing says how large it is."""
    from planner.answers.object_region import object_region
    from planner.mosaic.fit import Opening, Shape, best_placement
    from planner.request.region import RegionRequest

    try:
        region, _ = object_region(RegionRequest(object=name))
        if region.radius_rad <= math.radians(min(field.width_deg, field.height_deg)) / 2:
            return True
        return (
            best_placement(Shape.around([region.outline_vectors]), Opening.margins(field), None).room >= 0.0
        )
    except PlannerError:
        return None
