"""The folder of a rehearsal: whole or not at all, never among other files; its frames are proper FITS."""

import errno
import json
import os
import shutil
from collections import namedtuple
from pathlib import Path

import numpy as np
import pytest
from astropy.io import fits
from astropy.wcs import WCS

from planner.errors import FileError
from planner.files.rehearsal.folder import check_rehearsal_folder, write_rehearsal
from planner.night.settings import Filter
from tests.answers.rehearsal.small_rehearsal import small_plan, small_rehearsal

FEW = (Filter("Ha", "narrow", 600.0, 1), Filter("Ha/OIII é", "narrow", 600.0, 1))


def few(**how):
    return small_rehearsal(small_plan(filters=FEW), **{"evenings": 1, "solutions": "all", **how})


def content(folder):
    return {
        path.relative_to(folder).as_posix(): path.read_bytes() for path in folder.rglob("*") if path.is_file()
    }


def test_frames_are_proper_fits_and_stand_where_the_document_says(tmp_path):
    """Read and verified by astropy, with its own world coordinates."""
    rehearsal = small_rehearsal(evenings=1, faults="some", solutions="half", seed=3)
    assert write_rehearsal(tmp_path / "new" / "frames", rehearsal) == 0
    folder = tmp_path / "new" / "frames"
    document = json.loads((folder / "rehearsal.json").read_text())
    assert document["schema"] == "rehearsal 1"
    assert document["seed"] == 3
    told = [one for one in document["frames"] if "file" in one]
    assert sorted(one["file"] for one in told) == sorted(
        path.relative_to(folder).as_posix() for path in folder.rglob("*.fits")
    )
    solved = 0
    for one in told:
        with fits.open(folder / one["file"]) as hdus:
            hdus.verify("exception")
            header, pixels = hdus[0].header, hdus[0].data
        assert header["MADEUP"] is True
        assert header.comments["MADEUP"]
        assert pixels.dtype == np.uint16
        assert pixels.shape == (400, 600)
        assert 500 < np.median(pixels) < 2000
        assert header["EXPTIME"] == one["exposure_s"]
        assert header["XBINNING"] == header["YBINNING"] == 10
        if "CTYPE1" not in header:
            continue
        solved += 1
        del header["DATE-OBS"]  # astropy would tell what it works out from it
        wcs = WCS(header)
        center = wcs.pixel_to_world(299.5, 199.5).icrs
        above = wcs.pixel_to_world(299.5, 200.5).icrs
        assert [center.ra.deg, center.dec.deg] == pytest.approx(one["center_deg"], abs=1e-6)
        angle = center.position_angle(above).deg - one["position_angle_deg"]
        assert (angle + 180) % 360 - 180 == pytest.approx(0.0, abs=0.01)  # the step is one pixel
    assert solved > len(told) / 3
    dates = [fits.getval(folder / one["file"], "DATE-OBS") for one in told]
    assert dates == sorted(dates)
    assert all(one["file"].startswith(date[:10]) for one, date in zip(told, dates, strict=True))


def test_the_size_told_beforehand_is_the_size(tmp_path):
    rehearsal = small_rehearsal(evenings=1, faults="many")
    write_rehearsal(tmp_path, rehearsal)
    frames = [path.stat().st_size for path in tmp_path.rglob("*.fits")]
    assert len(frames) == len(rehearsal.written)
    assert sum(frames) == rehearsal.frames_bytes


def test_the_same_seed_makes_the_same_bytes_and_another_does_not(tmp_path):
    for name, seed in (("one", 1), ("same", 1), ("other", 2)):
        write_rehearsal(tmp_path / name, few(seed=seed, faults="many"))
    one, same, other = (content(tmp_path / name) for name in ("one", "same", "other"))
    assert one == same
    assert one.keys() & other.keys()
    assert all(one[name] != other[name] for name in one.keys() & other.keys())


def test_the_text_tells_every_frame_with_a_fault(tmp_path):
    rehearsal = small_rehearsal(evenings=2, faults="many")
    write_rehearsal(tmp_path, rehearsal)
    text = (tmp_path / "rehearsal.txt").read_text()
    assert "nobody has taken it" in text
    for fault, count in rehearsal.counts().items():
        assert f"{count:6}  {fault}" in text
    for one in json.loads((tmp_path / "rehearsal.json").read_text())["frames"]:
        if "file" in one:
            assert (one["file"] in text) == bool(set(one["faults"]) - {"flip"})
    write_rehearsal(tmp_path / "clean", few(faults="none"))
    assert "call every frame good" in (tmp_path / "clean" / "rehearsal.txt").read_text()


def test_an_earlier_rehearsal_is_replaced_with_what_a_review_put_beside_its_frames(tmp_path):
    write_rehearsal(tmp_path, small_rehearsal(evenings=2))
    frame = next(tmp_path.rglob("*.fits"))
    fits.PrimaryHDU(header=fits.Header({"CREATOR": "mosaic planner"})).writeto(f"{frame}.solution.fits")
    (tmp_path / ".rehearsal-part").mkdir()
    (tmp_path / ".rehearsal-part" / "3.part").write_bytes(b"of a run that was ended")
    before = len(list(tmp_path.rglob("*.fits"))) - 1
    assert check_rehearsal_folder(tmp_path) == before
    assert write_rehearsal(tmp_path, few()) == before
    assert len(list(tmp_path.rglob("*.fits"))) == len(few().written)
    assert sorted(path.name for path in tmp_path.iterdir()) == [
        "2027-01-08",
        "rehearsal.json",
        "rehearsal.txt",
    ]


@pytest.mark.parametrize(
    "other", ["notes.txt", "2027-01-08/real.fits", "rehearsal.json", ".hidden", "deep/er/x.fit"]
)
def test_a_folder_with_anything_else_is_refused_and_left_alone(other, tmp_path):
    write_rehearsal(tmp_path, few())
    path = tmp_path / other
    path.parent.mkdir(parents=True, exist_ok=True)
    if other.endswith("real.fits"):
        fits.PrimaryHDU(np.zeros((4, 4), np.uint16)).writeto(path)
    else:
        path.write_text("mine")
    before = content(tmp_path)
    with pytest.raises(FileError, match=f"holds {other}, which no rehearsal wrote"):
        write_rehearsal(tmp_path, few(seed=2))
    assert content(tmp_path) == before


def test_links_are_no_files_of_ours(tmp_path):
    write_rehearsal(tmp_path / "frames", few())
    frame = next((tmp_path / "frames").rglob("*.fits"))
    moved = frame.rename(tmp_path / "elsewhere.fits")
    frame.symlink_to(moved)
    with pytest.raises(FileError, match="which no rehearsal wrote"):
        check_rehearsal_folder(tmp_path / "frames")


def test_a_file_in_place_of_the_folder_is_refused(tmp_path):
    (tmp_path / "frames").write_text("mine")
    with pytest.raises(FileError, match="is a file, wanted a folder"):
        check_rehearsal_folder(tmp_path / "frames")
    with pytest.raises(FileError, match="cannot write to"):
        write_rehearsal(tmp_path / "frames" / "deeper", few())
    with pytest.raises(FileError, match="File name too long; check the folder's name"):
        check_rehearsal_folder(tmp_path / ("n" * 3000))


def test_a_full_disk_is_told_in_one_sentence_and_leaves_the_earlier_rehearsal(tmp_path, monkeypatch):
    write_rehearsal(tmp_path / "frames", few())
    before = content(tmp_path)
    write = Path.write_bytes

    def full(path, data):
        if path.name == "3.part":
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        return write(path, data)

    monkeypatch.setattr(Path, "write_bytes", full)
    with pytest.raises(
        FileError, match="cannot write to .*: No space left on device; choose a folder with room"
    ):
        write_rehearsal(tmp_path / "frames", few(seed=2))
    assert content(tmp_path) == before
    with pytest.raises(FileError, match="No space left"):
        write_rehearsal(tmp_path / "new" / "deep", few())
    assert sorted(path.name for path in tmp_path.iterdir()) == ["frames"]


def test_a_disk_with_too_little_room_is_refused_before_anything_is_drawn(tmp_path, monkeypatch):
    room = namedtuple("room", "total used free")
    monkeypatch.setattr(shutil, "disk_usage", lambda path: room(10**9, 10**9, 1_000_000))
    with pytest.raises(FileError, match=r"has room for 1 MB, the frames need \d+ MB; make room"):
        write_rehearsal(tmp_path / "frames", few())
    assert not any(tmp_path.iterdir())


def test_what_is_ended_by_hand_leaves_nothing(tmp_path):
    def stop(what, share):
        if share > 0.5:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        write_rehearsal(tmp_path / "frames", few(), progress=stop)
    assert not any(tmp_path.iterdir())


def test_progress_counts_up(tmp_path):
    told = []
    write_rehearsal(tmp_path, few(), progress=lambda what, share: told.append((what, share)))
    assert told[0] == ("drawing frames, 0 of 4 drawn", 0.0)
    assert [share for _, share in told] == sorted(share for _, share in told)
