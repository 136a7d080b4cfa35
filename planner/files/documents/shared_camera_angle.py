"""camera-angle.json of a mosaic that several instruments share: what to set on each of them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from .camera_angle import camera_angle_document

if TYPE_CHECKING:
    from planner.answers.shared.shared_plan import SharedPlan
    from planner.rig.angle_report import AngleReport

__all__ = ["SCHEMA", "shared_camera_angle_document"]

SCHEMA = "shared-camera-angle 1"


def shared_camera_angle_document(shared: SharedPlan, reports: Sequence[AngleReport]) -> dict[str, Any]:
    """Return the camera angles of all instruments as a document of plain lists, numbers and texts.

    Parameters
    ----------
    shared : SharedPlan
    reports : sequence of AngleReport
        Of each instrument, in their order.
    """
    return {
        "schema": SCHEMA,
        "instruments": [
            {"name": one.name, "angle": camera_angle_document(report)}
            for one, report in zip(shared.instruments, reports, strict=True)
        ],
    }
