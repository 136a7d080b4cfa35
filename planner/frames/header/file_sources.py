"""Files read from front to back: plain, packed by gzip, or packed by bzip2, whatever their names say."""

from __future__ import annotations

import bz2
import gzip
import os
import stat
from pathlib import Path
from typing import BinaryIO, Protocol, cast

from planner.errors import FileError

__all__ = ["Source", "open_source"]

READ = os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0) | getattr(os, "O_CLOEXEC", 0)
"""A pipe must not block, and Windows must not translate line ends."""
GZIP, BZIP2 = b"\x1f\x8b", b"BZ"
HEAD = 4 * 2880
"""Bytes read at first, which hold most headers."""


class Source(Protocol):
    """Bytes of a file, as if it were not packed."""

    def read(self, count: int) -> bytes:
        """Return so many bytes, or fewer; none only at the end."""

    def skip_to(self, place: int) -> None:
        """Go to a place counted from the beginning."""

    def holds(self, size: int) -> bool:
        """Whether the file has at least so many bytes."""

    def close(self) -> None:
        """Close the file."""


def open_source(path: Path) -> Source:
    """Open a file, packed or not.

    Raises
    ------
    FileError
        If it is no regular file.
    OSError
        If it cannot be opened.
    """
    plain = _PlainFile(path)
    if plain.head.startswith(GZIP):
        noted = _noted_size(plain)
        plain.close()
        return _PackedFile(cast(BinaryIO, gzip.open(path)), noted)
    if plain.head.startswith(BZIP2):
        plain.close()
        return _PackedFile(cast(BinaryIO, bz2.open(path)))
    return plain


class _PlainFile:
    """A file without any buffering between, which opens in half the time; its head is read at once."""

    def __init__(self, path: Path) -> None:
        self._number = os.open(path, READ)
        facts = os.fstat(self._number)
        self.size = facts.st_size
        if not stat.S_ISREG(facts.st_mode):
            self.close()
            what = "a folder" if stat.S_ISDIR(facts.st_mode) else "no regular file"
            raise FileError(f"{path} is {what}; give a FITS file")
        self.head = os.read(self._number, HEAD)

    def read(self, count: int) -> bytes:
        head, self.head = self.head, b""
        return head or os.read(self._number, count)

    def skip_to(self, place: int) -> None:
        self.head = b""
        os.lseek(self._number, place, os.SEEK_SET)

    def holds(self, size: int) -> bool:
        return self.size >= size

    def close(self) -> None:
        os.close(self._number)


class _PackedFile:
    """A file packed by gzip or bzip2, unpacked by the standard library only as far as it is read."""

    def __init__(self, stream: BinaryIO, noted_size: int = 0) -> None:
        self._stream, self._noted_size = stream, noted_size

    def read(self, count: int) -> bytes:
        return self._stream.read(count)

    def skip_to(self, place: int) -> None:
        self._stream.seek(place)

    def holds(self, size: int) -> bool:
        """Look at the file's own note of its size first: if that fits, nothing need be unpacked."""
        if self._noted_size % 2880 == 0 and size <= self._noted_size < 1 << 31:
            return True
        self._stream.seek(size - 1)
        return bool(self._stream.read(1))

    def close(self) -> None:
        self._stream.close()


def _noted_size(packed: _PlainFile) -> int:
    """The size that a gzip file notes in its last four bytes, modulo 2**32 (RFC 1952, 2.3.1)."""
    packed.skip_to(max(0, packed.size - 4))
    return int.from_bytes(packed.read(4), "little")
