"""The loop of a watch: look, tell, keep, rest."""

from __future__ import annotations

import signal
import time
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass, field
from pathlib import Path

from planner.answers.plan import Plan, make_plan
from planner.cli.review_options import ReviewOptions
from planner.draw.pictures.review_pictures import review_pictures
from planner.errors import FileError, PlannerError
from planner.files.output import Content, is_ours, write_paths
from planner.files.read_index import INDEX_NAME, ReadIndex
from planner.files.solution_file import write_solution
from planner.frames.review.reading import FrameReader
from planner.frames.solve.frame_solver import FrameSolver, SolvedFrame
from planner.progress import Progress
from planner.request.request import Request
from planner.watch.folder_watch import FolderWatch
from planner.watch.followed_plan import FollowedPlan
from planner.watch.lock import watched
from planner.watch.news import Look, look_lines, summary

from .change_command import ChangeCommand
from .foot import Foot

__all__ = ["Stop", "follow"]

SLICE_S = 2.0
"""After so many seconds of reading what is known is told, and the reading goes on."""
REST_S = 2.0
NAP_S = 0.1
REST_SHARE = 4.0
"""Between looks, and between two writings of review.json, pass so many times as long as they take."""
FILES = ("review.json", "depth.png", "drift.png")


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
    assert asked.out is not None
    with watched(asked.out), _stop_signal() as stop, Foot() as foot:
        for name in FILES:
            if (asked.out / name).exists() and not is_ours(asked.out / name):
                raise FileError(
                    f"{asked.out / name} is in the way and was not written by this planner; move it"
                )
        command = ChangeCommand(asked.on_change) if asked.on_change else None
        with closing(ReadIndex(asked.out / INDEX_NAME)) as index:
            work = _Following(asked, asked.out, FollowedPlan(plan.request), foot, command, index)
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
class _Following:
    """What a watch shows and writes."""

    asked: ReviewOptions
    out: Path
    source: FollowedPlan
    foot: Foot
    command: ChangeCommand | None
    index: ReadIndex
    _due_s: float = 0.0
    _dirty: bool = True
    _faults: dict[str, str] = field(default_factory=dict)

    def begin(self, plan: Plan) -> None:
        """Make ready to follow the folder by a plan."""
        limits = self.asked.limits(plan.request)
        self.watch = FolderWatch(
            plan, self.asked.folder, limits=limits, reader=self._reader(plan), index=self.index
        )
        known = f"; {len(self.index)} frames are known from before" if len(self.index) else ""
        self.foot.line(f"watching {self.asked.folder}; Ctrl-C ends it{known}")

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
            plan, limits = self.watch.plan, self.watch.limits
            drawn = review_pictures(plan.request.title, plan.mosaic, review, limit_deg=limits.angle_deg)
            contents |= {self.out / name: content for name, content in drawn.items()}
        if self._guard("review.json", lambda: write_paths(contents)):
            self._dirty = False
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
            plan = self._plan(request)
            self.watch.take_plan(plan, self.asked.limits(request), self._reader(plan))
        except PlannerError as error:
            self._news(f"{error}; the plan stays as it was")
            return
        self._news(f"all frames are judged by the new plan, {len(plan.mosaic.panels)} panels")
        self._dirty = True

    def _plan(self, request: Request) -> Plan:
        shown: Progress = lambda what, share: self.foot.show(f"{what}, {share:.0%}")  # noqa: E731
        return make_plan(request, effort=self.asked.effort, progress=shown)

    def _reader(self, plan: Plan) -> FrameReader:
        solver = FrameSolver(plan.request.camera, plan.mosaic.panels) if self.asked.solve else None
        return FrameReader(solver, self._keep_solution)

    def _keep_solution(self, path: Path, solved: SolvedFrame) -> None:
        if self.asked.write_solutions:
            self._guard(f"solutions in {path.parent}", lambda: write_solution(path, solved))
