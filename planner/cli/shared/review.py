"""`review` of a mosaic that several instruments share."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from planner.cli._show import print_fact, print_facts, print_line, progress_shown, say
from planner.cli.plan_answer import say_changed, say_unsettled
from planner.cli.review_report import (
    Faulty,
    angle_lines,
    flat_lines,
    good_line,
    print_faulty,
    print_panels,
    print_reshoot,
    review_lines,
)
from planner.cli.reviewing.run import ReviewRun, exit_code, read_index
from planner.cli.shared.plan import scale_lines

if TYPE_CHECKING:
    from planner.answers.shared.shared_plan import SharedPlan
    from planner.cli.review_options import ReviewOptions
    from planner.files.output import Content
    from planner.frames.review.drift import Drift
    from planner.frames.review.limits import Limits
    from planner.frames.review.review import Review
    from planner.frames.review.shots import Shots
    from planner.frames.solve.any_solver import AnySolver
    from planner.progress import Progress

__all__ = ["shared_review"]


def shared_review(asked: ReviewOptions) -> int:
    """Review the frames of all instruments, write and show what they come to; returns the exit code."""
    from planner.answers.shared.shared_plan import make_shared_plan
    from planner.files.documents.review import FrameSpool
    from planner.files.plan_file.shared import one_request_from_text, read_shared_file
    from planner.files.text_file import read_text

    request = read_shared_file(asked.file)
    limits = {one.name: asked.limits(one.request) for one in request.instruments}
    asked.check(one_request_from_text(read_text(asked.file, "plan file"), path=asked.file))
    if asked.watch:
        from .watch import watch_shared

        return watch_shared(asked, request)
    with FrameSpool(asked.folder) as spool, read_index(asked) as index, progress_shown() as progress:
        shared = make_shared_plan(request, effort=asked.effort, progress=progress)
        run = _SharedRun(
            asked, shared.finest_shown, spool, Faulty(asked.folder), index, shared=shared, each=limits
        )
        own = limits[shared.finest.name]
        review = run.review(own, progress)
        run.preview(progress)
        run.write(review, own)
        run.show(review, own)
    say_unsettled(asked.effort, *shared.wholes)
    return max(exit_code(review), say_changed(*shared.wholes))


@dataclass
class _SharedRun(ReviewRun):
    """One run over the frames of several instruments; the plan is that of the finest, under the title of all."""

    shared: SharedPlan = field(kw_only=True)
    each: dict[str, Limits] = field(kw_only=True)
    drifts: dict[str, Drift] = field(default_factory=dict)
    shots: dict[str, Shots] = field(default_factory=dict)

    def review(self, limits: Limits, progress: Progress) -> Review:
        """Review the folder; in the end tell what could not be read."""
        from planner.frames.review.shared import review_shared_folder

        parts = [one.review_part(self.each[one.name]) for one in self.shared.instruments]
        found = review_shared_folder(
            parts,
            self.shared.finest.whole.mosaic,
            self.asked.folder,
            reader=self.reader(),
            on_frame=self.take,
            progress=progress,
        )
        self.drifts = found.drifts
        self.shots = {name: one.shots for name, one in found.each.items()}
        self.tell_unread(found.review)
        return found.review

    def solver(self) -> AnySolver:
        """Return what solves frames without a solution, whichever instrument they are of."""
        return self.shared.solver()

    def drawings(self, review: Review, limits: Limits) -> dict[str, bytes]:
        """Depth over the footprints of all; the angle of each instrument in its own folder."""
        from planner.draw.pictures.review_pictures import shared_review_pictures

        return shared_review_pictures(self.shared, review, self.drifts, self.each)

    def drift_pictures(self, out: Path) -> Sequence[Path]:
        """Where pictures of the camera angle go: one for each instrument."""
        return [out / folder / "drift.png" for folder in self.shared.folders]

    def again(self, review: Review) -> dict[Path, Content]:
        """One re-shoot file for each instrument of which something is missing."""
        from planner.files.plan_file.part import part_reshoot_text

        path = self.asked.reshoot
        if path is None:
            return {}
        found: dict[Path, Content] = {}
        for one, folder in zip(self.shared.instruments, self.shared.folders, strict=True):
            missing = [row for row in review.reshoot if row.instrument == one.name]
            if missing:
                target = path.with_name(f"{path.stem}_{folder}{path.suffix}")
                made_up = review.made_up > 0
                text = part_reshoot_text(
                    one.plan, missing, path.parent, made_up=made_up, shots=self.shots.get(one.name)
                )
                found[target] = text.encode()
                say(f"what is missing of {one.name} goes to {target}")
        if not found:
            say(f"nothing is missing; {path} is not written")
        return found

    def print(self, review: Review, limits: Limits) -> None:
        """Print the review of all instruments together, then the angle of each."""
        print_panels(self.shared.title, review)
        print_faulty(self.faulty)
        print_line()
        lines = review_lines(review, [f"{name}: {good_line(limit)}" for name, limit in self.each.items()])
        for one in self.shared.instruments:
            (first, *others) = angle_lines(one.plan, self.drifts[one.name])
            lines += [(first[0], f"{one.name}: {first[1]}"), *others]
        print_facts([*lines, *flat_lines(review), *scale_lines(self.shared)])
        print_reshoot(review)
        self._print_cautions(review)

    def _print_cautions(self, review: Review) -> None:
        """Print what to mind, where a camera has to be turned or a mount has to go back."""
        from planner.answers.turn_back import turn_back_lines
        from planner.rig.cautions import MADE_UP_CAUTION, cautions_for

        told: list[str] = []
        for one in self.shared.instruments:
            turns = bool(turn_back_lines(one.plan, self.drifts[one.name]))
            if turns or any(row.instrument == one.name for row in review.reshoot):
                request = one.plan.request
                told += cautions_for(request.angle_device, request.mount, turns=turns)
        if told and review.made_up_words:
            told.insert(0, MADE_UP_CAUTION)
        if told:
            print_line()
        for caution in dict.fromkeys(told):
            print_fact("Caution", caution)
