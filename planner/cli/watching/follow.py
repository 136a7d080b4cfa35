"""The loop of a watch: look, tell, keep, rest."""

from __future__ import annotations

import signal
import time
from abc import ABC, abstractmethod
from collections.abc import Callable, Iterator, Sequence
from contextlib import closing, contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Generic, TypeVar

from planner.answers.plan import Plan, make_plan
from planner.answers.settle import changed_words
from planner.answers.shared.shared_plan import SharedPlan
from planner.cli.review_options import ReviewOptions
from planner.draw.pictures.review_pictures import review_pictures
from planner.errors import FileError, PlannerError
from planner.files.output import Content, is_ours, remove_stale, write_paths
from planner.files.read_index import INDEX_NAME, ReadIndex
from planner.files.solution_file import write_solution
from planner.frames.review.reading import FrameReader
from planner.frames.review.review import Review
from planner.frames.solve.frame_solver import SolvedFrame
from planner.progress import Progress
from planner.request.request import Request
from planner.request.shared import SharedRequest
from planner.watch.folder_watch import FolderWatch
from planner.watch.followed_plan import FollowedFile, FollowedPlan
from planner.watch.lock import watched
from planner.watch.news import Look, look_lines, summary

from .change_command import ChangeCommand
from .foot import Foot

__all__ = ["FILES", "Following", "Stop", "follow", "run_watch"]

Asked = TypeVar("Asked", Request, SharedRequest)
Planned = TypeVar("Planned", Plan, SharedPlan)

SLICE_S = 2.0
"""After so many seconds of reading what is known is told, and the reading goes on."""
REST_S = 2.0
NAP_S = 0.1
REST_SHARE = 4.0
"""Between looks, and between two writings of review.json, pass so many times as long as they take."""
FILES = ("review.json", "depth.png", "drift.png")
Maker = Callable[[Path, Foot, ChangeCommand | None, ReadIndex], "Following[Any, Planned]"]


class Stop:
    """Whether the watch was told to stop."""

    told = False

    def __call__(self) -> bool:
        """Whether it was."""
        return self.told

    def rest(self, seconds: float) -> None:
        """Wait so long, or until told to stop."""
        until = time.monotonic() + seconds
        while not self.told and (left := until - time.monotonic()) > 0.0:
            time.sleep(min(left, NAP_S))


def follow(asked: ReviewOptions, plan: Plan) -> None:
    """Follow a folder until the process is told to stop (Ctrl-C, or the signal TERM).

    Parameters
    ----------
    asked : ReviewOptions
    plan : Plan

    Raises
    ------
    FileError
        If the folder of results cannot be used, or another watch uses it.
    """
    source = FollowedPlan(plan.request)
    run_watch(asked, FILES, lambda out, *parts: PlanFollowing(asked, out, *parts, source=source), plan)


def run_watch(asked: ReviewOptions, files: Sequence[str], make: Maker[Planned], plan: Planned) -> None:
    """Run the loop of a watch until the process is told to stop.

    Parameters
    ----------
    asked : ReviewOptions
    files : sequence of str
        That it writes into the folder of results.
    make : callable
        Makes what shows and writes, of that folder, the screen's foot, the user's command and the index.
    plan : Plan or SharedPlan

    Raises
    ------
    FileError
        As for `follow`.
    """
    assert asked.out is not None
    with watched(asked.out), _stop_signal() as stop, Foot() as foot:
        for name in files:
            if (asked.out / name).exists() and not is_ours(asked.out / name):
                raise FileError(
                    f"{asked.out / name} is in the way and was not written by this planner; move it"
                )
        command = ChangeCommand(asked.on_change) if asked.on_change else None
        with closing(ReadIndex(asked.out / INDEX_NAME)) as index:
            work = make(asked.out, foot, command, index)
            work.begin(plan)
            while not stop.told:
                stop.rest(work.round(stop))
            work.end()


@contextmanager
def _stop_signal() -> Iterator[Stop]:
    """Yield what the first Ctrl-C or TERM sets; a second one stops at once."""
    stop = Stop()
    old = {number: signal.getsignal(number) for number in (signal.SIGINT, signal.SIGTERM)}

    def handle(number: int, frame: object) -> None:
        stop.told = True
        signal.signal(number, old[signal.Signals(number)])

    for number in old:
        signal.signal(number, handle)
    try:
        yield stop
    finally:
        for number, handler in old.items():
            signal.signal(number, handler)


@dataclass
class Following(ABC, Generic[Asked, Planned]):
    """What a watch shows and writes."""

    asked: ReviewOptions
    out: Path
    foot: Foot
    command: ChangeCommand | None
    index: ReadIndex
    source: FollowedFile[Asked] = field(kw_only=True)
    changed: tuple[str, ...] = ()
    _due_s: float = 0.0
    _dirty: bool = True
    _faults: dict[str, str] = field(default_factory=dict)

    def note_changed(self, *plans: Plan) -> None:
        """Note what settled panels of the present plans fall short of."""
        self.changed = tuple(words for plan in plans if (words := changed_words(plan)))

    @abstractmethod
    def new_watch(self, plan: Planned) -> FolderWatch:
        """Return what follows the folder by a plan."""

    @abstractmethod
    def renew(self, request: Asked, progress: Progress) -> int:
        """Have all frames judged by the plan of a request from now on; returns its number of panels."""

    @abstractmethod
    def pictures(self, review: Review) -> dict[str, bytes]:
        """Return the pictures of a review, by name."""

    def begin(self, plan: Planned) -> None:
        """Make ready to follow the folder by a plan."""
        self.watch = self.new_watch(plan)
        known = f"; {len(self.index)} frames are known from before" if len(self.index) else ""
        self.foot.line(f"watching {self.asked.folder}; Ctrl-C ends it{known}")
        for words in self.changed:
            self.foot.line(f"! {words}")

    def round(self, stopped: Callable[[], bool]) -> float:
        """Look once, tell and keep what came of it; returns how long to rest, seconds."""
        started = time.monotonic()
        self._renew_plan()
        look = self.watch.look(within_s=SLICE_S, stopped=stopped)
        took_s = time.monotonic() - started
        self._tell(look)
        self._guard("index", self.index.save)
        if not look.left and self._dirty and time.monotonic() >= self._due_s:
            self._write(pictures=bool(look.news))
        return 0.0 if look.left else max(REST_S, REST_SHARE * took_s)

    def end(self) -> None:
        """Write what is not written yet, with pictures."""
        self.foot.show("writing review.json and its pictures")
        self._guard("index", self.index.save)
        self._write(pictures=True)
        if self.command is not None:
            self.command.end()
            self._say_faults()
        self.foot.show("")
        self.foot.line(f"stopped; {summary(self.watch.standing, waiting=0)}")

    def _tell(self, look: Look) -> None:
        for line in look_lines(look, self.asked.folder):
            self.foot.line(line)
        for line in look.news:
            self._news(line)
        self._say_faults()
        self._dirty = self._dirty or look.changed or bool(look.news)
        self.foot.show(summary(self.watch.standing, waiting=look.waiting, left=look.left))

    def _news(self, line: str) -> None:
        self.foot.line(f"* {line}")
        if self.command is not None:
            self.command.tell(line)

    def _say_faults(self) -> None:
        for fault in self.command.faults() if self.command is not None else ():
            self.foot.line(f"! {fault}")

    def _write(self, *, pictures: bool) -> None:
        """Replace review.json, with the pictures where they are due."""
        started = time.monotonic()
        review = self.watch.review()
        contents: dict[Path, Content] = {self.out / "review.json": self.watch.document(review)}
        if pictures:
            contents |= {self.out / name: content for name, content in self.pictures(review).items()}
        if self._guard("review.json", lambda: write_paths(contents)):
            self._dirty = False
            if pictures and self.out / "drift.png" not in contents:
                self._guard("drift.png", lambda: remove_stale([self.out / "drift.png"]))
        now = time.monotonic()
        self._due_s = now + REST_SHARE * (now - started)

    def _guard(self, what: str, act: Callable[[], object]) -> bool:
        """Do something that a full disk may refuse: said once, tried again at the next look, said when it works."""
        try:
            act()
        except FileError as error:
            if self._faults.get(what) != str(error):
                self._faults[what] = str(error)
                self._news(f"{error}; the watch goes on and tries again")
            return False
        if self._faults.pop(what, None):
            self._news(f"{what} can be written again")
        return True

    def _renew_plan(self) -> None:
        """Take over a plan file that has changed; one that cannot be understood leaves the plan as it was."""
        path = self.source.request.path
        try:
            request = self.source.renewed()
            if request is None:
                return
            self._news(f"{path} has changed: the plan is read anew")
            shown: Progress = lambda what, share: self.foot.show(f"{what}, {share:.0%}")  # noqa: E731
            count = self.renew(request, shown)
        except PlannerError as error:
            self._news(f"{error}; the plan stays as it was")
            return
        self._news(f"all frames are judged by the new plan, {count} panels")
        for words in self.changed:
            self._news(words)
        self._dirty = True

    def reader(self, plan: Planned) -> FrameReader:
        """Return what reads frames, and solves those without a solution over a plan's panels if that is wanted."""
        return FrameReader(plan.solver() if self.asked.solve else None, self._keep_solution)

    def _keep_solution(self, path: Path, solved: SolvedFrame) -> None:
        if self.asked.write_solutions:
            self._guard(f"solutions in {path.parent}", lambda: write_solution(path, solved))


class PlanFollowing(Following[Request, Plan]):
    """A watch of one instrument's frames."""

    def new_watch(self, plan: Plan) -> FolderWatch:
        """Return what follows the folder by a plan."""
        limits = self.asked.limits(plan.request)
        self.note_changed(plan)
        return FolderWatch(
            plan, self.asked.folder, limits=limits, reader=self.reader(plan), index=self.index
        )

    def renew(self, request: Request, progress: Progress) -> int:
        """Have all frames judged by the plan of a request from now on; returns its number of panels."""
        plan = make_plan(request, effort=self.asked.effort, progress=progress)
        self.note_changed(plan)
        self.watch.take_plan(plan, self.asked.limits(request), self.reader(plan))
        return len(plan.mosaic.panels)

    def pictures(self, review: Review) -> dict[str, bytes]:
        """Return the pictures of a review, by name."""
        return review_pictures(self.watch.plan, review, limit_deg=self.watch.limits.angle_deg)
