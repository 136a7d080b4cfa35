"""What stays of a plan, by a review.json or by a folder of solved frames."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from planner.progress import Progress

if TYPE_CHECKING:
    from planner.answers.keep import Kept
    from planner.request.request import Request

__all__ = ["keep_good"]


def keep_good(request: Request, given: str | Path, *, progress: Progress | None = None) -> Kept:
    """Return the request with the panels that have good frames kept; a plan of it adds the fewest others.

    Parameters
    ----------
    request : Request
        As read from a plan file; with a review.json its panels must be settled or listed.
    given : path
        A review.json of these panels, or a folder of solved frames.
    progress : callable, optional

    Returns
    -------
    Kept
        Its ``request`` is to be planned; ``let_go`` and ``off`` name what does not stay.

    Raises
    ------
    FileError
        If the review cannot be read, or is that of other panels.
    InputError
        If nothing stays.
    """
    from planner.answers.keep import keep_frames, keep_reviewed

    given = Path(given)
    if given.is_dir():
        return keep_frames(request, given, progress=progress)
    from .documents.reviewed import read_good

    return keep_reviewed(request, read_good(given, request) if request.panels else {})
