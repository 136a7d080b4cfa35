"""Night sheets, the year's picture and the calendar: what they hold, and that they can be read."""

import datetime as dt
import io
import re
from dataclasses import replace

import numpy as np
import pytest
from icalendar import Calendar
from matplotlib.colors import to_hex
from PIL import Image
from streamlit.elements.lib.image_utils import MAXIMUM_CONTENT_WIDTH

from planner.answers.nights import plan_nights
from planner.draw.paper.night_sheet import night_sheets_pdf
from planner.draw.pictures.year_picture import (
    DARK_MOONLIT,
    DARK_SKY,
    FILTERS,
    MOONLIT,
    SCREEN_DPI,
    SITE_HEIGHT_IN,
    SKY,
    WIDTH_IN,
    year_figure,
    year_png,
)
from planner.files.exchange.calendar import calendar_bytes
from planner.files.output import MARKS
from planner.night.settings import Filter, Nights, Site
from planner.rig.angle_device import AngleDevice
from tests.draw.paper.pdf_text import pdf_text
from tests.files.hand_made_plan import hand_made_plan

pytestmark = pytest.mark.usefixtures("made_once")
CANARY = Site(28.1, -17.25, "Canary pier", 2100, "Atlantic/Canary", 25, (), "EUR", ((0.0, 70.0),))
FILTERS_WANTED = (Filter("Ha", "narrow", 600, 40), Filter("L", "broad", 120, 60))
STAMP = dt.datetime(2027, 1, 1, tzinfo=dt.UTC)


def planned(**changes):
    plan = hand_made_plan(title="Stream, part 1", device=AngleDevice("adjuster", zero_deg=112.4))
    nights = Nights(dt.date(2027, 10, 1), dt.date(2027, 10, 8), clear_fraction=0.8, overhead_per_panel_min=5)
    values = {"sites": (CANARY,), "nights": nights, "filters": FILTERS_WANTED} | changes
    return plan_nights(replace(plan, request=replace(plan.request, **values)))


@pytest.fixture(scope="module")
def nights():
    return planned()


@pytest.fixture(scope="module")
def sheets(nights):
    return night_sheets_pdf(nights)


@pytest.fixture(scope="module")
def picture(nights):
    return year_png(nights)


@pytest.fixture(scope="module")
def sheet_text(sheets):
    return pdf_text(sheets)


def test_a_page_for_every_night_with_work(nights, sheet_text):
    worked = {block.night for block in nights.timetable.blocks}
    assert len(worked) > 1 and sheet_text.count("\f") == len(worked)


def test_a_page_says_what_to_do(nights, sheet_text):
    first = sheet_text.split("\f")[0]
    block = nights.timetable.blocks[0]
    panel = nights.plan.mosaic.panels[block.panel]
    assert "Friday 1 October 2027" in first and "Stream, part 1" in first and "Atlantic/Canary" in first
    assert f"1 · {panel.name} · " in first and "UTC" in first
    assert re.search(r"Angle 20\.00°\s+reading 87\.60°", first)  # 20 less the zero 112.4, half a turn on
    assert re.search(r"Altitude \d+° to \d+°, Moon \d+° away\s+looking (east|west)", first)
    assert "Times allow for overheads and for 20% cloud" in first


def test_the_cautions_stand_on_every_page(sheet_text):
    for page in sheet_text.split("\f")[:-1]:
        assert "Never let the telescope sweep near the Sun" in page and "operator" in page


def test_a_flip_is_told_between_blocks(nights, sheet_text):
    blocks = nights.timetable.blocks
    pairs = zip(blocks, blocks[1:], strict=False)
    flips = sum(a.night == b.night and (a.looking, b.looking) == ("east", "west") for a, b in pairs)
    text = " ".join(sheet_text.split())
    told = re.findall(r"The mount flips at \d\d:\d\d: from looking east to looking west", text)
    assert flips >= 1 and len(told) == flips


def test_pages_are_as_narrow_as_a_phone(sheets):
    widths = {float(match) for match in re.findall(rb"/MediaBox \[ ?0 0 ([\d.]+)", sheets)}
    assert widths == {3.9 * 72}


def test_the_same_plan_gives_the_same_sheets_and_picture(nights, sheets, picture):
    assert night_sheets_pdf(nights) == sheets
    assert year_png(nights) == picture


def test_files_carry_our_mark(nights, sheets, picture):
    assert MARKS[".pdf"][0] in sheets[-4096:]
    assert MARKS[".png"][0] in picture[:65536]
    assert MARKS[".ics"][0] in calendar_bytes(nights)[:65536]


def test_a_season_without_work_has_one_page():
    short = Nights(dt.date(2027, 3, 20), dt.date(2027, 3, 20))
    text = pdf_text(night_sheets_pdf(planned(nights=short)))
    assert "No night has work" in text and text.count("\f") == 1


def test_the_year_has_a_clock_and_panels(nights):
    figure = year_figure(nights)
    clock, panels, _ = figure.axes
    assert clock.get_xlim() == panels.get_xlim() and clock.get_xlim()[1] - clock.get_xlim()[0] == 365
    assert [label.get_text() for label in panels.get_yticklabels()] == ["A1", "A2"]
    hours = panels.images[0].get_array()
    for night, one in enumerate(nights.survey.evenings):
        for panel in (0, 1):
            seconds = sum(b - a for a, b in one.sight.windows_of(panel))
            assert hours[panel, night] == pytest.approx(seconds / 3600, abs=0.01)
    bars = [bar for container in clock.containers for bar in container]
    assert len(bars) == len(nights.timetable.blocks)
    assert sum(bar.get_height() for bar in bars) == pytest.approx(nights.timetable.hours_used)


def test_the_framework_shows_the_apps_year_as_it_is():
    assert 0.95 * MAXIMUM_CONTENT_WIDTH < SCREEN_DPI * WIDTH_IN <= MAXIMUM_CONTENT_WIDTH


def test_the_picture_of_two_sites_is_twice_as_high():
    second = replace(
        CANARY, name="North pier", latitude_deg=52.0, time_zone="Europe/Berlin", longitude_deg=13.0
    )
    figure = year_figure(planned(sites=(CANARY, second)))
    assert len(figure.axes) == 6
    assert figure.get_size_inches().tolist() == [WIDTH_IN, 2 * SITE_HEIGHT_IN]


def test_the_picture_is_not_empty(picture):
    pixels = np.asarray(Image.open(io.BytesIO(picture)).convert("RGB"))
    assert pixels.shape[1] > 1500 and len(np.unique(pixels.reshape(-1, 3) @ [65536, 256, 1])) > 500


def luminance(colour):
    """Relative luminance, WCAG 2.1."""
    parts = np.array([int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5)])
    linear = np.where(parts <= 0.04045, parts / 12.92, ((parts + 0.055) / 1.055) ** 2.4)
    return float(linear @ [0.2126, 0.7152, 0.0722])


def contrast(one, two):
    low, high = sorted((luminance(one), luminance(two)))
    return (high + 0.05) / (low + 0.05)


def test_sky_colours_differ_in_lightness():
    sky = list(SKY.values())
    assert all(contrast(a, b) > 1.3 for a, b in zip(sky, sky[1:], strict=False))
    assert contrast(SKY["dark"], MOONLIT) > 7
    assert all(contrast(SKY["dark"], colour) > 3 for colour in FILTERS)


def test_calendar_read_back(nights):
    calendar = Calendar.from_ical(calendar_bytes(nights, stamp=STAMP))
    events = list(calendar.walk("VEVENT"))
    assert len(events) == len(nights.timetable.blocks)
    assert len({str(event["uid"]) for event in events}) == len(events)
    for event, block in zip(events, nights.timetable.blocks, strict=True):
        assert event.decoded("dtstart").timestamp() == block.start_s
        assert event.decoded("dtend").timestamp() == block.end_s
        assert "Never let the telescope sweep near the Sun" in str(event["description"])
        assert str(event["location"]) == "Canary pier"


def test_calendar_form(nights):
    # RFC 5545: CRLF and 75 octets a line (3.1), PRODID and VERSION once (3.6), UID and DTSTAMP (3.6.1),
    # UTC times end in Z (3.3.5)
    content = calendar_bytes(nights, stamp=STAMP)
    lines = content.split(b"\r\n")
    assert lines[-1] == b"" and all(len(line) <= 75 and b"\n" not in line for line in lines)
    assert content.count(b"PRODID:") == content.count(b"VERSION:2.0") == 1
    count = content.count(b"BEGIN:VEVENT")
    assert count == content.count(b"UID:") == content.count(b"DTSTAMP:20270101T000000Z") > 0
    assert len(re.findall(rb"DTSTART:\d{8}T\d{6}Z\r\n", content)) == count
    assert calendar_bytes(nights, stamp=STAMP) == content


def test_calendar_is_the_same_whenever_it_is_made(nights):
    first = nights.plan.request.nights.first
    stamps = set(re.findall(rb"DTSTAMP:(\w+)\r\n", calendar_bytes(nights)))
    assert stamps == {f"{first:%Y%m%d}T120000Z".encode()}


def test_the_dark_picture_has_its_own_sky_that_can_be_told_apart(nights):
    dark = [luminance(colour) for colour in DARK_SKY.values()]
    assert dark == sorted(dark, reverse=True)
    assert all(a > 1.5 * b for a, b in zip(dark, dark[1:], strict=False))
    assert contrast(DARK_SKY["dark"], DARK_MOONLIT) > 4.5
    figure = year_figure(nights, dark=True)
    clock, panels, _ = figure.axes
    ground = to_hex(figure.get_facecolor())
    for label in (*clock.get_xticklabels(), *panels.get_yticklabels(), *figure.legends[0].get_texts()):
        assert contrast(ground, to_hex(label.get_color())) >= 4.5
        assert label.get_fontsize() >= 10.0
