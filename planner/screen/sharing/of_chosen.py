"""What one reading comes to for each of several instruments, and which of it is shown: the chosen one's."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import streamlit as st

from planner.screen.reviewed import MOST_SHOWN, Reviewed
from planner.screen.state import session
from planner.words import plain_markdown

if TYPE_CHECKING:
    from planner.answers.plan import Plan
    from planner.frames.review.limits import Limits
    from planner.frames.review.review import FrameResult, Review
    from planner.frames.solve.solution_cards import Cards
    from planner.request.request import Request

__all__ = ["of_chosen", "reviewed_each"]


def of_chosen(found: Reviewed, plan: Plan) -> Reviewed | None:
    """Return what a reading came to for the chosen instrument; None after saying whose review there is.

    Parameters
    ----------
    found : Reviewed
        Made while an instrument was chosen, or none where one has the mosaic alone.
    plan : Plan
        Of the instrument that is chosen now.
    """
    one, reviewed = session().instrument, found.instrument
    if one is None or reviewed is None or one.name == reviewed:
        return found
    own = found.each.get(one.name)
    if own is not None and own.is_of(plan):
        return own
    st.info(plain_markdown(f"This review is of {reviewed}; press Review for {one.name}."))
    return None


def reviewed_each(
    plans: Mapping[str, Plan],
    reviews: Mapping[str, Review],
    frames: Sequence[FrameResult],
    folder: Path,
    limits_of: Callable[[Request], Limits],
    solved: Mapping[Path, Cards],
) -> dict[str, Reviewed]:
    """Return what one reading of a folder came to for each of several instruments.

    Parameters
    ----------
    plans, reviews : mapping
        Of the instruments, by name.
    frames : sequence of FrameResult
        Of all; those that no instrument took are told for each.
    folder : Path
    limits_of : callable
        Gives the limits of a good frame of a request.
    solved : mapping
        See `Reviewed`.
    """
    each: dict[str, Reviewed] = {}
    for name, plan in plans.items():
        own = tuple(frame for frame in frames if frame.instrument in (name, None))[:MOST_SHOWN]
        limit_deg = limits_of(plan.request).angle_deg
        each[name] = Reviewed(plan, folder, reviews[name], own, limit_deg, solved, name, each)
    return each
