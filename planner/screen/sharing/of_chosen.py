"""Which part of a review is shown: that of the chosen instrument."""

from __future__ import annotations

from typing import TYPE_CHECKING

import streamlit as st

from planner.screen.reviewed import Reviewed
from planner.screen.state import session
from planner.words import plain_markdown

if TYPE_CHECKING:
    from planner.answers.plan import Plan

__all__ = ["of_chosen"]


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
