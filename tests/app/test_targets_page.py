"""The page Targets: table, angle and choice without a browser; its sky in a browser, alone on a page."""

import json
import sys
from dataclasses import replace

import pytest
from streamlit.testing.v1 import AppTest

from planner.rig.angle_device import AngleDevice
from planner.screen.canvas import frames as frames_module
from planner.session.targets import desk
from tests.session.targets.test_targets import NAMES, small_list

from .conftest import CHROMIUM, ROOT
from .test_browser import PLAN
from .test_pages import healthy, turn_to

pytestmark = pytest.mark.usefixtures("made_once")

SITE = """\
[site]
name = "Pier"
latitude_deg = -31.2
longitude_deg = 22.6
time_zone = "Africa/Johannesburg"
"""
SEASON = "[nights]\nfirst = 2027-03-01\nlast = 2027-03-03\n"


@pytest.fixture
def app(tmp_path, monkeypatch):
    """The app with a list of five nebulae, whatever the setup."""
    monkeypatch.setattr(desk, "_found", lambda setup, report: small_list())
    monkeypatch.setattr(desk.TARGETS, "_kept", type(desk.TARGETS._kept)())
    return started(tmp_path, monkeypatch, PLAN + SITE + SEASON)


def started(tmp_path, monkeypatch, text):
    (tmp_path / "plan.toml").write_text(text)
    monkeypatch.setattr(sys, "argv", ["app.py", str(tmp_path / "plan.toml")])
    return AppTest.from_file(ROOT / "planner" / "app.py", default_timeout=60).run()


def at_targets(app):
    desk.TARGETS.making(app.session_state["tab"].session.request).join()
    return turn_to(app, "targets")


def shown(app):
    return [row.split(",")[0] for row in app.dataframe[0].value["Target"]]


def words(app):
    return " ".join(one.value for one in app.markdown)


def sky(app):
    return json.loads(app.get_by_key("targets_sky").proto.json)


def test_what_is_missing_is_asked_for(tmp_path, monkeypatch):
    app = turn_to(started(tmp_path, monkeypatch, PLAN), "targets")
    assert "needs a site" in app.info[0].value
    app = turn_to(started(tmp_path, monkeypatch, PLAN + SITE), "targets")
    assert "first and the last evening" in app.info[0].value


def test_filters_angle_and_choice(app):
    """The count follows the slider; filters narrow it and last when another page is shown."""
    app = at_targets(app)
    assert set(shown(app)) == set(NAMES)
    slider = app.slider(key="targets_angle")
    for reading in (200.0, 37.0):
        slider.set_value(reading)
        app = healthy(app.run())
        slider = app.slider(key="targets_angle")
        angle = (112.4 + reading) % 180
        holds = [
            any((angle - low) % 180 <= high - low for low, high in one.fits_at_deg)
            for one in small_list().targets
        ]
        assert f"At reading {reading:g} you can frame {sum(holds)} of the" in words(app)
        assert f"**Looked at**: at reading {reading:g} you can frame {sum(holds)} of the" in words(app)
        assert sum(frame["fits"] for frame in sky(app)["frames"]) == sum(holds)
    app.text_input(key="targets_text").set_value("sharpless 45")
    app = healthy(app.run())
    assert shown(app) == ["M 17"]
    (told,) = [one.proto.help for one in app.caption if "1 of 5 targets" in one.value]
    assert "4,192 nebulae" in told and told.endswith("The filters leave out 4 of other names.")
    app = turn_to(turn_to(app, "review"), "targets")
    assert shown(app) == ["M 17"] and app.slider(key="targets_angle").value == 37.0
    app.text_input(key="targets_text").set_value("no such name")
    app = healthy(app.run())
    assert "None of the 5 targets is left" in app.info[0].value


def test_the_best_angle_and_what_is_summed(app):
    app = at_targets(app)
    next(one for one in app.button if one.label.startswith("Go to the best")).click()
    app = healthy(app.run())
    reading = app.slider(key="targets_angle").value
    assert "Park the mount" in app.warning[-1].value
    assert f"at reading {reading:g}, " in words(app)
    app.segmented_control(key="targets_weighing").set_value("hours")
    assert " hours, " in words(healthy(app.run()))


def test_a_target_opens_in_compose(app):
    app = at_targets(app)
    first = shown(app)[0]
    app.button(key="targets_open").click()
    app = healthy(app.run())
    request = app.session_state["tab"].session.request
    assert request.region.object == first
    assert request.mosaic.position_angle_deg is not None


def test_a_fixed_camera_has_no_slider(tmp_path, monkeypatch):
    found = small_list()
    fixed = replace(found, setup=replace(found.setup, angle_device=AngleDevice("fixed", zero_deg=210.0)))
    monkeypatch.setattr(desk, "_found", lambda setup, report: fixed)
    monkeypatch.setattr(desk.TARGETS, "_kept", type(desk.TARGETS._kept)())
    app = at_targets(started(tmp_path, monkeypatch, PLAN + SITE + SEASON))
    assert not app.slider
    assert "At position angle 30 you can frame" in words(app)
    assert "**Now**: at position angle 30" in words(app)


STUB = """() => { window.sent = []; window.__frames = null;
  const data = { sid: "a", cap: { ra: 10, dec: 5, radius: 60 }, sky: { key: "k", stars: "", objects: [],
      nebulae: { licence: "", entries: [], rings: { points: "", start: [0], entry: [], level: [], kind: [] } } },
    look: { n: 0, ra: 10, dec: 5, half: 6 }, said: "reading 5",
    frames: [{ name: "A", title: "A: emission", fits: true, chosen: false,
      corners: [[12, 3], [8, 3], [8, 7], [12, 7]] }] };
  const setTriggerValue = (name, value) => sent.push([name, value]);
  window.show = (taken) => {
    window.mod({ parentElement: document.body, data: { ...data, taken }, setTriggerValue }); };
  show(3); }"""


@pytest.mark.skipif(CHROMIUM is None, reason="needs Debian's chromium")
def test_frames_in_a_browser(chromium):
    """A click on a frame chooses it, keys and the wheel move the view and choose nothing."""
    html, css, script = (
        frames_module._text(*names)
        for names in (
            ("frames.html",),
            ("sky.css", "frames.css"),
            [f"js/{name}.js" for name in frames_module.SCRIPTS],
        )
    )
    page = chromium.new_page(viewport={"width": 600, "height": 500})
    page.set_default_timeout(60_000)
    page.set_content(f"<style>{css}</style>{html}")
    page.add_script_tag(content=script.replace("export default function", "window.mod = function"))
    page.evaluate(STUB)
    frame = page.locator(".frames polygon")
    before = frame.get_attribute("points")
    page.mouse.click(300, page.locator(".sky").bounding_box()["height"] / 2)
    chosen = "sent.filter(one => one[0] === 'target').map(one => one[1].name + one[1].number)"
    page.wait_for_function(f"{chosen}.join().startsWith('A4,A4')")  # asked for until the planner has taken it
    page.evaluate("show(4)")
    page.locator(".sky > svg").focus()
    page.keyboard.press("ArrowLeft")
    page.wait_for_function(
        "before => document.querySelector('.frames polygon').getAttribute('points') !== before", arg=before
    )
    frame.focus()
    page.keyboard.press("Enter")
    page.wait_for_function(f"{chosen}.at(-1) === 'A5'")
    page.close()
