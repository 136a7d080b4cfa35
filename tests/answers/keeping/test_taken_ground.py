"""Ground of solved frames: what is told is held by every frame, and hardly anything of what they share is lost."""

from dataclasses import replace

import numpy as np
import pytest

from planner.answers.keeping.keep import keep_reviewed
from planner.answers.keeping.taken_ground import taken_grounds
from planner.answers.plan import make_plan
from planner.geometry import plane_to_vector, sky_basis, vector_to_sky
from planner.mosaic.panel import panel_corners
from planner.request.request import MosaicRequest, PanelRequest, RegionRequest, Request
from tests.hard_fields import HARD_FIELDS
from tests.mosaic import oracle
from tests.rig.hand_made import CAMERA, FIELD, solution_at


def dithered(field, seed, count=12):
    """Frames about a place, off by up to 2 arc minutes and half a degree, some of them after a flip."""
    random = np.random.default_rng(seed)
    basis = sky_basis(field.ra_deg, field.dec_deg, field.position_angle_deg)
    for _ in range(count):
        xy = np.tan(np.radians(random.uniform(-2, 2, 2) / 60))
        up = plane_to_vector(xy + np.array([0.0, 1e-4]), basis)
        middle = plane_to_vector(xy, basis)
        ra, dec = (float(value) for value in vector_to_sky(middle))
        left, north, _ = sky_basis(ra, dec, 0.0)
        angle = np.degrees(np.arctan2((up - middle) @ left, (up - middle) @ north))
        turn = random.uniform(-0.5, 0.5) + random.choice([0.0, 180.0])
        yield solution_at(float(angle + turn) % 360.0, ra_deg=ra, dec_deg=dec)


@pytest.mark.parametrize("field", HARD_FIELDS, ids=str)
def test_every_frame_of_a_place_holds_its_ground(field):
    frames = list(dithered(field, 3))
    (ground,) = taken_grounds(frames, CAMERA)
    corners = panel_corners([ground.panel], FIELD)[0]
    half = (FIELD.half_width, FIELD.half_height)
    for one in frames:
        frame = (one.ra_deg, one.dec_deg, one.position_angle_deg)
        assert oracle.in_panel(corners, frame, half, slack=1e-11).all()
    assert sorted(ground.frames) == list(range(len(frames)))
    lost_deg = (
        4 * 2 / 60 + FIELD.width_deg * np.sin(np.radians(1.0)) * 2
    )  # both sides, dither and turn of two frames
    assert (
        ground.field_deg[0] > FIELD.width_deg - lost_deg and ground.field_deg[1] > FIELD.height_deg - lost_deg
    )


def test_places_angles_and_sizes_are_told_apart():
    frames = [
        solution_at(30.0),
        solution_at(35.0),
        solution_at(30.0, dec_deg=-44.0),
        solution_at(30.0, scale_x_arcsec_px=3.0, scale_y_arcsec_px=3.0),
        solution_at(210.0),  # the first one after a flip
    ]
    grounds = taken_grounds(frames, CAMERA)
    assert [ground.frames for ground in grounds] == [(0, 4), (1,), (2,), (3,)]
    assert grounds[3].field_deg[0] > FIELD.width_deg
    narrow = replace(CAMERA, usable=(0.5, 0.5))  # of the camera's own frames only the usable part counts
    (ground, _) = taken_grounds([solution_at(), frames[3]], narrow)
    assert ground.field_deg[0] == pytest.approx(narrow.field.width_deg)


def test_what_is_kept_in_any_case_needs_no_review_and_none_stays_of_a_review_without_frames():
    region = RegionRequest(center=(128.5, -45.8), radius_deg=1.0)
    one = PanelRequest("A1", 128.5, -45.8, 20.0, keep=True)
    other = PanelRequest("A2", 130.0, -45.8, 20.0)
    request = Request("Shell", CAMERA, region, MosaicRequest(layout="sliding"), panels=(one, other))
    assert request.grows and [panel.name for panel in make_plan(request).mosaic.panels][0] == "A1"
    kept = keep_reviewed(request, {})
    assert kept.let_go == ("A2",) and kept.request.names_used == ("A2",)
    assert request.unsettled.panels == ()
