"""Depth by footprints: hand-checkable cases, areas, and a dense grid of points as an independent route."""

import numpy as np
import pytest
import shapely

from planner.frames.review.depth import depth_map
from planner.frames.review.footprints import Footprints
from planner.geometry import plane_to_vector, sky_basis, sky_to_vector, vector_to_plane, vector_to_sky
from planner.mosaic.region import Region

HALF = np.tan(np.radians([3.2, 2.14]) / 2)


def footprints(places, seconds, filters=None, panels=None):
    ra, dec, angle = np.array(places, dtype=float).T
    count = len(places)
    return Footprints(
        sky_basis(ra, dec, angle),
        np.tile(HALF, (count, 1)),
        np.array(seconds, dtype=float),
        np.array(filters if filters is not None else [0] * count),
        np.array(panels if panels is not None else range(count)),
    )


def test_two_frames_side_by_side():
    """Frames 3.2 degrees wide about 0 and 2.4 degrees: the strip that both cover is 0.8 degrees wide."""
    region = Region.rectangle((1.2, 0.0), 5.5, 2.1)
    depth = depth_map(region, footprints([(0, 0, 0), (2.4, 0, 0)], [600, 900]), ["Ha"])
    assert depth.exact
    assert sorted(set(depth.total)) == [600.0, 900.0, 1500.0]
    assert depth.areas_deg2.sum() == pytest.approx(region.area_deg2, rel=1e-12)
    both = depth.areas_deg2[depth.total == 1500.0].sum()
    assert both == pytest.approx(0.8 * 2.1, rel=2e-3)  # flat sky; edges of a frame are great circles
    least = depth.least()
    assert least.seconds == 600.0
    assert least.ra_deg % 360 > 300 or least.ra_deg < 0.8
    deeper = depth.areas_deg2[depth.total > 600.0].sum()
    assert deeper == pytest.approx(region.area_deg2 - least.area_deg2, rel=1e-9)


@pytest.mark.parametrize("center", [(129.0, -45.0), (0.3, 1.0), (77.0, 89.5), (12.0, -89.9)])
def test_depth_agrees_with_points_on_a_grid(center):
    """Every point of a random sample lies in exactly the frames that its cell counts."""
    random = np.random.default_rng(2)
    region = Region.circle(center, 2.5)
    basis = sky_basis(*center, 0.0)
    offsets = np.radians(random.normal(0, 1.2, (12, 2)))
    ra, dec = vector_to_sky(plane_to_vector(offsets, basis))
    taken = footprints(np.column_stack([ra, dec, random.uniform(0, 360, 12)]), 2.0 ** np.arange(12))
    depth = depth_map(region, taken, ["L"])
    points = plane_to_vector(np.radians(random.uniform(-1.7, 1.7, (300, 2))), basis)
    inside = np.abs(vector_to_plane(points[:, None], taken.bases)) <= HALF
    truth = (inside.all(axis=2) * taken.seconds).sum(axis=1)
    xy = vector_to_plane(points, region.basis)
    for point, seconds in zip(xy, truth, strict=True):
        cell = [n for n, shape in enumerate(depth.cells) if shape.contains(shapely.Point(point))]
        assert [depth.total[n] for n in cell] == [seconds]  # binary digits tell which frames


def test_least_depth_of_each_filter_and_of_nothing():
    region = Region.rectangle((0.0, 0.0), 1.0, 1.0)
    depth = depth_map(
        region, footprints([(0, 0, 0), (0, 0, 45)], [600, 300], filters=[0, 1]), ["Ha", "OIII", "SII"]
    )
    assert [depth.least(name).seconds for name in ("Ha", "OIII", "SII", None)] == [600.0, 300.0, 0.0, 900.0]
    none = depth_map(region, footprints([(50, 0, 0)], [600]), ["Ha"])
    assert none.least().seconds == 0.0
    assert none.least().area_deg2 == pytest.approx(region.area_deg2)


def test_place_of_the_least_depth_has_that_depth():
    region = Region.rectangle((0.0, 0.0), 4.0, 2.5)
    taken = footprints([(-1, 0, 5), (1, 0, -5), (0, 0.1, 90)], [600, 600, 600])
    depth = depth_map(region, taken, ["Ha"])
    least = depth.least()
    place = vector_to_plane(sky_to_vector(least.ra_deg, least.dec_deg), taken.bases)
    assert np.sum(np.all(np.abs(place) < HALF, axis=1)) * 600.0 == least.seconds


@pytest.mark.parametrize("repeats", [1, 40])
def test_many_frames_are_grouped_and_never_overstated(repeats):
    """400 dithered frames: the grouped depth is nowhere above the exact one, and the same deep inside."""
    random = np.random.default_rng(1)
    turns = 180 * (np.arange(400) % 2) + random.normal(0, 0.1, 400)
    places = np.column_stack([random.normal(0, 0.01, 400), random.normal(0, 0.01, 400), turns])
    region = Region.rectangle((0.0, 0.0), 3.3, 2.2)
    taken = footprints(np.repeat(places, repeats, axis=0), np.ones(400 * repeats), panels=[0] * 400 * repeats)
    depth = depth_map(region, taken, ["Ha"])
    assert not depth.exact
    assert depth.total.max() == 400.0 * repeats
    for cell, total in list(zip(depth.cells, depth.total, strict=True))[::50]:
        point = plane_to_vector(np.array(cell.representative_point().coords[0]), region.basis)
        inside = np.all(np.abs(vector_to_plane(point, taken.bases)) <= HALF, axis=1)
        assert total <= inside.sum()
    assert depth.areas_deg2[depth.total == 400.0 * repeats].sum() > 0.9 * 3.2 * 2.14


def test_repeated_frames_count_fully():
    """1000 frames on three grounds are no more work than three, and exact."""
    region = Region.rectangle((0.0, 0.0), 4.0, 2.0)
    places = [[(-1.0, 0, 0), (1.0, 0, 180), (0.0, 0.1, 0)][number % 3] for number in range(999)]
    depth = depth_map(region, footprints(places, [10.0] * 999, panels=[0] * 999), ["Ha"])
    assert depth.exact
    assert set(depth.total) <= {0.0, 3330.0, 6660.0, 9990.0}
    assert depth.total.max() == 9990.0
