"""fit.json: how well everything fits one frame of each setup, as one document."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from .json_text import without_none

if TYPE_CHECKING:
    from planner.answers.fit import SetupFit

__all__ = ["SCHEMA", "fit_document"]

SCHEMA = "fit 1"


def fit_document(fits: Sequence[SetupFit]) -> dict[str, Any]:
    """Return the answers as a document of plain lists, numbers and texts, in the order of the setups.

    Keys without ground are absent: no ``panels`` where one frame does.
    """
    return {"schema": SCHEMA, "setups": [_setup(one) for one in fits]}


def _setup(one: SetupFit) -> dict[str, Any]:
    fit, margins = one.fit, one.fit.margins_arcmin
    row = {
        "setup": one.name,
        "field_deg": [one.field.width_deg, one.field.height_deg],
        "fits": fit.fits,
        "margin_arcmin": fit.margin_arcmin,
        "margin_bound_arcmin": fit.bound_arcmin,
        "center_deg": list(fit.placement.center_deg),
        "position_angle_deg": fit.placement.position_angle_deg,
        "margins_arcmin": {
            "top": margins.top,
            "bottom": margins.bottom,
            "left": margins.left,
            "right": margins.right,
        },
        "fits_at_deg": [list(stretch) for stretch in fit.fits_at_deg],
        "longest_focal_length_mm": one.longest_focal_length_mm,
        "panels": one.panels,
    }
    return without_none(row)
