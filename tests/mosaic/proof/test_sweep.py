"""What the box sweeps, against the definition point by point."""

import numpy as np
import pytest
import shapely

from planner.mosaic.proof.sweep import without_swept

REACH = (1.6, 1.3)
BOX = (0.3, 0.2)
PANEL = shapely.Polygon([(1, 0.7), (-1, 0.7), (-1, -0.7), (1, -0.7)])
OCTAGON = shapely.Polygon(
    [(1, 0.4), (0.7, 0.7), (-0.7, 0.7), (-1, 0.4), (-1, -0.4), (-0.7, -0.7), (0.7, -0.7), (1, -0.4)]
)


def star(random, count, least):
    """A region about a place near the panel; convex if asked for by way of `least` above 1."""
    angle = np.sort(random.uniform(0, 2 * np.pi, count))
    reach = 1.5 * random.uniform(min(least, 1.0), 1.0, count)
    ring = random.uniform(-0.9, 0.9, 2) + reach[:, None] * np.stack([np.cos(angle), np.sin(angle)], axis=-1)
    shape = shapely.Polygon(ring).buffer(0)
    return shape.convex_hull if least > 1 else shape


def serves(region, shape, x, y):
    """Whether the box about a point, cut with the region, lies in the shape."""
    box = shapely.box(x - BOX[0], y - BOX[1], x + BOX[0], y + BOX[1])
    return shapely.difference(shapely.intersection(region, box), shape).area < 1e-15


@pytest.mark.parametrize("shape", [PANEL, OCTAGON], ids=["rectangle", "octagon"])
@pytest.mark.parametrize("least", [0.3, 2.0], ids=["any", "convex"])
def test_cores_are_the_points_whose_box_the_panel_shows(shape, least):
    random = np.random.default_rng(4)
    regions = np.array([star(random, 9, least) for _ in range(12)], dtype=object)
    cores = without_swept(regions, shape, BOX, REACH)
    told = 0
    for region, core in zip(regions, cores, strict=True):
        for x, y in random.uniform([-1, -0.7], [1, 0.7], (60, 2)):
            point = shapely.Point(x, y)
            if not region.contains(point) or core.boundary.distance(point) < 1e-9:
                continue
            told += 1
            assert core.contains(point) == serves(region, shape, x, y)
    assert told > 150


def test_a_panel_that_sees_nothing_of_the_region_has_no_core():
    far = np.array([shapely.box(5, 5, 6, 6), shapely.Polygon([(5, 5), (9, 5), (9, 9), (6, 6)])], dtype=object)
    assert shapely.is_empty(without_swept(far, PANEL, BOX, REACH)).all()
    assert not len(without_swept(far[:0], PANEL, BOX, REACH))
