"""plan.json: the plan as one document, and the document read back."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

from planner.geometry import vector_to_sky
from planner.mosaic.mosaic import Mosaic
from planner.mosaic.panel import Panel, panel_corners
from planner.mosaic.region import Part, Region
from planner.request.region import RegionRequest
from planner.rig.print_size import print_size_cm
from planner.rig.readings import PanelReading, panel_readings
from planner.words import floored

from .json_text import DECIMALS

if TYPE_CHECKING:
    from planner.answers.plan import Plan
    from planner.request.picture import Picture

__all__ = ["SCHEMA", "picture_document", "plan_document"]

SCHEMA = "mosaic-plan 1"
"""What a document cannot be without."""


def plan_document(plan: Plan) -> dict[str, Any]:
    """Return a plan as a document of plain lists, numbers and texts.

    Sky positions are ICRS degrees with right ascension in [0, 360). ``overlap_found`` and
    ``overlap_after_errors_arcmin`` are rounded down and ``gap_area_deg2`` up, so that they claim no more than
    has been proven. Keys without ground are absent.
    """
    mosaic = plan.mosaic
    document = {
        "schema": SCHEMA,
        "title": plan.request.title,
        "frame": "ICRS",
        "camera": _camera(plan),
        "region": _region(plan.region, plan.request.region),
        "picture": picture_document(plan.picture),
        "angles": mosaic.angles,
        "axes": _axes(mosaic),
        **_proof(mosaic),
        "panels": _panels(plan),
        "seams": _seams(plan),
        "notes": list(plan.notes),
        "full_picture": _full_picture(plan),
    }
    return {key: _rounded(value) for key, value in document.items() if value is not None}


def _rounded(value: Any) -> Any:
    """Round every number as it will be written, so that the document equals the one read back."""
    if isinstance(value, dict):
        return {key: _rounded(part) for key, part in value.items()}
    if isinstance(value, list):
        return [_rounded(part) for part in value]
    return round(value, DECIMALS) + 0.0 if isinstance(value, float) else value


def _camera(plan: Plan) -> dict[str, Any]:
    camera, field = plan.request.camera, plan.mosaic.field
    return {
        "field_deg": [field.width_deg, field.height_deg],
        "scale_arcsec_px": camera.scale_arcsec_px,
        "sensor_px": list(camera.binned_px),
    }


def _region(region: Region, asked: RegionRequest) -> dict[str, Any]:
    """The outline, of several parts or pieces that of their hull, and then each part with its rings."""
    document: dict[str, Any] = {"outline_deg": _positions(region.outline_deg), "area_deg2": region.area_deg2}
    told = region.parts if asked.all_parts else ()
    if not told:
        if len(region.rings_deg) == 1:
            return document
        told = (Part(asked.object or "region", region, asked.margin_arcmin),)
    parts = [
        {
            "name": part.name,
            "margin_arcmin": part.margin_arcmin,
            "area_deg2": part.region.area_deg2,
            "rings_deg": [_positions(ring) for ring in part.region.rings_deg],
        }
        for part in told
    ]
    return document | {"join": region.join, "parts": parts}


def _full_picture(plan: Plan) -> dict[str, Any] | None:
    """The largest picture without an empty corner, and inside it the one at the angle that gives most."""
    full = plan.full_picture
    if full is None:
        return None
    document = _with_print(full.picture)
    return document if full.turned is None else document | {"turned": _with_print(full.turned)}


def _with_print(picture: Picture) -> dict[str, Any]:
    return picture_document(picture) | {"print_cm": list(print_size_cm(picture.pixels))}


def picture_document(picture: Picture) -> dict[str, Any]:
    """Return a picture as plan.json has it."""
    return {
        "center_deg": _position(*picture.center_deg),
        "width_deg": picture.width_deg,
        "height_deg": picture.height_deg,
        "position_angle_deg": _turn(picture.position_angle_deg),
        "pixels": list(picture.pixels),
    }


def _axes(mosaic: Mosaic) -> dict[str, Any] | None:
    axes = mosaic.axes
    if axes is None:
        return None
    center_deg = _position(axes.ra_deg, axes.dec_deg)
    return {"center_deg": center_deg, "position_angle_deg": _turn(axes.position_angle_deg)}


def _proof(mosaic: Mosaic) -> dict[str, Any]:
    after_errors = mosaic.overlap_after_errors_arcmin
    return {
        "overlap_asked": mosaic.overlap_asked,
        "overlap_found": floored(mosaic.overlap_found, DECIMALS),
        "overlap_after_errors_arcmin": None if after_errors is None else floored(after_errors, DECIMALS),
        "covered": mosaic.covered,
        "gap_area_deg2": _up(mosaic.gap_area_deg2),
        "panel_count_bound": mosaic.panel_count_bound,
    }


def _panels(plan: Plan) -> list[dict[str, Any]]:
    mosaic, device = plan.mosaic, plan.request.angle_device
    ra_deg, dec_deg = vector_to_sky(panel_corners(mosaic.panels, mosaic.field))
    corners = [
        [_position(*corner) for corner in zip(*panel, strict=True)]
        for panel in zip(ra_deg.tolist(), dec_deg.tolist(), strict=True)
    ]
    readings: list[PanelReading | None] = [None] * len(mosaic.panels)
    if device is not None:
        readings = list(panel_readings(mosaic.panels, mosaic.field, device))
    stars = plan.star_counts.panels
    return [_panel(*parts) for parts in zip(mosaic.panels, corners, readings, stars, strict=True)]


def _panel(
    panel: Panel, corners: list[list[float]], reading: PanelReading | None, stars: int
) -> dict[str, Any]:
    ra_deg, dec_deg = _position(panel.ra_deg, panel.dec_deg)
    row: dict[str, Any] = {
        "name": panel.name,
        "order": panel.order,
        "row": panel.row,
        "column": panel.column,
        "ra_deg": ra_deg,
        "dec_deg": dec_deg,
        "position_angle_deg": _turn(panel.position_angle_deg),
        "corners_deg": corners,
    }
    if reading is not None and reading.reachable:
        row["reading_deg"] = reading.reading_deg
    row["stars_in_seams"] = stars
    if panel.kept:
        row["kept"] = True
    if panel.field is not None:
        row["field_deg"] = [panel.field.width_deg, panel.field.height_deg]
    return row


def _seams(plan: Plan) -> list[dict[str, Any]]:
    panels, seams = plan.mosaic.panels, plan.mosaic.seams
    return [
        {
            "panels": [panels[seam.first].name, panels[seam.second].name],
            "width_arcmin": seam.width_arcmin,
            "stars": stars,
        }
        for seam, stars in zip(seams, plan.star_counts.seams, strict=True)
    ]


def _positions(positions: Iterable[tuple[float, float]]) -> list[list[float]]:
    return [_position(*position) for position in positions]


def _position(ra_deg: float, dec_deg: float) -> list[float]:
    """Right ascension, in [0, 360) even where it is rounded up to a turn, and declination."""
    return [_turn(ra_deg), float(dec_deg)]


def _turn(angle_deg: float) -> float:
    return round(float(angle_deg) % 360.0, DECIMALS) % 360.0


def _up(value: float) -> float:
    return 0.0 - floored(-value, DECIMALS)
