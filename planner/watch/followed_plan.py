"""The plan file of a watch: read anew when it, or a file that it names, has changed."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Iterator
from pathlib import Path
from typing import Generic, TypeVar

from planner.files.plan_file.read import read_plan_file
from planner.files.plan_file.shared import read_shared_file
from planner.request.request import Request
from planner.request.shared import SharedRequest

__all__ = ["FollowedFile", "FollowedPlan", "FollowedShared"]

Times = tuple[tuple[int, int] | None, ...]
Asked = TypeVar("Asked", Request, SharedRequest)


class FollowedFile(ABC, Generic[Asked]):
    """A plan file that may be changed at any time.

    Parameters
    ----------
    request : Request or SharedRequest
        As it was read; its `path` is followed.
    """

    def __init__(self, request: Asked) -> None:
        self.request: Asked = request
        self._read = self._seen = self._times()

    def renewed(self) -> Asked | None:
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
        same_ground = now[1] == self._read[1]
        self._read = now
        request = self._read_again(self.request.path)
        if request == self.request and same_ground:
            return None
        self.request = request
        self._read = self._seen = self._times()
        return request

    def _times(self) -> tuple[Times, Times]:
        """Times of plan and setup files, and of the files that the region is made of."""
        own = tuple(_time(path) for path in (self.request.path, *self._setups()))
        return own, tuple(_time(path) for one in self._requests() for path in _ground(one))

    def _setups(self) -> Iterator[Path | None]:
        yield from (one.setup_path for one in self._requests())

    @abstractmethod
    def _requests(self) -> tuple[Request, ...]:
        """Return the request of each instrument."""

    @abstractmethod
    def _read_again(self, path: Path) -> Asked:
        """Read the plan file."""


class FollowedPlan(FollowedFile[Request]):
    """That of one instrument."""

    def _requests(self) -> tuple[Request, ...]:
        return (self.request,)

    def _read_again(self, path: Path) -> Request:
        return read_plan_file(path)


class FollowedShared(FollowedFile[SharedRequest]):
    """That of several instruments, with the setup files of all."""

    def _requests(self) -> tuple[Request, ...]:
        return tuple(one.request for one in self.request.instruments)

    def _read_again(self, path: Path) -> SharedRequest:
        return read_shared_file(path)


def _ground(request: Request) -> Iterator[Path | None]:
    """Files that a region is made of."""
    for one in (request.region, *request.region.all_parts):
        yield from (one.outline_file, one.earlier_picture)


def _time(path: Path | None) -> tuple[int, int] | None:
    if path is None:
        return None
    try:
        facts = path.stat()
    except OSError:
        return None
    return facts.st_mtime_ns, facts.st_size
