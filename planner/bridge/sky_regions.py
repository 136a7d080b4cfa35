"""Sky regions of the package regions: into the region of a request, and out of a plan's panels.

A rectangle's angle there turns it anticlockwise as the sky is seen with north up, so its height stands at that
angle east of north.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from planner.catalogue.outlines import ellipse_vectors
from planner.errors import FileError, InputError
from planner.geometry import vector_to_sky

from .quantities import sky_pairs

if TYPE_CHECKING:
    from regions import Regions

    from planner.answers.plan import Plan

__all__ = ["is_sky_region", "panel_regions", "region_table"]


def is_sky_region(given: Any) -> bool:
    """Whether a value is a region, or a list of regions, of the package regions."""
    first = given[0] if isinstance(given, Sequence) and not isinstance(given, str) and len(given) else given
    return type(first).__module__.partition(".")[0] == "regions"


def region_table(given: Any) -> dict[str, Any]:
    """Return the table [region] of a sky region, of several, or of a file of them.

    Raises
    ------
    InputError
        If a region has no area, stands in pixels, or is of a kind that cannot be taken.
    FileError
        If the file cannot be read.
    """
    several = _read(Path(given)) if isinstance(given, str | Path) else _listed(given)
    if not several:
        raise InputError("the region must hold something, got no region; give at least one")
    tables = [_table(one) for one in several]
    return tables[0] if len(tables) == 1 else {"parts": tables}


def _read(path: Path) -> list[Any]:
    from regions import Regions

    try:
        return list(Regions.read(str(path)))
    except OSError as error:
        raise FileError(f"{path} cannot be read: {error.strerror or error}") from error
    except Exception as error:
        raise FileError(f"{path} is no file of sky regions: {' '.join(str(error).split())}") from error


def _listed(given: Any) -> list[Any]:
    """Every region of a list or of a union, one by one."""
    if hasattr(given, "region1"):
        if given.operator.__name__ != "or_":
            raise InputError(
                f"the region must be a union, got regions joined by {given.operator.__name__}; give parts"
            )
        return [*_listed(given.region1), *_listed(given.region2)]
    return [one for part in given for one in _listed(part)] if hasattr(given, "__iter__") else [given]


def _table(region: Any) -> dict[str, Any]:
    kind = type(region).__name__
    maker = MAKERS.get(kind)
    if maker is None:
        without_area = any(word in kind for word in ("Point", "Line", "Text"))
        what = f"{'a region without area' if without_area else 'a kind that is not known here'} ({kind})"
        raise InputError(f"the region must be {' or '.join(sorted(MAKERS))}, got {what}; give one of these")
    return maker(region)


def _circle(region: Any) -> dict[str, Any]:
    return {"center": sky_pairs("region.center", region.center)[0], "radius_deg": _degrees(region.radius)}


def _rectangle(region: Any) -> dict[str, Any]:
    return {
        "center": sky_pairs("region.center", region.center)[0],
        "width_deg": _degrees(region.width),
        "height_deg": _degrees(region.height),
        "position_angle_deg": _degrees(region.angle) % 360.0,
    }


def _ellipse(region: Any) -> dict[str, Any]:
    """Return the outline about an ellipse; its height stands at its angle, east of north."""
    (center,) = sky_pairs("region.center", region.center)
    wide, high = (60.0 * _degrees(side) for side in (region.width, region.height))
    vectors = ellipse_vectors((center[0], center[1]), high, wide, _degrees(region.angle))
    return {"outline": np.stack(vector_to_sky(vectors), axis=-1).tolist()}


def _polygon(region: Any) -> dict[str, Any]:
    return {"outline": sky_pairs("region.outline", region.vertices)}


def _degrees(angle: Any) -> float:
    return float(angle.to_value("deg"))


MAKERS: dict[str, Callable[[Any], dict[str, Any]]] = {
    "CircleSkyRegion": _circle,
    "EllipseSkyRegion": _ellipse,
    "PolygonSkyRegion": _polygon,
    "RectangleSkyRegion": _rectangle,
}


def panel_regions(plan: Plan) -> Regions:
    """Return a plan's panels as polygons of the sky, each with its name."""
    import astropy.units as u
    from astropy.coordinates import SkyCoord
    from regions import PolygonSkyRegion, RegionMeta, Regions

    from planner.mosaic.panel import panel_corners

    ra_deg, dec_deg = vector_to_sky(panel_corners(plan.mosaic.panels, plan.mosaic.field))
    return Regions(
        [
            PolygonSkyRegion(SkyCoord(ra * u.deg, dec * u.deg), meta=RegionMeta({"label": panel.name}))
            for panel, ra, dec in zip(plan.mosaic.panels, ra_deg, dec_deg, strict=True)
        ]
    )
