import numpy as np
import pytest

from planner.geometry import sky_basis
from planner.mosaic.build import build_mosaic
from planner.mosaic.naming import named_panels
from planner.mosaic.orientation import Orientation
from planner.mosaic.panel import Field
from planner.mosaic.region import Region
from planner.mosaic.seams import find_seams
from planner.mosaic.terms import Layout, Terms
from tests.hard_fields import HARD_FIELDS

TERMS = Terms(Field(3.3, 2.2))


@pytest.mark.parametrize("field", HARD_FIELDS, ids=str)
def test_rows_begin_at_the_top_and_columns_at_the_left(field):
    terms = Terms(Field(field.width_deg, field.height_deg))
    angle = field.position_angle_deg
    small = Region.circle((field.ra_deg, field.dec_deg), 0.2 * field.height_deg)
    mosaic = build_mosaic(small, terms, Layout("grid", "per_panel", angle_deg=angle, columns=3, rows=2))
    assert [panel.name for panel in mosaic.panels] == ["A1", "A2", "A3", "B1", "B2", "B3"]
    assert [panel.order for panel in mosaic.panels] == [1, 2, 3, 6, 5, 4]
    left, up, _ = sky_basis(field.ra_deg, field.dec_deg, angle)
    centers = sky_basis(*np.array([(p.ra_deg, p.dec_deg, 0.0) for p in mosaic.panels]).T)[:, 2]
    assert ((centers[:3] @ up) > (centers[3:] @ up)).all()
    assert (np.diff(centers[:3] @ left) < 0).all()


def test_north_is_up_and_east_is_left_at_position_angle_0():
    region = Region.circle((0.5, 10.0), 0.3)
    mosaic = build_mosaic(region, TERMS, Layout("grid", 1, angle_deg=0.0, columns=2, rows=2))
    by_name = {panel.name: panel for panel in mosaic.panels}
    assert by_name["A1"].dec_deg > by_name["B1"].dec_deg
    assert 0 < by_name["A1"].ra_deg < 10 and by_name["A2"].ra_deg > 350


def test_names_follow_the_picture_turned_upside_down():
    region = Region.circle((50.0, 10.0), 0.3)
    layout = Layout("grid", 1, angle_deg=0.0, columns=2, rows=2, picture_angle_deg=170.0)
    by_name = {panel.name: panel for panel in build_mosaic(region, TERMS, layout).panels}
    assert by_name["A1"].dec_deg < by_name["B1"].dec_deg
    assert by_name["A1"].ra_deg < by_name["A2"].ra_deg
    assert by_name["A1"].position_angle_deg == 0.0


def test_a_new_band_begins_half_a_panel_below_the_first_of_the_last():
    system = Orientation.square_with(80.0, 20.0, 0.0)
    centers = system.centers([1.0, 0.0, -1.0, 0.5], [0.0, -0.9, -1.2, 0.3])
    panels = named_panels(centers, np.zeros(4), picture=system, band_deg=1.1)
    # the band of the highest centre (0.3) reaches down to -0.8
    assert [panel.name for panel in panels] == ["A1", "A2", "B1", "B2"]
    assert panels[0].ra_deg > panels[1].ra_deg


def test_many_rows_get_two_letters():
    system = Orientation.square_with(10.0, 0.0, 0.0)
    centers = system.centers(np.zeros(28), -np.arange(28.0))
    panels = named_panels(centers, np.zeros(28), picture=system, band_deg=0.4)
    assert [panel.name for panel in panels[25:]] == ["Z1", "AA1", "AB1"]


@pytest.mark.parametrize("field", HARD_FIELDS, ids=str)
def test_seams_of_a_grid_are_its_sides_not_its_corners(field):
    terms = Terms(Field(field.width_deg, field.height_deg), overlap=0.2)
    whole = Region.circle((field.ra_deg, field.dec_deg), 0.9 * field.height_deg)
    layout = Layout("grid", "per_panel", angle_deg=field.position_angle_deg, columns=2, rows=2)
    mosaic = build_mosaic(whole, terms, layout)
    pairs = {(seam.first, seam.second): seam.width_arcmin for seam in mosaic.seams}
    assert set(pairs) == {(0, 1), (2, 3), (0, 2), (1, 3)}
    # 20 per cent of a panel in the tangent plane; off its centre that is less in angle
    for pair, size in (((0, 1), field.width_deg), ((0, 2), field.height_deg)):
        assert pairs[pair] == pytest.approx(12.0 * size, rel=0.02 if field.width_deg < 20 else 0.2)


def test_seams_outside_the_region_do_not_count():
    panels = build_mosaic(
        Region.circle((30.0, 5.0), 0.1), TERMS, Layout("grid", 1, angle_deg=0.0, columns=2, rows=1)
    ).panels
    far = Region.circle((33.5, 5.0), 0.2)
    assert find_seams(far, panels, TERMS.field) == ()
