"""The plan file of a watch: read anew when it, or a file that it names, has changed."""

from __future__ import annotations

from pathlib import Path

from planner.files.plan_file.read import read_plan_file
from planner.request.request import Request

__all__ = ["FollowedPlan"]

Times = tuple[tuple[int, int] | None, ...]


class FollowedPlan:
    """A plan file that may be changed at any time.

    Parameters
    ----------
    request : Request
        As it was read; its `path` is followed.
    """

    def __init__(self, request: Request) -> None:
        self.request = request
        self._read = self._seen = self._times()

    def renewed(self) -> Request | None:
        """Return the plan's request if it is another one than before.

        A file counts once it has been the same for two looks, so that none is read half written.

        Raises
        ------
        PlannerError
            If the changed file cannot be understood: once for each change.
        """
        now, before = self._times(), self._seen
        self._seen = now
        if now != before or now == self._read or self.request.path is None:
            return None
        same_ground = now[2:] == self._read[2:]
        self._read = now
        request = read_plan_file(self.request.path)
        if request == self.request and same_ground:
            return None
        self.request = request
        self._read = self._seen = self._times()
        return request

    def _times(self) -> Times:
        """Times of plan file and setup file, then of the files that the region is made of."""
        region = self.request.region
        named = [
            path for one in (region, *region.all_parts) for path in (one.outline_file, one.earlier_picture)
        ]
        return tuple(_time(path) for path in (self.request.path, self.request.setup_path, *named))


def _time(path: Path | None) -> tuple[int, int] | None:
    if path is None:
        return None
    try:
        facts = path.stat()
    except OSError:
        return None
    return facts.st_mtime_ns, facts.st_size
