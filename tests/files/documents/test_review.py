"""review.json written piece by piece, and what happens when there is no room for it."""

import errno
import json
from pathlib import Path

import pytest

from planner.errors import FileError
from planner.files.documents.review import FrameSpool, frame_line, review_pieces
from planner.frames.review.review import FrameResult, review_folder
from tests.frames.small_plan import small_plan, write_solved

FOLDER = Path("/frames")


def result(name, **more):
    values = {"panel": None, "filter": None, "exposure_s": None, "offset_arcmin": None, "angle_off_deg": None}
    return FrameResult(FOLDER / name, **values | {"verdict": "unsolved", "reason": "no stars"} | more)


def test_keys_without_ground_are_absent_and_numbers_plain():
    assert json.loads(frame_line(result("a.fits"), FOLDER)) == {
        "file": "a.fits",
        "verdict": "unsolved",
        "reason": "no stars",
    }
    line = frame_line(
        result("n/b.fits", panel="A1", exposure_s=600.0, offset_arcmin=1e-7, angle_off_deg=-0.5), FOLDER
    )
    assert '"offset_arcmin": 0.0,' in line
    assert json.loads(line)["file"] == "n/b.fits"


def test_names_that_are_no_unicode_stay_json():
    line = frame_line(result('caf\udce9 "x"\n.fits', reason="größer"), FOLDER)
    assert line.isascii()
    assert json.loads(line)["file"] == 'caf\udce9 "x"\n.fits'


def test_document_of_no_frames_and_of_many_pieces(tmp_path, monkeypatch):
    monkeypatch.setattr("planner.files.documents.review.PIECE", 100)
    plan = small_plan()
    with FrameSpool(tmp_path) as spool:
        review = review_folder(plan.request, plan.mosaic, tmp_path, on_frame=spool.add)
        assert json.loads("".join(review_pieces(review, spool)))["frames"] == []
    for panel in plan.mosaic.panels:
        write_solved(tmp_path / f"{panel.name}.fits", panel)
    with FrameSpool(tmp_path) as spool:
        review = review_folder(plan.request, plan.mosaic, tmp_path, on_frame=spool.add)
        first = "".join(review_pieces(review, spool))
        assert "".join(review_pieces(review, spool)) == first  # on screen and in a file
    names = [frame["file"] for frame in json.loads(first)["frames"]]
    assert names == [f"{name}.fits" for name in ("A1", "A2", "A3", "B1", "B2", "B3")]


def test_full_disk_is_one_sentence(tmp_path):
    with FrameSpool(tmp_path) as spool:

        def full(_text):
            raise OSError(errno.ENOSPC, "No space left on device")

        spool._stream.write = full
        with pytest.raises(FileError, match="No space left on device; make room"):
            spool.add(result("a.fits"))
