"""Every output that has something move, or somebody touch it, tells its cautions: all of them, no others."""

import datetime as dt
import sys
from dataclasses import replace
from functools import cache

import pytest
from icalendar import Calendar
from streamlit.testing.v1 import AppTest

from planner.answers.camera_angle import camera_angle
from planner.answers.night_steps import night_steps
from planner.answers.nights import plan_nights
from planner.answers.progress import progress_of
from planner.cli import main
from planner.cli.nights_report import print_nights
from planner.cli.progress.report import print_progress
from planner.cli.review_report import Faulty, print_review
from planner.draw.paper.angle_sheet import angle_sheet
from planner.draw.paper.night_sheet import night_sheets_pdf
from planner.draw.paper.site_sheet import site_sheet
from planner.files.exchange.calendar import calendar_bytes
from planner.frames.review.limits import Limits
from planner.frames.review.review import review_folder
from planner.handover.handover import handover_files
from planner.mosaic.panel import Panel
from planner.night.settings import Filter, Nights, Site
from planner.rig.angle_device import AngleDevice
from planner.rig.angle_words import report_lines
from planner.rig.cautions import (
    CAMERA_CAUTIONS,
    REMOTE_CAUTIONS,
    SIDE_CAUTION,
    SUN_CAUTION,
    cautions_for,
    first_caution,
)
from planner.rig.mount import Mount
from tests.app.conftest import ROOT
from tests.draw.paper.pdf_text import pdf_text
from tests.frames.small_plan import small_plan, write_solved
from tests.handover.handover_plan import handover_plan

pytestmark = pytest.mark.usefixtures("made_once")
PARK, CABLES, CLAMP = CAMERA_CAUTIONS
CLEAR, OPERATOR = REMOTE_CAUTIONS
ALL = {PARK, CABLES, CLAMP, SIDE_CAUTION, CLEAR, OPERATOR, SUN_CAUTION}
ALWAYS = {CLEAR, OPERATOR, SUN_CAUTION}
DEVICES = {
    "none": (None, {PARK, CABLES, CLAMP}),
    "adjuster": (AngleDevice("adjuster", zero_deg=112.4), {PARK, CABLES, CLAMP}),
    "rotator": (AngleDevice("rotator", zero_deg=112.4), {PARK, CABLES}),
    "fixed": (AngleDevice("fixed", zero_deg=20.0), set()),
}
"""Each device with what is told, besides what is always told, where a camera angle is to be set."""
MOUNTS = {"none": None, "german": Mount("german"), "fork": Mount("fork"), "altaz": Mount("altaz")}
SITE = Site(-31.2, 22.6, "Karoo pier", time_zone="Africa/Johannesburg")
NIGHTS = Nights(dt.date(2027, 1, 8), dt.date(2027, 1, 10))
FILTERS = (Filter("Ha", "narrow", 600.0, 6),)


@cache
def plan_with(device, mount=None):
    plan = handover_plan(device=device, nights=NIGHTS, sites=(SITE,), filters=FILTERS)
    return replace(plan, request=replace(plan.request, mount=mount))


@cache
def nights_with(device, mount=None):
    """One timetable for all outputs that show it."""
    return plan_nights(plan_with(device, mount))


def told_in(text):
    """Cautions in a text, wherever its lines break."""
    flat = " ".join(text.replace("\n! ", " ").replace("•", "").split())
    return {caution for caution in ALL if caution in flat}


def angle_lines(plan, nights, tmp_path, capsys):
    found = camera_angle(plan)
    return "\n".join(report_lines(found.report, found.effects))


def angle_paper(plan, nights, tmp_path, capsys):
    return pdf_text(angle_sheet(camera_angle(plan).report))


def site_paper(plan, nights, tmp_path, capsys):
    return pdf_text(site_sheet(plan))


def night_paper(plan, nights, tmp_path, capsys):
    return pdf_text(night_sheets_pdf(nights))


def nights_lines(plan, nights, tmp_path, capsys):
    print_nights(nights)
    return capsys.readouterr().out


def calendar(plan, nights, tmp_path, capsys):
    event = Calendar.from_ical(calendar_bytes(nights)).walk("VEVENT")[0]
    return str(event["DESCRIPTION"])


def handover_index(plan, nights, tmp_path, capsys):
    return handover_files(plan, only=["ecsv"])[0].content.decode()


def review_lines(plan, nights, tmp_path, capsys):
    """A review of a frame that stands 0.4 degrees off."""
    seen = small_plan()
    seen = replace(
        seen, request=replace(seen.request, angle_device=plan.request.angle_device, mount=plan.request.mount)
    )
    write_solved(tmp_path / "frames" / "a.fits", seen.mosaic.panels[0], turn_deg=0.4)
    review = review_folder(seen.request, seen.mosaic, tmp_path / "frames")
    print_review(seen, review, Faulty(tmp_path), Limits.of_plan(seen.request))
    return capsys.readouterr().out


def progress_lines(plan, nights, tmp_path, capsys):
    """Where a mosaic stands before its first frame, with the work of the coming evening."""
    review = review_folder(plan.request, plan.mosaic, tmp_path)
    print_progress(progress_of(plan, review, now=NIGHTS.first))
    return capsys.readouterr().out


OUTPUTS = {
    "angle": (angle_lines, {"turns": True}),
    "angle sheet": (angle_paper, {"turns": True}),
    "site sheet": (site_paper, {"turns": True, "follows": True}),
    "night sheets": (night_paper, {"turns": True, "follows": True}),
    "nights": (nights_lines, {"turns": True, "follows": True}),
    "calendar": (calendar, {"turns": True, "follows": True}),
    "hand-over": (handover_index, {"turns": True, "follows": True}),
    "review": (review_lines, {"turns": True}),
    "progress": (progress_lines, {"turns": True, "follows": True}),
}


def expected(told, mount, *, turns=False, follows=False):
    side = {SIDE_CAUTION} if follows and mount in ("none", "german") else set()
    return ALWAYS | (told if turns else set()) | side


@pytest.mark.parametrize("turns", [False, True])
@pytest.mark.parametrize("follows", [False, True])
@pytest.mark.parametrize("mount", MOUNTS)
@pytest.mark.parametrize("device", DEVICES)
def test_device_mount_and_what_is_asked_for_decide(device, mount, turns, follows):
    found = cautions_for(DEVICES[device][0], MOUNTS[mount], turns=turns, follows=follows)
    assert len(set(found)) == len(found)
    assert set(found) == expected(DEVICES[device][1], mount, turns=turns, follows=follows)


def test_parking_comes_first_by_hand_and_a_clear_pier_by_motor():
    firsts = {name: first_caution(device) for name, (device, _) in DEVICES.items()}
    assert firsts == {"none": PARK, "adjuster": PARK, "rotator": CLEAR, "fixed": CLEAR}


@pytest.mark.parametrize(("device", "mount"), [(one, "german") for one in DEVICES] + [("adjuster", "fork")])
@pytest.mark.parametrize("output", OUTPUTS)
def test_every_output_tells_its_set(output, device, mount, tmp_path, capsys):
    if (output, device) == ("angle sheet", "none"):
        pytest.skip("there is no such sheet without an angle device")
    make, asks = OUTPUTS[output]
    rig = DEVICES[device][0], MOUNTS[mount]
    text = make(plan_with(*rig), nights_with(*rig), tmp_path, capsys)
    assert told_in(text) == expected(DEVICES[device][1], mount, **asks)


SEASON = """\
[camera]
focal_length_mm = 380.0
sensor_px = [6000, 4000]
pixel_um = 3.9
[mount]
kind = "german"
"""
SEASON_NIGHTS = """\
[site]
latitude_deg = -31.2
longitude_deg = 22.6
time_zone = "Africa/Johannesburg"
[nights]
first = 2027-05-01
last = 2027-05-02
"""
TARGET = 'title = "{}"\nsetup = "pier.toml"\n[region]\ncenter = [{}, -20.0]\nradius_deg = 0.5\n'


@pytest.mark.parametrize("kind", ["adjuster", "rotator", "fixed"])
def test_a_season_tells_them_too(kind, tmp_path, capsys):
    (tmp_path / "pier.toml").write_text(SEASON + f"[angle_device]\nkind = '{kind}'\ndivision_deg = 45\n")
    for name, ra in (("a", 130), ("b", 150)):
        (tmp_path / f"{name}.toml").write_text(TARGET.format(name, ra))
    (tmp_path / "season.toml").write_text('title = "Winter"\nplans = ["a.toml", "b.toml"]\n')
    assert main(["season", str(tmp_path / "season.toml"), "--effort", "quick"]) == 0
    told = told_in(capsys.readouterr().out)
    assert told == expected(DEVICES[kind][1], "german", turns=True)


@pytest.mark.parametrize("kind", ["adjuster", "fixed"])
def test_the_angle_that_serves_most_tells_them_too(kind, tmp_path, capsys):
    (tmp_path / "pier.toml").write_text(SEASON + SEASON_NIGHTS + f"[angle_device]\nkind = '{kind}'\n")
    assert main(["targets", str(tmp_path / "pier.toml"), "--names", "M 8"]) == 0
    told = told_in(capsys.readouterr().out)
    assert told == expected(DEVICES[kind][1], "german", turns=True)


PAGES = {
    "angles": {"turns": True},
    "hand_over": {"turns": True, "follows": True},
}
PLAN = """\
title = "Small"
[camera]
focal_length_mm = 380.0
sensor_px = [6000, 4000]
pixel_um = 3.9
[region]
center = [128.5, -45.8]
radius_deg = 0.5
[mosaic]
position_angle_deg = 20
[site]
latitude_deg = -31.2
longitude_deg = 22.6
time_zone = "Africa/Johannesburg"
[nights]
first = 2027-01-08
last = 2027-01-09
[[filters]]
name = "Ha"
band = "narrow"
exposure_s = 600
exposures = 3
"""


@pytest.mark.parametrize("kind", ["none", "adjuster", "rotator", "fixed"])
def test_pages_tell_them_too(kind, tmp_path, monkeypatch, no_year_drawn):
    device = "" if kind == "none" else f"[angle_device]\nkind = '{kind}'\nzero_deg = 20\n"
    (tmp_path / "plan.toml").write_text(PLAN + device)
    monkeypatch.setattr(sys, "argv", ["app.py", str(tmp_path / "plan.toml")])
    app = AppTest.from_file(ROOT / "planner" / "app.py", default_timeout=120).run()
    for page, asks in PAGES.items():
        app.switch_page(f"../pages/{page}.py").run()
        told = told_in("\n".join(one.value for one in app.warning))
        assert told == expected(DEVICES[kind][1], "none", **asks), page
    app.switch_page("../pages/nights.py").run()
    app.button(key="nights_make").click().run()
    told = told_in("\n".join(one.value for one in app.warning))
    assert told == expected(DEVICES[kind][1], "none", turns=True, follows=True)


@pytest.mark.parametrize("kind", ["adjuster", "fixed"])
def test_the_review_page_tells_them_where_the_camera_has_to_be_turned_back(kind, tmp_path, monkeypatch):
    (tmp_path / "plan.toml").write_text(PLAN + f"[angle_device]\nkind = '{kind}'\nzero_deg = 20\n")
    panel = Panel("A1", 1, 1, 1, 128.5, -45.8, 20.0)
    write_solved(tmp_path / "frames" / "a.fits", panel, turn_deg=0.4, XBINNING=100)
    monkeypatch.setattr(sys, "argv", ["app.py", str(tmp_path / "plan.toml")])
    app = AppTest.from_file(ROOT / "planner" / "app.py", default_timeout=120).run()
    app.switch_page("../pages/review.py").run()
    app.text_input(key="review_folder").set_value(str(tmp_path / "frames"))
    app.button(key="FormSubmitter:review_form-Review").click().run()
    told = told_in("\n".join(one.value for one in app.warning))  # the open tab: what to shoot again
    assert told == expected(DEVICES[kind][1], "none")
    app.session_state["review_tabs"] = "Angle"
    app.run()
    told = told_in("\n".join(one.value for one in app.warning))
    assert told == expected(DEVICES[kind][1], "none", turns=True)
    app.session_state["review_tabs"] = "Progress"
    app.run()
    told = told_in("\n".join(one.value for one in app.warning))
    assert told == expected(DEVICES[kind][1], "none", turns=True, follows=True)
    app.session_state["review_tabs"] = "Angle"
    app.run()
    order = (
        "Turn the camera by 0.40° clockwise" if kind == "adjuster" else "The camera is fixed and stands at"
    )
    assert any(order in one.value for one in app.markdown)


def test_a_block_that_needs_another_reading_says_so_on_a_line_of_its_own(tmp_path):
    """Two panels 1.25 degrees apart in angle: 20 less the zero 112.4 is 87.6 half a turn on, 21.25 is 88.85."""
    nights = nights_with(DEVICES["adjuster"][0])
    panels = {0: "87.60° (position angle 20.00°)", 1: "88.85° (position angle 21.25°)"}
    blocks = nights.timetable.blocks
    wanted = [
        f"Turn the camera to reading {panels[new.panel]} first" if new.panel != old.panel else ""
        for old, new in zip(blocks, blocks[1:], strict=False)
    ]
    assert [steps.turn for steps in night_steps(nights)] == ["", *wanted] and any(wanted)
    text = " ".join(pdf_text(night_sheets_pdf(nights)).split())
    turns = [words for words in wanted if words]
    assert text.count("Turn the camera to reading") == len(turns) and all(words in text for words in turns)
    for device, words in (
        ("rotator", "Send the rotator to reading "),
        ("none", "Turn the camera to position angle"),
    ):
        turns = [steps.turn for steps in night_steps(nights_with(DEVICES[device][0])) if steps.turn]
        assert turns and all(turn.startswith(words) for turn in turns)
    assert not any(steps.turn for steps in night_steps(nights_with(DEVICES["fixed"][0])))
