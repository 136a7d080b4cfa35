"""Flats among the frames: found by IMAGETYP, counted by angle and filter, and which are missing."""

import json

import numpy as np
import pytest
from astropy.io import fits

from planner.files.documents.review import FrameSpool, review_pieces
from planner.frames.review.flats import FlatCount
from planner.frames.review.review import review_folder
from tests.frames.small_plan import small_plan, write_solved
from tests.frames.solved_file import solved_header


def write_flat(path, kind="Flat Field", **cards):
    header = fits.Header({"IMAGETYP": kind, **cards})
    path.parent.mkdir(parents=True, exist_ok=True)
    fits.PrimaryHDU(np.full((40, 60), 30000, dtype=np.uint16), header).writeto(path)


def reviewed(plan, folder):
    results = []
    return review_folder(plan.request, plan.mosaic, folder, on_frame=results.append), results


@pytest.fixture
def plan():
    return small_plan()


def test_flats_of_a_plan_with_one_angle(plan, tmp_path):
    for number, panel in enumerate(plan.mosaic.panels[:3]):
        write_solved(tmp_path / f"{number}.fits", panel, FILTER="H-alpha")
    write_solved(tmp_path / "oiii.fits", plan.mosaic.panels[0], FILTER="OIII")
    review, results = reviewed(plan, tmp_path)
    assert review.flats == ()
    assert review.flats_missing == (FlatCount(20.0, "Ha", 3), FlatCount(20.0, "OIII", 1))
    for number in range(4):
        write_flat(tmp_path / "flats" / f"{number}.fits", FILTER="ha 3nm", POSANGLE=20.3)
    write_flat(tmp_path / "flats" / "flipped.fits", FILTER="Ha", POSANGLE=199.5)
    write_flat(tmp_path / "flats" / "untold.fits", "FLAT", FILTER="O3")
    write_flat(tmp_path / "flats" / "other.fits", FILTER="Ha", POSANGLE=65.04)
    review, results = reviewed(plan, tmp_path)
    assert len(results) == 4 and review.frame_count == 4
    assert review.flats == (FlatCount(20.0, "Ha", 5), FlatCount(65.0, "Ha", 1), FlatCount(None, "OIII", 1))
    assert review.flats_missing == ()


def test_flats_that_do_not_tell_their_angle_serve_no_plan_with_several(tmp_path):
    plan = small_plan(angles="per_panel", center=(10.0, 84.0))
    first, last = plan.mosaic.panels[0], plan.mosaic.panels[-1]
    assert abs(first.position_angle_deg - last.position_angle_deg) > 2.0
    write_solved(tmp_path / "1.fits", first)
    write_solved(tmp_path / "2.fits", last)
    write_flat(tmp_path / "untold.fits", FILTER="Ha")
    write_flat(tmp_path / "told.fits", FILTER="Ha", ORIENTAT=last.position_angle_deg)
    review, _ = reviewed(plan, tmp_path)
    assert FlatCount(None, "Ha", 1) in review.flats
    assert review.flats_missing == (FlatCount(first.position_angle_deg, "Ha", 1),)


def test_only_good_frames_need_flats(plan, tmp_path):
    write_solved(tmp_path / "1.fits", plan.mosaic.panels[0], turn_deg=4.0)
    assert reviewed(plan, tmp_path)[0].flats_missing == ()


@pytest.mark.parametrize("kind", ["Dark", "Dark Flat", "BIAS"])
def test_other_calibration_frames_are_no_flats(plan, tmp_path, kind):
    write_flat(tmp_path / "1.fits", kind)
    review, results = reviewed(plan, tmp_path)
    assert review.flats == () and [one.verdict for one in results] == ["unsolved"]


def test_a_flat_whose_coordinates_tell_its_angle(plan, tmp_path):
    header = solved_header(position_angle_deg=20.0, size=(60, 40), IMAGETYP="flat", FILTER="Ha")
    fits.PrimaryHDU(np.zeros((40, 60), dtype=np.uint16), header).writeto(tmp_path / "1.fits")
    write_flat(tmp_path / "2.fits", FILTER="Ha", POSANGLE="by hand")
    review, results = reviewed(plan, tmp_path)
    assert not results and review.flats == (FlatCount(20.0, "Ha", 1), FlatCount(None, "Ha", 1))


def test_document(plan, tmp_path):
    write_solved(tmp_path / "1.fits", plan.mosaic.panels[0], FILTER="OIII")
    write_flat(tmp_path / "2.fits", FILTER="Ha", POSANGLE=20.0)
    write_flat(tmp_path / "3.fits")
    with FrameSpool(tmp_path) as spool:
        review = review_folder(plan.request, plan.mosaic, tmp_path, on_frame=spool.add)
        document = json.loads("".join(review_pieces(review, spool)))
    assert [frame["file"] for frame in document["frames"]] == ["1.fits"]
    assert document["flats"] == [{"position_angle_deg": 20.0, "filter": "Ha", "frames": 1}, {"frames": 1}]
    assert document["flats_missing"] == [{"position_angle_deg": 20.0, "filter": "OIII", "frames": 1}]
