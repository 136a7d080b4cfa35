"""`progress` of a mosaic that several instruments share."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from planner.answers.progress.words import per_cent, shortfall
from planner.cli._show import print_fact, print_json, print_line, progress_shown, say, write_out
from planner.cli.plan_answer import say_changed, say_unsettled
from planner.cli.progress.report import print_progress
from planner.exit_codes import DONE, FALLS_SHORT
from planner.words import money

from .solver import solver_of_all

if TYPE_CHECKING:
    from planner.answers.progress import MosaicProgress
    from planner.answers.shared.shared_progress import SharedProgress
    from planner.frames.review.limits import Limits
    from planner.night.timetable import Goal
    from planner.progress import Effort, Progress
    from planner.request.request import Request

__all__ = ["SharedProgressWork"]


@dataclass(frozen=True)
class SharedProgressWork:
    """What was asked of `progress`, as far as it matters here.

    Parameters
    ----------
    file, folder : Path
    out : Path or None
    as_json, solve : bool
    now : date or datetime
    goal, effort : str
    limits : callable
        Limits of a good frame of an instrument's request.
    files : callable
        Every file of one instrument's progress, by name.
    """

    file: Path
    folder: Path
    out: Path | None
    as_json: bool
    solve: bool
    now: dt.date | dt.datetime
    goal: Goal
    effort: Effort
    limits: Callable[[Request], Limits]
    files: Callable[[MosaicProgress], Mapping[str, bytes]]

    def run(self) -> int:
        """Tell where every part stands, write and show it; returns the exit code."""
        with progress_shown() as progress:
            standing = self._standing(progress)
            contents = self._contents(standing) if self.out else {}
        if self.out:
            write_out(self.out, contents)
        if self.as_json:
            from planner.files.documents.shared_progress import shared_progress_json_bytes

            print_json(shared_progress_json_bytes(standing).decode())
        else:
            _print(standing)
        say_unsettled(self.effort, *(one.whole for one in standing.shared.instruments))
        changed = say_changed(*(one.whole for one in standing.shared.instruments))
        return max(_exit_code(standing), changed)

    def _standing(self, progress: Progress) -> SharedProgress:
        from planner.answers.shared.shared_plan import make_shared_plan
        from planner.answers.shared.shared_progress import check_shared_progress, shared_progress_of
        from planner.files.plan_file.shared import read_shared_file
        from planner.frames.review.reading import FrameReader
        from planner.frames.review.shared import review_shared_folder

        shared = make_shared_plan(read_shared_file(self.file), effort=self.effort, progress=progress)
        check_shared_progress(shared)
        review = review_shared_folder(
            [one.review_part(self.limits(one.plan.request)) for one in shared.instruments],
            shared.finest.whole.mosaic,
            self.folder,
            reader=FrameReader(solver_of_all(shared) if self.solve else None),
            progress=progress,
        )
        for sentence in review.review.unread_folders:
            say(sentence)
        return shared_progress_of(shared, review, now=self.now, goal=self.goal, progress=progress)

    def _contents(self, standing: SharedProgress) -> dict[str, bytes]:
        """One progress.json, and the files of each instrument in a folder of its own."""
        from planner.files.documents.shared_progress import shared_progress_json_bytes
        from planner.files.exchange.instrument_folders import instrument_folders

        contents = {"progress.json": shared_progress_json_bytes(standing)}
        for one, folder in zip(standing.each, instrument_folders(standing.shared), strict=True):
            contents |= {f"{folder}/{name}": content for name, content in self.files(one).items()}
        return contents


def _print(standing: SharedProgress) -> None:
    for _, one in standing.named:
        print_progress(one)
        print_line()
    print_line(f"{standing.shared.title}: together")
    done = ", ".join(f"{name} {per_cent(share)}" for name, share in standing.shares.items())
    if done:
        print_fact("Done", done)
    print_fact("Finished", _finish(standing))
    costs = ((standing.cost_so_far, "so far"), (standing.cost_to_come, "to come"))
    if any(cost for cost, _ in costs):
        print_fact("Cost", ", ".join(f"{money(cost)} {when}" for cost, when in costs if cost))


def _finish(standing: SharedProgress) -> str:
    last = standing.last_evening
    if standing.finished:
        return "all is done" + (f", since the evening of {last}" if last else "")
    return f"on the evening of {last}, if it stays as clear" if last else "not in the season that is left"


def _exit_code(standing: SharedProgress) -> int:
    for name, one in standing.named:
        sentence = shortfall(one)
        if sentence:
            say(f"{name}: {sentence}")
    return DONE if standing.finished else FALLS_SHORT
