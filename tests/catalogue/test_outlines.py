"""The polygon about a catalogue ellipse encloses the ellipse and little else."""

import math
from dataclasses import replace

import numpy as np
import pytest

from planner.catalogue import ellipse_vectors, find_object, object_outline_vectors, outline_note
from planner.errors import InputError
from planner.geometry import position_angle_deg, separation_rad, sky_basis, vector_to_plane, vector_to_sky
from planner.mosaic.region import Region

CENTERS = [(10.7, 41.3), (0.0, 0.0), (359.9, -60.0), (80.0, 90.0), (80.0, -89.5)]


@pytest.mark.parametrize("center", CENTERS)
@pytest.mark.parametrize("angle_deg", [0.0, 35.0, 170.0])
def test_the_polygon_touches_and_encloses_the_ellipse(center, angle_deg):
    outline = ellipse_vectors(center, 178.0, 70.0, angle_deg)
    xy = vector_to_plane(outline, sky_basis(*center, angle_deg))
    a, b = math.tan(math.radians(70 / 120)), math.tan(math.radians(178 / 120))
    # signed distance of each edge from the centre of the unit circle that the ellipse becomes: exactly 1
    unit = xy / [a, b]
    edge = np.roll(unit, -1, axis=0) - unit
    distance = np.abs(unit[:, 0] * edge[:, 1] - unit[:, 1] * edge[:, 0]) / np.hypot(*edge.T)
    np.testing.assert_allclose(distance, 1.0, atol=1e-12)


def test_axes_lie_where_they_should_on_the_sky():
    outline = ellipse_vectors((150.0, 30.0), 240.0, 60.0, 40.0, corners=4000)
    basis = sky_basis(150.0, 30.0, 0.0)
    distance = separation_rad(outline, basis[2])
    tip = outline[np.argmax(distance)]
    assert math.degrees(distance.max()) == pytest.approx(2.0, abs=1e-5)
    assert math.degrees(distance.min()) == pytest.approx(0.5, abs=1e-5)
    assert float(position_angle_deg(150.0, 30.0, *vector_to_sky(tip))) % 180 == pytest.approx(40.0, abs=0.2)


def test_the_order_is_counter_clockwise_from_inside():
    outline = ellipse_vectors((150.0, 30.0), 240.0, 60.0, 40.0)
    normal = np.cross(outline, np.roll(outline, -1, axis=0)).sum(axis=0)
    assert normal @ sky_basis(150.0, 30.0, 0.0)[2] < 0.0


def test_area_is_the_ellipse_s_within_a_thousandth():
    region = Region.from_vectors(object_outline_vectors(find_object("M31")))
    flat = math.pi * 177.83 * 69.66 / 4 / 3600
    assert flat < region.area_deg2 < flat * 1.001


def test_a_size_of_one_s_own_wins():
    cluster = find_object("IC 1396")
    outline = object_outline_vectors(cluster, size_arcmin=(180.0, 90.0), position_angle_deg=90.0)
    xy = np.degrees(np.arctan(vector_to_plane(outline, sky_basis(cluster.ra_deg, cluster.dec_deg, 0.0))))
    np.testing.assert_allclose(np.abs(xy).max(axis=0), [1.5, 0.75], rtol=2e-3)


def test_an_ellipse_of_unknown_turn_becomes_the_circle_about_it():
    america = find_object("NGC 7000")
    outline = object_outline_vectors(america)
    distance = np.degrees(separation_rad(outline, sky_basis(america.ra_deg, america.dec_deg, 0.0)[2]))
    assert distance.min() >= 1.0
    assert distance.max() < 1.002
    assert "how the ellipse of NGC 7000 is turned" in outline_note(america)
    assert outline_note(find_object("M31")) is None
    assert outline_note(find_object("NGC 3372")) is None
    narrow = object_outline_vectors(america, position_angle_deg=20.0)
    assert Region.from_vectors(narrow).area_deg2 < Region.from_vectors(outline).area_deg2 / 3


def test_no_size_asks_for_one():
    with pytest.raises(InputError, match="no size of IC 1318 .*give region.size_arcmin"):
        object_outline_vectors(find_object("IC 1318"))


@pytest.mark.parametrize("size", [(0.0, 5.0), (-3.0, 5.0), (math.nan, 5.0), (20_000.0, 1.0)])
def test_impossible_sizes_are_refused(size):
    with pytest.raises(InputError, match="size_arcmin must be in"):
        object_outline_vectors(find_object("M31"), size_arcmin=size)


def test_one_axis_is_a_circle():
    disc = replace(find_object("M13"), position_angle_deg=None)
    assert disc.minor_arcmin == disc.major_arcmin
    assert outline_note(disc) is None
