"""Targets for the app: rows that filters leave, frames at an angle, and what a choice does to the plan file."""

import datetime as dt
import math
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from planner.answers.targets.find import find_targets
from planner.answers.targets.wish import TargetWish
from planner.files.plan_file.read import read_setup_file, request_from_text
from planner.geometry import sky_basis, sky_to_vector, vector_to_plane
from planner.mosaic.fit import Opening, placement_at
from planner.night.settings import Nights
from planner.session.edits import edited_text
from planner.session.targets.choosing import nights_of, target_edits
from planner.session.targets.desk import TargetDesk, setup_of
from planner.session.targets.frames import frames_at
from planner.session.targets.rows import RowWish, left_out, narrowed
from tests.app.conftest import ROOT

NAMES = ("IC 2944", "M 17", "M 8", "NGC 6188", "RCW 27")


@cache
def small_list():
    """Five nebulae for the sample pier, three evenings: made once."""
    setup = read_setup_file(ROOT / "sample_targets" / "karoo_pier.toml")
    nights = Nights(dt.date(2027, 5, 1), dt.date(2027, 5, 3))
    return find_targets(setup, nights, TargetWish(names=NAMES))


def group(found):
    """Two of the list as a group, as a list has them."""
    one, other = found.targets[:2]
    parts = (one.name, other.name)
    name = " and ".join(parts)
    return replace(
        one, name=name, names=(name,), kind="group", parts=parts, nebulae=one.nebulae + other.nebulae
    )


def test_filters():
    found = small_list()
    assert {one.name for one in found.targets} == set(NAMES)
    assert [one.name for one in narrowed(found, RowWish(text="sharpless 45")).targets] == ["M 17"]
    assert [one.name for one in narrowed(found, RowWish(order="name")).targets] == sorted(NAMES)
    hours = [one.most_hours for one in narrowed(found, RowWish(order="hours")).targets]
    assert hours == sorted(hours, reverse=True)
    few = narrowed(found, RowWish(least_hours=hours[2])).targets
    assert left_out(found, RowWish(least_hours=hours[2])) == (
        (len(found.targets) - len(few), f"with fewer hours than {hours[2]:g}"),
    )
    strict = RowWish(text="sharpless 45", smallest_arcmin=115.0)
    left = len(narrowed(found, strict).targets)
    assert left + sum(count for count, _ in left_out(found, strict)) == len(found.targets)  # each is told once
    assert {one.most_hours for one in few} == set(hours[:3])
    assert not narrowed(found, RowWish(kinds=("dark",))).targets
    wide = narrowed(found, RowWish(smallest_arcmin=115.0)).targets
    assert wide and len(wide) < len(NAMES)


def test_groups_are_shown_when_asked_for_and_found_by_their_parts():
    found = small_list()
    with_group = replace(found, targets=(*found.targets, group(found)))
    assert len(narrowed(with_group, RowWish(groups=False)).targets) == len(NAMES)
    text = group(found).parts[1]
    assert {one.kind for one in narrowed(with_group, RowWish(text=text)).targets} >= {"group"}


@pytest.mark.parametrize("angle", [0.0, 77.0, 212.4])
def test_frames_are_the_best_at_that_angle(angle):
    """Margins against the search for one shape alone, and against the outlines' corners in the frame's plane."""
    from planner.answers.targets.sky import all_things

    found = small_list()
    things = {thing.nebula.index: thing for thing in all_things()}
    for one, frame in zip(found.targets, frames_at(found.targets, found.field, angle), strict=True):
        thing = things[one.nebulae[0]]
        alone = placement_at(thing.shape, Opening.margins(found.field), math.radians(angle))
        assert frame.margin_arcmin == pytest.approx(math.degrees(60 * alone.room), abs=0.02)
        assert frame.margin_arcmin <= one.margin_arcmin + 0.05
        basis = sky_basis(*frame.center_deg, angle)
        x, y = np.abs(np.concatenate([vector_to_plane(ring, basis) for ring in thing.rings])).T
        room = min((found.field.half_width - x).min(), (found.field.half_height - y).min())
        assert frame.margin_arcmin == pytest.approx(math.degrees(60 * room), abs=1e-3)
        corners = sky_to_vector(*np.array(frame.corners_deg).T)
        seen = vector_to_plane(corners, basis)
        assert np.abs(seen) == pytest.approx(
            np.tile([found.field.half_width, found.field.half_height], (4, 1)), abs=1e-6
        )


def test_counts_at_random_angles_by_fitting_anew():
    """What the curve says is served, against every target placed at that angle by itself."""
    from planner.answers.targets.served import angle_service

    found = small_list()
    nebulae, service = found.nebulae, angle_service(found)
    for angle in np.random.default_rng(5).uniform(0, 180, 12):
        margins = np.array([one.margin_arcmin for one in frames_at(nebulae, found.field, angle)])
        assert np.abs(margins - found.margin_asked_arcmin).min() > 0.01  # none on the edge
        assert service.served_at(angle) == (margins > found.margin_asked_arcmin).sum()


def test_a_group_has_one_frame_about_all_its_parts():
    found = small_list()
    both = frames_at([group(found), *found.targets[:2]], found.field, 20.0)
    assert both[0].margin_arcmin < min(one.margin_arcmin for one in both[1:])


TEXT = """\
title = "Before"
[camera]
focal_length_mm = 380.0
sensor_px = [6000, 4000]
pixel_um = 3.9
[region]
center = [128.5, -45.8]
radius_deg = 0.5
[mosaic]
columns = 2
rows = 1
[site]
latitude_deg = -31.2
longitude_deg = 22.6
time_zone = "Africa/Johannesburg"
[nights]
first = 2027-03-01
last = 2027-03-02
"""


def test_a_target_becomes_the_region_at_the_angle():
    found = small_list()
    one = found.targets[0]
    request = request_from_text(edited_text(TEXT, target_edits(one, 32.4)))
    assert request.title == request.region.object == one.name and request.region.center is None
    assert request.mosaic.position_angle_deg == 32.4 and request.mosaic.columns is None
    both = request_from_text(edited_text(TEXT, target_edits(group(found), None)))
    assert both.region.objects == group(found).parts
    assert both.mosaic.position_angle_deg is None


def test_year_of_a_target_is_that_of_its_frame():
    one = small_list().targets[0]
    nights = nights_of(request_from_text(TEXT), one)
    assert nights.timetable is None
    assert nights.survey.targets.names == (one.name,)
    assert float(nights.survey.targets.ra_deg[0]) == pytest.approx(one.center_deg[0], abs=1e-9)


def test_a_list_is_made_once_for_a_setup(monkeypatch):
    """Another region, or another tab, asks for the same list."""
    made = []
    monkeypatch.setattr("planner.session.targets.desk._found", lambda setup, report: made.append(setup))
    desk, request = TargetDesk(), request_from_text(TEXT)
    other = request_from_text(TEXT.replace("128.5", "10.5"))
    later = request_from_text(TEXT.replace("2027-03-02", "2027-03-09"))
    for one in (request, other, request, later, later):
        assert desk.making(one).made is None
    assert made == [setup_of(request), setup_of(later)]
