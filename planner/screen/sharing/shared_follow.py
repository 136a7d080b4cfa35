"""The folder of all instruments followed: frames told apart, those of the chosen one shown."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from planner.errors import InputError
from planner.frames.review.limits import Limits
from planner.request.request import Request
from planner.screen.reviewed import MOST_SHOWN, Reviewed
from planner.screen.state import desk, session
from planner.screen.watching.follow_part import Following
from planner.session.sharing.layouts import AllParts
from planner.watch.shared_watch import SharedFolderWatch

from .of_chosen import reviewed_each

if TYPE_CHECKING:
    from planner.answers.plan import Plan
    from planner.answers.shared.shared_plan import SharedPlan
    from planner.files.read_index import ReadIndex

__all__ = ["SharedFollowing"]


@dataclass(eq=False)
class SharedFollowing(Following):
    """A folder into which several instruments write, followed in this browser tab.

    Parameters
    ----------
    name : str
        Of the chosen instrument.
    limits_of : callable
        Limits of a good frame of a request.
    """

    name: str = field(kw_only=True)
    limits_of: Callable[[Request], Limits] = field(kw_only=True)
    _parts: AllParts = field(default_factory=AllParts)
    _plan: Plan | None = None

    def is_of(self, other: Following) -> bool:
        """Whether the same is followed in the same way, for the same instrument."""
        return isinstance(other, SharedFollowing) and self.name == other.name and super().is_of(other)

    def new_watch(self, plan: Plan, index: ReadIndex) -> SharedFolderWatch:
        """Return what follows the folder."""
        self._plan, shared = plan, self._shared()
        return SharedFolderWatch(
            shared,
            self.folder,
            each=shared.each(self.limits_of),
            reader=self.reader(shared.solver()),
            index=index,
            keep=MOST_SHOWN,
        )

    def takes(self, plan: Plan) -> bool:
        """Judge by the plans of all from now on; returns whether they are others than before."""
        assert isinstance(self.watch, SharedFolderWatch)
        self._plan, shared = plan, self._shared()
        if shared is self.watch.shared:
            return False
        self.watch.take_shared(shared, shared.each(self.limits_of), self.reader(shared.solver()))
        return True

    def reviewed(self) -> Reviewed:
        """Return the review of the chosen instrument's frames as it stands; coverage and depth are those of all."""
        assert isinstance(self.watch, SharedFolderWatch) and self._plan is not None
        self.watch.review()
        plans = {one.name: one.plan for one in self.watch.shared.instruments} | {self.name: self._plan}
        kept = sorted(self.watch.kept.values(), key=lambda one: one.path)
        each = reviewed_each(plans, self.watch.reviews, kept, self.folder, self.limits_of, self.solved)
        return each[self.name]

    def _shared(self) -> SharedPlan:
        now = session()
        if now.shared is None or now.instrument is None:
            raise InputError("one instrument has the mosaic alone; review again")
        return self._parts.plan(now.shared, now.instrument, lambda asked: desk().answer(asked).plan)
