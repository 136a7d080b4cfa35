import datetime as dt
import io
import warnings

import numpy as np
import pytest
from astropy import units
from astropy.coordinates import SkyCoord
from astropy.io import votable

from planner.files.exchange.obsplan_votable import UNKNOWN_PLANNING_MJD, obsplan_votable
from planner.geometry import vector_to_sky
from planner.mosaic.panel import Panel, panel_corners
from planner.request.panels import PanelRequest
from planner.rig.angle_device import AngleDevice
from tests.handover.handover_plan import (
    CAMERA,
    FILTERS,
    HARD_CENTERS,
    NIGHTS,
    TITLE,
    handover_plan,
    panels_at,
)

STANDARD = """
t_planning d - | target_name - meta.id;src | obs_id - meta.id | obs_collection - meta.id | s_ra deg pos.eq.ra
s_dec deg pos.eq.dec | s_fov deg phys.angSize;instr.fov | s_region - pos.outline;obs.field
s_resolution arcsec pos.angResolution | t_min d time.start;obs.exposure | t_max d time.end;obs.exposure
t_exptime s time.duration;obs.exposure | t_resolution s time.resolution | em_min m em.wl;stat.min
em_max m em.wl;stat.max | em_res_power - spect.resolution | o_ucd - meta.ucd
pol_states - meta.code;phys.polarization | pol_xel - meta.number | facility_name - meta.id;instr.tel
instrument_name - meta.id;instr | t_plan_exptime s time.duration;obs.exposure | category - - | priority - -
execution_status - - | tracking_type - -
"""
"""IVOA recommendation ObsLocTAP 1.0 (2021-07-24), section 3: column, unit, UCD."""
NEVER_NULL = (
    "t_planning",
    "obs_id",
    "facility_name",
    "category",
    "priority",
    "execution_status",
    "tracking_type",
)
"""The same recommendation."""


def parsed(plan, **options):
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        document = votable.parse(io.BytesIO(obsplan_votable(plan, **options)), verify="exception")
    return document.get_first_table()


def rows_of(plan, **options):
    return parsed(plan, **options).to_table()


def test_columns_units_and_ucds_are_those_of_the_standard():
    fields = {field.name: field for field in parsed(handover_plan()).fields}
    wanted = [entry.split() for line in STANDARD.strip().splitlines() for entry in line.split("|")]
    assert list(fields)[: len(wanted)] == [name for name, _, _ in wanted]
    assert len(wanted) == 26
    for name, unit, ucd in wanted:
        assert fields[name].unit == (None if unit == "-" else units.Unit(unit)), name
        assert fields[name].ucd == (None if ucd == "-" else ucd), name


def test_polygon_is_marked_as_dali_wants_it():
    # DALI 1.1 (2017-05-17), 3.3.7
    field = next(field for field in parsed(handover_plan()).fields if field.name == "s_region")
    assert (field.xtype, field.datatype, field.arraysize) == ("polygon", "double", "*")


def test_one_row_per_panel_and_filter():
    table = rows_of(handover_plan())
    assert list(table["panel"]) == ["A1", "A1", "B1", "B1"]
    assert list(table["filter_name"]) == ["Hα", "L, clear"] * 2
    np.testing.assert_allclose(table["t_plan_exptime"], [10800, 3025] * 2)
    np.testing.assert_allclose(table["exposure"], [600, 60.5] * 2)
    assert list(table["exposures"]) == [18, 50] * 2
    assert set(table["obs_collection"]) == {TITLE}
    assert set(table["facility_name"]) == {"Karoo 'pier' 1"}
    assert len(set(table["obs_id"])) == 4


def test_panels_may_want_numbers_of_their_own_and_none_has_no_row():
    listed = (
        PanelRequest("A1", 128.0, -45.0, 20.0, exposures={"Hα": 5}),
        PanelRequest("B1", 129.5, -46.9, 21.25),
    )
    table = rows_of(handover_plan(listed=listed))
    assert list(table["obs_id"]) == [
        f"{TITLE.replace(' ', '_')}-{end}" for end in ("A1-Hα", "B1-Hα", "B1-L,_clear")
    ]
    assert list(table["exposures"]) == [5, 18, 50]
    np.testing.assert_allclose(table["t_plan_exptime"], [3000, 10800, 3025])


def test_without_filters_one_row_per_panel_and_never_a_forbidden_null():
    for plan in (handover_plan(filters=(), sites=(), device=None), handover_plan()):
        table = rows_of(plan)
        for name in NEVER_NULL:
            column = table[name]
            assert not np.any(getattr(column, "mask", False)), name
            assert all(str(value) for value in column), name
    table = rows_of(handover_plan(filters=(), device=None))
    assert len(table) == 2
    assert np.all(table["t_exptime"].mask)
    assert np.all(table["reading_deg"].mask)


def test_words_are_those_of_the_standard():
    table = rows_of(handover_plan(nights=NIGHTS))
    assert set(table["category"]) == {"Window"}
    assert set(rows_of(handover_plan())["category"]) == {"Other"}
    assert set(table["priority"]) <= {0, 1, 2}
    assert set(table["execution_status"]) == {"Planned"}
    assert set(table["tracking_type"]) == {"Sidereal"}


@pytest.mark.parametrize("shift", range(3))
def test_positions_angles_and_polygons_over_the_whole_sky(shift):
    plan = handover_plan(
        panels_at(HARD_CENTERS, np.roll([0.0, 37.5, 123.456789, 200.0, 270.0, 359.99], shift))
    )
    table = rows_of(plan)[:: len(FILTERS)]
    panels = plan.mosaic.panels
    centers = SkyCoord([p.ra_deg for p in panels], [p.dec_deg for p in panels], unit="deg")
    assert SkyCoord(table["s_ra"], table["s_dec"]).separation(centers).arcsec.max() < 1e-6
    np.testing.assert_allclose(table["position_angle"], [p.position_angle_deg for p in panels])
    wanted = SkyCoord(*vector_to_sky(panel_corners(panels, plan.mosaic.field)), unit="deg")
    polygons = np.array([list(polygon) for polygon in table["s_region"]]).reshape(-1, 4, 2)
    got = SkyCoord(polygons[..., 0], polygons[..., 1], unit="deg")
    assert got.separation(wanted).arcsec.max() < 1e-6
    assert np.all((polygons[..., 0] >= 0) & (polygons[..., 0] < 360))


def test_polygon_runs_counter_clockwise_seen_from_inside():
    # DALI 1.1, 3.3.7. From inside, north up, east is left: the south edge runs from east to west
    (polygon,) = rows_of(handover_plan([Panel("A1", 1, 1, 1, 100.0, 0.0, 0.0)], filters=()))["s_region"]
    (se_ra, se_dec), (sw_ra, sw_dec), (nw_ra, nw_dec), (ne_ra, ne_dec) = np.reshape(list(polygon), (4, 2))
    assert se_ra > 100 > sw_ra
    assert ne_ra > 100 > nw_ra
    assert max(se_dec, sw_dec) < 0 < min(nw_dec, ne_dec)


def test_field_of_view_is_the_diagonal():
    # 36 x 24 mm at 500 mm: diagonal 4.95490 degrees by 2 atan(d / 2f)
    camera = type(CAMERA)(500.0, (3600, 2400), 10.0)
    assert rows_of(handover_plan(camera=camera))["s_fov"][0] == pytest.approx(4.95490, abs=1e-5)


def test_planning_time_is_the_same_on_every_run():
    # MJD 51544 is 2000-01-01; 61413 is 2027-01-08
    assert rows_of(handover_plan())["t_planning"][0] == UNKNOWN_PLANNING_MJD == 51544.5
    assert rows_of(handover_plan(nights=NIGHTS))["t_planning"][0] == 61413.0
    assert rows_of(handover_plan(), planned_on=dt.date(2000, 1, 1))["t_planning"][0] == 51544.0
    assert obsplan_votable(handover_plan()) == obsplan_votable(handover_plan())


def test_plain_text_is_char_and_other_letters_are_unicode():
    kinds = {field.name: field.datatype for field in parsed(handover_plan()).fields}
    assert kinds["target_name"] == "unicodeChar"
    plain = handover_plan(title="Shell", filters=())
    assert {field.datatype for field in parsed(plain).fields} == {"char", "double", "int"}


def test_readings_and_those_that_cannot_be_reached():
    table = rows_of(handover_plan())
    # (20 - 112.4) + 180 = 87.6, by hand
    np.testing.assert_allclose(table["reading_deg"], [87.6, 87.6, 88.85, 88.85])
    short = AngleDevice("adjuster", zero_deg=112.4, range_deg=(0.0, 10.0))
    assert np.all(rows_of(handover_plan(device=short))["reading_deg"].mask)
