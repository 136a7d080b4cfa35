"""What the fields of a user's own table hold for a plan: angles, numbers and texts, panel by panel."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from planner.answers.panel_facts import exposures_wanted, readings_deg
from planner.errors import InputError
from planner.geometry import basis_position_angle_deg, vector_to_sky
from planner.mosaic.panel import panel_bases

from .equator import equator_matrix
from .table import Column

if TYPE_CHECKING:
    from planner.answers.plan import Plan
    from planner.night.settings import Nights

__all__ = ["column_date", "exposure_cells", "filter_names", "panel_angles_deg", "panel_cells", "safe_text"]

SECONDS = {"seconds": 1.0, "minutes": 60.0, "hours": 3600.0}
PER_DEGREE = {"degrees": 1.0, "arcmin": 60.0, "arcsec": 3600.0}
FINEST = 6
"""Decimals of a number whose column does not say how many; zeros at the end are left out then."""
CONTROLS = re.compile("[\x00-\x1f\x7f\x85\u2028\u2029]+")
FORMULA = re.compile(r"\s*[=+\-@\uff1d\uff0b\uff0d\uff20]")
"""How a cell begins that a spreadsheet may take for a formula (common practice, no source)."""
NUMBER = re.compile(r"\s*[+-]?\d+([.,]\d+)?\s*")


def panel_angles_deg(column: Column, plan: Plan) -> NDArray[np.float64]:
    """Angles that a column of angles shows, degrees, shape (panels,).

    Before rounding and before the range; the direction is allowed for. NaN where a reading cannot be reached.
    """
    if column.field == "reading":
        angle_deg = readings_deg(plan)
    else:
        angle_deg = _sky_angles_deg(column, plan)
    return np.asarray(-angle_deg if column.direction == "west" else angle_deg)


def _sky_angles_deg(column: Column, plan: Plan) -> NDArray[np.float64]:
    bases = panel_bases(plan.mosaic.panels)
    if column.equator != "ICRS":
        bases = bases @ equator_matrix(column.equator, column_date(column, plan.request.nights)).T
    if column.field == "position_angle":
        return np.asarray(basis_position_angle_deg(bases))
    ra_deg, dec_deg = vector_to_sky(bases[:, 2])
    return np.asarray(dec_deg if column.field == "dec" else ra_deg)


def column_date(column: Column, nights: Nights | None) -> dt.date:
    """Date of a column's equator: its own, or the first evening of the nights.

    Raises
    ------
    InputError
        If there is neither.
    """
    if column.date is not None:
        return column.date
    if nights is not None:
        return nights.first
    raise InputError(
        f"column {column.name!r} wants the equator of a date, but there is none; "
        "give date = 2027-01-08 in the column or [nights] in the plan"
    )


def panel_cells(column: Column, plan: Plan, decimal_mark: str) -> list[str]:
    """Cells of a column that does not depend on the filter, one per panel."""
    if column.about.is_angle:
        return _angle_cells(column, plan, decimal_mark)
    if column.about.kind == "size":
        return [_size_cell(column, plan, decimal_mark)] * len(plan.mosaic.panels)
    if column.about.kind == "text":
        return [_plain(text, column) for text in _texts(column, plan)]
    if column.field == "binning":
        return [str(plan.request.camera.binning)] * len(plan.mosaic.panels)
    return [str(getattr(panel, column.field)) for panel in plan.mosaic.panels]


def _angle_cells(column: Column, plan: Plan, decimal_mark: str) -> list[str]:
    angle_deg = panel_angles_deg(column, plan)
    known = np.isfinite(angle_deg)
    texts = column.angle_form(decimal_mark).write(np.where(known, angle_deg, 0.0))
    return [text if ok else "" for text, ok in zip(texts, known.tolist(), strict=True)]


def _size_cell(column: Column, plan: Plan, decimal_mark: str) -> str:
    field, camera = plan.mosaic.field, plan.request.camera
    sizes_deg = {
        "field_width": field.width_deg,
        "field_height": field.height_deg,
        "scale": camera.scale_arcsec_px / 3600,
    }
    return _number(sizes_deg[column.field] * PER_DEGREE[column.unit_used], column.decimals_used, decimal_mark)


def _texts(column: Column, plan: Plan) -> list[str]:
    panels, title = plan.mosaic.panels, plan.request.title
    if column.field == "panel":
        return [panel.name for panel in panels]
    if column.field == "target":
        return [f"{title} {panel.name}" for panel in panels]
    return [title if column.field == "title" else column.text or ""] * len(panels)


def filter_names(column: Column, plan: Plan) -> list[str]:
    """Names of the filters, one per filter."""
    return [_plain(one.name, column) for one in plan.request.filters]


def exposure_cells(
    column: Column, plan: Plan, rows: Sequence[tuple[int, int]], decimal_mark: str
) -> list[str]:
    """Cells of a column on exposures, one for each row's panel and filter (indices)."""
    filters = plan.request.filters
    if column.field == "exposure":
        times = [
            _number(one.exposure_s / SECONDS[column.unit_used], column.decimals, decimal_mark)
            for one in filters
        ]
        return [times[item] for _, item in rows]
    wanted = exposures_wanted(plan)
    counts = [wanted[panel][item] for panel, item in rows]
    if column.field == "exposures":
        return [str(count) for count in counts]
    units = [filters[item].exposure_s / SECONDS[column.unit_used] for _, item in rows]
    totals = (unit * count for unit, count in zip(units, counts, strict=True))
    return [_number(total, column.decimals, decimal_mark) for total in totals]


def _number(value: float, decimals: int | None, decimal_mark: str) -> str:
    text = f"{value:.{FINEST if decimals is None else decimals}f}"
    text = text.rstrip("0").rstrip(".") if decimals is None else text
    return text.replace(".", decimal_mark)


def _plain(text: str, column: Column) -> str:
    text = CONTROLS.sub(" ", text)
    return text if column.spaces is None else text.replace(" ", column.spaces)


def safe_text(text: str) -> str:
    """Put an apostrophe before a text that a spreadsheet would take for a formula; numbers stay as they are.

    >>> safe_text("=1+1"), safe_text("-12.5"), safe_text("Vela shell")
    ("'=1+1", '-12.5', 'Vela shell')
    """
    return f"'{text}" if FORMULA.match(text) and not NUMBER.fullmatch(text) else text
