"""The machine form of a camera angle: schema ``camera-angle 1``."""

from __future__ import annotations

from typing import Any

from planner.rig.angle_report import AngleReport
from planner.rig.calibration import Calibration
from planner.rig.matching import Match
from planner.rig.mount import flips
from planner.rig.plan_tolerances import Tolerances
from planner.rig.readings import PanelReading
from planner.rig.tolerance import AngleTolerance
from planner.rig.turn import Turn

from .json_text import DECIMALS, without_none

__all__ = ["SCHEMA", "camera_angle_document"]

SCHEMA = "camera-angle 1"


def camera_angle_document(report: AngleReport) -> dict[str, Any]:
    """Return a report as a document of plain lists, numbers and texts; keys without ground are absent.

    ``calibration`` tells of the last frame and of the fit to all; ``turn`` is what to do from there.
    ``tolerance`` has the angle errors that the plan forgives, for all panels alike and for each on its own.
    """
    document = {
        "schema": SCHEMA,
        "panels": _panels(report),
        "calibration": _calibration(report, report.calibration) if report.calibration else None,
        "turn": _turn(report.turn) if report.turn else None,
        "match": _match(report, report.match) if report.match else None,
        "unreachable": _unreachable(report),
        "tolerance": _tolerance(report.tolerances),
    }
    return without_none(document)


def _turned(angle_deg: float) -> float:
    """Angle in [0, 360) even after it is rounded to the decimals that are written."""
    return round(angle_deg % 360.0, DECIMALS) % 360.0


def _panels(report: AngleReport) -> list[dict[str, Any]]:
    if not report.readings:
        return [
            {"name": panel.name, "position_angle_deg": _turned(panel.position_angle_deg)}
            for panel in report.panels
        ]
    return [_panel(reading) for reading in report.readings]


def _panel(reading: PanelReading) -> dict[str, Any]:
    row: dict[str, Any] = {
        "name": reading.name,
        "position_angle_deg": _turned(reading.position_angle_deg),
        "reachable": reading.reachable,
    }
    if reading.reachable:
        return {**row, "reading_deg": reading.reading_deg}
    return {
        **row,
        "nearest_position_angle_deg": _turned(reading.nearest_position_angle_deg),
        "nearest_reading_deg": reading.reading_deg,
    }


def _calibration(report: AngleReport, fit: Calibration) -> dict[str, Any]:
    solution, check = report.frames[-1].solution, report.checks[-1]
    found: dict[str, Any] = {
        "frame_position_angle_deg": _turned(solution.position_angle_deg),
        "scale_arcsec_px": solution.scale_arcsec_px,
        "focal_length_mm": check.focal_length_mm,
        "parity": solution.parity,
        "looking": report.frames[-1].looking if flips(report.mount) else None,
        "solution_origin": report.frames[-1].origin or None,
        "made_up": [frame.name for frame in report.frames if frame.made_up] or None,
        "zero_deg": _turned(fit.zero_deg),
        "sense": fit.sense,
        "sense_from_frames": fit.sense_known,
        "scatter_deg": fit.scatter_deg,
        "outliers": list(fit.outliers) or None,
        "axis_skew_deg": solution.axis_skew_deg,
        "distortion_corner_arcsec": solution.distortion_corner_arcsec,
        "binning": list(check.binning),
        "nearest_panel": check.nearest.name if check.nearest else None,
        "offset_arcmin": check.nearest.offset_arcmin if check.nearest else None,
    }
    return without_none(found)


def _turn(turn: Turn) -> dict[str, Any]:
    return {
        "position_angle_deg": turn.position_angle_deg,
        "reading_deg": turn.reading_deg,
        "to_reading_deg": turn.to_reading_deg,
    }


def _match(report: AngleReport, match: Match) -> dict[str, Any]:
    found: dict[str, Any] = {
        "center_deg": [match.ra_deg, match.dec_deg],
        "position_angle_deg": _turned(match.position_angle_deg),
        "covered_share": match.covered_share,
    }
    if match.made_up:
        found["made_up"] = True
    if report.match_reading is not None:
        found["reachable"] = report.match_reading.reachable
        found["reading_deg"] = report.match_reading.reading_deg
    return found


def _unreachable(report: AngleReport) -> dict[str, Any] | None:
    cost = report.unreachable
    if cost is None:
        return None
    found: dict[str, Any] = {
        "nearest_position_angle_deg": _turned(cost.position_angle_deg),
        "off_deg": cost.off_deg,
        "reading_deg": cost.reading_deg,
        "gap_area_deg2": cost.gap_area_deg2,
    }
    if cost.replanned is not None:
        found["replanned"] = {
            "panels": cost.replanned.panels,
            "covered": cost.replanned.covered,
            "overlap_found": cost.replanned.overlap_found,
        }
    return found


def _tolerance(found: Tolerances) -> dict[str, Any]:
    parts = {"no_gap": found.gap, "overlap_asked": found.overlap, "picture_filled": found.picture}
    return {name: _errors(part) for name, part in parts.items() if part is not None}


def _errors(tolerance: AngleTolerance) -> dict[str, float]:
    return {"together_deg": tolerance.together_deg, "singly_deg": tolerance.singly_deg}
