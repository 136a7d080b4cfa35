"""Lists of targets: margins as `fit` has them, hours as `nights` has them, the declination rule, groups, refusals."""

import datetime as dt
import itertools
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from planner.answers.fit import ARCMIN, fit_field
from planner.answers.nights import plan_nights
from planner.answers.plan import make_plan
from planner.answers.targets.find import find_targets
from planner.answers.targets.groups import find_all_groups
from planner.answers.targets.sky import all_things
from planner.answers.targets.wish import TargetWish
from planner.errors import InputError
from planner.files.plan_file.read import read_setup_file, request_from_text
from planner.mosaic.fit import Opening, Shape, best_placement
from planner.mosaic.region import Region
from planner.night.settings import Nights, Site
from planner.request.panels import PanelRequest
from planner.request.region import RegionRequest
from planner.request.request import Request

from .framings import karoo_framing

SETUP = read_setup_file(Path(__file__).parents[3] / "sample_targets" / "karoo_pier.toml")
NIGHTS = Nights(dt.date(2027, 5, 1), dt.date(2027, 5, 4), overhead_per_panel_min=6)
NAMES = ("IC 2944", "M 17", "NGC 6188", "RCW 27", "LDN 1688", "M 20")
DAYS = Nights(dt.date(2027, 6, 10), dt.date(2027, 6, 11))


def at(latitude_deg, **changes):
    """The sample setup at another latitude, without a horizon."""
    return replace(SETUP, sites=(Site(latitude_deg, 0.0, "pier", **changes),))


def request_of(target, **changes):
    region = RegionRequest(objects=target.parts) if target.parts else RegionRequest(object=target.name)
    assert SETUP.camera is not None
    return Request(
        title=target.name,
        camera=SETUP.camera,
        region=region,
        mount=SETUP.mount,
        sites=SETUP.sites,
        nights=NIGHTS,
        filters=SETUP.filters,
        **changes,
    )


@pytest.fixture(scope="module")
def found():
    return find_targets(SETUP, NIGHTS, TargetWish(names=NAMES, angle_deg=20.0))


def test_margins_and_angles_are_those_of_fit(found):
    things = {one.nebula.name: one for one in all_things()}
    field = SETUP.camera.field
    least = found.margin_asked_arcmin
    assert least == pytest.approx(0.05 * 2 * field.half_height * ARCMIN)
    for target in found.nebulae:
        alone = fit_field(things[target.name].shape, field, prove=False)
        assert target.margin_arcmin == pytest.approx(alone.margin_arcmin, abs=0.02)
        angles, margins = alone.curve
        held = [any((a - low) % 180 <= high - low for low, high in target.fits_at_deg) for a in angles]
        sure = np.abs(margins - least) > 0.02
        assert (np.array(held) == (margins >= least))[sure].all()
        now = margins[np.abs(angles - 20.0).argmin()]
        assert target.margin_now_arcmin == pytest.approx(now, abs=0.02)
        assert target.panels == 1
        assert target.panels_now == (1 if now >= 0 else 2)
        assert target.area_deg2 == pytest.approx(
            Region.from_rings(things[target.name].rings).area_deg2, rel=1e-6
        )


def test_hours_are_those_of_nights_for_a_plan_there(found):
    """Filter by filter and evening by evening, to the second, for a panel at the frame's centre."""
    for target in found.targets[:3:2]:
        panel = PanelRequest("A1", *target.center_deg, target.position_angle_deg)
        survey = plan_nights(make_plan(request_of(target, panels=(panel,)), effort="quick")).survey
        seconds = np.zeros((len(SETUP.filters), len(NIGHTS.evenings)))
        for night, one in enumerate(survey.evenings):
            for row in one.segments:
                seconds[row.chosen, night] += row.end_s - row.start_s
        assert (np.round(target.evening_hours * 3600) == seconds).all()
        assert list(target.hours.values()) == pytest.approx((seconds.sum(axis=1) / 3600).tolist())


@pytest.mark.parametrize("latitude_deg", [-89.0, -31.2, 0.0, 47.0, 78.0])
def test_listed_is_what_the_declination_rule_lets_rise(latitude_deg):
    """On some evening of a year, two months apart, every nebula stands high in the dark that rises so high at all.

    Source: greatest altitude 90 degrees less the distance of latitude and declination (Meeus, Astronomical
    Algorithms, 2nd ed., chapter 15). A degree and a half beside the limit is left to what is high for minutes only,
    to precession, and to the frame's own centre.
    """
    wish = TargetWish(catalogues=("vdB", "RCW"), size_arcmin=(8, 11), groups=False)
    listed = {}
    for month in range(1, 13, 2):
        evening = dt.date(2027, month, 5)
        found = find_targets(at(latitude_deg), Nights(evening, evening), wish)
        listed.update({one.name: one for one in found.targets})
        assert found.cuts.fit == found.cuts.low + found.cuts.by_day + len(found.targets)
    things = [one for one in all_things() if one.nebula.name in listed or 8 <= one.diameter_arcmin <= 11]
    assert len(things) > 40
    for one in things:
        altitude = 90 - abs(latitude_deg - one.nebula.dec_deg)
        if one.nebula.name in listed:
            assert altitude > 29.5
            assert listed[one.nebula.name].greatest_altitude_deg == pytest.approx(altitude, abs=0.3)
        elif any(name.startswith(("vdB ", "RCW ")) for name in one.nebula.names):
            assert altitude < 31.5


def test_polar_day_and_night():
    day = find_targets(at(78.0), DAYS, TargetWish(names=("NGC 7380", "Sh2-132")))
    assert day.targets == ()
    assert (day.cuts.fit, day.cuts.low, day.cuts.by_day) == (2, 0, 2)
    night = Nights(dt.date(2027, 12, 10), dt.date(2027, 12, 11))
    both = find_targets(at(78.0), night, TargetWish(names=("NGC 7380", "Sh2-132"))).nebulae
    assert len(both) == 2
    assert max(one.hours["Ha"] for one in both) > 30


def test_without_filters_or_angle():
    bare = replace(SETUP, filters=(), angle_device=None)
    (one,) = find_targets(bare, NIGHTS, TargetWish(names=("M 17",))).targets
    assert set(one.hours) == {"any"}
    assert (one.margin_now_arcmin, one.panels_now, one.cost) == (None, None, None)


def test_a_fixed_camera_has_its_own_angle():
    assert SETUP.angle_device is not None
    fixed = replace(SETUP, angle_device=replace(SETUP.angle_device, kind="fixed", zero_deg=200.0))
    found = find_targets(fixed, NIGHTS, TargetWish(names=("IC 2944", "M 17"), groups=False))
    assert found.now_deg == pytest.approx(20.0)
    with pytest.raises(InputError, match="fixed at position angle 200, got 30 .* leave it out"):
        find_targets(fixed, NIGHTS, TargetWish(names=("M 17",), angle_deg=30.0))
    for one in found.targets:
        assert one.position_angle_deg == pytest.approx(20.0)
        assert one.margin_arcmin == pytest.approx(one.margin_now_arcmin, abs=0.02)
        assert all(high - low < 1e-6 for low, high in one.fits_at_deg)


def test_mosaics_are_listed_up_to_so_many_panels():
    some = TargetWish(names=("Ced 122", "B 228", "M 17"), panels=2, groups=False)
    found = {one.name: one.panels for one in find_targets(SETUP, NIGHTS, some).targets}
    assert found == {"Ced 122": 2, "M 17": 1}
    four = find_targets(SETUP, NIGHTS, replace(some, panels=4)).targets
    assert {one.name: one.panels for one in four}["B 228"] in (3, 4)


def test_groups_by_brute_force():
    """All sets in which one nebula is the largest, each placed anew."""
    names = ("RCW 132", "NGC 6357", "M 8", "RCW 145", "M 17", "RCW 161", "M 16")
    things = [one for one in all_things() if one.nebula.name in names and one.diameter_arcmin > 47]
    framing = karoo_framing()
    opening = Opening.margins(framing.field)
    groups, note = find_all_groups(things, framing)
    assert "47 arc minutes or more" in note
    best = {}
    for count in (2, 3):
        for some in itertools.combinations(sorted(things, key=lambda one: -one.shape.radius_rad), count):
            shape = Shape.around([one.shape.corners for one in some])
            if np.tan(shape.radius_rad) > np.hypot(*opening.half):
                continue
            room = best_placement(shape, opening, rounds=2).room
            worth = room * sum(one.area_deg2 for one in some[1:])
            if room >= 0 and worth > best.get(some[0].nebula.name, (0.0, ()))[0]:
                best[some[0].nebula.name] = worth, tuple(one.nebula.name for one in some)
    assert {tuple(one.nebula.name for one in group.members) for group in groups} == {
        row[1] for row in best.values()
    }
    assert len(groups) >= 3


def test_what_is_planned_is_marked():
    one = request_of(find_targets(SETUP, NIGHTS, TargetWish(names=("M 17",))).targets[0])
    text = 'title = "Wide"\n[camera]\nfocal_length_mm = 380\nsensor_px = [6000, 4000]\npixel_um = 3.9\n'
    around = request_from_text(text + "[region]\ncenter = [274.7, -13.8]\nradius_deg = 2.0\n")
    wish = TargetWish(names=("M 17", "M 16", "RCW 27"), groups=False)
    marks = {
        row.name: row.planned_as for row in find_targets(SETUP, NIGHTS, wish, done=[one, around]).targets
    }
    assert marks == {"M 17": "M 17", "M 16": "Wide", "RCW 27": None}


@pytest.mark.parametrize("by", ["area", "margin", "time", "cost"])
def test_ranks(by, found):
    rows = find_targets(SETUP, NIGHTS, TargetWish(names=NAMES, by=by, groups=False)).targets
    key = {
        "area": lambda one: -one.area_deg2,
        "margin": lambda one: -one.margin_arcmin,
        "time": lambda one: -max(one.hours.values()),
        "cost": lambda one: one.cost if one.cost is not None else np.inf,
    }[by]
    values = [key(one) for one in rows]
    assert values == sorted(values)
    assert len(rows) == len(found.nebulae)


def test_refusals():
    cases = [
        (replace(SETUP, camera=None), NIGHTS, TargetWish(), r"need a camera, got none; add \[camera\]"),
        (replace(SETUP, sites=()), NIGHTS, TargetWish(), r"need a site, got none; add \[site\]"),
        (SETUP, None, TargetWish(), "need a season, got none"),
        (SETUP, Nights(dt.date(2027, 1, 1), dt.date(2029, 1, 2)), TargetWish(), "at most two years"),
        (SETUP, NIGHTS, TargetWish(kinds=("darc",)), "no kind 'darc' .* did you mean 'dark'"),
        (
            SETUP,
            NIGHTS,
            TargetWish(constellations=("Cignus",)),
            "no constellation 'Cignus'; did you mean 'Cygnus'",
        ),
        (SETUP, NIGHTS, TargetWish(catalogues=("XYZ",)), "a catalogue 'XYZ'; names are in"),
        (SETUP, NIGHTS, TargetWish(names=("M 31",)), "is no nebula"),
        (replace(SETUP, filters=()), NIGHTS, TargetWish(by="cost"), "ranking by cost needs filters"),
    ]
    for setup, nights, wish, text in cases:
        with pytest.raises(InputError, match=text):
            find_targets(setup, nights, wish)
    for wrong in (
        {"margin": 0.6},
        {"panels": 0},
        {"size_arcmin": (9.0, 3.0)},
        {"dec_deg": (0.0, 95.0)},
        {"by": "luck"},
    ):
        with pytest.raises(InputError):
            TargetWish(**wrong)
