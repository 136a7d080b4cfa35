"""The pictures of a review, of one instrument or of several: depth, and the camera angle over the season."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from .depth_map import depth_png
from .drift_picture import drift_png

if TYPE_CHECKING:
    from planner.answers.plan import Plan
    from planner.answers.shared.shared_plan import SharedPlan
    from planner.frames.review.drift import Drift
    from planner.frames.review.limits import Limits
    from planner.frames.review.review import Review

__all__ = ["review_pictures", "shared_review_pictures"]


def review_pictures(plan: Plan, review: Review, *, limit_deg: float) -> dict[str, bytes]:
    """Return depth.png, and drift.png where frames tell the angle and their date.

    Parameters
    ----------
    plan : Plan
    review : Review
    limit_deg : float
        How far a good frame may be turned.
    """
    title, device = plan.request.title, plan.request.angle_device
    drawings = {"depth.png": depth_png(review.depth, plan.mosaic, f"{title}: depth")}
    if review.drift.states:
        drawings["drift.png"] = drift_png(
            review.drift, f"{title}: camera angle", limit_deg=limit_deg, device=device
        )
    return drawings


def shared_review_pictures(
    shared: SharedPlan, review: Review, drifts: Mapping[str, Drift], limits: Mapping[str, Limits]
) -> dict[str, bytes]:
    """Return depth.png over the footprints of all, and drift.png of each in its folder where frames tell its angle.

    Parameters
    ----------
    shared : SharedPlan
    review : Review
        Of all instruments.
    drifts, limits : mapping
        Name of an instrument to how its angle ran, and to the limits of its good frames.
    """
    through = {name: one.plan.mosaic for one in shared.instruments for name in one.instrument.filters}
    title = f"{shared.title}: depth"
    pictures = {"depth.png": depth_png(review.depth, shared.finest.plan.mosaic, title, through)}
    for one, folder in zip(shared.instruments, shared.folders, strict=True):
        drift = drifts[one.name]
        if drift.states:
            title, limit = f"{one.plan.request.title}: camera angle", limits[one.name].angle_deg
            pictures[f"{folder}/drift.png"] = drift_png(
                drift, title, limit_deg=limit, device=one.plan.request.angle_device
            )
    return pictures
