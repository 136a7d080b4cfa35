"""Files read from front to back: plain, packed by gzip, or packed by bzip2, whatever their names say."""

from __future__ import annotations

import os
import stat
import zlib
from pathlib import Path
from typing import Protocol

from planner.errors import FileError

__all__ = ["Source", "open_source"]

READ = os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0) | getattr(os, "O_CLOEXEC", 0)
"""A pipe must not block, and Windows must not translate line ends."""
GZIP, BZIP2 = b"\x1f\x8b", b"BZ"
GZIP_WINDOW = 31
"""Tells zlib to expect a gzip header and trailer (zlib manual, inflateInit2)."""
HEAD, CHUNK = 4 * 2880, 16384
"""Bytes read at first, which hold most headers, and of a packed file later."""


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
        return _GzipFile(plain)
    if plain.head.startswith(BZIP2):
        plain.close()
        return _Bzip2File(path)
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


class _GzipFile:
    """A gzip file (RFC 1952), unpacked only as far as it is read; it may have several members."""

    def __init__(self, packed: _PlainFile) -> None:
        self._packed, self._place, self._rest = packed, 0, b""
        self._unpack = zlib.decompressobj(GZIP_WINDOW)

    def read(self, count: int) -> bytes:
        parts, wanted = [], count
        while wanted > 0 and (part := self._some(wanted)):
            parts.append(part)
            wanted -= len(part)
        self._place += count - wanted
        return b"".join(parts)

    def _some(self, most: int) -> bytes:
        """Return at least one byte, or none at the end."""
        while True:
            if self._unpack.eof:
                self._rest = self._unpack.unused_data or self._packed.read(CHUNK)
                if not self._rest.startswith(GZIP):
                    return b""
                self._unpack = zlib.decompressobj(GZIP_WINDOW)
            chunk = self._rest or self._packed.read(CHUNK)
            part = self._unpack.decompress(chunk, most)
            self._rest = self._unpack.unconsumed_tail
            if part:
                return part
            if not chunk and not self._unpack.eof:
                raise EOFError

    def skip_to(self, place: int) -> None:
        if place < self._place:
            self._packed.skip_to(0)
            self._place, self._rest, self._unpack = 0, b"", zlib.decompressobj(GZIP_WINDOW)
        while self._place < place and self.read(min(place - self._place, 1 << 20)):
            pass

    def holds(self, size: int) -> bool:
        """Look at the file's own note of its size first: if that fits, nothing need be unpacked."""
        return self._noted_size_fits(size) or self._reaches(size)

    def _noted_size_fits(self, size: int) -> bool:
        here = os.lseek(self._packed._number, 0, os.SEEK_CUR)
        self._packed.skip_to(max(0, self._packed.size - 4))
        noted = int.from_bytes(self._packed.read(4), "little")
        self._packed.skip_to(here)
        return noted % 2880 == 0 and size <= noted < 1 << 31

    def _reaches(self, size: int) -> bool:
        self.skip_to(size)
        return self._place >= size

    def close(self) -> None:
        self._packed.close()


class _Bzip2File:
    """A bzip2 file."""

    def __init__(self, path: Path) -> None:
        import bz2

        self._stream = bz2.open(path, "rb")

    def read(self, count: int) -> bytes:
        return self._stream.read(count)

    def skip_to(self, place: int) -> None:
        self._stream.seek(place)

    def holds(self, size: int) -> bool:
        self._stream.seek(size - 1)
        return bool(self._stream.read(1))

    def close(self) -> None:
        self._stream.close()
