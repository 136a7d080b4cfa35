"""The plan file of one instrument's part of a shared mosaic: whole in itself, with the panels that it takes."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path

from planner.answers.plan import Plan
from planner.answers.settle import settled_tables
from planner.frames.review.shots import Shots
from planner.frames.review.tally import Reshoot

from .made_up_mark import marked_made_up
from .request_text import document_of_request
from .reshoot import HEAD as RESHOOT_HEAD
from .reshoot import evenings_left, panel_tables
from .write import new_plan_text

__all__ = ["PART_HEAD", "part_reshoot_text", "part_text"]

PART_HEAD = (
    "# One instrument's part of a shared mosaic. Written by the mosaic planner, which may replace it.\n"
)


def part_text(plan: Plan, folder: Path) -> str:
    """Return a plan file that keeps the panels of a part, so that every verb takes it.

    Parameters
    ----------
    plan : Plan
        Of one instrument.
    folder : Path
        Where the file will stand.
    """
    document = document_of_request(
        replace(plan.request, path=None, setup_path=None, panels=(), settled=None), folder
    )
    return PART_HEAD + new_plan_text({**document, **settled_tables(plan)})


def part_reshoot_text(
    plan: Plan, missing: Iterable[Reshoot], folder: Path, *, made_up: bool = False, shots: Shots | None = None
) -> str:
    """Return a plan file with exactly the panels of a part that are to be shot again, and the exposures that remain.

    Parameters
    ----------
    plan : Plan
        Of one instrument.
    missing : iterable of Reshoot
    folder : Path
        Where the file will stand.
    made_up : bool, optional
        Whether frames of the review are made up; a comment says so.
    shots : Shots, optional
        When frames of the instrument were taken: its nights begin after the last.
    """
    request = plan.request
    first, over = evenings_left(request, shots)
    if first is not None and request.nights is not None:
        request = replace(request, nights=replace(request.nights, first=first))
    asked = replace(request.mosaic, columns=None, rows=None, position_angle_range_deg=None)
    bare = replace(request, mosaic=asked, path=None, setup_path=None, panels=(), settled=None)
    title = f"{request.title}, to shoot again"
    document = {
        **document_of_request(bare, folder),
        "title": title,
        "panels": panel_tables(plan.mosaic, missing),
    }
    new = over + new_plan_text(document)
    return RESHOOT_HEAD + (marked_made_up(new) if made_up else new)
