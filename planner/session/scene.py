"""What the canvas shows, as plain data: region, picture and panels of a plan; stars and objects about it.

Angles are degrees, positions ICRS; lists are (right ascension, declination) pairs. Knows no screen.
"""

from __future__ import annotations

import base64
import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import ArrayLike

from planner.geometry import sky_to_vector, vector_to_sky
from planner.mosaic.panel import panel_corners
from planner.mosaic.region import Region
from planner.request.region import RegionRequest

if TYPE_CHECKING:
    from planner.answers.plan import Draft
    from planner.catalogue import CatalogueObject

__all__ = ["Cap", "backdrop_data", "form_of", "panels_data", "scene_data"]

MOST_STARS = 3000
MOST_OBJECTS = 90
WIDE_SHARE = 1.1
"""The first view reaches so many times as far as the plan does."""
SMALLEST_SHARE = 1 / 60
"""Objects smaller than this share of the cap's radius are left out."""
NEBULAE_KINDS = (
    "nebula",
    "emission nebula",
    "reflection nebula",
    "dark nebula",
    "HII region",
    "supernova remnant",
    "emission object",
)
"""These come from the merged data of nebulae."""


@dataclass(frozen=True)
class Cap:
    """A circle on the sky whose stars and objects are at hand in the browser. Degrees."""

    ra_deg: float
    dec_deg: float
    radius_deg: float

    @classmethod
    def about(cls, ra_deg: float, dec_deg: float, reach_deg: float) -> Cap:
        """Return the cap for a view that reaches so far: half as wide again, rounded to be kept."""
        radius_deg = round(min(60.0, max(0.05, 1.5 * reach_deg)), 3)
        return cls(round(ra_deg % 360.0, 3), round(dec_deg, 3), radius_deg)

    @classmethod
    def of_plan(cls, plan: Draft) -> Cap:
        """Return the cap for a view of a whole plan."""
        region, field = plan.mosaic.region, plan.mosaic.field
        reach_deg = math.degrees(region.radius_rad) + field.width_deg
        return cls.about(*region.center_deg, WIDE_SHARE * reach_deg)

    @property
    def vector(self) -> np.ndarray[Any, Any]:
        """Direction of the middle."""
        return sky_to_vector(self.ra_deg, self.dec_deg)

    @property
    def key(self) -> str:
        """Names the cap."""
        return f"{self.ra_deg} {self.dec_deg} {self.radius_deg}"

    @property
    def data(self) -> dict[str, float]:
        """For the browser."""
        return {"ra": self.ra_deg, "dec": self.dec_deg, "radius": self.radius_deg}


def form_of(region: RegionRequest) -> str:
    """Which form of region a plan file uses: object, circle, rectangle, parts, earlier_picture or outline."""
    if region.center is not None:
        return "circle" if region.radius_deg is not None else "rectangle"
    if region.all_parts:
        return "parts"
    return next(
        name for name in ("object", "earlier_picture", "outline") if getattr(region, name) is not None
    )


def scene_data(plan: Draft, bare: Region) -> dict[str, Any]:
    """Return region, picture, panels and gap of a plan.

    Parameters
    ----------
    plan : Draft
    bare : Region
        The region before its margin, whose corners can be taken hold of.
    """
    region, mosaic = plan.request.region, plan.mosaic
    rings = plan.region.ring_vectors if _in_pieces(plan.region) else ()
    grown = plan.region.outline_vectors if region.margin_arcmin and not rings else None
    form = form_of(region)
    return {
        "region": {
            "form": form,
            "editable": form in ("outline", "rectangle", "circle"),
            "center": list(region.center or bare.center_deg),
            "outline": _pairs(bare.outline_vectors),
            "rings": list(map(_pairs, rings)) or None,
            "grown": None if grown is None else _pairs(grown),
            "position_angle_deg": region.position_angle_deg,
        },
        "picture": _picture_data(plan),
        "full": _full_corners(plan),
        **panels_data(plan),
        "gap": None if mosaic.gap_center_deg is None else list(mosaic.gap_center_deg),
    }


def panels_data(plan: Draft) -> dict[str, Any]:
    """Return the panels of a plan, and whether they turn along with the picture or stay where they are listed."""
    mosaic = plan.mosaic
    return {
        "follow": mosaic_follows(plan),
        "listed": bool(plan.request.panels),
        "panels": [
            {"name": panel.name, "corners": corners} | ({"kept": True} if panel.kept else {})
            for panel, corners in zip(
                mosaic.panels, map(_pairs, panel_corners(mosaic.panels, mosaic.field)), strict=True
            )
        ],
    }


def _in_pieces(region: Region) -> bool:
    """Whether a region has more to draw than one outline."""
    return region.rings_deg != (region.outline_deg,)


def mosaic_follows(plan: Draft) -> bool:
    """Whether the panels turn along when the picture is turned: square with it, or free about a rectangle."""
    asked = plan.request.mosaic
    if asked.position_angle_deg is None:
        return asked.angles == "per_panel" or form_of(plan.request.region) == "rectangle"
    return angles_agree(asked.position_angle_deg, plan.picture.position_angle_deg)


def angles_agree(first_deg: float, second_deg: float) -> bool:
    """Whether two position angles mean the same rectangle, to a hundredth of a degree.

    >>> angles_agree(10.0, 190.0), angles_agree(10.0, 11.0)
    (True, False)
    """
    return abs((first_deg - second_deg + 90.0) % 180.0 - 90.0) < 0.006


def _full_corners(plan: Draft) -> list[list[float]] | None:
    """Corners of the largest full picture; None of a draft, or where there is none."""
    full = getattr(plan, "full_picture", None)
    return None if full is None else _pairs(full.picture.as_region().outline_vectors)


def _picture_data(plan: Draft) -> dict[str, Any]:
    picture, asked = plan.picture, plan.request.picture
    return {
        "corners": _pairs(picture.as_region().outline_vectors),
        "position_angle_deg": picture.position_angle_deg,
        "aspect": asked.aspect[0] / asked.aspect[1] if asked and asked.aspect else None,
    }


@lru_cache(maxsize=32)
def backdrop_data(cap: Cap) -> Mapping[str, Any]:
    """Return the brightest stars of a cap, base64 of float32 (ra, dec, magnitude), and the largest objects."""
    from .nebulae_shown import nebulae_data

    nebulae = nebulae_data(cap.vector, cap.radius_deg)
    return {"key": cap.key, "stars": _stars(cap), "objects": _objects(cap), "nebulae": nebulae}


def _stars(cap: Cap) -> str:
    from planner.catalogue import stars_within

    stars = stars_within(cap.vector, math.radians(cap.radius_deg))
    first = np.argsort(stars.magnitude, kind="stable")[:MOST_STARS]
    ra_deg, dec_deg = vector_to_sky(stars.vectors[first])
    table = np.column_stack([ra_deg, dec_deg, stars.magnitude[first]]).astype("<f4")
    return base64.b64encode(table.tobytes()).decode()


def _objects(cap: Cap) -> list[dict[str, Any]]:
    """Catalogue objects, with outlines as ellipses; circles where nothing says how they are turned."""
    from planner.catalogue import objects_within

    found = objects_within(
        cap.vector, math.radians(cap.radius_deg), smallest_arcmin=60 * cap.radius_deg * SMALLEST_SHARE
    )
    return [_object(one) for one in found if one.kind not in NEBULAE_KINDS][:MOST_OBJECTS]


def _object(one: CatalogueObject) -> dict[str, Any]:
    from planner.catalogue import turned_axes

    major, minor = one.major_arcmin or 0.0, one.minor_arcmin or one.major_arcmin or 0.0
    minor, angle, known = turned_axes(major, minor, one.position_angle_deg)
    return {
        "name": one.label,
        "title": ", ".join([one.name, *one.other_names[:2]]) + f": {one.kind}",
        "ra": round(one.ra_deg, 5),
        "dec": round(one.dec_deg, 5),
        "major": major / 60,
        "minor": minor / 60,
        "pa": angle,
        "turned": known,
    }


def _pairs(vectors: ArrayLike) -> list[list[float]]:
    ra_deg, dec_deg = vector_to_sky(vectors)
    return np.round(np.column_stack([ra_deg, dec_deg]), 7).tolist()  # type: ignore[no-any-return]
