"""Frames of two instruments in one folder: whose each is, and what all of them come to."""

import numpy as np
import pytest

from planner.answers.shared.shared_plan import make_shared_plan
from planner.files.documents.review import review_document
from planner.frames.review.limits import Limits
from planner.frames.review.reading import FrameReader
from planner.frames.review.shared import ReviewPart, review_shared_folder
from planner.geometry import vector_to_plane
from planner.mosaic.panel import panel_bases
from tests.answers.shared.shared_files import shared_request
from tests.frames.solved_file import write_solved

PLACES = [(129.0, -20.0), (0.05, 2.0), (10.0, 88.0), (200.0, -88.5)]


def write(path, one, panel, chosen, *, turn_deg=0.0, seconds=600.0, **cards):
    write_solved(
        path,
        size=(60, 40),
        scale_arcsec=one.plan.request.camera.scale_arcsec_px,
        position_angle_deg=panel.position_angle_deg + turn_deg,
        center=(panel.ra_deg, panel.dec_deg),
        **{"FILTER": chosen, "EXPTIME": seconds, "DATE__OBS": "2027-01-08T01:00:00", **cards},
    )


def write_frames(folder, shared, *, seconds=600.0):
    for one in shared.instruments:
        for panel in one.plan.mosaic.panels:
            for chosen in one.instrument.filters:
                for number in range(2):
                    name = f"{one.name[:4]}_{panel.name}_{chosen}_{number}.fits"
                    write(folder / name, one, panel, chosen, seconds=seconds)


def reviewed(shared, folder):
    results = []
    parts = [
        ReviewPart(one.name, one.plan.request, one.plan.mosaic, Limits.of_plan(one.plan.request))
        for one in shared.instruments
    ]
    found = review_shared_folder(
        parts, shared.finest.whole.mosaic, folder, reader=FrameReader(), on_frame=results.append
    )
    return found, {one.path.name: one for one in results}


@pytest.mark.parametrize("place", PLACES)
def test_depth_is_summed_over_the_footprints_of_both(tmp_path, place):
    """Of random points of the region the depth is that of the panels of either size that hold them."""
    shared = make_shared_plan(shared_request(tmp_path, at=place))
    folder = tmp_path / "frames"
    folder.mkdir()
    write_frames(folder, shared)
    found, results = reviewed(shared, folder)
    review = found.review
    assert set(review.verdicts) == {"good"} and review.coverage.covered
    assert {name[:4] for name, one in results.items() if one.instrument == "Wide pier"} == {"Wide"}
    assert review.reshoot == () and review.uncovered_deg2 == {"Ha": 0.0, "L": 0.0}
    depth = review.depth
    for cell, seconds in zip(depth.cells, depth.seconds, strict=True):
        point = np.array(cell.representative_point().coords[0])
        place = np.array([*point, 1.0]) @ depth.region.basis
        for chosen, one in zip(("Ha", "L"), shared.instruments, strict=True):
            half = one.plan.mosaic.field.half_width, one.plan.mosaic.field.half_height
            xy = vector_to_plane(place[None], panel_bases(one.plan.mosaic.panels))
            inside = (np.abs(xy) < half).all(axis=-1).sum()
            assert seconds[depth.filters.index(chosen)] == pytest.approx(1200.0 * inside)


def test_a_frame_is_judged_by_its_own_instrument(tmp_path):
    """Size decides first; a wrong filter name makes no frame another's."""
    shared = make_shared_plan(shared_request(tmp_path))
    wide, fine = shared.instruments
    folder = tmp_path / "frames"
    folder.mkdir()
    write(folder / "a.fits", wide, wide.plan.mosaic.panels[0], "Ha", turn_deg=1.5)
    write(folder / "b.fits", fine, fine.plan.mosaic.panels[0], "Ha")
    found, results = reviewed(shared, folder)
    assert [(one.instrument, one.verdict) for one in results.values()] == [
        ("Wide pier", "turned"),
        ("Fine pier", "good"),
    ]
    assert found.drifts["Wide pier"].turn_back_deg == pytest.approx(-1.5, abs=1e-4)
    assert found.drifts["Fine pier"].turn_back_deg == pytest.approx(0.0, abs=1e-4)
    document = review_document(found.review, found.drifts)
    assert [one["name"] for one in document["instruments"]] == ["Wide pier", "Fine pier"]
    assert {row["instrument"] for row in document["reshoot"]} == {"Wide pier", "Fine pier"}


def test_like_instruments_are_told_apart_by_their_filters(tmp_path):
    shared = make_shared_plan(shared_request(tmp_path, focal=380.0))
    wide, fine = shared.instruments
    folder = tmp_path / "frames"
    folder.mkdir()
    panel = wide.plan.mosaic.panels[1]
    write(folder / "a.fits", wide, panel, "Ha")
    write(folder / "b.fits", wide, panel, "L", turn_deg=3.0)
    _, results = reviewed(shared, folder)
    assert [one.instrument for one in results.values()] == ["Wide pier", "Fine pier"]
    assert results["b.fits"].verdict == "turned"


def test_hours_at_a_dark_sky_go_by_each_ones_site(tmp_path):
    """At the same instant the Moon is up at one pier only: 2027-01-14 22:00 UTC, seen from 22.6 E and 17.25 W."""
    shared = make_shared_plan(shared_request(tmp_path))
    folder = tmp_path / "frames"
    folder.mkdir()
    for one, chosen in zip(shared.instruments, ("Ha", "L"), strict=True):
        write(
            folder / f"{one.name}.fits",
            one,
            one.plan.mosaic.panels[0],
            chosen,
            DATE__OBS="2027-01-14T22:00:00",
        )
    found, _ = reviewed(shared, folder)
    worth = {row.label: row.dark_sky_seconds for row in found.review.panels if row.exposures}
    assert worth["Wide pier A1"] == pytest.approx(600.0)
    assert found.review.moonlight_untold in (0, 1)
    assert worth["Fine pier A1"] < 600.0
