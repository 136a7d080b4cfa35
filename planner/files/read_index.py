"""The index of frames already read: a review or a watch need not read them again.

One line of JSON for each frame, added as they are read; the file may be deleted at any time, and a line that is
damaged or out of date only means that its frame is read again. Counts are never kept here: they are always made anew
of the frames that are in the folder, so that nothing is lost or counted twice.
"""

from __future__ import annotations

import dataclasses
import hashlib
import os
from pathlib import Path
from typing import IO, Any, NamedTuple

import msgspec

from planner.errors import FileError
from planner.frames.review.reading import FrameReader, ReadFrame
from planner.frames.review.stamps import Stamp, beside_ns, stamp_of
from planner.rig.plate_solution import PlateSolution

from .output import is_ours, write_paths

__all__ = ["INDEX_NAME", "IndexedReader", "ReadIndex", "stamp_after"]

INDEX_NAME = "frames-read.jsonl"
STARS = "by its stars"
"""Stands for the way of a frame that was solved here."""
STATE = ""
"""Stands for a name in the line that keeps a state."""
_told = [(one.name, str(one.type)) for kind in (ReadFrame, PlateSolution) for one in dataclasses.fields(kind)]
FORM = hashlib.sha256(repr(_told).encode()).hexdigest()[:12]
"""Changes with what is told of a frame: an index of another version counts as none."""
HEAD = f'{{"index": "frames-read 1", "form": "{FORM}"}}\n'.encode()
NO_STAMP = Stamp(0, 0, 0)

_Line = tuple[str, tuple[int, int, int], str, msgspec.Raw]
_lines: msgspec.json.Decoder[_Line] = msgspec.json.Decoder(_Line)
_encoder = msgspec.json.Encoder(enc_hook=str)
_frames = msgspec.json.Decoder(ReadFrame, dec_hook=lambda kind, text: kind(text))
_states = msgspec.json.Decoder(dict[str, Any])


class _Entry(NamedTuple):
    """Where a frame's line stands, and for which file it holds."""

    stamp: Stamp
    way: str
    start: int
    length: int


class ReadIndex:
    """What was read of frames, by file name and stamp.

    Parameters
    ----------
    path : Path
        Of the index; read if it is there, written by `save` alone.

    Raises
    ------
    FileError
        If another file is in the way.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self.state: dict[str, Any] = {}
        self._entries: dict[str, _Entry] = {}
        self._fresh: dict[str, tuple[Stamp, str, bytes]] = {}
        self._fresh_state: bytes | None = None
        self._stream: IO[bytes] | None = None
        self._good = 0
        if (path.exists() or path.is_symlink()) and not is_ours(path):
            raise FileError(
                f"{path} is in the way and was not written by this planner; move it or choose another folder"
            )
        self._load()

    def __len__(self) -> int:
        return len(self._entries.keys() | self._fresh.keys())

    def find(self, name: str, stamp: Stamp, way: str, *, solved_here: bool = True) -> ReadFrame | None:
        """Return what was read of a file, if it is still the same file.

        Parameters
        ----------
        name : str
            Relative to the folder of the frames.
        stamp : Stamp
        way : str
            `FrameReader.way`: a frame without solution holds only for the same way.
        solved_here : bool
            Whether frames that were solved by their stars count.

        Returns
        -------
        ReadFrame or None
            Its path is left empty.
        """
        line = self._line(name, stamp)
        try:
            _, _, own_way, content = _lines.decode(line) if line else (name, NO_STAMP, None, None)
            if content is None or (own_way == STARS and not solved_here) or own_way not in ("", STARS, way):
                return None
            return _frames.decode(content)
        except (msgspec.MsgspecError, ValueError, UnicodeError):
            return None

    def add(self, name: str, stamp: Stamp, way: str, frame: ReadFrame) -> None:
        """Note what was read of a file; what cannot be read is not noted, and neither is a name that is no text."""
        if frame.fault == "unreadable":
            return
        own = way if frame.solution is None else STARS if frame.solved_here else ""
        plain = dataclasses.replace(frame, path=Path())
        try:
            self._fresh[name] = stamp, own, _encoder.encode((name, stamp, own, plain)) + b"\n"
        except UnicodeEncodeError:
            return

    def keep_state(self, state: dict[str, Any]) -> None:
        """Keep a state for the next start."""
        if state != self.state:
            self.state = state
            self._fresh_state = _encoder.encode((STATE, NO_STAMP, "", state)) + b"\n"

    def save(self) -> None:
        """Add what is new to the file; it is written anew where it was deleted.

        Raises
        ------
        FileError
            If it cannot be written; the file is then as it was, and nothing is forgotten.
        """
        if self._stream is not None and not self._is_there():
            self._write_anew()
        if not self._fresh and self._fresh_state is None:
            return
        if self._stream is None:
            write_paths({self.path: HEAD})
            self._stream, self._good = self.path.open("rb"), len(HEAD)
        self._append()

    def close(self) -> None:
        """Close the file."""
        if self._stream is not None:
            self._stream.close()
            self._stream = None

    def _load(self) -> None:
        if not self.path.exists():
            return
        stream = self.path.open("rb")
        if stream.readline() != HEAD:
            stream.close()
            return
        self._stream, self._good = stream, len(HEAD)
        for line in stream:
            if line.endswith(b"\n"):
                self._take(line)
                self._good += len(line)

    def _take(self, line: bytes) -> None:
        try:
            name, stamp, way, content = _lines.decode(line)
            if name == STATE:
                self.state = _states.decode(content)
            else:
                self._entries[name] = _Entry(Stamp(*stamp), way, self._good, len(line))
        except (msgspec.MsgspecError, UnicodeError):
            return

    def _line(self, name: str, stamp: Stamp) -> bytes | None:
        fresh, entry = self._fresh.get(name), self._entries.get(name)
        if fresh is not None:
            return fresh[2] if fresh[0] == stamp else None
        if entry is None or entry.stamp != stamp or self._stream is None:
            return None
        self._stream.seek(entry.start)
        return self._stream.read(entry.length)

    def _is_there(self) -> bool:
        """Whether the file is still the one that is open here."""
        try:
            return self._stream is not None and os.path.samestat(
                os.fstat(self._stream.fileno()), self.path.stat()
            )
        except OSError:
            return False

    def _write_anew(self) -> None:
        """Write the lines of the file that was deleted into a new one."""
        assert self._stream is not None
        old = self._stream
        old.seek(0)
        write_paths({self.path: old.read(self._good)})
        self._stream = self.path.open("rb")
        old.close()

    def _append(self) -> None:
        data = b"".join([*(line for _, _, line in self._fresh.values()), self._fresh_state or b""])
        try:
            with self.path.open("r+b", buffering=0) as stream:
                _write_at(stream, self._good, data)
        except OSError as error:
            raise FileError(
                f"cannot write {self.path}: {error.strerror or error}; make room there"
            ) from error
        for name, (stamp, way, line) in self._fresh.items():
            self._entries[name] = _Entry(stamp, way, self._good, len(line))
            self._good += len(line)
        self._good += len(self._fresh_state or b"")
        self._fresh, self._fresh_state = {}, None


def _write_at(stream: IO[bytes], place: int, data: bytes) -> None:
    """Write at a place of an unbuffered file and end it there; where that fails the file ends before it."""
    stream.seek(place)
    try:
        while data:
            data = data[stream.write(data) :]
        stream.truncate()
    except OSError:
        stream.truncate(place)
        raise


@dataclasses.dataclass
class IndexedReader:
    """Reads frames as a `FrameReader` does, those of an index from there.

    Parameters
    ----------
    reader : FrameReader
    index : ReadIndex
    folder : Path
        That names in the index are relative to.
    solved_here : bool
        Whether frames that were solved by their stars are taken from the index.
    """

    reader: FrameReader
    index: ReadIndex
    folder: Path
    solved_here: bool = True

    def read(self, path: Path) -> ReadFrame:
        """Read one frame; whatever is wrong with it is told, not raised."""
        name, stamp, way = path.relative_to(self.folder).as_posix(), stamp_of(path), self.reader.way
        if stamp is None:
            return self.reader.read(path)
        known = self.index.find(name, stamp, way, solved_here=self.solved_here)
        if known is not None:
            return dataclasses.replace(known, path=path)
        frame = self.reader.read(path)
        self.index.add(name, stamp_after(path, stamp), way, frame)
        return frame


def stamp_after(path: Path, stamp: Stamp) -> Stamp:
    """Return the stamp of a frame that was read, with the solution that the reading may have written beside it."""
    return stamp._replace(beside_ns=beside_ns(path))
