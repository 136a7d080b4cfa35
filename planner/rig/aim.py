"""How exact a camera angle should come out where it is set."""

from __future__ import annotations

from .angle_report import AngleReport

__all__ = ["aim_deg"]

LEAST_AIM_DEG = 0.5
"""Nobody is asked to set an angle finer than this; common practice, no source."""


def aim_deg(report: AngleReport) -> float | None:
    """How exact the angle should come out: what keeps the overlap, or one division where that is more.

    Never more than what opens no gap, nor than a good frame may be off; None where there is no plan to keep.
    """
    limit, kept = report.tolerance_deg, report.tolerances.overlap
    if report.match is not None or limit is None:
        return None
    division = max(LEAST_AIM_DEG, report.device.division_deg if report.device else 0.0)
    return min(limit, report.frame_limit_deg, max(kept.together_deg if kept else 0.0, division))
