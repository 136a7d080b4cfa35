"""A whole request, as values: what a plan file says once it has been read.

Names, units and meanings are those of the plan file (see README, "The plan file").
"""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Literal

from planner.night.settings import Filter, Nights, Site
from planner.rig.angle_device import AngleDevice, Mount
from planner.rig.camera import Camera

__all__ = ["MosaicRequest", "PictureRequest", "RegionRequest", "Request", "SeasonRequest"]

LonLat = tuple[float, float]


@dataclass(frozen=True)
class RegionRequest:
    """The part of the sky to cover; exactly one form is set. Angles in degrees, ICRS.

    Exactly one of: ``object``; ``center`` with ``radius_deg`` (circle) or with ``width_deg`` and
    ``height_deg`` (rectangle); ``frame`` (a plate-solved picture); ``outline``. An ``outline_file`` has been
    read into ``outline`` by the reader.
    """

    object: str | None = None
    size_arcmin: tuple[float, float] | None = None
    center: LonLat | None = None
    radius_deg: float | None = None
    width_deg: float | None = None
    height_deg: float | None = None
    position_angle_deg: float = 0.0
    frame: Path | None = None
    outline: tuple[LonLat, ...] | None = None
    outline_file: Path | None = None
    margin_arcmin: float = 0.0


@dataclass(frozen=True)
class PictureRequest:
    """The finished print."""

    aspect: tuple[float, float] | None = None
    position_angle_deg: float | None = None
    print_width_cm: float | None = None
    print_ppi: float = 300.0


@dataclass(frozen=True)
class MosaicRequest:
    """How the region is to be covered."""

    overlap: float = 0.15
    overlap_arcmin: float | None = None
    turns: Literal["common", "per_panel"] | int = "common"
    position_angle_deg: float | None = None
    position_angle_range_deg: tuple[float, float] | None = None
    layout: Literal["free", "sliding", "grid"] = "free"
    columns: int | None = None
    rows: int | None = None
    pointing_error_arcmin: float = 0.0
    angle_error_deg: float = 0.0
    dither_arcmin: float = 0.0
    least_overlap_arcmin: float = 0.0


@dataclass(frozen=True)
class Request:
    """Everything that a plan file and its setup file say."""

    title: str
    camera: Camera
    region: RegionRequest
    mosaic: MosaicRequest = MosaicRequest()
    picture: PictureRequest | None = None
    angle_device: AngleDevice | None = None
    mount: Mount | None = None
    sites: tuple[Site, ...] = ()
    nights: Nights | None = None
    filters: tuple[Filter, ...] = ()
    tables: tuple[dict[str, Any], ...] = ()
    path: Path | None = None
    setup_path: Path | None = None


@dataclass(frozen=True)
class SeasonRequest:
    """A season file: several requests that share one setup."""

    title: str
    requests: tuple[Request, ...] = field(default=())
    turns_allowed: int = 0
