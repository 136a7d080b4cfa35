"""A request from values: the tables and keys of a plan file, as numbers, quantities and sky positions."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, fields, is_dataclass
from pathlib import Path
from typing import Any

from planner.errors import InputError, nearest_names
from planner.files.plan_file.read import request_from_document
from planner.request.request import MosaicRequest, Request

from .quantities import plain_table
from .sky_regions import is_sky_region, region_table

__all__ = ["request"]

MOSAIC = tuple(one.name for one in fields(MosaicRequest))
TABLES = ("picture", "angle_device", "mount", "nights")
LISTS = ("site", "filters", "panels", "tables")
OTHERS = ("title", "setup")


def request(*, camera: Any = None, region: Any = None, **keys: Any) -> Request:
    """Build a request from values, with the names of a plan file.

    Parameters
    ----------
    camera : mapping or Camera
        The table [camera], such as ``{"focal_length_mm": 380, "sensor_px": (6000, 4000), "pixel_um": 3.9}``; values
        may be quantities. Left out where `setup` names a setup file that has it.
    region : mapping, SkyCoord, sky region or path
        The table [region]; or a region of the package regions (circle, ellipse, rectangle, polygon, or several of
        them), a file of them, or the corners of an outline as `SkyCoord`.
    **keys
        Keys of [mosaic] (`overlap`, `angles`, `position_angle_deg`, ...); the other tables as mappings: `picture`,
        `angle_device`, `mount`, `nights`, `site`, `filters`, `panels`; `title`, `setup`. A key keeps its name where
        its value is a quantity: ``position_angle_deg=20 * u.deg``.

    Returns
    -------
    Request

    Raises
    ------
    InputError
        If a name is unknown, a value is out of range or has a wrong unit; the sentence names key and cure.

    >>> camera = {"focal_length_mm": 380, "sensor_px": (6000, 4000), "pixel_um": 3.9}
    >>> one = request(camera=camera, region={"center": (128.5, -45.8), "radius_deg": 2.0}, overlap=0.2)
    >>> one.mosaic.overlap, round(one.camera.field.width_deg, 3)
    (0.2, 3.527)
    """
    _refuse_unknown(keys)
    document: dict[str, Any] = {name: str(keys[name]) for name in OTHERS if keys.get(name) is not None}
    if camera is not None:
        document["camera"] = _table("camera", camera)
    if region is not None:
        document["region"] = _region(region)
    mosaic = plain_table("mosaic", {name: keys[name] for name in MOSAIC if name in keys})
    if mosaic:
        document["mosaic"] = mosaic
    document |= {name: _table(name, keys[name]) for name in TABLES if keys.get(name) is not None}
    document |= {name: _tables(name, keys[name]) for name in LISTS if keys.get(name) is not None}
    return request_from_document(document)


def _refuse_unknown(keys: Mapping[str, Any]) -> None:
    known = (*MOSAIC, *TABLES, *LISTS, *OTHERS, "camera", "region")
    for name in keys:
        if name not in known:
            raise InputError(
                f"{name} is not known{nearest_names(name, known) or '; see the guide, page python'}"
            )


def _table(name: str, given: Any) -> dict[str, Any]:
    if is_dataclass(given) and not isinstance(given, type):
        given = asdict(given)
    if not isinstance(given, Mapping):
        raise InputError(
            f"{name} must be a mapping of keys to values, got {given!r}; give one such as {{...}}"
        )
    return plain_table(name, given)


def _tables(name: str, given: Any) -> list[dict[str, Any]]:
    several = given if isinstance(given, Sequence) and not isinstance(given, str) else [given]
    return [_table(name, one) for one in several]


def _region(given: Any) -> dict[str, Any]:
    if isinstance(given, str | Path) or is_sky_region(given):
        return region_table(given)
    if hasattr(given, "transform_to"):
        return plain_table("region", {"outline": given})
    return _table("region", given)
