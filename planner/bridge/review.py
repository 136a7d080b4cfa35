"""Frames that came back: their review, and where the mosaic stands by it, as one call each."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import TYPE_CHECKING

from planner.answers.plan import Plan
from planner.frames.review.review import Review, review_folder
from planner.progress import Progress, silent

from .plain import checked_date, checked_path

if TYPE_CHECKING:
    from planner.answers.progress import MosaicProgress
    from planner.night.timetable import Goal

__all__ = ["progress_of", "review_frames"]


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
    frames = checked_path("folder", folder)
    return review_folder(plan.request, plan.mosaic, frames, progress=progress or silent)


def progress_of(
    plan: Plan,
    review: Review,
    *,
    now: dt.date | dt.datetime | None = None,
    goal: Goal = "soonest",
    progress: Progress | None = None,
) -> MosaicProgress:
    """Tell where a mosaic stands: what is done, what is left, until when, at what cost.

    Parameters
    ----------
    plan : Plan
    review : Review
        Of the frames that came back, made with this plan by `review_frames`.
    now : datetime.date or datetime.datetime, optional
        The coming evening, a date at the first site; or an instant with a time zone. Left out, the clock's.
    goal : {'soonest', 'cheapest'}
        Of the timetable of what remains.
    progress : callable, optional

    Raises
    ------
    InputError
        If the plan has nights that cannot be planned.
    """
    from planner.answers.progress import progress_of as answer

    if not isinstance(now, dt.datetime):
        now = checked_date("now", now)

    return answer(
        plan, review, now=dt.datetime.now(dt.UTC) if now is None else now, goal=goal, progress=progress
    )
