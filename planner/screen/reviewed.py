"""A review as a page keeps it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

from planner.frames.review.tally import frames_words
from planner.request.settled import panels_mark

if TYPE_CHECKING:
    from planner.answers.plan import Plan
    from planner.frames.review.review import FrameResult, Review
    from planner.frames.review.tally import PanelExposure
    from planner.frames.solve.solution_cards import Cards

__all__ = ["MOST_SHOWN", "Reviewed", "counted_columns"]

MOST_SHOWN = 3000
"""Frames of a review that a page keeps, the first ones."""


@dataclass(frozen=True, eq=False)
class Reviewed:
    """A review, the plan and the folder that it is of, and the first of its frames.

    Parameters
    ----------
    plan : Plan
    folder : Path
    review : Review
    frames : tuple of FrameResult
    angle_limit_deg : float
        Of a good frame.
    solved : mapping
        Solutions of frames that were solved here, by path.
    instrument : str, optional
        Whose frames they are, where several share the mosaic.
    each : mapping
        What the same reading came to for each of these instruments, this one too.
    """

    plan: Plan
    folder: Path
    review: Review
    frames: tuple[FrameResult, ...]
    angle_limit_deg: float
    solved: Mapping[Path, Cards]
    instrument: str | None = None
    each: Mapping[str, Reviewed] = field(default_factory=dict, repr=False)

    @property
    def document(self) -> bytes:
        """The review as review.json has it; of its frames those that are kept here."""
        from planner.files.documents.review import FrameSpool, review_pieces

        with FrameSpool(self.folder) as spool:
            for frame in self.frames:
                spool.add(frame)
            return "".join(review_pieces(self.review, spool)).encode()

    def is_of(self, plan: Plan) -> bool:
        """Whether the review is of the panels of this plan."""
        if self.plan.mosaic is plan.mosaic:
            return True
        mine, others = (panels_mark(one.mosaic.panels) for one in (self.plan, plan))
        return mine == others and self.plan.request == plan.request


def counted_columns(row: PanelExposure) -> dict[str, Any]:
    """Return what is counted of a panel and a filter, as columns of a table."""
    return {
        "Panel": row.name,
        "Filter": row.filter or "",
        "Good exposures": row.worth,
        "Exposures wanted": row.wanted,
        "Good frames": frames_words(row.exposures, row.stacks),
    }
