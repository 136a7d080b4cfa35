"""A review as a page keeps it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from planner.answers.plan import Plan
    from planner.frames.review.review import FrameResult, Review
    from planner.frames.solve.solution_cards import Cards

__all__ = ["Reviewed"]


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
    """

    plan: Plan
    folder: Path
    review: Review
    frames: tuple[FrameResult, ...]
    angle_limit_deg: float
    solved: Mapping[Path, Cards]
