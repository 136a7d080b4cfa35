"""What stays of a plan, by a review.json or by a folder of solved frames."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from planner.errors import FileError, InputError
from planner.progress import Progress

if TYPE_CHECKING:
    from planner.answers.keeping.keep import Kept
    from planner.request.request import Request

__all__ = ["keep_good"]


def keep_good(
    request: Request, given: str | Path, *, every_ground: bool = False, progress: Progress | None = None
) -> Kept:
    """Return the request with the panels that have good frames kept; a plan of it adds the fewest others.

    Parameters
    ----------
    request : Request
        As read from a plan file; with a review.json its panels must be settled or listed.
    given : path
        A review.json of these panels, or a folder of solved frames.
    every_ground : bool, optional
        Of a folder: whether the ground of frames that a review would not call good is kept too, at its own angle.
    progress : callable, optional

    Returns
    -------
    Kept
        Its ``request`` is to be planned; ``let_go``, ``off`` and ``left_aside`` name what does not stay;
        ``made_up`` counts the frames of a rehearsal.

    Raises
    ------
    FileError
        If the review cannot be read, or is that of other panels.
    InputError
        If nothing stays.
    """
    from planner.answers.keeping.keep import keep_frames, keep_reviewed

    given = Path(given)
    if not given.exists():
        raise FileError(
            f"{given} does not exist; check the name of the review.json or of the folder of solved frames"
        )
    if given.is_dir():
        return keep_frames(request, given, every_ground=every_ground, progress=progress)
    if every_ground:
        raise InputError(
            f"the ground of all frames is that of a folder, got {given}; give the folder with the frames"
        )
    from .documents.reviewed import read_good

    if not request.panels:
        return keep_reviewed(request, {})
    reviewed = read_good(given, request)
    return keep_reviewed(request, reviewed.good, made_up=reviewed.made_up)
