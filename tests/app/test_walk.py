"""A walk through every input and every button of every page in a real browser, with what should not be typed.

After each step the page stands, the plan file is whole, and undo gives back the exact text. What broke and was
mended meanwhile would stand in the server's log.
"""

import pytest

from planner.files.plan_file.read import request_from_text
from planner.screen.state import BROKEN

from .conftest import choose, follows, key_of, rests, start_server
from .test_browser import PANEL, opened, page_of, settled, tab, until
from .test_typed import saved_text

PLAN = """\
title = "Walk"  # stays, like 星雲

[camera]
focal_length_mm = 380.0
sensor_px = [6000, 4000]
pixel_um = 3.9

[region]
center = [128.5, -45.8]  # the middle
width_deg = 4.0
height_deg = 2.0

[mosaic]
position_angle_deg = 20.0
layout = "grid"

[angle_device]
kind = "adjuster"
zero_deg = 112.4

[site]
name = "Test pier"
latitude_deg = -32.4
longitude_deg = 20.8
time_zone = "Africa/Johannesburg"

[nights]
first = 2027-01-08
last = 2027-01-09

[[filters]]
name = "Ha"
band = "narrow"
exposure_s = 600
exposures = 2
"""
NUMBERS = ["", "0", "-1", "1e300"]
TEXTS = ["", "0", "-1", "9" * 3000, "туманность 星雲 Ω"]
TABS = ["Region", "Panels", "Angle", "Camera", "Print"]
OTHER_PAGES = ["Angles", "Nights", "Hand over", "Review"]
FIELDS = """() => [...document.querySelectorAll(
        "[data-testid=stMain] :is(input[type=number], input[type=text]:not([role=combobox]), textarea)")]
    .filter(field => field.checkVisibility())
    .map(field => ["." + [...field.closest("[class*=st-key-]").classList].find(name => name.startsWith("st-key-")),
        field.type === "number", field.tagName === "TEXTAREA"])"""
BUTTONS = """() => [...document.querySelectorAll("[data-testid=stMain] button, [data-testid=stMain] summary")]
    .filter(button => button.checkVisibility() && !button.disabled && !button.closest(
        ".st-key-bar, [data-testid=stNumberInput], [role=tablist], [data-testid=stFileUploader], .sky, " +
        "[kind=elementToolbar], [data-testid=stSelectbox], [data-testid=stDateInput]") &&
        !/^Help for/.test(button.ariaLabel ?? ""))
    .map((button, k) => (button.dataset.walk = k, button.innerText))"""
STANDS = """(broken) => !document.querySelector(".stException") && !document.body.innerText.includes(broken)
    && [...document.querySelectorAll("button")].some(button => button.innerText.includes("As file"))"""
NO_MENU = """() => !document.querySelector("[data-testid=stPopoverBody]")"""
"""A menu that is closing stands beside the one that opens meanwhile."""


class Walk:
    """A browser tab, and the folder in which its plan file stands."""

    def __init__(self, page, folder):
        self.page, self.folder, self.seen = page, folder, set()

    def follows(self, act):
        """Act, and wait for the page to follow, where it has to."""
        follows(self.page, act, surely=False)

    def stands(self):
        """The page stands, and the plan file is whole."""
        assert self.page.evaluate(STANDS, BROKEN)
        request_from_text(saved_text(self.folder))

    def fields(self):
        """Fill every field that can be seen with what should not be typed."""
        for name, number, large in self.page.evaluate(FIELDS):
            if name in self.seen:
                continue
            self.seen.add(name)
            for text in NUMBERS if number else TEXTS:
                field = self.page.locator(name).locator("textarea, input").first
                self.follows(lambda text=text, field=field, large=large: typed(field, text, large))
                self.stands()

    def choices(self):
        """Choose the last of every list; buttons take it over."""
        for field in self.page.locator("[data-testid=stMain] [data-testid=stSelectbox] input:visible").all():
            choose(self.page, field)
            self.page.keyboard.press("Escape")  # a list that waits for letters would cover the buttons

    def buttons(self):
        """Press every button that can be seen, twice."""
        pressed = set()
        while fresh := [
            (k, label) for k, label in enumerate(self.page.evaluate(BUTTONS)) if label not in pressed
        ]:
            k, label = fresh[0]
            pressed.add(label)
            for _ in range(2):
                if self.pressed(self.page.locator(f"[data-walk='{k}']")):
                    self.stands()

    def pressed(self, button):
        """Press a button that was numbered, if it is still there: a page draws others, what folds takes a while."""
        from playwright.sync_api import TimeoutError as TooLate

        try:
            if button.count() == 1 and button.is_enabled(timeout=1000):
                self.follows(lambda: button.click(timeout=3000))
                return True
        except TooLate:
            assert not button.is_visible()
        return False

    def closes(self):
        """Close a menu, and wait until it is gone."""
        self.page.keyboard.press("Escape")
        self.page.wait_for_function(NO_MENU)

    def undone(self):
        """Undo everything: the exact text of the file is there again."""
        if self.page.locator(PANEL).count() == 0:
            page_of(self.page, "Compose")
        self.page.locator(PANEL).first.wait_for(state="attached")
        undo = self.page.get_by_role("button", name="Undo")
        for _ in range(80):
            settled(self.page)
            rests(self.page)
            if undo.is_disabled():
                break
            self.follows(undo.click)
        assert saved_text(self.folder) == PLAN
        assert not list(self.folder.glob(".plan.toml.*.unsaved"))
        self.stands()


def typed(field, text, large):
    field.fill(text)
    field.press("Control+Enter" if large else "Enter")


@pytest.fixture(scope="module")
def server(tmp_path_factory):
    folder = tmp_path_factory.mktemp("walk")
    (folder / "plan.toml").write_text(PLAN)
    process, address, log = start_server(folder, "plan.toml", key=True)
    key = key_of(log)
    yield f"{address}/?key={key}", folder
    process.terminate()
    process.wait(60)
    found = log.read_text()
    assert "Traceback" not in found and " broke" not in found
    assert (folder / "plan.toml").read_text() == PLAN


@pytest.fixture(scope="module")
def walk(chromium, server):
    page = opened(chromium, server[0])
    yield Walk(page, server[1])
    assert page.faults == []
    page.close()


@pytest.mark.parametrize("name", TABS)
def test_the_tabs_beside_the_sky(walk, name):
    if walk.page.get_by_role("tab", name=name, exact=True).get_attribute("aria-selected") != "true":
        tab(walk.page, name)
    if name == "Panels":
        walk.page.locator(".st-key-mount_expander summary").click()
    walk.fields()
    walk.choices()
    walk.buttons()
    walk.undone()


def test_one_axis_of_an_object(walk):
    walk.page.locator(".st-key-find_text input").fill("NGC 2736")
    walk.follows(walk.page.get_by_role("button", name="Make it the region").click)
    tab(walk.page, "Region")
    walk.fields()
    walk.undone()


@pytest.mark.parametrize("name", OTHER_PAGES)
def test_the_other_pages(walk, name):
    page_of(walk.page, name)
    walk.fields()
    walk.choices()
    walk.buttons()
    walk.undone()


def test_the_menus_of_the_bar(walk, tmp_path):
    """Open, Save and As file: paths that cannot be, texts that are no plan, files that are none."""
    page = walk.page
    (tmp_path / "туманность.toml").write_text("星雲 = [")
    for menu, label, button, texts in [
        (
            "Open",
            "Plan file on this machine",
            "Open the file",
            TEXTS + ["~nobody/x.toml", "/", str(walk.folder)],
        ),
        (
            "Save",
            "Plan file on this machine",
            "Save",
            TEXTS + ["~nobody/x.toml", "/proc/no.toml", str(walk.folder)],
        ),
        (
            "As file",
            "The plan file",
            None,
            ["", "星雲 = [", "[mosaic]\noverlap = 1e300", "\t" * 3000, PLAN * 2],
        ),
    ]:
        for number, text in enumerate(texts):
            page.get_by_role("button", name=menu, exact=True).first.click()
            box = page.get_by_label(label, exact=True)
            until(page, box.count, lambda count: count == 1)  # while a run goes on, one goes as another comes
            box.fill(text)
            submit = page.locator("[data-testid=stPopoverBody] [data-testid=stFormSubmitButton] button").first
            for _ in range(2 if number == 0 else 1):
                walk.follows(submit.click)
            walk.closes()
            walk.stands()
            assert saved_text(walk.folder) == PLAN, (menu, text, button)
    page.get_by_role("button", name="Open", exact=True).first.click()
    page.locator("[data-testid=stPopoverBody] input[type=file]").set_input_files(tmp_path / "туманность.toml")
    page.locator("[data-testid=stPopoverBody]").get_by_text("туманность.toml").wait_for()
    walk.follows(page.get_by_role("button", name="Open these").click)
    walk.stands()
    walk.closes()
    walk.undone()


@pytest.mark.parametrize("name", ["Angles", "Review"])
def test_files_that_are_no_frames(walk, tmp_path, name):
    (tmp_path / "night").mkdir()
    (tmp_path / "night" / "кадр 星雲.fits").write_bytes(b"no frame")
    page_of(walk.page, name)
    chooser = walk.page.locator("[data-testid=stMain] input[type=file]")
    files = tmp_path / "night" if name == "Review" else tmp_path / "night" / "кадр 星雲.fits"
    walk.follows(lambda: chooser.set_input_files(files))
    walk.page.get_by_text("кадр 星雲.fits").first.wait_for()
    walk.buttons()
    assert "mosaic-planner-" not in walk.page.locator("[data-testid=stMain]").inner_text()
    walk.undone()
