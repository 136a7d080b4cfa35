"""Symmetries that every plan must have, over the whole sphere."""

import math

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.geometry import plane_to_vector, sky_basis, vector_to_sky
from planner.mosaic.build import build_mosaic
from planner.mosaic.layout.lay_out import lay_out
from planner.mosaic.orientation import Orientation
from planner.mosaic.panel import Field, panel_bases
from planner.mosaic.proof.cover import find_gap
from planner.mosaic.rectangle import smallest_rectangle
from planner.mosaic.region import Region
from planner.mosaic.terms import Layout, Terms

TERMS = Terms(Field(3.0, 2.0))
ANGLE = st.floats(0.0, 179.9)
BLOB = st.lists(st.floats(0.5, 1.0), min_size=5, max_size=12)
PLACE = st.tuples(st.floats(0.0, 359.9), st.floats(-90.0, 90.0))
FAR_FROM_POLES = st.tuples(st.floats(0.0, 359.9), st.floats(-60.0, 60.0))
"""Where a picture has one place: near a pole an angle at its own centre leaves it a choice."""
FEW = settings(max_examples=12)


def blob(reaches, center_deg, angle_deg, radius_deg=3.2):
    """A star-shaped outline that is fixed in its own turned basis."""
    angle = 2 * np.pi * np.arange(len(reaches)) / len(reaches)
    reach = math.tan(math.radians(radius_deg)) * np.array(reaches)
    xy = reach[:, None] * np.stack([np.cos(angle), np.sin(angle)], axis=-1)
    return Region.from_vectors(plane_to_vector(xy, sky_basis(*center_deg, angle_deg)), center_deg)


def angle_of_the_picture(reaches, center_deg, angle_deg):
    """Position angle of the moved outline's picture at its own centre: near a pole another than the outline's."""
    picture = smallest_rectangle(blob(reaches, (0.0, 0.0), 0.0), Orientation.common(0.0))
    moved = (
        sky_basis(*picture.center_deg, 0.0) @ sky_basis(0.0, 0.0, 0.0).T @ sky_basis(*center_deg, angle_deg)
    )
    east, north, _ = sky_basis(*vector_to_sky(moved[2]), 0.0)
    return math.degrees(math.atan2(moved[1] @ east, moved[1] @ north))


@FEW
@given(BLOB, PLACE, ANGLE)
def test_rows_laid_square_with_a_region_move_with_it(reaches, center_deg, angle_deg):
    layout, center = Layout("sliding", "per_panel", angle_deg=0.0), (10.0, 0.0)
    here = lay_out(blob(reaches, center, 0.0), TERMS, layout, Orientation.square_with(*center, 0.0))
    orientation = Orientation.square_with(*center_deg, angle_deg)
    there = lay_out(blob(reaches, center_deg, angle_deg), TERMS, layout, orientation)
    moved = here @ sky_basis(*center, 0.0).T @ sky_basis(*center_deg, angle_deg)
    assert len(there) == len(here)
    assert np.abs(there[:, None] - moved).max(axis=2).min(axis=1).max() < 1e-6


@FEW
@given(BLOB, FAR_FROM_POLES, ANGLE)
def test_moving_everything_on_the_sphere_changes_no_panel_count(reaches, center_deg, angle_deg):
    layout = Layout("sliding", "per_panel", angle_deg=0.0)
    here = build_mosaic(blob(reaches, (0.0, 0.0), 0.0), TERMS, layout)
    layout = Layout("sliding", "per_panel", angle_deg=angle_of_the_picture(reaches, center_deg, angle_deg))
    there = build_mosaic(blob(reaches, center_deg, angle_deg), TERMS, layout)
    assert len(here.panels) == len(there.panels)
    assert math.isclose(here.overlap_found, there.overlap_found, abs_tol=1e-5)
    assert [p.name for p in here.panels] == [p.name for p in there.panels]


@FEW
@given(BLOB, PLACE, ANGLE, st.floats(0.0, 360.0))
def test_right_ascension_is_only_a_shift_for_a_camera_that_nobody_turns(
    reaches, center_deg, angle, shift_deg
):
    layout = Layout("sliding", 1, angle_deg=angle)
    moved_deg = ((center_deg[0] + shift_deg) % 360.0, center_deg[1])
    here = build_mosaic(blob(reaches, center_deg, 0.0), TERMS, layout)
    there = build_mosaic(blob(reaches, moved_deg, 0.0), TERMS, layout)
    assert len(here.panels) == len(there.panels)
    assert math.isclose(here.overlap_found, there.overlap_found, abs_tol=1e-5)
    turned = np.array(
        [(p.ra_deg - q.ra_deg + shift_deg) for p, q in zip(here.panels, there.panels, strict=True)]
    )
    near_pole = np.array([abs(p.dec_deg) > 89.9 for p in here.panels])
    # the same panels, as far as right ascension means anything at their declination
    assert (np.abs((turned + 180) % 360 - 180)[~near_pole] < 1e-4).all()


@FEW
@given(BLOB, PLACE, ANGLE, st.sampled_from([1, "per_panel"]))
def test_removing_any_panel_leaves_something_unserved(reaches, center_deg, angle_deg, angles):
    region = blob(reaches, center_deg, 0.0)
    mosaic = build_mosaic(region, TERMS, Layout("sliding", angles, angle_deg=angle_deg))
    assert not mosaic.shortfalls
    bases = panel_bases(mosaic.panels)
    assert all(find_gap(region, np.delete(bases, i, axis=0), TERMS.demands) for i in range(len(bases)))


@FEW
@given(BLOB, PLACE, ANGLE, st.floats(0.02, 0.4))
def test_overlap_found_is_never_less_than_asked(reaches, center_deg, angle_deg, overlap):
    terms = Terms(Field(3.0, 2.0), overlap=overlap)
    mosaic = build_mosaic(blob(reaches, center_deg, 30.0), terms, Layout("sliding", 1, angle_deg=angle_deg))
    assert mosaic.overlap_found >= overlap
