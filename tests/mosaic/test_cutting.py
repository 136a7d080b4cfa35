"""Corners of what quadrilaterals have in common with a region, against shapely's intersections."""

import numpy as np
import pytest
import shapely

from planner.geometry import plane_to_vector, sky_basis
from planner.mosaic import Region
from planner.mosaic.cutting import cut_corners


def wavy(corners):
    """Region with a rim that is not convex."""
    t = np.linspace(0, 2 * np.pi, corners, endpoint=False)
    radius = 0.07 * (1 + 0.3 * np.sin(5 * t))
    plane = np.stack([radius * np.cos(t), radius * np.sin(t)], axis=-1)
    return Region.from_vectors(plane_to_vector(plane, sky_basis(40.0, 62.0, 0.0)))


@pytest.mark.parametrize("corners", [7, 40, 400])
def test_hulls_are_those_of_the_intersections(corners):
    random = np.random.default_rng(corners)
    region = wavy(corners)
    turn, middle = random.uniform(0, 7, (300, 1)), random.uniform(-0.1, 0.1, (300, 1, 2))
    angle = turn + np.array([0.5, 2.6, 3.7, 5.8])
    quads = middle + 0.012 * np.stack([np.cos(angle), np.sin(angle)], axis=-1)
    xy, owner = cut_corners(region, quads)
    cut = shapely.intersection(region.polygon, shapely.polygons(quads))
    assert 20 < np.count_nonzero(~shapely.is_empty(cut)) < 300
    for number, piece in enumerate(cut):
        mine = xy[owner == number]
        assert (len(mine) == 0) == piece.is_empty
        if len(mine):
            low, high = mine.min(axis=0), mine.max(axis=0)
            assert np.allclose([*low, *high], piece.bounds, atol=1e-14)


def test_no_quadrilaterals_have_no_corners():
    xy, owner = cut_corners(wavy(7), np.zeros((0, 4, 2)))
    assert xy.shape == (0, 2) and owner.shape == (0,)
