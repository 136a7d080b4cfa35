"""What a chart says in words about a plan."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from planner.catalogue.constellation import constellation_of
from planner.words import counted, overlap_words

if TYPE_CHECKING:
    from planner.answers.plan import Plan
    from planner.mosaic.mosaic import Mosaic
    from planner.request.picture import Picture

__all__ = ["angle_text", "detail_line", "panel_line"]


def panel_line(mosaic: Mosaic) -> str:
    """Say how many panels there are, how they overlap and how they are turned."""
    count = len(mosaic.panels)
    parts = [counted(count, "panel")]
    if count > 1:
        asked = f"(asked {mosaic.overlap_asked * 100:.4g} %)"
        parts.append(overlap_words(mosaic.overlap_found, f"overlap {{}} {asked}"))
    return " · ".join([*parts, angle_text(mosaic)])


def angle_text(mosaic: Mosaic) -> str:
    """Position angles of the panels: the one, the few, or from where to where.

    All are degrees east of north of the panels' up direction, [0, 360).
    """
    angles = sorted({round(panel.position_angle_deg, 1) % 360.0 for panel in mosaic.panels})
    if len(angles) == 1:
        return f"position angle {angles[0]:.1f}°"
    few = 2 if mosaic.axes is not None else 4
    listed = ", ".join(f"{angle:.1f}°" for angle in angles) if len(angles) <= few else _span_text(angles)
    prefix = "square with the picture: " if mosaic.axes is not None else ""
    return f"{prefix}position angles {listed}"


def _span_text(angles: list[float]) -> str:
    """Shortest run that holds sorted angles, across north if need be.

    >>> _span_text([0.5, 12.0, 350.0]), _span_text([0.0, 90.0, 180.0, 270.0])
    ('350.0° to 12.0°', 'all round')
    """
    gaps = np.diff([*angles, angles[0] + 360.0])
    widest = int(np.argmax(gaps))
    if gaps[widest] <= 90.0:
        return "all round"
    return f"{angles[(widest + 1) % len(angles)]:.1f}° to {angles[widest]:.1f}°"


def detail_line(plan: Plan) -> str:
    """Centre and its constellation, size of a panel, size of the picture."""
    mosaic, picture = plan.mosaic, plan.picture
    return " · ".join(
        [
            f"centre {_position_text(*picture.center_deg)} (ICRS), {constellation_of(*picture.center_deg)}",
            f"panel {_size_text(mosaic.field.width_deg, mosaic.field.height_deg)}",
            _picture_text(picture),
        ]
    )


def _picture_text(picture: Picture) -> str:
    columns, rows = picture.pixels
    size = _size_text(picture.width_deg, picture.height_deg)
    return (
        f"picture {size} at position angle {picture.position_angle_deg % 360:.1f}°, {columns} × {rows} pixels"
    )


def _size_text(width_deg: float, height_deg: float) -> str:
    """Width and height in degrees, arc minutes or arc seconds, as suits the larger.

    >>> _size_text(3.2, 2.14), _size_text(0.35, 0.2), _size_text(0.01, 0.005)
    ('3.20° × 2.14°', '21.0′ × 12.0′', '36.0″ × 18.0″')
    """
    if max(width_deg, height_deg) >= 1.0:
        return f"{width_deg:.2f}° × {height_deg:.2f}°"
    if max(width_deg, height_deg) >= 0.05:
        return f"{width_deg * 60:.1f}′ × {height_deg * 60:.1f}′"
    return f"{width_deg * 3600:.1f}″ × {height_deg * 3600:.1f}″"


def _position_text(ra_deg: float, dec_deg: float) -> str:
    """Right ascension and declination, to 6 seconds of time and 1 arc minute.

    >>> _position_text(359.99, -0.5)
    '0ʰ00.0ᵐ −0°30′'
    """
    tenths = round(ra_deg * 40) % 14400
    arcmin = round(abs(dec_deg) * 60)
    sign = "−" if dec_deg < 0 and arcmin else "+"
    return f"{tenths // 600}ʰ{tenths % 600 / 10:04.1f}ᵐ {sign}{arcmin // 60}°{arcmin % 60:02d}′"
