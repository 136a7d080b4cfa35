"""Speed of a watch: one look at a folder with very many frames, beside a plain review of it; and its memory."""

from __future__ import annotations

import json
import os
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import numpy as np

from planner.answers.plan import Plan
from planner.files.read_index import INDEX_NAME, ReadIndex
from planner.frames.review.limits import Limits
from planner.frames.review.reading import FrameReader
from planner.frames.review.review import review_folder
from planner.watch.folder_watch import FolderWatch
from tests.frames.small_plan import small_plan, write_solved

from .timing import seconds

OLD, NEW = 100_000, 200
A_NIGHT = 500
LOOKS = 3
CENTER = ("CRVAL1", "CRVAL2")


def contents(plan: Plan, folder: Path) -> Iterator[bytes]:
    """Frames of all panels without end, each a little off in its own way: header cards changed in place."""
    random = np.random.default_rng(1)
    models = []
    for number, panel in enumerate(plan.mosaic.panels):
        for name in ("Ha", "OIII"):
            path = write_solved(folder / f"{number}{name}.fits", panel, FILTER=name)
            models.append((panel, path.read_bytes()))
            path.unlink()
    number = 0
    while True:
        panel, content = models[number % len(models)]
        place = panel.ra_deg, panel.dec_deg
        for key, value in zip(CENTER, place, strict=True):
            start = content.index(key.ljust(8).encode() + b"=")
            card = f"{key:8}= {value + random.normal(0.0, 0.01):20.10f}".ljust(80).encode()
            content = content[:start] + card + content[start + 80 :]
        number += 1
        yield content


def write(folder: Path, first: int, count: int, frames: Iterator[bytes]) -> None:
    """Write frames into folders by night."""
    for number in range(first, first + count):
        path = folder / f"night{number // A_NIGHT:04d}" / f"{number:06d}.fits"
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(next(frames))


def memory_mb() -> float:
    """Most memory that the process ever had, MB; Linux counts it in kilobytes."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1000


def watch_in_this_process(frames: Path, models: Path) -> dict[str, float]:
    """Start a watch, look again and again with new frames, start another one with the index."""
    plan = small_plan()
    content = contents(plan, models)
    index = ReadIndex(models / INDEX_NAME)
    limits = Limits.of_plan(plan.request)
    found: dict[str, float] = {}

    def start(index: ReadIndex) -> FolderWatch:
        watch = FolderWatch(plan, frames, limits=limits, reader=FrameReader(), index=index)
        while watch.look(within_s=2.0).left:
            index.save()
        index.save()
        return watch

    begun = time.perf_counter()
    watch = start(index)
    found["first_s"] = time.perf_counter() - begun
    looks = []
    for number in range(LOOKS):
        write(frames, OLD + number * NEW, NEW, content)

        def look() -> None:
            assert len(watch.look().results) == NEW
            index.save()

        looks.append(seconds(look, 1))
    found["look_s"] = float(np.median(looks))
    found["idle_s"] = seconds(watch.look, 1)
    found["write_s"] = seconds(
        lambda: (models / "review.json").write_bytes(b"".join(watch.document(watch.review()))), 1
    )
    found["json_mb"] = (models / "review.json").stat().st_size / 1e6
    found["index_mb"] = index.path.stat().st_size / 1e6
    found["watch_mb"] = memory_mb()
    again = ReadIndex(index.path)
    found["again_s"] = seconds(lambda: start(again), 1)
    return found


def review_in_this_process(frames: Path) -> dict[str, float]:
    """A plain review of the same folder."""
    plan = small_plan()
    taken = seconds(lambda: review_folder(plan.request, plan.mosaic, frames), 1)
    return {"review_s": taken, "review_mb": memory_mb()}


def apart(what: str, *folders: Path) -> dict[str, float]:
    """Run one of the two in a process of its own, so that its memory is told apart."""
    command = [sys.executable, "-m", "tests.bench.bench_watch", what, *map(str, folders)]
    done = subprocess.run(command, capture_output=True, text=True, check=True, cwd=os.getcwd())
    return dict(json.loads(done.stdout.splitlines()[-1]))


def run() -> list[dict[str, Any]]:
    """Return one row for each comparison."""
    with tempfile.TemporaryDirectory() as name:
        frames, models = Path(name) / "frames", Path(name) / "models"
        models.mkdir()
        write(frames, 0, OLD, contents(small_plan(), models))
        plain = apart("review", frames)
        found = apart("watch", frames, models)
    rows = [
        (
            f"a look at {OLD} old and {NEW} new frames",
            "look_s",
            "judged, gaps and news worked out, index saved",
        ),
        ("a look at which nothing is new", "idle_s", "every file's size and time compared"),
        ("review.json afterwards", "write_s", f"depth, overlap, drift; {found['json_mb']:.0f} MB"),
        ("the first look, no index", "first_s", f"all frames read; index {found['index_mb']:.0f} MB"),
        ("started again, with the index", "again_s", "nothing read, everything judged"),
    ]
    memory = f"memory at most {found['watch_mb']:.0f} MB, plain review {plain['review_mb']:.0f} MB"
    return [
        {
            "name": name,
            "ours_s": found[key],
            "other_s": plain["review_s"],
            "ratio": plain["review_s"] / found[key],
            "note": f"{note}; other: plain review of the folder; {memory}",
        }
        for name, key, note in rows
    ]


if __name__ == "__main__":
    if len(sys.argv) > 1:
        kind, *places = sys.argv[1:]
        work: Callable[..., dict[str, float]] = (
            watch_in_this_process if kind == "watch" else review_in_this_process
        )
        print(json.dumps(work(*map(Path, places))))
    else:
        for row in run():
            print(row)
