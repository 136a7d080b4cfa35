"""compare.json: what each setup gives, as one document."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from .json_text import without_none

if TYPE_CHECKING:
    from planner.answers.compare import SetupAnswer

__all__ = ["SCHEMA", "compare_document"]

SCHEMA = "compare 1"


def compare_document(answers: Sequence[SetupAnswer]) -> dict[str, Any]:
    """Return a comparison as a document of plain lists, numbers and texts, sorted as `compare_setups` sorts.

    ``exposure_hours`` is exposures times exposure time times panels, without overheads; ``dark_sky_hours`` what
    they are worth in the season's moonlight; ``cost`` takes these and
    the overheads at the site's dearest price of an hour, in its currency. Keys without ground are absent: no
    ``panels`` where a setup cannot plan the region, no hours and cost where it cannot shoot it.
    """
    return {"schema": SCHEMA, "setups": [_setup(answer) for answer in answers]}


def _setup(answer: SetupAnswer) -> dict[str, Any]:
    row = {
        "setup": answer.name,
        "panels": answer.panels,
        "position_angle_deg": answer.position_angle_deg,
        "scale_arcsec_px": answer.scale_arcsec_px,
        "exposure_hours": answer.hours.exposures if answer.hours else None,
        "dark_sky_hours": answer.hours.dark_sky if answer.hours else None,
        "cost": answer.cost.most if answer.cost else None,
        "print_width_cm": answer.print_width_cm,
    }
    return without_none(row)
