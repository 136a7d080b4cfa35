"""The frames of all instruments told apart, those of the chosen one shown."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

import streamlit as st

from planner.errors import InputError
from planner.screen.reviewed import Reviewed
from planner.screen.state import desk, session
from planner.screen.working import working
from planner.session.sharing.layouts import parts_of_all
from planner.words import counted

from .of_chosen import reviewed_each

if TYPE_CHECKING:
    from planner.answers.plan import Plan
    from planner.frames.review.limits import Limits
    from planner.frames.review.review import FrameResult
    from planner.frames.solve.solution_cards import Cards
    from planner.request.request import Request

__all__ = ["reviewed_of_chosen"]


def reviewed_of_chosen(plan: Plan, folder: Path, limits: Callable[[Request], Limits]) -> Reviewed:
    """Review a folder against all instruments that share the mosaic; return what those of the chosen one come to.

    Coverage and depth are those of all.

    Parameters
    ----------
    plan : Plan
        Of the chosen instrument.
    folder : Path
    limits : callable
        Limits of a good frame of a request.

    Raises
    ------
    PlannerError
        If an instrument cannot be planned, or the folder cannot be read.
    """
    from planner.frames.review.reading import FrameReader
    from planner.frames.review.shared import review_shared_folder

    now = session()
    if now.shared is None or now.instrument is None:
        raise InputError("one instrument has the mosaic alone; review again")
    shared = parts_of_all(now.shared, now.instrument, lambda asked: desk().answer(asked).plan)
    frames: list[FrameResult] = []
    solved: dict[Path, Cards] = {}
    solve = st.session_state["review_solve"]
    with working("Reviewing the frames of all instruments") as work:
        found = review_shared_folder(
            [one.review_part(limits(one.plan.request)) for one in shared.instruments],
            shared.finest.whole.mosaic,
            folder,
            reader=FrameReader(
                shared.solver() if solve else None, lambda path, its: solved.update({path: its.cards})
            ),
            on_frame=frames.append,
            progress=work.tell,
        )
        counts = ", ".join(f"{review.frame_count} of {name}" for name, review in found.each.items())
        work.done(f"{counted(found.review.frame_count, 'frame')} reviewed: {counts}")
    named = {one.name: one.plan for one in shared.instruments} | {now.instrument.name: plan}
    return reviewed_each(named, found.each, frames, folder, limits, solved)[now.instrument.name]
