"""The review of frames that came back, as one call."""

from __future__ import annotations

from pathlib import Path

from planner.answers.plan import Plan
from planner.frames.review.review import Review, review_folder
from planner.progress import Progress

__all__ = ["review_frames"]


def review_frames(plan: Plan, folder: str | Path, *, progress: Progress | None = None) -> Review:
    """Compare all frames in a folder and below it with a plan; files are only read.

    Parameters
    ----------
    plan : Plan
    folder : path
    progress : callable, optional

    Raises
    ------
    FileError
        If the folder is missing or cannot be read.
    """
    return review_folder(
        plan.request, plan.mosaic, Path(folder), progress=progress or (lambda what, part: None)
    )
