"""Work shared out between two processes, where a program has said that it may be."""

from __future__ import annotations

import os
import sys
import threading
import warnings
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING, TypeVar

if TYPE_CHECKING:
    from multiprocessing.connection import Connection
    from multiprocessing.process import BaseProcess

__all__ = ["forked", "in_halves", "may_fork", "two_processes"]

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
    if len(items) < least or not may_fork():
        return work(items, True)
    from multiprocessing import Pipe

    half = (len(items) + 1) // 2
    here, there = Pipe(duplex=False)
    child = forked(_send, there, work, items[half:])
    there.close()
    try:
        first = work(items[:half], True)
        second: list[R] | None = _received(here)
    finally:
        child.terminate()
        child.join()
        here.close()
    return [*first, *(work(items[half:], True) if second is None else second)]


def may_fork() -> bool:
    """Whether work may go on in a second process now, and there is a processor for it."""
    alone = threading.current_thread() is threading.main_thread()
    return bool(_allowed) and alone and sys.platform == "linux" and len(os.sched_getaffinity(0)) > 1


def forked(work: Callable[..., None], *given: object) -> BaseProcess:
    """Start a second process that does some work, which must end it by `os._exit`."""
    import multiprocessing

    process = multiprocessing.get_context("fork").Process(target=_begin, args=(work, *given), daemon=True)
    with warnings.catch_warnings():  # of threads: those of libraries, which the second process does not call
        warnings.simplefilter("ignore", DeprecationWarning)
        process.start()
    return process


def _begin(work: Callable[..., None], *given: object) -> None:
    """Do the work of a second process, which starts no third one."""
    _allowed.clear()
    work(*given)


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
