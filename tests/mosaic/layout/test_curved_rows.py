"""Strips across outlines against shapely; rows against the bases of their panels and against the proof."""

import math

import numpy as np
import pytest
import shapely

from planner.geometry import vector_to_plane, vector_to_sky
from planner.mosaic import Field, Orientation, Region, Terms, find_gap
from planner.mosaic.layout.curved_rows import row_systems, sliding_rows
from planner.mosaic.layout.lay_out import lay_out
from planner.mosaic.layout.parallels import Ring
from planner.mosaic.layout.strips import Outline
from planner.mosaic.terms import Layout
from tests.hard_fields import HARD_FIELDS

TERMS = Terms(Field(3.3, 2.2))


@pytest.mark.parametrize("seed", range(8))
def test_pieces_of_strips_are_the_shadows_of_what_the_strips_cut_out(seed):
    random = np.random.default_rng(seed)
    angle = np.sort(random.uniform(0, 2 * np.pi, 14))
    ring = random.uniform(0.3, 1.0, 14)[:, None] * np.stack([np.cos(angle), np.sin(angle)], axis=-1)
    shape = shapely.Polygon(ring)
    low = random.uniform(-1.2, 0.9, 40)
    high = low + random.uniform(0.01, 0.6, 40)
    pieces = Outline(ring).pieces(low, high)
    for strip, (bottom, top) in enumerate(zip(low, high, strict=True)):
        parts = shapely.get_parts(shapely.intersection(shape, shapely.box(-2, bottom, 2, top)))
        shadows = shapely.union_all(
            [shapely.box(w, 0, e, 1) for w, _, e, _ in shapely.bounds(parts) if e > w]
        )
        expected = sorted((w, e) for w, _, e, _ in shapely.bounds(shapely.get_parts(shadows)))
        mine = pieces.strip == strip
        found = list(zip(pieces.start[mine], pieces.end[mine], strict=True))
        assert np.allclose(found, expected, atol=1e-9) and len(found) == len(expected)
        for start, end in found:
            held = pieces.holding(np.array([strip]), np.array([(start + end) / 2]))[0]
            assert (pieces.start[held], pieces.end[held]) == (start, end)


@pytest.mark.parametrize("field", HARD_FIELDS, ids=str)
def test_tilts_are_those_of_the_panels_frames(field):
    """The angle between a panel's up and its row's north, measured in the tangent plane."""
    orientation = Orientation.common(field.position_angle_deg)
    region = Region.circle((field.ra_deg, field.dec_deg), 0.4 * field.height_deg)
    for system in row_systems(region, orientation):
        ring = Ring(system, orientation, (0.01, 0.01), (0.02, 0.02))
        longitude, latitude = np.array([0.0, 0.02, -0.05, 1.0]), np.array([0.01, 0.0, -0.03, 0.2])
        centers = ring.centers(longitude, latitude)
        panels, rows = orientation.bases(centers), system.turned_to(0.0).bases(centers)
        x, y = (np.einsum("ij,ij->i", panels[:, 1], rows[:, k]) for k in (0, 1))
        off = ring.tilts(longitude, latitude) - np.arctan2(x, y)
        assert np.abs((off + np.pi) % (2 * np.pi) - np.pi).max() < 1e-12


@pytest.mark.parametrize("field", HARD_FIELDS, ids=str)
@pytest.mark.parametrize("common", [True, False])
def test_every_way_to_lay_rows_meets_the_demands_without_spares(field, common):
    demands = Terms(Field(field.width_deg, field.height_deg)).layout_demands
    angle = field.position_angle_deg
    center = (field.ra_deg, field.dec_deg)
    orientation = Orientation.common(angle) if common else Orientation.square_with(*center, angle)
    region = Region.circle(center, (0.6 if field.width_deg > 20 else 1.1) * field.height_deg)
    ways = list(sliding_rows(region, orientation, demands))
    assert ways
    for centers in ways[:3]:
        bases = orientation.bases(centers)
        assert not find_gap(region, bases, demands)
        assert all(find_gap(region, np.delete(bases, k, axis=0), demands) for k in range(len(bases)))


@pytest.mark.parametrize("angle_deg", [0.0, 20.0, 90.0])
def test_a_row_along_a_narrow_region_has_no_panel_too_many(angle_deg):
    """A strip lower than a core: ceil((length - overlap) / step) panels, the overlap being 0.15 of a width."""
    width = 2 * TERMS.field.half_width
    for length in (1.5, 2.6, 4.3):
        size = [
            2 * math.degrees(math.atan(half)) for half in (length * width / 2, 0.4 * TERMS.field.half_height)
        ]
        region = Region.rectangle((100.0, 0.0), *size, angle_deg + 90.0)
        orientation = Orientation.square_with(100.0, 0.0, angle_deg + 90.0)
        rows = lay_out(region, TERMS, Layout("sliding"), orientation)
        assert len(rows) == math.ceil((length - 0.15) / 0.85)


def test_seams_belong_to_the_row_that_needs_them_anyway():
    """A cross: were seams shared, the rows beside its bar would have to show the bar's ends too."""
    view = TERMS.field
    half = np.degrees(np.arctan([view.half_width, view.half_height]))
    a, b = 2.4 * half[0], 0.9 * half[1]
    c, d = 0.65 * half[0], 2.5 * half[1]
    quarter = [(a, b), (c, b), (c, d)]
    upper = [*quarter, *((-x, y) for x, y in reversed(quarter))]
    corners = [*upper, *((-x, -y) for x, y in upper)]
    ra_deg, dec_deg = np.array(corners).T
    region = Region(tuple(zip((ra_deg % 360.0).tolist(), dec_deg.tolist(), strict=True)))
    rows = lay_out(region, TERMS, Layout("sliding"), Orientation.square_with(0.0, 0.0, 0.0))
    assert len(rows) == 5
    _, latitude = vector_to_sky(rows)
    assert len(np.unique(latitude.round(6))) == 3
    assert np.isfinite(vector_to_plane(rows, region.basis)).all()
