"""Every size of screen and every light: contrast within the red, and the app on a narrow screen."""

import re
import tomllib

import pytest

from planner.screen import looks, nights_part, readings_part, review_tables, table_view
from planner.screen.progress import progress_part

from .conftest import ROOT, RUNS, follows, rests, start_server

CONFIG = tomllib.loads((ROOT / "planner" / ".streamlit" / "config.toml").read_text())
CAPTION_OPACITY = 0.6
PLAN = """\
title = "Narrow"

[camera]
focal_length_mm = 380.0
sensor_px = [6000, 4000]
pixel_um = 3.9

[region]
center = [128.5, -45.8]
width_deg = 5.0
height_deg = 3.5

[mosaic]
position_angle_deg = 20.0
layout = "grid"
"""


COLUMNS = [
    nights_part.EVENING_PX,
    nights_part.WORK_PX,
    progress_part.ROW_PX,
    progress_part.WORK_PX,
    readings_part.FIRST_PX,
    readings_part.PLAIN_PX,
    review_tables.AGAIN_PX,
    review_tables.FLAT_PX,
    review_tables.FRAME_PX,
    review_tables.PANEL_PX,
]


@pytest.mark.parametrize("columns", COLUMNS, ids=", ".join)
def test_columns_that_matter_fit_a_telephone(columns):
    assert sum(columns.values()) <= table_view.TELEPHONE_PX
    assert all(px >= 6 * len(name) + 16 for name, px in columns.items()), "a heading is cut off"


def channels(colour):
    return [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]


def luminance(rgb):
    """Relative luminance (WCAG 2.2, definition of that name)."""
    linear = [one / 12.92 if one <= 0.04045 else ((one + 0.055) / 1.055) ** 2.4 for one in rgb]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one, other):
    """Contrast ratio (WCAG 2.2, definition of that name)."""
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def in_the_red(rgb, *, light):
    """What the red view makes of a colour: grey (Filter Effects Module Level 1), brighter, through the sheet."""
    grey = 0.2126 * rgb[0] + 0.7152 * rgb[1] + 0.0722 * rgb[2]
    bright = min(1.0, (1.0 - grey if light else grey) * looks.RED_BRIGHTNESS)
    return [bright * one for one in channels(looks.RED_SHEET)]


def inks():
    """The red view's colours of text and ground, dark page and light page."""
    found = re.findall(r"--red-ink: (#\w+); --red-ground: (#\w+);", looks.RED)
    return [[channels("#" + 2 * one[1] + 2 * one[2] + 2 * one[3]) for one in pair] for pair in found]


def test_the_handbook_example_of_contrast():
    assert contrast([1, 1, 1], [0, 0, 0]) == pytest.approx(21.0)
    assert contrast(channels("#777777"), [1, 1, 1]) == pytest.approx(4.48, abs=0.005)  # WebAIM's example


def test_text_of_the_red_view_can_be_read():
    dark, light = inks()
    assert contrast(*(in_the_red(one, light=False) for one in dark)) >= 4.5
    assert contrast(*(in_the_red(one, light=True) for one in light)) >= 4.5


@pytest.mark.parametrize("name", ["light", "dark"])
@pytest.mark.parametrize("ground", ["backgroundColor", "secondaryBackgroundColor"])
def test_tables_and_drawings_that_keep_their_colours_can_be_read_in_the_red(name, ground):
    theme = CONFIG["theme"][name]
    text, below = channels(theme["textColor"]), channels(theme[ground])
    seen = [in_the_red(one, light=name == "light") for one in (text, below)]
    assert contrast(*seen) >= 4.5
    faint = [CAPTION_OPACITY * a + (1 - CAPTION_OPACITY) * b for a, b in zip(text, below, strict=True)]
    assert contrast(in_the_red(faint, light=name == "light"), seen[1]) >= 4.5


@pytest.fixture(scope="module")
def narrow(chromium, tmp_path_factory):
    folder = tmp_path_factory.mktemp("narrow")
    (folder / "plan.toml").write_text(PLAN)
    process, address, _ = start_server(folder, "plan.toml")
    context = chromium.new_context(viewport={"width": 390, "height": 844}, has_touch=True, is_mobile=True)
    page = context.new_page()
    page.set_default_timeout(60_000)
    page.add_init_script(RUNS)
    page.goto(address)
    page.locator(".sky .panels polygon").first.wait_for(state="attached")
    rests(page)
    yield page
    context.close()
    process.terminate()
    process.wait(60)


def boxes(page, selector):
    return [one.bounding_box() for one in page.locator(selector).all() if one.is_visible()]


def apart(one, other):
    return (
        one["x"] + one["width"] <= other["x"]
        or other["x"] + other["width"] <= one["x"]
        or one["y"] + one["height"] <= other["y"]
        or other["y"] + other["height"] <= one["y"]
    )


def test_nothing_is_cut_off_or_covered_on_a_narrow_screen(narrow):
    sky = boxes(narrow, ".sky")[0]
    buttons = boxes(narrow, ".sky .bar button, .sky .bar summary")
    assert len(buttons) == 9
    for one in buttons:
        assert one["x"] >= sky["x"] and one["x"] + one["width"] <= sky["x"] + sky["width"]
    read, found = boxes(narrow, ".sky .read")[0], boxes(narrow, ".sky .find input")[0]
    assert all(apart(read, one) and apart(found, one) for one in buttons)
    assert narrow.evaluate("getComputedStyle(document.querySelector('.stMain')).overflowX") != "visible"
    assert narrow.evaluate("document.documentElement.scrollWidth") <= 390


def test_handles_are_no_larger_than_names_and_a_finger_beside_one_takes_it(narrow):
    name = boxes(narrow, ".sky .names text")[0]
    for one in boxes(narrow, ".sky .handle, .sky .corners circle"):
        assert one["height"] <= max(12.5, name["height"])
    corner = boxes(narrow, ".sky .corners circle")[0]
    x, y = corner["x"] + corner["width"] / 2 + 14, corner["y"] + corner["height"] / 2
    taken = """([x, y, kind]) => {
        const host = [...document.querySelectorAll("*")].find(one => one.shadowRoot?.querySelector(".sky"));
        const root = host?.shadowRoot ?? document, svg = root.querySelector(".sky > svg");
        const box = svg.getBoundingClientRect(), event = { target: svg, pointerType: kind, button: 0 };
        const sky = (root.__sky ?? host?.__sky ?? [...root.querySelectorAll("*")].find(one => one.__sky)?.__sky);
        return sky.gestures.grip(event, [x - box.left, y - box.top]).tagName; }"""
    assert narrow.evaluate(taken, [x, y, "touch"]) == "circle"
    assert narrow.evaluate(taken, [x, y, "mouse"]) == "svg"


def test_the_plan_file_stands_first_under_as_file(narrow):
    narrow.get_by_role("button", name="As file").click()
    text = narrow.get_by_label("The plan file", exact=True)
    text.wait_for()
    narrow.locator("[data-testid='stCode']").first.wait_for()
    assert text.bounding_box()["y"] < boxes(narrow, "[data-testid='stCode']")[0]["y"]
    assert "Narrow" in text.input_value()
    narrow.keyboard.press("Escape")
    text.wait_for(state="hidden")


def test_the_pages_stand_in_sight(narrow):
    links = narrow.locator(".st-key-pages a")
    assert links.all_inner_texts() == ["Compose", "Targets", "Angles", "Nights", "Hand over", "Review"]
    for one in links.all():
        box = one.bounding_box()
        assert box["x"] >= 0 and box["x"] + box["width"] <= 390 and box["y"] < 120
    assert len({one.bounding_box()["y"] for one in links.all()}) == 1  # none alone in a second row


def test_the_list_of_pages_closes_when_one_is_chosen(narrow):
    narrow.locator("[data-testid='stExpandSidebarButton']").click()
    link = narrow.locator("[data-testid='stSidebarNavLink']").filter(has_text="Review")
    follows(narrow, link.click)
    narrow.get_by_text("Frames that came back").wait_for()
    narrow.wait_for_function(
        "document.querySelector('[data-testid=stSidebar]')?.getAttribute('aria-expanded') !== 'true'"
    )


def test_the_menu_closes_once_a_plan_is_open_and_shows_the_sky(narrow):
    narrow.goto(narrow.url.split("/review")[0])
    narrow.locator(".sky .panels polygon").first.wait_for(state="attached")
    rests(narrow)
    narrow.get_by_role("button", name="Open", exact=True).first.click()
    follows(narrow, narrow.get_by_role("button", name="Open the sample").click)
    narrow.get_by_text("Dark clouds near Antares").first.wait_for()
    narrow.get_by_role("button", name="Open the sample").wait_for(state="detached")
