"""Flats that are due: on night sheets, site sheet and hand-over, wherever the camera angle changes."""

import datetime as dt
from dataclasses import replace

import pytest
from icalendar import Calendar

from planner.answers.flats import RULE, due_flats
from planner.answers.night_steps import NO_TIME_FOR, flats_after, night_steps
from planner.answers.nights import plan_nights
from planner.draw.paper.night_sheet import night_sheets_pdf
from planner.draw.paper.site_sheet import site_sheet
from planner.files.exchange.calendar import calendar_bytes
from planner.handover.handover import handover_files
from planner.mosaic.panel import Panel
from planner.night.settings import Filter, Nights, Site
from planner.request.panels import PanelRequest
from planner.rig.angle_device import AngleDevice
from tests.draw.paper.pdf_text import pdf_text
from tests.handover.handover_plan import ADJUSTER, handover_plan

pytestmark = pytest.mark.usefixtures("made_once")
SITE = Site(-31.2, 22.6, "Karoo pier", time_zone="Africa/Johannesburg")
NIGHTS = Nights(dt.date(2027, 1, 8), dt.date(2027, 1, 10))
FILTERS = (Filter("Ha", "narrow", 600.0, 3), Filter("OIII", "narrow", 600.0, 3))
AT_A1, AT_B1 = "at 20.00° (reading 87.60°)", "at 21.25° (reading 88.85°)"


def words_of(content):
    return " ".join(pdf_text(content).split())


@pytest.fixture(scope="module")
def nights():
    return plan_nights(handover_plan(nights=NIGHTS, sites=(SITE,), filters=FILTERS))


def test_two_angles_need_two_sets():
    plan = handover_plan()
    assert [one.words for one in due_flats(plan)] == [
        f"flats in Hα, L, clear {AT_A1}",
        f"flats in Hα, L, clear {AT_B1}",
    ]


def test_angles_within_a_degree_share_flats_and_filters_that_no_panel_wants_are_left_out():
    panels = (Panel("A1", 1, 1, 1, 128.0, -45.0, 20.0), Panel("B1", 2, 2, 1, 129.5, -46.9, 20.8))
    listed = (
        PanelRequest("A1", 128.0, -45.0, 20.0, exposures={"Hα": 5}),
        PanelRequest("B1", 129.5, -46.9, 20.8, exposures={"Hα": 5}),
    )
    (due,) = due_flats(handover_plan(panels, device=None, listed=listed))
    assert (due.panels, due.filters, due.reading_deg) == (("A1", "B1"), ("Hα",), None)


def test_angles_at_which_nothing_is_left_to_shoot_need_none():
    listed = (
        PanelRequest("A1", 128.0, -45.0, 20.0, exposures={"Hα": 0, "L, clear": 0}),
        PanelRequest("B1", 129.5, -46.9, 21.25),
    )
    assert [one.panels for one in due_flats(handover_plan(listed=listed))] == [("B1",)]


def test_readings_half_a_turn_apart_are_two_cameras():
    """A flip is no turn of the camera, but a reading 180 degrees on is."""
    panels = (Panel("A1", 1, 1, 1, 128.0, -45.0, 20.0), Panel("B1", 2, 2, 1, 129.5, -46.9, 70.0))
    device = AngleDevice("adjuster", zero_deg=0.0, range_deg=(0.0, 360.0))
    assert len(due_flats(handover_plan(panels, device=device))) == 2
    assert (
        len(due_flats(handover_plan((panels[0], replace(panels[1], position_angle_deg=200.0)), device=None)))
        == 1
    )


def test_before_each_turn_the_flats_of_the_angle_that_ends(nights):
    steps = list(night_steps(nights))
    turned = [one for one in steps if one.turn]
    assert turned and all(one.flats.startswith("Before this turn: flats in ") for one in turned)
    assert all(one.first[0] == one.flats for one in turned)
    assert not any(one.flats for one in steps if not one.turn)
    before, after = steps[steps.index(turned[0]) - 1].block, turned[0].block
    name = nights.survey.filters[before.chosen].name
    assert before.panel != after.panel and name in turned[0].flats
    assert turned[0].flats.endswith(AT_A1 if before.panel == 0 else AT_B1)


def test_after_the_last_night_all_filters_since_the_last_turn_are_due(nights):
    blocks = nights.timetable.blocks
    last = max(block.night for block in blocks)
    turns = [number for number, one in enumerate(night_steps(nights)) if one.turn]
    since = {nights.survey.filters[block.chosen].name for block in blocks[turns[-1] :]}
    told = flats_after(nights, last)
    assert {name for name in ("Ha", "OIII") if name in told} == since
    assert told.endswith(AT_A1 if blocks[-1].panel == 0 else AT_B1)


def test_a_fixed_camera_is_never_turned():
    plan = handover_plan(
        nights=NIGHTS, sites=(SITE,), filters=FILTERS, device=AngleDevice("fixed", zero_deg=20.0)
    )
    nights = plan_nights(plan)
    assert not any(one.flats for one in night_steps(nights))
    assert flats_after(nights, 0) == ""


def test_the_calendar_of_one_camera_angle_names_flats_and_reading():
    panels = (Panel("A1", 1, 1, 1, 128.0, -45.0, 20.0), Panel("B1", 2, 2, 1, 129.5, -46.9, 20.0))
    nights = plan_nights(handover_plan(panels, nights=NIGHTS, sites=(SITE,), filters=FILTERS))
    events = Calendar.from_ical(calendar_bytes(nights)).walk("VEVENT")
    told = [str(event["DESCRIPTION"]) for event in events]
    assert all("position angle 20.00 (reading 87.60)" in one for one in told)
    last = nights.timetable.blocks[-1].night
    words = f"After this block, before anybody turns the camera: {flats_after(nights, last)}."
    assert words in told[-1] and "flats in" in words and NO_TIME_FOR in told[-1]


def test_sheets_calendar_and_index_list_them(nights):
    plan = nights.plan
    words = words_of(night_sheets_pdf(nights))
    assert "Before this turn: flats in" in words and "Before anybody turns the camera: flats in" in words
    events = Calendar.from_ical(calendar_bytes(nights)).walk("VEVENT")
    assert any("Before this turn: flats in" in str(event["DESCRIPTION"]) for event in events)
    assert NO_TIME_FOR in words
    told = [str(event["DESCRIPTION"]) for event in events]
    due = ("Before this turn", "before anybody turns the camera")
    assert all((NO_TIME_FOR in one) == any(words in one for words in due) for one in told)
    assert sum(due[1] in one for one in told) == len({block.night for block in nights.timetable.blocks})
    words = words_of(site_sheet(plan))
    assert RULE in words
    assert "A1 20.0° 87.6° Ha, OIII [ ]" in words and "B1 21.2° 88.8° Ha, OIII [ ]" in words
    index = " ".join(handover_files(plan, only=["ecsv"])[0].content.decode().split())
    assert f"{RULE} Here: flats in Ha, OIII {AT_A1}; flats in Ha, OIII {AT_B1}." in index


def test_without_device_or_filters():
    words = words_of(site_sheet(handover_plan(device=None, filters=())))
    assert "Panels Position angle Filters Done A1 20.0° all used [ ]" in words


def test_many_angles_are_cut_and_said():
    panels = tuple(Panel(f"A{k}", k, 1, k, 128.0 + k, -45.0, 2.0 * k) for k in range(1, 16))
    plan = handover_plan(panels, device=ADJUSTER)
    assert "3 more camera angles need flats of their own." in words_of(site_sheet(plan))
    index = " ".join(handover_files(plan, only=["ecsv"])[0].content.decode().split())
    assert "; 3 more camera angles, see position_angle_deg." in index
