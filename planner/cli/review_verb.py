"""`planner review`: frames that came back against the plan."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from planner.errors import FileError

from . import DONE, FALLS_SHORT
from ._show import effort_option, json_option, out_option, progress_shown, say, write_all
from .review_options import ReviewOptions, limit_options, solve_option

if TYPE_CHECKING:
    from planner.answers.plan import Plan
    from planner.files.documents.review import FrameSpool
    from planner.files.output import Content
    from planner.files.read_index import ReadIndex
    from planner.frames.preview.preview_choice import GoodFrame
    from planner.frames.review.limits import Limits
    from planner.frames.review.reading import AnyReader
    from planner.frames.review.review import FrameResult, Review
    from planner.frames.solve.frame_solver import SolvedFrame
    from planner.frames.solve.solution_cards import Cards
    from planner.progress import Progress
    from planner.request.request import Request

    from .review_report import Faulty

__all__ = ["review_verb"]

PATH = click.Path(path_type=Path)


@click.command("review")
@click.argument("file", type=PATH)
@click.argument("folder", type=PATH)
@out_option
@json_option
@limit_options
@solve_option
@click.option("--write-solutions", is_flag=True, help="Write each solution found beside its frame.")
@click.option("--reshoot", type=PATH, metavar="TOML", help="Write a plan file of what is missing.")
@click.option(
    "--preview",
    "previews",
    type=PATH,
    multiple=True,
    metavar="PNG|FITS",
    help="Lay good frames together in this preview; may repeat.",
)
@click.option(
    "--preview-scale",
    type=float,
    metavar="FRACTION",
    help="Size of the preview relative to the picture, above 0 to 1.",
)
@click.option(
    "--preview-frames",
    type=click.Choice(["mean", "best"]),
    default="mean",
    help="All good frames (mean, default) or the sharpest of each panel and filter (best).",
)
@click.option("--colours", metavar="R,G,B", help="Filters that are shown red, green and blue.")
@click.option("--scheduler", metavar="ADDRESS", help="Make the preview on this dask cluster.")
@click.option(
    "--watch",
    is_flag=True,
    help="Follow the folder: judge frames as they come in and keep review.json in --out up to date, until Ctrl-C.",
)
@click.option(
    "--on-change",
    metavar="COMMAND",
    help="With --watch: run this command at each change of state, which it gets as a line on standard input.",
)
@effort_option
def review_verb(**options: Any) -> int:
    """Compare the frames in FOLDER, and in all folders below it, with the plan FILE.

    Frames are only read, never changed. Exit code 1 means that something is missing. Examples:

    \b
    python -m planner review sample_targets/vela_shell.toml frames
    python -m planner review plan.toml frames --out out --reshoot again.toml --preview preview.png
    python -m planner review plan.toml frames --out out --watch
    """  # noqa: D301 - click reads the escape
    from planner.files.documents.review import FrameSpool
    from planner.files.plan_file.read import read_plan_file

    from .review_report import Faulty

    asked = ReviewOptions(**options)
    request = read_plan_file(asked.file)
    limits = asked.limits(request)
    asked.check(request)
    if asked.watch:
        return _watch(asked, request)
    with FrameSpool(asked.folder) as spool, _index(asked) as index, progress_shown() as progress:
        plan = _planned(asked, request, progress)
        work = _Work(asked, plan, spool, Faulty(asked.folder), index)
        review = work.review(limits, progress)
        work.preview(progress)
        work.write(review, limits)
        work.show(review, limits)
    return _exit_code(review)


def _planned(asked: ReviewOptions, request: Request, progress: Progress) -> Plan:
    from planner.answers.plan import make_plan

    return make_plan(request, effort=asked.effort, progress=progress)


@contextmanager
def _index(asked: ReviewOptions) -> Iterator[ReadIndex | None]:
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


def _watch(asked: ReviewOptions, request: Request) -> int:
    """Follow the folder; Ctrl-C is how a watch ends, so it is no failure."""
    from .watching.follow import follow

    try:
        with progress_shown() as progress:
            plan = _planned(asked, request, progress)
        follow(asked, plan)
    except KeyboardInterrupt:
        say("stopped")
    return DONE


@dataclass
class _Work:
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

    def review(self, limits: Limits, progress: Progress) -> Review:
        """Review the folder; in the end tell what could not be read."""
        from planner.frames.review.review import review_folder

        plan = self.plan
        review = review_folder(
            plan.request,
            plan.mosaic,
            self.asked.folder,
            limits=limits,
            reader=self._reader(),
            on_frame=self._take,
            progress=progress,
        )
        for sentence in review.unread_folders:
            say(sentence)
        return review

    def _reader(self) -> AnyReader:
        """Return what reads frames; those of an earlier run come from the index, unless their pixels are needed."""
        from planner.files.read_index import IndexedReader
        from planner.frames.review.reading import FrameReader
        from planner.frames.solve.frame_solver import FrameSolver

        solver = FrameSolver(self.plan.request.camera, self.plan.mosaic.panels) if self.asked.solve else None
        reader = FrameReader(solver, self._take_solution)
        if self.index is None:
            return reader
        solved_here = not self.asked.previews and not self.asked.write_solutions
        return IndexedReader(reader, self.index, self.asked.folder, solved_here)

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

    def _take(self, result: FrameResult) -> None:
        from planner.frames.preview.preview_choice import GoodFrame

        self.spool.add(result)
        if result.verdict != "good":
            self.faulty.add(result)
        elif self.asked.previews and result.panel is not None:
            self.good.append(GoodFrame(result.path, result.panel, result.filter))

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
        from planner.files.output import is_ours
        from planner.files.plan_file.reshoot import is_reshoot_file

        contents: dict[Path, Content] = {}
        if self.asked.out is not None:
            contents[self.asked.out / "review.json"] = (
                piece.encode() for piece in review_pieces(review, self.spool)
            )
            for name, drawing in self._drawings(review, limits).items():
                contents[self.asked.out / name] = drawing
        again = self._reshoot(review)
        write_all(
            contents | self.made | again,
            lambda path: is_reshoot_file(path) if path in again else is_ours(path),
        )

    def _drawings(self, review: Review, limits: Limits) -> dict[str, bytes]:
        from planner.draw.pictures.review_pictures import review_pictures

        plan = self.plan
        return review_pictures(plan.request.title, plan.mosaic, review, limit_deg=limits.angle_deg)

    def _reshoot(self, review: Review) -> dict[Path, Content]:
        """Return the re-shoot file, where one is asked for and something is missing."""
        from planner.files.plan_file.reshoot import reshoot_text

        path = self.asked.reshoot
        if path is None:
            return {}
        if not review.reshoot:
            say(f"nothing is missing; {path} is not written")
            return {}
        text = reshoot_text(self.plan.request, self.plan.mosaic, review.reshoot, path.parent)
        return {path: text.encode()}

    def show(self, review: Review, limits: Limits) -> None:
        """Print the review, or its machine form."""
        if self.asked.as_json:
            import sys

            from planner.files.documents.review import review_pieces

            sys.stdout.flush()
            for piece in review_pieces(review, self.spool):
                sys.stdout.buffer.write(piece.encode())
            sys.stdout.buffer.flush()
        else:
            from .review_report import print_review

            print_review(self.plan, review, self.faulty, limits)


def _preview_content(path: Path, preview: Any, colours: list[str] | None) -> Any:
    from planner.files.preview_file import preview_fits, preview_png

    return preview_fits(preview) if path.suffix.lower() == ".fits" else preview_png(preview, colours)


def _exit_code(review: Review) -> int:
    from .review_report import shortfall

    sentence = shortfall(review)
    if sentence:
        say(sentence)
        return FALLS_SHORT
    return DONE
