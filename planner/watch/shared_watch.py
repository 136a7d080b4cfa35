"""A folder followed into which several instruments write, which share a mosaic."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from planner.answers.shared.shared_plan import SharedPlan
from planner.files.read_index import ReadIndex
from planner.frames.review.drift import Drift
from planner.frames.review.limits import Limits
from planner.frames.review.reading import FrameReader
from planner.frames.review.review import Review
from planner.frames.review.shared import SharedWork
from planner.frames.review.shared_standing import SharedStandingCount
from planner.progress import Progress, silent

from .folder_watch import Counting, FolderWatch, Judging, plan_key

__all__ = ["SharedFolderWatch"]


class SharedFolderWatch(FolderWatch):
    """Follows a folder as `FolderWatch` does; each frame is judged against the instrument that it is of.

    Parameters
    ----------
    shared : SharedPlan
    folder : Path
    each : mapping of str to Limits
        Name of an instrument to the limits of its good frames.
    reader : FrameReader
        Solves frames of any of them.
    index : ReadIndex
    more
        As for `FolderWatch`.

    Attributes
    ----------
    reviews : dict of str to Review
        Name of an instrument to what its own frames came to, by the review made last.
    """

    def __init__(
        self,
        shared: SharedPlan,
        folder: Path,
        *,
        each: Mapping[str, Limits],
        reader: FrameReader,
        index: ReadIndex,
        **more: Any,
    ) -> None:
        self.shared, self.each = shared, each
        self._drifts: dict[str, Drift] = {}
        self.reviews: dict[str, Review] = {}
        own = each[shared.finest.name]
        super().__init__(shared.finest_shown, folder, limits=own, reader=reader, index=index, **more)

    def take_shared(self, shared: SharedPlan, each: Mapping[str, Limits], reader: FrameReader) -> None:
        """Judge by these plans from now on: all frames anew at the next look, without reading them again."""
        self.shared, self.each = shared, each
        self.take_plan(shared.finest_shown, each[shared.finest.name], reader)

    @property
    def drifts(self) -> dict[str, Drift] | None:
        """How the angle of each instrument ran, by the review made last."""
        return self._drifts

    def review(self, progress: Progress = silent) -> Review:
        """Return the whole review of the frames of all instruments as they stand."""
        found = self._shared_work.review(tuple(self._listing.unread.values()), progress)
        self._drifts, self.reviews = found.drifts, found.each
        return found.review

    def _counting(self) -> tuple[Judging, Counting]:
        parts = [one.review_part(self.each[one.name]) for one in self.shared.instruments]
        self._shared_work = SharedWork(parts, self.shared.finest.whole.mosaic)
        return self._shared_work, SharedStandingCount(self._shared_work)

    def _key(self) -> str:
        keys = [(one.name, plan_key(one.plan, self.each[one.name])) for one in self.shared.instruments]
        return hashlib.sha256(repr(keys).encode()).hexdigest()[:16]
