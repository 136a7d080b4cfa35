"""One watch at a time for each folder of results."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from planner.errors import FileError

__all__ = ["check_unwatched", "watched"]

LOCK_NAME = ".frames-read.lock"


@contextmanager
def watched(out: Path) -> Iterator[None]:
    """Hold a folder for one watch; the operating system lets go of it however the watch ends.

    Raises
    ------
    FileError
        If another watch holds it, or it cannot be written.
    """
    from filelock import FileLock, Timeout

    path = out / LOCK_NAME
    lock = FileLock(path, timeout=0)
    try:
        out.mkdir(parents=True, exist_ok=True)
        if path.exists() and path.stat().st_size:
            raise FileError(f"{path} is in the way and was not written by this planner; move it")
        lock.acquire()
    except Timeout:
        raise FileError(
            f"{out} is kept up to date by another watch; stop that one or choose another folder"
        ) from None
    except OSError as error:
        raise FileError(
            f"cannot write to {out}: {error.strerror or error}; choose a folder that can be written"
        ) from error
    try:
        yield
    finally:
        lock.release()
        path.unlink(missing_ok=True)


def check_unwatched(out: Path) -> None:
    """Refuse a folder that a watch holds.

    Raises
    ------
    FileError
        If one does.
    """
    if (out / LOCK_NAME).exists():
        with watched(out):
            pass
