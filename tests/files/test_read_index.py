"""The index of frames already read: what it holds, what it refuses, what a full disk leaves."""

import dataclasses
import errno
import os
from pathlib import Path

import pytest

from planner.errors import FileError
from planner.files.read_index import HEAD, INDEX_NAME, IndexedReader, ReadIndex
from planner.frames.review.reading import FrameReader, ReadFrame
from planner.frames.review.stamps import Stamp, stamp_of
from tests.frames.small_plan import small_plan, write_solved

STAMP = Stamp(10, 20, 0)


@pytest.fixture
def index(tmp_path):
    made = ReadIndex(tmp_path / INDEX_NAME)
    yield made
    made.close()


def read_frame(tmp_path):
    return FrameReader().read(write_solved(tmp_path / "f" / "1.fits", small_plan().mosaic.panels[0]))


def test_what_is_found_is_what_was_read(index, tmp_path):
    frame = read_frame(tmp_path)
    index.add("f/1.fits", STAMP, "way", frame)
    index.keep_state({"turned": ""})
    assert index.find("f/1.fits", STAMP, "any") == dataclasses.replace(frame, path=Path())
    index.save()
    assert index.find("f/1.fits", STAMP, "any") == dataclasses.replace(frame, path=Path())
    again = ReadIndex(index.path)
    assert again.find("f/1.fits", STAMP, "any") == dataclasses.replace(frame, path=Path())
    assert again.state == {"turned": ""} and len(again) == 1
    assert again.find("f/1.fits", STAMP._replace(size=11), "any") is None
    assert again.find("f/2.fits", STAMP, "any") is None
    again.close()


def test_frames_solved_here_count_only_where_they_may(index, tmp_path):
    frame = dataclasses.replace(read_frame(tmp_path), reason="solved here by 31 stars")
    index.add("a.fits", STAMP, "way", frame)
    assert index.find("a.fits", STAMP, "another way") is not None
    assert index.find("a.fits", STAMP, "way", solved_here=False) is None


def test_what_cannot_be_read_or_named_is_not_noted(index, tmp_path):
    index.add("a.fits", STAMP, "", ReadFrame(Path("a.fits"), fault="unreadable", reason="x"))
    index.add("b\udcff.fits", STAMP, "", read_frame(tmp_path))
    index.save()
    assert len(index) == 0 and not index.path.exists()


def test_a_full_disk_leaves_the_file_as_it_was(index, tmp_path, monkeypatch):
    frame = read_frame(tmp_path)
    index.add("1.fits", STAMP, "", frame)
    index.save()
    before = index.path.read_bytes()
    index.add("2.fits", STAMP, "", frame)
    real = Path.open

    class Full:
        """A file that takes a few bytes more."""

        def __init__(self, stream):
            self.stream, self.room = stream, 40

        def __enter__(self):
            return self

        def __exit__(self, *_):
            self.stream.close()

        def write(self, data):
            if not self.room:
                raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
            taken, self.room = self.stream.write(data[: self.room]), 0
            return taken

        def __getattr__(self, name):
            return getattr(self.stream, name)

    monkeypatch.setattr(Path, "open", lambda path, mode="r", **more: Full(real(path, mode, **more)))
    with pytest.raises(FileError, match="No space left on device; make room"):
        index.save()
    monkeypatch.undo()
    assert index.path.read_bytes() == before
    assert index.find("2.fits", STAMP, "") is not None
    index.save()
    again = ReadIndex(index.path)
    assert len(again) == 2
    again.close()


@pytest.mark.parametrize("content", [b"", b"mine", HEAD.replace(b"form", b"farm")])
def test_a_foreign_file_is_left_alone_and_another_version_is_replaced(tmp_path, content):
    path = tmp_path / INDEX_NAME
    path.write_bytes(content)
    if b"frames-read 1" not in content:
        with pytest.raises(FileError, match="in the way"):
            ReadIndex(path)
        assert path.read_bytes() == content
        return
    index = ReadIndex(path)
    index.add("1.fits", STAMP, "", read_frame(tmp_path))
    index.save()
    assert path.read_bytes().startswith(HEAD)
    index.close()


def test_a_reader_with_an_index_reads_once(index, tmp_path):
    read_frame(tmp_path)
    path, folder = tmp_path / "f" / "1.fits", tmp_path / "f"
    reader = IndexedReader(FrameReader(), index, folder)
    first = reader.read(path)
    reader.reader.read = lambda path: pytest.fail("read twice")
    assert reader.read(path) == first
    assert stamp_of(path) is not None and stamp_of(folder / "none.fits") is None
