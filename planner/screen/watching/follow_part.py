"""The folder of frames followed on the Review page: a line for each frame, and the review kept up to date."""

from __future__ import annotations

import tempfile
import weakref
from collections import deque
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

import streamlit as st

from planner.errors import FileError, PlannerError
from planner.files.read_index import INDEX_NAME, ReadIndex
from planner.frames.review.folder import check_folder
from planner.frames.review.reading import FrameReader
from planner.frames.solve.any_solver import AnySolver
from planner.frames.solve.frame_solver import FrameSolver, SolvedFrame
from planner.screen.reviewed import MOST_SHOWN, Reviewed
from planner.watch.folder_watch import FolderWatch
from planner.watch.news import Look, look_lines, summary

from .switch import FOLLOWING

if TYPE_CHECKING:
    from planner.answers.plan import Plan
    from planner.frames.review.limits import Limits
    from planner.frames.solve.solution_cards import Cards

__all__ = ["Following", "follow_part"]

LOOK_EVERY_S = 2.0
WITHIN_S = 1.0
"""Reading of so many seconds at a time: the page stays quick meanwhile."""
LINES = 12


@dataclass(eq=False)
class Following:
    """A folder that is followed in this browser tab.

    Parameters
    ----------
    folder : Path
    limits : Limits
        Of a good frame.
    solve : bool
        Whether frames without a plate solution are solved.
    """

    folder: Path
    limits: Limits
    solve: bool
    watch: FolderWatch | None = None
    lines: deque[str] = field(default_factory=lambda: deque(maxlen=LINES))
    news: deque[str] = field(default_factory=lambda: deque(maxlen=LINES // 2))
    solved: dict[Path, Cards] = field(default_factory=dict)

    def is_of(self, other: Following) -> bool:
        """Whether the same is followed in the same way."""
        return (self.folder, self.limits, self.solve) == (other.folder, other.limits, other.solve)

    def look(self, plan: Plan) -> Look:
        """Look once; a plan that has changed is taken over first, and its frames are judged anew."""
        watch = self._watch(plan)
        look = watch.look(within_s=WITHIN_S)
        try:
            watch.index.save()
        except FileError as error:
            self.news.append(str(error))
        self.lines.extend(look_lines(look, self.folder))
        self.news.extend(look.news)
        return look

    def _watch(self, plan: Plan) -> FolderWatch:
        if self.watch is None:
            home = tempfile.TemporaryDirectory(prefix="mosaic-planner-")
            index = ReadIndex(Path(home.name) / INDEX_NAME)
            self.watch = self.new_watch(plan, index)
            weakref.finalize(self.watch, _forget, index, home)
        elif self.takes(plan):
            self.news.append("the plan has changed: all frames are judged by the present one")
        return self.watch

    def new_watch(self, plan: Plan, index: ReadIndex) -> FolderWatch:
        """Return what follows the folder."""
        reader = self.reader(plan.solver())
        return FolderWatch(plan, self.folder, limits=self.limits, reader=reader, index=index, keep=MOST_SHOWN)

    def takes(self, plan: Plan) -> bool:
        """Judge by a plan from now on; returns whether it is another one than before."""
        assert self.watch is not None
        if self.watch.plan.mosaic is plan.mosaic and self.watch.plan.request == plan.request:
            return False
        self.watch.take_plan(plan, self.limits, self.reader(plan.solver()))
        return True

    def reader(self, solver: FrameSolver | AnySolver) -> FrameReader:
        """Return what reads frames, and solves those without a solution if that is wanted."""
        return FrameReader(solver if self.solve else None, self._keep_solution)

    def _keep_solution(self, path: Path, found: SolvedFrame) -> None:
        self.solved[path] = found.cards

    def reviewed(self) -> Reviewed:
        """Return the review as it stands."""
        assert self.watch is not None
        frames = tuple(sorted(self.watch.kept.values(), key=lambda one: one.path))
        review, plan = self.watch.review(), self.watch.plan
        return Reviewed(plan, self.folder, review, frames, self.limits.angle_deg, self.solved)


def _forget(index: ReadIndex, home: tempfile.TemporaryDirectory[str]) -> None:
    index.close()
    home.cleanup()


def follow_part(plan: Plan, asked: Following) -> None:
    """Follow a folder and tell what comes in.

    Parameters
    ----------
    plan : Plan
    asked : Following
        What is to be followed; what is followed in the same way already goes on.

    Raises
    ------
    FileError
        If the folder is missing or cannot be read.
    """
    present: Following | None = st.session_state.get(FOLLOWING)
    if present is None or not present.is_of(asked):
        check_folder(asked.folder)
        st.session_state[FOLLOWING] = asked
    _look_again(plan)


def _look(plan: Plan) -> None:
    now: Following | None = st.session_state.get(FOLLOWING)
    if now is None:
        return
    try:
        look = now.look(plan)
    except PlannerError as error:
        st.error(str(error))
        return
    assert now.watch is not None
    if look.changed and not look.left:
        st.session_state["reviewed"] = now.reviewed()
        st.rerun()
    st.caption(f"Following: {summary(now.watch.standing, waiting=look.waiting, left=look.left)}")
    if now.news:
        st.text("\n".join(f"* {line}" for line in reversed(now.news)))
    if now.lines:
        st.code("\n".join(reversed(now.lines)), language=None)


_look_again = st.fragment(run_every=LOOK_EVERY_S)(_look)
