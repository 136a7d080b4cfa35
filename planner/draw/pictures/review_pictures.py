"""The pictures of a review: depth, and the camera angle over the season."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from planner.frames.review.review import Review
    from planner.mosaic.mosaic import Mosaic

__all__ = ["review_pictures"]


def review_pictures(title: str, mosaic: Mosaic, review: Review, *, limit_deg: float) -> dict[str, bytes]:
    """Return depth.png, and drift.png where frames tell the angle and their date.

    Parameters
    ----------
    title : str
        Of the plan.
    mosaic : Mosaic
    review : Review
    limit_deg : float
        How far a good frame may be turned.
    """
    from .depth_map import depth_png
    from .drift_picture import drift_png

    drawings = {"depth.png": depth_png(review.depth, mosaic, f"{title}: depth")}
    if review.drift.states:
        drawings["drift.png"] = drift_png(review.drift, f"{title}: camera angle", limit_deg=limit_deg)
    return drawings
