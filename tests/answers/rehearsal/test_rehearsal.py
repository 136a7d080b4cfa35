"""What is put into a rehearsal: its exposures, the faults and their numbers, where frames stand."""

from collections import Counter
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from planner.answers.rehearsal.choices import FAULTS
from planner.answers.rehearsal.exposures import timetable_exposures
from planner.answers.rehearsal.rehearsal import make_rehearsal
from planner.errors import InputError
from planner.frames.review.limits import Limits
from planner.night.settings import Filter, Nights
from planner.rig.camera import Camera
from tests.hard_fields import HARD_FIELDS

from .small_rehearsal import CAMERA, DUSK_S, FILTERS, FIRST, small_nights, small_plan, small_rehearsal

pytestmark = pytest.mark.usefixtures("made_once")


def test_every_exposure_of_the_timetable_has_its_start_in_its_entry():
    plan = small_plan()
    nights = small_nights(plan)
    slow = replace(
        plan.request.nights, overhead_per_panel_min=5.0, overhead_per_exposure_s=20.0, clear_fraction=0.5
    )
    nights.survey.nights = slow
    first = timetable_exposures(nights)[0]
    assert first.start_s == DUSK_S + 300
    second = timetable_exposures(nights)[1]
    assert second.start_s == DUSK_S + 300 + round((600 + 20) / 0.5)
    nights.survey.nights = Nights(FIRST, FIRST)
    blocks = nights.timetable.blocks
    found = timetable_exposures(nights)
    assert len(found) == sum(block.exposures for block in blocks)
    for one in found:
        block = blocks[one.entry]
        assert block.start_s <= one.start_s <= one.start_s + one.exposure_s <= block.end_s + 1
        assert (one.panel, one.chosen, one.looking) == (block.panel, block.chosen, block.looking)
    assert len({(one.panel, one.chosen, one.number) for one in found}) == len(found)


def test_the_first_evenings_that_have_entries_are_played():
    nights = small_nights(small_plan(), evenings=4)
    assert len({one.evening for one in timetable_exposures(nights, 3)}) == 3
    assert max(one.evening for one in timetable_exposures(nights, 1)) == FIRST
    assert len(timetable_exposures(nights, 99)) == len(timetable_exposures(nights))
    with pytest.raises(InputError, match="at least 1, got 0"):
        timetable_exposures(nights, 0)


def test_without_faults_every_frame_stands_on_its_panel():
    rehearsal = small_rehearsal(faults="none", solutions="all")
    panels = {panel.name: panel for panel in rehearsal.plan.mosaic.panels}
    assert all(frame.solved and not frame.faults for frame in rehearsal.frames)
    for frame in rehearsal.frames:
        panel = panels[frame.panel]
        assert (frame.aim.ra_deg, frame.aim.dec_deg) == (panel.ra_deg, panel.dec_deg)
        assert frame.aim.position_angle_deg == panel.position_angle_deg
        assert frame.filter_told == frame.filter


@pytest.mark.parametrize(("level", "least", "most"), [("some", 0.1, 0.4), ("many", 0.3, 0.75)])
def test_every_fault_occurs_in_its_number(level, least, most):
    rehearsal = small_rehearsal(evenings=12, faults=level)
    counts, count = rehearsal.counts(), len(rehearsal.frames)
    assert set(counts) == set(FAULTS)
    apart = [set(frame.faults) - {"flip", "drift"} for frame in rehearsal.frames]
    assert all(len(faults) <= 1 for faults in apart)
    spoilt = sum(bool(set(frame.faults) - {"flip"}) for frame in rehearsal.frames)
    assert least < spoilt / count < most
    share = {"some": 0.03, "many": 0.07}[level]
    exposures = sum(frame.stacked for frame in rehearsal.frames)
    assert counts["pointing"] == round(share * exposures)
    assert counts["stack"] == {"some": 1, "many": 3}[level]
    assert exposures == 12 * 4 * 6


def test_missing_frames_are_counted_as_nothing_else():
    """How they would have stood is in the machine form alone."""
    rehearsal = small_rehearsal(faults="many", seed=1)
    lost = [frame for frame in rehearsal.frames if not frame.came_back]
    assert any("flip" in frame.faults for frame in lost)
    counts = rehearsal.counts()
    assert counts["missing"] == len(lost)
    assert counts["flip"] == sum("flip" in frame.faults for frame in rehearsal.written)


@pytest.mark.parametrize("field", [one for one in HARD_FIELDS if one.width_deg == 3.3], ids=str)
def test_what_lies_beyond_the_limits_of_a_review_has_its_word_and_nothing_else(field):
    rehearsal = small_rehearsal(
        small_plan((field.ra_deg, field.dec_deg, field.position_angle_deg)), evenings=6, faults="many", seed=3
    )
    limits = Limits.of_plan(rehearsal.plan.request)
    seen = Counter()
    for frame in rehearsal.frames:
        wanted, basis = frame.planned.basis, frame.aim.basis
        offset = 60.0 * np.degrees(np.arccos(np.clip(wanted[2] @ basis[2], -1, 1)))
        turn = np.degrees(np.arctan2(wanted[0] @ basis[1], wanted[1] @ basis[1]))
        folded = (turn + 90.0) % 180.0 - 90.0
        assert (offset > limits.offset_arcmin) == ("pointing" in frame.faults)
        assert (abs(folded) > limits.angle_deg) == bool({"turned", "drift"} & set(frame.faults))
        assert (abs(turn) > 90.0) == ("flip" in frame.faults)
        seen.update(frame.faults)
    assert {"pointing", "turned", "drift", "flip"} <= set(seen)


def test_errors_that_the_plan_allows_for_widen_what_is_a_fault():
    plan = small_plan(pointing_error_arcmin=9.0, angle_error_deg=1.5)
    frames = small_rehearsal(plan, evenings=6, faults="many").frames
    offsets = [
        60.0 * np.degrees(np.arccos(min(1.0, frame.planned.basis[2] @ frame.aim.basis[2])))
        for frame in frames
    ]
    beyond = [offset for frame, offset in zip(frames, offsets, strict=True) if "pointing" in frame.faults]
    within = [offset for frame, offset in zip(frames, offsets, strict=True) if "pointing" not in frame.faults]
    assert min(beyond) > 9.0 * 1.2
    assert 1.5 < max(within) < 0.4 * 9.0


def test_an_overlap_so_wide_that_every_place_is_near_a_panel_has_no_pointing_error_that_is_none():
    plan = small_plan(overlap=0.9)
    centers = np.array([frame.planned.basis[2] for frame in small_rehearsal(plan).frames])
    limit = Limits.of_plan(plan.request).offset_arcmin
    for frame in small_rehearsal(plan, evenings=4, faults="many").frames:
        apart = 60.0 * np.degrees(np.arccos(np.clip(centers @ frame.aim.basis[2], -1, 1))).min()
        assert (apart > limit) == ("pointing" in frame.faults)


def test_the_side_and_the_reading_say_which_frames_are_upside_down():
    """Looking east the same reading shows the sky turned by 180 degrees (conventions of the angle device)."""
    plan = small_plan()
    device, panels = plan.request.angle_device, {panel.name: panel for panel in plan.mosaic.panels}
    for frame in small_rehearsal(plan, faults="some").frames:
        wanted = panels[frame.panel].position_angle_deg
        reading = device.nearest_reading(wanted, period_deg=180.0)[0]
        shown = device.position_angle_of(reading, looking=frame.exposure.looking)
        assert ("flip" in frame.faults) == (abs((shown - wanted + 180.0) % 360.0 - 180.0) > 90.0)
    without = small_rehearsal(small_plan(device=False)).frames
    assert all(("flip" in frame.faults) == (frame.exposure.looking == "west") for frame in without)
    fork = small_rehearsal(small_plan(mount="fork"), faults="many")
    assert fork.counts()["flip"] == 0
    assert fork.counts()["pointing"] > 0


def test_solutions_all_every_second_or_none():
    def solved(how):
        return [frame.solved for frame in small_rehearsal(faults="many", solutions=how).written]

    dark = [
        bool({"clouds", "trailed"} & set(frame.faults)) for frame in small_rehearsal(faults="many").written
    ]
    assert any(dark)
    assert solved("none") == [False] * len(dark)
    assert solved("all") == [not one for one in dark]
    assert solved("half") == [number % 2 == 0 and not one for number, one in enumerate(dark)]


def test_the_seed_decides():
    def told(seed):
        return [(frame.faults, frame.aim) for frame in small_rehearsal(faults="many", seed=seed).frames]

    assert told(1) == told(1) != told(2)


def test_a_stack_has_the_seconds_of_its_exposures():
    rehearsal = small_rehearsal(faults="some")
    (stack,) = [frame for frame in rehearsal.frames if "stack" in frame.faults]
    assert stack.stacked == 4
    assert stack.exposure_s == 4 * FILTERS[stack.exposure.chosen].exposure_s
    assert sum(frame.exposure_s for frame in rehearsal.frames) == 2 * (2 * 6 * 600.0 + 2 * 6 * 300.0)


@pytest.mark.parametrize("count", [1, 2, 3, 5])
def test_few_exposures_are_not_all_spoilt(count):
    plan = small_plan(filters=(Filter("Ha", "narrow", 600.0, 1),))
    nights = small_nights(plan, evenings=2)
    nights.timetable = SimpleNamespace(blocks=nights.timetable.blocks[:count])
    frames = make_rehearsal(nights, faults="many").frames
    own = sum(bool(set(frame.faults) - {"flip", "drift"}) for frame in frames)
    assert len(frames) == count
    assert own <= 0.6 * count


def test_a_whole_season_stays_below_500_mb():
    small = small_rehearsal()
    assert small.size_px == (600, 400)
    assert small.frames_bytes < 500 * 1024 * len(small.written)
    busy = small_plan(filters=(Filter("L", "broad", 60.0, 500),))
    large = make_rehearsal(small_nights(busy, evenings=2), faults="none")
    assert len(large.frames) == 4000
    assert 300e6 < large.frames_bytes < 500e6
    countless = small_plan(filters=(Filter("L", "broad", 1.0, 20_000),))
    with pytest.raises(InputError, match="160000 frames do not fit into 490 MB"):
        make_rehearsal(small_nights(countless, evenings=2))


def test_binned_plans_and_small_sensors_are_not_drawn_finer_than_they_are():
    binned = replace(CAMERA, sensor_px=(600, 400), pixel_um=39.0, binning=4)
    assert small_rehearsal(small_plan(camera=binned)).size_px == (150, 100)
    tiny = Camera(focal_length_mm=380.0, sensor_px=(60, 40), pixel_um=390.0)
    assert small_rehearsal(small_plan(camera=tiny)).size_px == (60, 40)
    slim = Camera(focal_length_mm=380.0, sensor_px=(90_000, 50), pixel_um=0.3)
    assert small_rehearsal(small_plan(camera=slim)).size_px == (1800, 1)


def test_panels_with_few_stars_are_named():
    narrow = small_plan(camera=Camera(2000.0, (3000, 2000), 3.9))
    assert small_rehearsal(narrow, solutions="half").poor_panels() == ("A1", "A2", "B1", "B2")
    assert small_rehearsal(narrow, solutions="all", faults="none").poor_panels() == ()
    assert small_rehearsal(small_plan(), solutions="none").poor_panels() == ()


@pytest.mark.parametrize(
    ("how", "words"),
    [
        ({"seed": -1}, r"the seed must be in \[0, 9223372036854775807\], got -1"),
        ({"faults": "lots"}, "faults must be one of none, some, many, got 'lots'"),
        ({"solutions": "few"}, "solutions must be one of all, half, none, got 'few'"),
        ({"evenings": 0}, "the number of nights must be at least 1, got 0"),
    ],
)
def test_senseless_wishes_are_refused(how, words):
    with pytest.raises(InputError, match=words):
        make_rehearsal(small_nights(small_plan()), **how)


def test_a_plan_without_filters_or_with_an_empty_timetable_is_refused():
    nights = small_nights(small_plan())
    nights.timetable = SimpleNamespace(blocks=())
    with pytest.raises(InputError, match="nothing of the plan can be shot"):
        make_rehearsal(nights)
    nights.plan = replace(nights.plan, request=replace(nights.plan.request, filters=()))
    with pytest.raises(InputError, match=r"add \[\[filters\]\]"):
        make_rehearsal(nights)
