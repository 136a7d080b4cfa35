"""Work shared out between two processes, where a program has said that it may be."""

from __future__ import annotations

import multiprocessing
import os
import sys
import threading
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from multiprocessing.connection import Connection
from typing import TypeVar

__all__ = ["in_halves", "two_processes"]

T = TypeVar("T")
R = TypeVar("R")
_allowed: list[bool] = []


@contextmanager
def two_processes() -> Iterator[None]:
    """Let work inside be shared out: for programs that have the process to themselves, not for servers."""
    _allowed.append(True)
    try:
        yield
    finally:
        _allowed.pop()


def in_halves(
    work: Callable[[Sequence[T], bool], list[R]], items: Sequence[T], *, least: int = 100
) -> list[R]:
    """Return what work makes of items, one result for each, the second half by a second process.

    Where that may not be (see `two_processes`), cannot be, or the second process fails, all is done here.

    Parameters
    ----------
    work : callable
        Gets items, and whether it runs here and may tell of its progress.
    items : sequence
    least : int
        Fewer items are not worth it.
    """
    if len(items) < least or not _may_fork():
        return work(items, True)
    half = (len(items) + 1) // 2
    context = multiprocessing.get_context("fork")
    here, there = context.Pipe(duplex=False)
    child = context.Process(target=_send, args=(there, work, items[half:]), daemon=True)
    child.start()
    there.close()
    try:
        first = work(items[:half], True)
        second: list[R] | None = _received(here)
    finally:
        child.terminate()
        child.join()
        here.close()
    return [*first, *(work(items[half:], True) if second is None else second)]


def _may_fork() -> bool:
    alone = threading.current_thread() is threading.main_thread()
    return bool(_allowed) and alone and sys.platform == "linux" and (os.cpu_count() or 1) > 1


def _send(there: Connection, work: Callable[[Sequence[T], bool], list[R]], items: Sequence[T]) -> None:
    """Do the work and send it; a failure sends nothing, and is met again by the process that asked."""
    try:
        there.send(work(items, False))
        there.close()
    finally:
        os._exit(0)


def _received(here: Connection) -> list[R] | None:
    try:
        found: list[R] = here.recv()
    except EOFError:
        return None
    return found
