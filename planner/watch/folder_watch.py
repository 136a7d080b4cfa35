"""A folder of frames followed: what is new is read and judged, what has changed is told.

What was read of frames is in an index; what they count for is always made of the frames that are in the folder, so
that a watch may be stopped and started at any moment.
"""

from __future__ import annotations

import hashlib
import math
import time
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Protocol

from planner.answers.plan import Plan
from planner.errors import FileError
from planner.files.documents.review import frame_line, review_pieces
from planner.files.read_index import ReadIndex, stamp_after
from planner.frames.review.drift import Drift, date_number
from planner.frames.review.limits import Limits
from planner.frames.review.reading import FrameReader, ReadFrame
from planner.frames.review.review import BATCH, FrameResult, Review, ReviewWork
from planner.frames.review.stamps import FolderStamps, Stamp, folder_stamps
from planner.frames.review.standing import Standing, StandingCount
from planner.progress import Progress, silent

from .news import Look, WatchState, told_changes

__all__ = ["Counting", "FolderWatch", "Judging", "plan_key"]

PATIENCE_S = 60.0
"""A file that cannot be read whole counts as still being written until it has not changed for so long."""
JUDGE_EVERY_S = 1.0
"""Frames read are judged at least so often."""


class Judging(Protocol):
    """What judges frames and counts them."""

    def judge(self, frames: list[ReadFrame]) -> Iterator[FrameResult]:
        """Judge and count a batch of frames, one result for each that is no flat."""
        ...


class Counting(Protocol):
    """What tells where the frames counted so far stand."""

    def now(self) -> Standing:
        """Return where they stand."""
        ...


@dataclass(frozen=True)
class _Counted:
    """A frame that counts: the file that was read, and its line in review.json; flats have none."""

    stamp: Stamp
    line: str


class FolderWatch:
    """Follows a folder.

    Parameters
    ----------
    plan : Plan
    folder : Path
    limits : Limits
        Of a good frame.
    reader : FrameReader
    index : ReadIndex
        Of frames already read; whoever shows a look saves it afterwards.
    clock : callable
        Seconds that only ever grow, whatever happens to the time of day.
    keep : int
        How many frames are kept as judged, in `kept` by name.
    """

    def __init__(
        self,
        plan: Plan,
        folder: Path,
        *,
        limits: Limits,
        reader: FrameReader,
        index: ReadIndex,
        clock: Callable[[], float] = time.monotonic,
        keep: int = 0,
    ) -> None:
        self.kept: dict[str, FrameResult] = {}
        self._keep = keep
        self.folder, self.index, self._clock = folder, index, clock
        self._unreadable: dict[str, tuple[Stamp, ReadFrame]] = {}
        self._waiting: dict[str, tuple[Stamp, float]] = {}
        self._listing = FolderStamps()
        self._away = False
        self._state: WatchState | None = None
        self.take_plan(plan, limits, reader)
        if index.state.get("plan") == self._key():
            self._state = WatchState.from_document(index.state)

    def take_plan(self, plan: Plan, limits: Limits, reader: FrameReader) -> None:
        """Judge by this plan from now on: all frames anew at the next look, without reading them again."""
        self.plan, self.limits, self.reader = plan, limits, reader
        self._counted: dict[str, _Counted] = {}
        self._state = None
        self._begin_count()

    def _begin_count(self) -> None:
        self._judging, self._count = self._counting()
        self.kept.clear()
        self._latest_day: dict[str, float] = {}
        self._turned: dict[str, str] = {}
        self.standing: Standing = self._count.now()

    def _counting(self) -> tuple[Judging, Counting]:
        """Begin to count anew."""
        self._work = ReviewWork(self.plan.request, self.plan.mosaic, self.limits)
        return self._work, StandingCount(self._work)

    def _key(self) -> str:
        """Stands for what frames are judged by: a state that was kept holds for the same plan only."""
        return plan_key(self.plan, self.limits)

    @property
    def drifts(self) -> dict[str, Drift] | None:
        """How the angle of each instrument ran, where several share the mosaic, by the review made last."""
        return None

    @property
    def away(self) -> bool:
        """Whether the folder cannot be seen at present."""
        return self._away

    def look(self, *, within_s: float = math.inf, stopped: Callable[[], bool] = lambda: False) -> Look:
        """Look at the folder once.

        Parameters
        ----------
        within_s : float
            No further frame is begun after so many seconds.
        stopped : callable
            Asked before each frame whether to leave off.
        """
        until = self._clock() + within_s
        news = [*self._list()]
        if self._away:
            return Look(news=tuple(news), waiting=len(self._waiting))
        dropped = self._drop(news)
        new = [(name, stamp) for name, stamp in self._listing.stamps.items() if self._is_new(name, stamp)]
        results, begun, counted = self._take(new, lambda: stopped() or self._clock() > until)
        changed = dropped or counted > 0
        if changed:
            self.standing = self._count.now()
        left = len(new) - begun
        if not left:
            news += self._changes()
        return Look(
            tuple(one for one in results if isinstance(one, FrameResult)),
            tuple(news),
            changed,
            len(self._waiting),
            left,
            tuple(one for one in results if isinstance(one, ReadFrame)),
        )

    def review(self, progress: Progress = silent) -> Review:
        """Return the whole review of the frames as they stand."""
        return self._work.review(tuple(self._listing.unread.values()), progress)

    def document(self, review: Review) -> Iterator[bytes]:
        """Return review.json of a review made just now, piece by piece."""
        lines = [one.line for name in self._listing.stamps if (one := self._counted.get(name)) and one.line]
        return (piece.encode() for piece in review_pieces(review, _Lines(lines, self.folder), self.drifts))

    def _list(self) -> Iterator[str]:
        """Look at the folder; what a folder or subfolder that is away held is kept."""
        try:
            listing = folder_stamps(self.folder)
            fault = self._vanished(listing)
        except FileError as error:
            listing, fault = (
                FolderStamps(),
                str(error).partition("; ")[0].removeprefix(str(self.folder)).lstrip(": "),
            )
        if fault:
            if not self._away:
                yield f"the folder {self.folder} is away ({fault}): what was counted stays, the watch waits for it"
            self._away = True
            return
        if self._away:
            self._away = False
            yield f"the folder {self.folder} is back"
        yield from self._keep_unread(listing)
        self._listing = listing
        self._waiting = {name: one for name, one in self._waiting.items() if name in listing.stamps}
        self._unreadable = {name: one for name, one in self._unreadable.items() if name in listing.stamps}

    def _vanished(self, listing: FolderStamps) -> str:
        """Why a folder is taken for one that is away; a share that is gone often leaves an empty folder."""
        if "" in listing.unread:
            return "it cannot be read"
        knew = bool(self._counted or len(self.index))
        return "it is empty and was not" if knew and not listing.stamps and not listing.unread else ""

    def _keep_unread(self, listing: FolderStamps) -> Iterator[str]:
        """Keep the frames of subfolders that cannot be read."""
        for place, sentence in listing.unread.items():
            held = {name: one.stamp for name, one in self._counted.items() if name.startswith(f"{place}/")}
            listing.stamps.update(held)
            if place not in self._listing.unread:
                yield f"{sentence}; frames of it that stay counted: {len(held)}"
        yield from (
            f"{place} can be read again" for place in self._listing.unread if place not in listing.unread
        )

    def _drop(self, news: list[str]) -> bool:
        """Leave out frames that are gone or have changed: all others are counted anew, from the index."""
        stamps = self._listing.stamps
        gone = [name for name in self._counted if name not in stamps]
        changed = [
            name for name, one in self._counted.items() if name in stamps and one.stamp != stamps[name]
        ]
        if not gone and not changed:
            return False
        if gone:
            named = gone[0] if len(gone) == 1 else f"{len(gone)} frames"
            news.append(f"{named} vanished from the folder and no longer count{'s' * (len(gone) == 1)}")
        left_out = {*gone, *changed}
        rest = [(name, one.stamp) for name, one in self._counted.items() if name not in left_out]
        self._counted = {}
        self._begin_count()
        self._take(rest, lambda: False)
        return True

    def _is_new(self, name: str, stamp: Stamp) -> bool:
        counted = self._counted.get(name)
        return counted is None or counted.stamp != stamp

    def _take(
        self, new: Iterable[tuple[str, Stamp]], stopped: Callable[[], bool]
    ) -> tuple[list[FrameResult | ReadFrame], int, int]:
        """Read and judge frames; returns what was read now, how many were looked at, and how many count."""
        shown: list[FrameResult | ReadFrame] = []
        batch: list[tuple[str, ReadFrame, bool]] = []
        begun = counted = 0
        judged_at = self._clock()
        for name, stamp in new:
            if stopped():
                break
            begun += 1
            known = self._known(name, stamp)
            frame = known or self._read(name, stamp)
            if frame is not None:
                counted += 1
                batch.append((name, frame, known is None))
            if len(batch) >= BATCH or (batch and self._clock() - judged_at > JUDGE_EVERY_S):
                shown += self._judge(batch)
                batch, judged_at = [], self._clock()
        return shown + self._judge(batch), begun, counted

    def _known(self, name: str, stamp: Stamp) -> ReadFrame | None:
        """Return what was read of a frame before."""
        found = self.index.find(name, stamp, self.reader.way)
        if found is not None:
            return replace(found, path=self.folder / name)
        judged = self._unreadable.get(name)
        return judged[1] if judged and judged[0] == stamp else None

    def _read(self, name: str, stamp: Stamp) -> ReadFrame | None:
        """Read a frame; None as long as it may still be written."""
        seen = self._waiting.get(name)
        waits = seen is not None and seen[0] == stamp
        if seen is not None and waits and self._clock() - seen[1] < PATIENCE_S:
            return None
        path = self.folder / name
        frame = self.reader.read(path)
        if frame.fault == "unreadable":
            if not waits or not path.exists():
                self._waiting[name] = stamp, self._clock()
                return None
            self._waiting.pop(name)
            self._unreadable[name] = stamp, frame
            return frame
        self._waiting.pop(name, None)
        after = stamp_after(path, stamp)
        self._listing.stamps[name] = after
        self.index.add(name, after, self.reader.way, frame)
        return frame

    def _judge(self, batch: list[tuple[str, ReadFrame, bool]]) -> list[FrameResult | ReadFrame]:
        """Judge and count frames; returns those read now as judged, flats as they are."""
        results = self._judging.judge([frame for _, frame, _ in batch])
        shown: list[FrameResult | ReadFrame] = []
        for name, frame, fresh in batch:
            result = None if frame.flat else next(results)
            line = "" if result is None else frame_line(result, self.folder)
            self._counted[name] = _Counted(self._listing.stamps[name], line)
            if result is not None:
                self._note_turn(name, frame, result)
                if len(self.kept) < self._keep:
                    self.kept[name] = result
            shown += [result or frame] * fresh
        list(results)
        return shown

    def _note_turn(self, name: str, frame: ReadFrame, result: FrameResult) -> None:
        """Note whether the camera is turned, by the latest frame that tells; one without a date is the latest."""
        if result.verdict not in ("good", "turned") or frame.solution is None:
            return
        day, whose = date_number(frame.solution.date_obs), result.instrument or ""
        latest = self._latest_day.get(whose, -math.inf)
        if day is None or day >= latest:
            self._latest_day[whose] = latest if day is None else day
            self._turned[whose] = f"{name} is {result.reason}" if result.verdict == "turned" else ""

    def _changes(self) -> list[str]:
        """Say what has changed since the last look, or since the last watch of this plan."""
        before, after = self._state, WatchState.of(self.standing, self._turned)
        self._state = after
        self.index.keep_state({"plan": self._key(), **after.document()})
        return [] if before is None else told_changes(before, after, self.standing)


class _Lines:
    """Frames of a document as lines."""

    def __init__(self, lines: list[str], folder: Path) -> None:
        self.count, self.folder, self._lines = len(lines), folder, lines

    def pieces(self) -> Iterator[str]:
        for start in range(0, self.count, BATCH):
            yield (",\n  " if start else "") + ",\n  ".join(self._lines[start : start + BATCH])


def plan_key(plan: Plan, limits: Limits) -> str:
    """Return what stands for a plan that frames are judged by, and the limits of good ones."""
    panels = [(one.name, one.ra_deg, one.dec_deg, one.position_angle_deg) for one in plan.mosaic.panels]
    return hashlib.sha256(repr((panels, plan.request.filters, limits)).encode()).hexdigest()[:16]
