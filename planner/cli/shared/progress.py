"""`progress` of a mosaic that several instruments share."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.answers.progress.words import per_cent, shortfall
from planner.cli._show import print_fact, print_json, print_line, progress_shown, say, write_out
from planner.cli.plan_answer import say_changed, say_unsettled
from planner.cli.progress.report import print_progress, progress_files
from planner.exit_codes import DONE, FALLS_SHORT
from planner.words import money

if TYPE_CHECKING:
    from planner.answers.shared.shared_progress import SharedProgress
    from planner.cli.progress.now_option import Moment
    from planner.cli.review_options import ProgressOptions
    from planner.progress import Progress

__all__ = ["shared_progress"]


def shared_progress(asked: ProgressOptions, now: Moment) -> int:
    """Tell where every part stands, write and show it; returns the exit code."""
    with progress_shown() as progress:
        standing = _standing(asked, now, progress)
        contents = _contents(standing) if asked.out else {}
    if asked.out:
        write_out(asked.out, contents)
    if asked.as_json:
        from planner.files.documents.shared_progress import shared_progress_document

        print_json(shared_progress_document(standing))
    else:
        _print(standing)
    say_unsettled(asked.effort, *standing.shared.wholes)
    changed = say_changed(*standing.shared.wholes)
    return max(_exit_code(standing), changed)


def _standing(asked: ProgressOptions, now: Moment, progress: Progress) -> SharedProgress:
    from planner.answers.shared.shared_plan import make_shared_plan
    from planner.answers.shared.shared_progress import check_shared_progress, shared_progress_of
    from planner.files.plan_file.shared import read_shared_file
    from planner.frames.review.reading import FrameReader
    from planner.frames.review.shared import review_shared_folder

    shared = make_shared_plan(read_shared_file(asked.file), effort=asked.effort, progress=progress)
    check_shared_progress(shared)
    review = review_shared_folder(
        [one.review_part(asked.limits(one.plan.request)) for one in shared.instruments],
        shared.finest.whole.mosaic,
        asked.folder,
        reader=FrameReader(shared.solver() if asked.solve else None),
        progress=progress,
    )
    for sentence in review.review.unread_folders:
        say(sentence)
    return shared_progress_of(shared, review, now=now, goal=asked.goal, progress=progress)


def _contents(standing: SharedProgress) -> dict[str, bytes]:
    """One progress.json, and the files of each instrument in a folder of its own."""
    from planner.files.documents.json_text import json_bytes
    from planner.files.documents.shared_progress import shared_progress_document

    contents = {"progress.json": json_bytes(shared_progress_document(standing))}
    for one, folder in zip(standing.each, standing.shared.folders, strict=True):
        contents |= {f"{folder}/{name}": content for name, content in progress_files(one).items()}
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
