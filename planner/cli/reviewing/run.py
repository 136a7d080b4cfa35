"""One run of `review`: what is gathered while frames are read, and what is made of it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import closing, contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from planner.cli._show import say, write_all
from planner.errors import FileError
from planner.exit_codes import DONE, FALLS_SHORT

if TYPE_CHECKING:
    from planner.answers.plan import Plan
    from planner.cli.review_options import ReviewOptions
    from planner.cli.review_report import Faulty
    from planner.files.documents.review import FrameSpool
    from planner.files.output import Content
    from planner.files.read_index import ReadIndex
    from planner.frames.preview.preview import Preview
    from planner.frames.preview.preview_choice import GoodFrame
    from planner.frames.review.drift import Drift
    from planner.frames.review.limits import Limits
    from planner.frames.review.reading import AnyReader
    from planner.frames.review.review import FrameResult, Review
    from planner.frames.solve.any_solver import AnySolver
    from planner.frames.solve.frame_solver import FrameSolver, SolvedFrame
    from planner.frames.solve.solution_cards import Cards
    from planner.progress import Progress

__all__ = ["ReviewRun", "exit_code", "read_index"]


@contextmanager
def read_index(asked: ReviewOptions) -> Iterator[ReadIndex | None]:
    """Yield the index of frames already read, where files are written; no watch must be at work there."""
    if asked.out is None:
        yield None
        return
    from planner.files.read_index import INDEX_NAME, ReadIndex
    from planner.watch.lock import check_unwatched

    check_unwatched(asked.out)
    with closing(ReadIndex(asked.out / INDEX_NAME)) as index:
        yield index
        try:
            index.save()
        except FileError as error:
            say(str(error))


@dataclass
class ReviewRun:
    """One run: what is gathered while frames are read, and what is made of it."""

    asked: ReviewOptions
    plan: Plan
    spool: FrameSpool
    faulty: Faulty
    index: ReadIndex | None
    good: list[GoodFrame] = field(default_factory=list)
    solved: dict[Path, Cards] = field(default_factory=dict)
    made: dict[Path, Content] = field(default_factory=dict)
    unwritten: set[Path] = field(default_factory=set)
    drifts: dict[str, Drift] | None = None
    """Where several instruments share the mosaic: how the angle of each ran."""

    def review(self, limits: Limits, progress: Progress) -> Review:
        """Review the folder; in the end tell what could not be read."""
        from planner.frames.review.review import review_folder

        plan = self.plan
        review = review_folder(
            plan.request,
            plan.mosaic,
            self.asked.folder,
            limits=limits,
            reader=self.reader(),
            on_frame=self.take,
            progress=progress,
        )
        self.tell_unread(review)
        return review

    def tell_unread(self, review: Review) -> None:
        """Say which folders could not be read, and where there are files but no frame."""
        from planner.frames.review.folder import no_frame_words

        for sentence in review.unread_folders:
            say(sentence)
        without = no_frame_words(self.asked.folder)
        if without:
            say(without)

    def reader(self) -> AnyReader:
        """Return what reads frames; those of an earlier run come from the index, unless their pixels are needed."""
        from planner.files.read_index import IndexedReader
        from planner.frames.review.reading import FrameReader

        reader = FrameReader(self.solver() if self.asked.solve else None, self._take_solution)
        if self.index is None:
            return reader
        solved_here = not self.asked.previews and not self.asked.write_solutions
        return IndexedReader(reader, self.index, self.asked.folder, solved_here)

    def solver(self) -> FrameSolver | AnySolver:
        """Return what solves frames without a solution."""
        return self.plan.solver()

    def _take_solution(self, path: Path, solved: SolvedFrame) -> None:
        if self.asked.previews:
            self.solved[path] = solved.cards
        if self.asked.write_solutions:
            self._write_solution(path, solved)

    def _write_solution(self, path: Path, solved: SolvedFrame) -> None:
        """Write a solution beside its frame; a folder that cannot be written is told once."""
        from planner.files.solution_file import write_solution

        try:
            write_solution(path, solved)
        except FileError as error:
            if path.parent not in self.unwritten:
                self.unwritten.add(path.parent)
                say(f"{error}; solutions of its frames are only told")

    def take(self, result: FrameResult) -> None:
        """Keep what is told of a frame, and the frame for the preview."""
        from planner.frames.preview.preview_choice import GoodFrame

        self.spool.add(result)
        if result.verdict != "good":
            self.faulty.add(result)
        elif self.asked.previews and result.label is not None:
            self.good.append(GoodFrame(result.path, result.label, result.filter))

    def preview(self, progress: Progress) -> None:
        """Lay the good frames together, where a preview is asked for."""
        if not self.asked.previews:
            return
        from planner.frames.preview.preview import make_preview
        from planner.frames.preview.preview_choice import choose_frames, preview_grid

        grid = preview_grid(self.plan.picture, self.asked.preview_scale)
        if any(path.suffix.lower() == ".png" for path in self.asked.previews):
            from planner.files.preview_file import check_png_size

            check_png_size(grid)
        frames, left_out = choose_frames(self.good, self.solved, self.asked.preview_frames, progress)
        preview = make_preview(frames, grid, scheduler=self.asked.scheduler, progress=progress)
        for sentence in (*left_out, *preview.left_out):
            say(f"left out of the preview: {sentence}")
        for path in self.asked.previews:
            self.made[path] = _preview_content(path, preview, self.asked.colour_names)

    def write(self, review: Review, limits: Limits) -> None:
        """Write every file asked for: all of them, or none."""
        from planner.files.documents.review import review_pieces
        from planner.files.output import is_ours, remove_stale
        from planner.files.plan_file.reshoot import is_reshoot_file

        contents: dict[Path, Content] = {}
        if self.asked.out is not None:
            contents[self.asked.out / "review.json"] = (
                piece.encode() for piece in review_pieces(review, self.spool, self.drifts)
            )
            for name, drawing in self.drawings(review, limits).items():
                contents[self.asked.out / name] = drawing
        again = self.again(review)
        write_all(
            contents | self.made | again,
            lambda path: is_reshoot_file(path) if path in again else is_ours(path),
        )
        self.say_over(again)
        for path in remove_stale(self.stale(contents)):
            say(f"removed {path}: it was of an earlier review, and this one has no angles to draw")

    @staticmethod
    def say_over(again: Mapping[Path, Content]) -> None:
        """Say of which re-shoot files the nights are over."""
        from planner.files.plan_file.reshoot import OVER

        for path, text in again.items():
            if isinstance(text, bytes) and OVER.encode() in text:
                say(f"the season of {path} is over: give later dates in its [nights], else all its evenings are gone")

    def stale(self, contents: Mapping[Path, Content]) -> Iterator[Path]:
        """Yield where pictures of an earlier review may stand that this one does not draw."""
        if self.asked.out is not None:
            yield from (path for path in self.drift_pictures(self.asked.out) if path not in contents)

    def drift_pictures(self, out: Path) -> Sequence[Path]:
        """Where pictures of the camera angle go."""
        return [out / "drift.png"]

    def drawings(self, review: Review, limits: Limits) -> dict[str, bytes]:
        """Return the pictures of a review, by name."""
        from planner.draw.pictures.review_pictures import review_pictures

        return review_pictures(self.plan, review, limit_deg=limits.angle_deg)

    def again(self, review: Review) -> dict[Path, Content]:
        """Return the re-shoot file, where one is asked for and something is missing."""
        from planner.files.plan_file.reshoot import reshoot_text

        path = self.asked.reshoot
        if path is None:
            return {}
        if not review.reshoot:
            say(f"nothing is missing; {path} is not written")
            return {}
        plan, made_up = self.plan, review.made_up > 0
        text = reshoot_text(
            plan.request, plan.mosaic, review.reshoot, path.parent, made_up=made_up, shots=review.shots
        )
        return {path: text.encode()}

    def show(self, review: Review, limits: Limits) -> None:
        """Print the review, or its machine form."""
        if self.asked.as_json:
            import sys

            from planner.files.documents.review import review_pieces

            sys.stdout.flush()
            for piece in review_pieces(review, self.spool, self.drifts):
                sys.stdout.buffer.write(piece.encode())
            sys.stdout.buffer.flush()
        else:
            self.print(review, limits)

    def print(self, review: Review, limits: Limits) -> None:
        """Print the review."""
        from planner.cli.review_report import print_review

        print_review(self.plan, review, self.faulty, limits)


def _preview_content(path: Path, preview: Preview, colours: list[str] | None) -> bytes | Iterator[bytes]:
    from planner.files.preview_file import preview_fits, preview_png

    return preview_fits(preview) if path.suffix.lower() == ".fits" else preview_png(preview, colours)


def exit_code(review: Review) -> int:
    """Say where the frames fall short, and return the exit code."""
    from planner.cli.review_report import shortfall

    sentence = shortfall(review)
    if sentence:
        say(sentence)
        return FALLS_SHORT
    return DONE
