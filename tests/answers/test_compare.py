import datetime as dt
import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from astropy import units as u
from astropy.coordinates import Latitude, Longitude
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.answers.compare import compare_setups, setup_request
from planner.errors import InputError
from planner.files.documents.compare import compare_document
from planner.files.plan_file.read import request_from_document
from planner.night.rising import hours_in_reach
from planner.night.settings import Filter, Nights, Site
from planner.request.request import MosaicRequest, PictureRequest, Setup
from planner.rig.angle_device import AngleDevice
from planner.rig.camera import Camera
from planner.rig.mount import Mount
from planner.rig.reachable_arcs import common_arcs, travel_arc

pytestmark = pytest.mark.usefixtures("made_once")

WIDE = Camera(380.0, (6000, 4000), 3.9)
LONG = Camera(700.0, (6000, 4000), 3.9)
SOUTH = Site(-32.0, 20.0, name="South", currency="ZAR", hour_price=((0.0, 900.0), (0.5, 600.0)))
NORTH = Site(52.0, 13.0, name="North")
HA = Filter("Ha", "narrow", 600.0, 18)


def region_request(mosaic=None, **tables):
    document = {
        "title": "Field",
        "camera": {"focal_length_mm": 380.0, "sensor_px": [6000, 4000], "pixel_um": 3.9},
        "region": {"center": [128.0, -45.0], "width_deg": 4.0, "height_deg": 3.0, "position_angle_deg": 30.0},
        "mosaic": {"layout": "sliding", **(mosaic or {})},
        **tables,
    }
    return request_from_document(document)


def setup(title, **tables):
    return Setup(title=title, path=Path(f"{title}.toml"), **{"camera": WIDE, **tables})


def compare(setups, **changes):
    return compare_setups(region_request(**changes), setups, effort="quick")


def only(one, **changes):
    (answer,) = compare([one], **changes)
    return answer


PIN = {"position_angle_deg": 30.0}
"""Pinned where the angle does not matter, to be quick."""


def test_hours_cost_and_print_by_hand():
    nights = Nights(
        dt.date(2027, 1, 1), dt.date(2027, 1, 9), overhead_per_panel_min=6, overhead_per_exposure_s=8
    )
    answer = only(
        setup("Pier", sites=(SOUTH,), filters=(HA, replace(HA, name="OIII", exposures=9)), nights=nights),
        mosaic=PIN,
    )
    panels = answer.panels
    assert answer.cannot == () and panels == len(answer.plan.mosaic.panels) >= 2
    assert answer.hours.exposures == pytest.approx(panels * 27 * 600 / 3600)
    # two blocks of 6 minutes and 27 times 8 seconds a panel
    assert answer.hours.overheads == pytest.approx(panels * (0.2 + 27 * 8 / 3600))
    assert answer.cost.least == pytest.approx(600 * answer.hours.all)
    assert answer.cost.most == pytest.approx(900 * answer.hours.all)
    assert answer.cost.currency == "ZAR"
    # 300 pixels an inch where the plan asks for nothing else
    assert answer.print_width_cm == pytest.approx(answer.plan.picture.pixels[0] / 300 * 2.54)
    assert answer.scale_arcsec_px == pytest.approx(206.264806 * 3.9 / 380)


@pytest.mark.parametrize(("first", "last", "low", "high"), [(5, 9, 0.97, 1.0), (20, 24, 0.05, 0.35)])
def test_hours_are_worth_what_the_seasons_moon_leaves_of_them(first, last, low, high):
    """New moon was on 2027-01-07, full moon on 2027-01-22 (phases of DE421)."""
    nights = Nights(dt.date(2027, 1, first), dt.date(2027, 1, last))
    broad = Filter("L", "broad", 180.0, 20, moon_illumination=1.0)
    hours = [
        only(setup("Pier", sites=(SOUTH,), filters=(one,), nights=nights), mosaic=PIN).hours
        for one in (broad, Filter("Ha", "narrow", 180.0, 20, moon_illumination=1.0))
    ]
    shares = [one.dark_sky / one.exposures for one in hours]
    assert low <= shares[0] <= shares[1] <= 1.0
    assert shares[0] <= high


def test_hours_without_a_season_or_with_a_filter_that_has_none_are_worth_what_nobody_knows():
    assert only(setup("Pier", sites=(SOUTH,), filters=(HA,)), mosaic=PIN).hours.dark_sky is None
    bright = Nights(dt.date(2027, 1, 22), dt.date(2027, 1, 22))
    none = Filter("L", "broad", 180.0, 20, moon_illumination=0.0, moon_separation_deg=180.0)
    answer = only(setup("Pier", sites=(SOUTH,), filters=(HA, none), nights=bright), mosaic=PIN)
    assert answer.hours.dark_sky is None
    assert "dark_sky_hours" not in compare_document([answer])["setups"][0]


def test_print_width_takes_the_density_asked_for():
    plain, coarse = (only(setup("Pier"), mosaic=PIN, picture={"print_ppi": ppi}) for ppi in (300, 150))
    assert coarse.print_width_cm == pytest.approx(2 * plain.print_width_cm)


def test_sorted_by_hours_and_what_cannot_last():
    setups = [
        setup("Nowhere", sites=(NORTH,), filters=(HA,)),
        setup("Long", camera=LONG, sites=(SOUTH,), filters=(HA,)),
        setup("Wide", sites=(SOUTH,), filters=(HA,)),
        setup("Unknown", sites=(SOUTH,)),
    ]
    answers = compare(setups, mosaic=PIN)
    assert [one.name for one in answers] == ["Wide", "Long", "Unknown", "Nowhere"]
    assert answers[0].panels < answers[1].panels
    assert answers == tuple(sorted(answers, key=lambda one: bool(one.cannot)))
    assert answers[3].cannot == ("the region never rises above 30 degrees and the horizon of North",)


def test_document_has_the_keys_that_have_ground():
    setups = [
        setup("Wide", sites=(SOUTH,), filters=(HA,)),
        setup("Bare"),
        setup("North", sites=(NORTH,), filters=(HA,)),
    ]
    document = compare_document(compare(setups, mosaic=PIN))
    assert document["schema"] == "compare 1"
    wide, bare, north = document["setups"]
    basic = ["setup", "panels", "position_angle_deg", "scale_arcsec_px"]
    assert list(wide) == [*basic, "exposure_hours", "cost", "print_width_cm"]
    assert list(bare) == list(north) == [*basic, "print_width_cm"]
    assert wide["cost"] == pytest.approx(900 * wide["exposure_hours"])


def test_every_panel_must_rise():
    # at latitude 15 N, declination -45 culminates at 30 degrees: a part of the region stays below
    edge = Site(15.0, 0.0, name="Edge")
    answer = only(setup("Edge", sites=(edge,), filters=(HA,)), mosaic=PIN)
    dec = np.array([panel.dec_deg for panel in answer.plan.mosaic.panels])
    low = int((90.0 - (15.0 - dec) < 30.0).sum())
    assert 0 < low < len(dec)
    assert answer.cannot == (
        f"{low} of {len(dec)} panels never rise above 30 degrees and the horizon of Edge",
    )
    assert answer.hours is None and answer.cost is None


def test_one_site_of_several_is_enough_and_sets_the_price():
    cheap = replace(NORTH, currency="EUR", hour_price=((0.0, 1.0),))
    answer = only(setup("Two", sites=(cheap, SOUTH), filters=(HA,)), mosaic=PIN)
    assert answer.cannot == () and answer.cost.currency == "ZAR"
    mixed = replace(SOUTH, name="Other", currency="EUR")
    assert only(setup("Two", sites=(mixed, SOUTH), filters=(HA,)), mosaic=PIN).cost is None


def test_horizon_counts():
    walled = replace(SOUTH, horizon_deg=((0.0, 89.0), (180.0, 89.0)), name="Walled")
    assert "horizon of Walled" in only(setup("Walled", sites=(walled,), filters=(HA,)), mosaic=PIN).cannot[0]


@pytest.mark.parametrize("latitude", [-75.0, -32.0, 0.0, 52.0])
def test_hours_in_reach_by_the_semidiurnal_arc(latitude):
    # cos H = (sin h - sin phi sin d) / (cos phi cos d), any text of spherical astronomy; Meeus ch. 15, eq. 15.1
    dec = np.arange(-85.0, 86.0, 5.0)
    h, phi, d = np.radians(25.0), np.radians(latitude), np.radians(dec)
    cosine = (np.sin(h) - np.sin(phi) * np.sin(d)) / (np.cos(phi) * np.cos(d))
    expected = np.degrees(np.arccos(np.clip(cosine, -1, 1))) / 7.5
    found = hours_in_reach(Site(latitude, 0.0, lowest_altitude_deg=25.0), dec)
    np.testing.assert_allclose(found, expected, atol=0.04)  # two steps of a minute


def test_hours_in_reach_over_a_horizon_against_astropy():
    from astropy.coordinates import CartesianRepresentation, SphericalRepresentation
    from astropy.coordinates.matrix_utilities import rotation_matrix

    site = Site(40.0, 0.0, lowest_altitude_deg=10.0, horizon_deg=((60.0, 40.0), (120.0, 10.0), (300.0, 25.0)))
    hour_angle = np.arange(-180.0, 180.0, 0.25)
    # hour angle and declination to the horizon: a turn about the east-west axis
    sky = SphericalRepresentation(
        Longitude(-hour_angle, u.deg),
        Latitude(np.full(len(hour_angle), 20.0), u.deg),
        np.ones(len(hour_angle)),
    ).represent_as(CartesianRepresentation)
    up_south = sky.transform(rotation_matrix((90.0 - 40.0) * u.deg, "y"))
    azimuth = np.degrees(np.arctan2(up_south.y, -up_south.x).value) % 360.0
    altitude = np.degrees(np.arcsin(np.clip(up_south.z.value, -1, 1)))
    horizon = np.interp(azimuth, [60.0, 120.0, 300.0], [40.0, 10.0, 25.0], period=360.0)
    expected = (altitude >= np.maximum(10.0, horizon)).mean() * 24.0
    assert hours_in_reach(site, [20.0])[0] == pytest.approx(expected, abs=0.04)


def test_a_setup_with_other_filters_says_whose_count():
    plans = {"name": "L", "band": "broad", "exposure_s": 300.0, "exposures": 36}
    other = only(setup("Other", filters=(HA,)), mosaic=PIN, filters=[plans])
    (note,) = (note for note in other.notes if "[[filters]]" in note)
    assert "Ha 18 x 600 s" in note and "L 36 x 300 s" in note
    assert other.hours.exposures == 3.0 * other.panels
    for same in (setup("None"), setup("Same", filters=(Filter("L", "broad", 300.0, 36),))):
        assert not any("[[filters]]" in note for note in only(same, mosaic=PIN, filters=[plans]).notes)


def test_fixed_camera_keeps_its_angle():
    answer = only(setup("Fixed", angle_device=AngleDevice("fixed", zero_deg=195.0)))
    assert answer.position_angle_deg % 180.0 == pytest.approx(15.0)
    assert answer.cannot == () and "its camera is fixed at position angle 195" in answer.notes
    free = only(setup("Free"))
    assert free.panels <= answer.panels


def test_fixed_camera_cannot_take_another_angle():
    fixed = setup("Fixed", angle_device=AngleDevice("fixed", zero_deg=15.0))
    answer = only(fixed, mosaic={"position_angle_deg": 40.0})
    assert answer.cannot == ("its camera is fixed at position angle 15, the plan asks for the angle 40",)
    assert answer.plan is None and list(compare_document([answer])["setups"][0]) == [
        "setup",
        "scale_arcsec_px",
    ]
    assert only(fixed, mosaic={"position_angle_deg": 195.0}).cannot == ()  # half a turn is the same ground


def test_fixed_camera_cannot_turn_per_panel():
    fixed = setup("Fixed", angle_device=AngleDevice("fixed", zero_deg=15.0))
    answer = only(fixed, mosaic={"angles": "per_panel"})
    assert answer.cannot == () and answer.plan.mosaic.angles == 1
    assert "angles = 'per_panel' is left aside, since it cannot turn" in answer.notes


def test_travel_limits_the_angle():
    narrow = AngleDevice("rotator", zero_deg=100.0, range_deg=(0.0, 20.0), sense=-1)
    answer = only(setup("Narrow", angle_device=narrow))
    assert 80.0 - 1e-6 <= answer.position_angle_deg % 180.0 <= 100.0 + 1e-6
    both = only(setup("Narrow", angle_device=narrow), mosaic={"position_angle_range_deg": [90.0, 150.0]})
    assert 90.0 - 1e-6 <= both.position_angle_deg % 180.0 <= 100.0 + 1e-6
    none = only(setup("Narrow", angle_device=narrow), mosaic={"position_angle_range_deg": [120.0, 150.0]})
    assert none.cannot[0].startswith("its angle device cannot reach angles [120.0, 150.0]")


def test_altazimuth_mount_needs_a_rotator():
    bare = only(setup("Altaz", mount=Mount("altaz")), mosaic=PIN)
    assert "no rotator" in bare.cannot[0]
    assert (
        only(setup("Altaz", mount=Mount("altaz"), angle_device=AngleDevice("rotator")), mosaic=PIN).cannot
        == ()
    )


def test_overlap_that_a_field_cannot_give_is_said():
    answer = only(
        setup("Long", camera=replace(LONG, focal_length_mm=6000.0)), mosaic={"overlap_arcmin": 30.0}
    )
    assert "overlap" in answer.cannot[0] and answer.plan is None


def test_wishes_are_the_plans_and_errors_the_setups():
    theirs = MosaicRequest(
        overlap=0.4, position_angle_deg=10.0, pointing_error_arcmin=2.0, angle_error_deg=0.5
    )
    request = region_request(mosaic={"overlap": 0.2}, picture={"aspect": [3, 2]})
    found = setup_request(request, setup("Pier", mosaic=theirs, picture=PictureRequest((1.0, 1.0))))
    assert (found.mosaic.overlap, found.mosaic.position_angle_deg) == (0.2, None)
    assert (found.mosaic.pointing_error_arcmin, found.mosaic.angle_error_deg) == (2.0, 0.5)
    assert found.picture.aspect == (3, 2) and found.camera == WIDE


def test_setups_of_one_name_are_told_apart():
    twins = [replace(setup("Pier"), path=Path(name)) for name in ("a.toml", "b.toml")]
    assert [one.name for one in compare(twins, mosaic=PIN)] == ["Pier (a.toml)", "Pier (b.toml)"]
    assert only(replace(setup("Pier"), title=None), mosaic=PIN).name == "Pier"


def test_setup_without_camera_is_refused():
    with pytest.raises(InputError, match=r"bare.toml has no \[camera\] table"):
        compare([setup("bare", camera=None)])


arcs = st.tuples(st.integers(0, 179).map(float), st.integers(0, 180).map(float))


@given(arcs, arcs)
@settings(max_examples=200)
def test_common_arcs_hold_what_both_hold(first, second):
    def holds(arc, angle):
        return (angle - arc[0]) % 180.0 <= arc[1] or arc[1] >= 180.0

    shared = common_arcs(first, second, period_deg=180.0)
    for angle in np.arange(0.0, 180.0, 1.0):
        assert any(holds(arc, angle) for arc in shared) == (holds(first, angle) and holds(second, angle))


@pytest.mark.parametrize("sense", [1, -1])
def test_travel_arc_is_what_readings_show(sense):
    device = AngleDevice("rotator", zero_deg=33.0, sense=sense, range_deg=(-20.0, 95.0))
    start, span = travel_arc(device, period_deg=180.0)
    for angle in np.arange(0.5, 180.0, 3.0):
        inside = (angle - start) % 180.0 <= span
        assert inside == bool(device.readings_for(float(angle), period_deg=180.0))
    assert math.isclose(span, 115.0)
