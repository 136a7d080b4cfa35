"""Planned observations as a VOTable: one row per panel and filter, in the columns of an open standard.

The head is built as an XML tree; the rows, thousands of them and all alike, are plain text set between.

Source: IVOA recommendations ObsLocTAP 1.0 (2021-07-24), VOTable 1.4 (2019-10-21), DALI 1.1 (2017-05-17,
3.3.7: polygons, counter-clockwise seen from inside the sphere, first corner not repeated).
"""

from __future__ import annotations

import datetime as dt
import math
import xml.etree.ElementTree as ET
from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING
from xml.sax.saxutils import escape

import numpy as np

from planner.answers.panel_facts import exposures_wanted, readings_deg
from planner.files.user_table.equator import MJD_ORDINAL
from planner.geometry import vector_to_sky
from planner.mosaic.panel import Field, panel_corners

from .obsplan_columns import OBSPLAN_COLUMNS, OWN_COLUMNS, ObsplanColumn

if TYPE_CHECKING:
    from planner.answers.plan import Plan
    from planner.night.settings import Filter

__all__ = ["UNKNOWN_PLANNING_MJD", "obsplan_votable"]

UNKNOWN_PLANNING_MJD = 51544.5
"""t_planning, which is never null, where neither a date nor nights are given: the epoch J2000.0."""
NAMESPACE = "http://www.ivoa.net/xml/VOTable/v1.3"
COLUMNS = OBSPLAN_COLUMNS + OWN_COLUMNS
ROWS_GO_HERE = "<TABLEDATA />"
Cells = Mapping[str, str]


def obsplan_votable(plan: Plan, *, planned_on: dt.date | None = None) -> bytes:
    """Return the table of planned observations.

    Parameters
    ----------
    plan : Plan
    planned_on : date, optional
        For t_planning; the default is the first evening of the nights, so that the same plan always gives the
        same file.
    """
    rows = "\n".join(_row(cells) for cells in _cells(plan, planned_on))
    before, after = _document(plan, "char" if rows.isascii() else "unicodeChar").split(ROWS_GO_HERE)
    return f"{before}<TABLEDATA>\n{rows}\n</TABLEDATA>{after}\n".encode()


def _row(cells: Cells) -> str:
    return f"<TR><TD>{'</TD><TD>'.join([cells.get(column.name, '') for column in COLUMNS])}</TD></TR>"


def _cells(plan: Plan, planned_on: dt.date | None) -> Iterator[Cells]:
    """Cells of each row, by column, in the shooting order; what wants no exposures has no row."""
    common = {name: escape(text) for name, text in _common_cells(plan, planned_on).items()}
    prefix = escape(plan.request.title.replace(" ", "_"))
    pairs = zip(_panel_cells(plan), exposures_wanted(plan), strict=True)
    for panel, counts in sorted(pairs, key=lambda pair: int(pair[0]["shooting_order"])):
        through = [_filter_cells(*pair) for pair in zip(plan.request.filters, counts, strict=True) if pair[1]]
        for cells in through if plan.request.filters else [{}]:
            parts = (prefix, panel["panel"], cells.get("filter_name", "").replace(" ", "_"))
            yield common | panel | cells | {"obs_id": "-".join(part for part in parts if part)}


def _common_cells(plan: Plan, planned_on: dt.date | None) -> Cells:
    request = plan.request
    first = planned_on or (request.nights.first if request.nights else None)
    mjd = UNKNOWN_PLANNING_MJD if first is None else float(first.toordinal() - MJD_ORDINAL)
    return {
        "t_planning": repr(mjd),
        "obs_collection": request.title,
        "s_fov": repr(_diagonal_deg(plan.mosaic.field)),
        "o_ucd": "phot.count;em.opt",
        "facility_name": " or ".join(site.name for site in request.sites) or "no site given",
        "instrument_name": _camera_name(plan),
        "category": "Window" if request.nights else "Other",
        "priority": "1",
        "execution_status": "Planned",
        "tracking_type": "Sidereal",
    }


def _diagonal_deg(field: Field) -> float:
    return 2 * math.degrees(math.atan(math.hypot(field.half_width, field.half_height)))


def _camera_name(plan: Plan) -> str:
    camera = plan.request.camera
    columns, rows = camera.sensor_px
    return f"{camera.focal_length_mm:g} mm, {columns} x {rows} pixels of {camera.pixel_um:g} um"


def _panel_cells(plan: Plan) -> Iterator[dict[str, str]]:
    """Cells that one panel's rows share; a reading that cannot be reached is left empty."""
    panels = plan.mosaic.panels
    corners = np.stack(vector_to_sky(panel_corners(panels, plan.mosaic.field)), axis=-1).reshape(-1, 8)
    readings = _reading_cells(plan) if plan.request.angle_device else [{}] * len(panels)
    for panel, polygon, cells in zip(panels, corners.tolist(), readings, strict=True):
        yield {
            "target_name": escape(f"{plan.request.title} {panel.name}"),
            "s_ra": repr(float(panel.ra_deg)),
            "s_dec": repr(float(panel.dec_deg)),
            "s_region": " ".join(map(repr, polygon)),
            "position_angle": repr(float(panel.position_angle_deg)),
            "panel": escape(panel.name),
            "shooting_order": str(panel.order),
        } | cells


def _reading_cells(plan: Plan) -> list[dict[str, str]]:
    readings = readings_deg(plan).tolist()
    return [{"reading_deg": repr(value)} if math.isfinite(value) else {} for value in readings]


def _filter_cells(item: Filter, count: int) -> dict[str, str]:
    total = repr(item.exposure_s * count)
    return {
        "t_exptime": total,
        "t_plan_exptime": total,
        "t_resolution": repr(item.exposure_s),
        "filter_name": escape(item.name),
        "exposure": repr(item.exposure_s),
        "exposures": str(count),
    }


def _document(plan: Plan, text: str) -> str:
    """Return the document around the rows."""
    root = ET.Element("VOTABLE", {"version": "1.4", "xmlns": NAMESPACE})
    resource = ET.SubElement(root, "RESOURCE", {"type": "results"})
    ET.SubElement(resource, "DESCRIPTION").text = f"mosaic planner: {plan.request.title}"
    ET.SubElement(resource, "COOSYS", {"ID": "icrs", "system": "ICRS"})
    scale = {"timeorigin": "MJD-origin", "timescale": "UTC", "refposition": "TOPOCENTER"}
    ET.SubElement(resource, "TIMESYS", {"ID": "utc", **scale})
    ET.SubElement(resource, "INFO", {"name": "standardID", "value": "ivo://ivoa.net/std/ObsLocTAP"})
    table = ET.SubElement(resource, "TABLE", {"name": "ivoa.obsplan"})
    ET.SubElement(table, "DESCRIPTION").text = "planned observations, one row per panel and filter"
    for column in COLUMNS:
        element = ET.SubElement(table, "FIELD", _attributes(column, text))
        ET.SubElement(element, "DESCRIPTION").text = column.meaning
    ET.SubElement(ET.SubElement(table, "DATA"), "TABLEDATA")
    ET.indent(root, " ")
    return '<?xml version="1.0" encoding="UTF-8"?>\n' + ET.tostring(root, encoding="unicode")


def _attributes(column: ObsplanColumn, text: str) -> dict[str, str]:
    kinds = {"text": (text, "*", ""), "polygon": ("double", "*", "polygon")}
    datatype, arraysize, xtype = kinds.get(column.datatype, (column.datatype, "", ""))
    on_sky = column.name in {"s_ra", "s_dec", "s_region", "position_angle"}
    system = "icrs" if on_sky else "utc" if column.unit == "d" else ""
    attributes = {
        "name": column.name,
        "datatype": datatype,
        "arraysize": arraysize,
        "xtype": xtype,
        "unit": column.unit,
        "ucd": column.ucd,
        "ref": system,
    }
    return {name: value for name, value in attributes.items() if value}
