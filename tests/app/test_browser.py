"""The app in a real browser: drag, turn, type, draw, upload, download; numbers against the command line."""

import json
import random
import re
import time
import tomllib
import zipfile
from functools import cache

import numpy as np
import pytest

from planner.cli import main
from planner.files.plan_file.read import read_plan_file
from planner.geometry import sky_basis, sky_to_vector, vector_to_plane

from .conftest import RUNS, addresses_of, follows, rests, start_server

PLAN = """\
title = "Browser test"  # stays

[camera]
focal_length_mm = 380.0
sensor_px = [6000, 4000]
pixel_um = 3.9

[region]
center = [128.5, -45.8]
width_deg = 5.0
height_deg = 3.5
position_angle_deg = 20.0

[picture]
position_angle_deg = 20.0

[mosaic]
position_angle_deg = 20.0
layout = "grid"

[angle_device]
kind = "adjuster"
zero_deg = 112.4
"""
PANEL = ".sky .panels polygon"


@pytest.fixture(scope="module")
def server(tmp_path_factory):
    folder = tmp_path_factory.mktemp("elsewhere")
    (folder / "plan.toml").write_text(PLAN)
    process, address, log = start_server(folder, "plan.toml")
    yield address, folder
    process.terminate()
    process.wait(60)
    assert "Traceback" not in log.read_text()
    found = addresses_of(folder)
    assert any(line.startswith("socket.bind ('127.0.0.1'") for line in found)  # the watch itself works
    assert [
        line for line in found if not re.search(r"'(127\.0\.0\.1|localhost|::1)'|^\S+ (None|'/)", line)
    ] == []


@cache
def visitor(chromium, **options):
    """Somebody who looks at the app in many tabs; with options somebody else."""
    return chromium.new_context(viewport={"width": 1280, "height": 800}, **options)


@cache
def waiting_tab(context, address):
    """A tab with next to nothing: as long as one is open, the app's scripts need not be read anew."""
    page = context.new_page()
    page.goto(address + "/_stcore/health")


def opened(chromium, address, first_of_all="", **options):
    """A new tab that keeps a record of every request and error; a script of its own can run first."""
    context = visitor(chromium, **options)
    waiting_tab(context, address.partition("/?")[0])
    page = context.new_page()
    page.set_default_timeout(60_000)
    page.add_init_script(first_of_all)
    page.add_init_script(RUNS)
    page.seen, page.faults = [], []
    page.on("request", lambda request: page.seen.append(request.url))
    page.on("websocket", lambda socket: page.seen.append(socket.url))
    page.on("console", lambda line: line.type == "error" and page.faults.append(line.text))
    page.on("pageerror", lambda error: page.faults.append(str(error)))
    page.goto(address)
    page.locator(PANEL).first.wait_for(state="attached")
    rests(page)
    return page


def closed(page, address):
    """Nothing but our own server was asked, and nothing went wrong."""
    ours = (address, address.replace("http", "ws"), "data:", "blob:")
    assert [url for url in page.seen if not url.startswith(ours)] == []
    assert page.faults == []
    page.close()


@pytest.fixture
def page(chromium, server):
    page = opened(chromium, server[0])
    yield page
    closed(page, server[0])


@pytest.fixture(scope="module")
def looker(chromium, server):
    """A tab for tests that change nothing of the plan."""
    page = opened(chromium, server[0])
    yield page
    closed(page, server[0])


def middle(locator):
    box = locator.bounding_box()
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def drag(page, start, end, steps=12):
    page.mouse.move(*start)
    page.mouse.down()
    page.mouse.move(*end, steps=steps)
    page.mouse.up()


def value(page, label):
    return page.get_by_label(label, exact=True).first.input_value()


def until(page, look, right):
    """Poll until what is looked at is right."""
    ends = time.monotonic() + 60
    while not right(found := look()):
        assert time.monotonic() < ends, found
        page.wait_for_timeout(25)
    return found


def sky(page, script):
    return page.locator(".sky > svg").evaluate(
        f"svg => {{ const sky = svg.getRootNode().__sky; return {script}; }}"
    )


def composition(page):
    return sky(page, "sky.composition.message()")


def settled(page):
    """Wait until Python's answer to the last gesture is drawn."""
    until(page, lambda: sky(page, "(sky.sent ?? 0) < sky.answered && !sky.gestures.busy"), bool)


def file_boxes(page):
    """Texts of the boxes under As file, at one instant: while a run goes on, one goes as another comes."""
    found = page.get_by_label("The plan file", exact=True)
    return found.evaluate_all("boxes => boxes.map(box => box.value)")


def plan_text(page):
    """The plan file as the app shows it, once the page has followed the sky."""
    rests(page)
    page.get_by_role("button", name="As file").click()
    (text,) = until(page, lambda: file_boxes(page), lambda texts: len(texts) == 1)
    page.keyboard.press("Escape")
    return text


def page_of(page, name):
    """Go to another page, and wait until it is there."""
    follows(page, page.get_by_role("link", name=name).click)
    page.wait_for_url(re.compile(name.lower().replace(" ", "-") if name != "Compose" else "/$"))


def tab(page, name):
    """Open a tab, and wait until its part is there."""
    follows(page, page.get_by_role("tab", name=name, exact=True).click)


def apply(page, field, text):
    """Type into a field of a form, and send the form off."""
    field.fill(text)
    follows(page, lambda: field.press("Enter"))


def test_drag_turn_resize_and_keys_end_in_the_plan_file(page, server):
    x, y = middle(page.locator(".sky .picture"))
    drag(page, (x, y), (x - 80, y + 50))  # left in a picture of the sky is east
    settled(page)
    moved = composition(page)
    assert moved["center"][0] > 129.0 and moved["center"][1] < -46.0
    assert sky(page, "sky.backdrop.stars.mag.length") > 500
    x, y = middle(page.locator(".sky .handle"))
    drag(page, (x, y), (x - 120, y + 40))
    settled(page)
    turned = composition(page)["position_angle_deg"]
    assert 30.0 < turned < 90.0
    drag(
        page,
        middle(page.locator(".sky .corners circle").nth(0)),
        middle(page.locator(".sky .corners circle").nth(3)),
    )
    settled(page)
    page.locator(".sky > svg").focus()
    before = composition(page)["center"]
    page.keyboard.press("ArrowUp")
    page.keyboard.press("Shift+ArrowUp")
    page.keyboard.press(".")
    settled(page)
    until(page, lambda: composition(page)["position_angle_deg"], lambda pa: abs(pa - turned - 1.0) < 0.006)
    settled(page)
    assert composition(page)["center"][1] > before[1]
    text = plan_text(page)
    assert "# stays" in text
    now = composition(page)
    assert f"position_angle_deg = {now['position_angle_deg']:.2f}".rstrip("0") in text
    assert text.count("position_angle_deg") == 3  # region, picture and panels turned together
    assert f"{now['center'][1]:.5f}".rstrip("0") in text


def test_saved_plan_gives_the_same_bytes_on_the_command_line(page, server, capsysbinary):
    x, y = middle(page.locator(".sky .picture"))
    drag(page, (x, y), (x + 60, y - 30))
    settled(page)
    rests(page)
    tab(page, "Panels")
    apply(page, page.get_by_label("Overlap (above 0, to 0.9)", exact=True), "0.22")
    page.get_by_text("not saved").wait_for()
    page.get_by_role("button", name="Save", exact=True).click()
    path = server[1] / "saved.toml"
    apply(page, page.get_by_label("Plan file on this machine", exact=True), str(path))
    page.get_by_text("not saved").wait_for(state="hidden")
    request = read_plan_file(path)
    assert request.mosaic.overlap == 0.22 and "# stays" in path.read_text()
    assert request.region.center == pytest.approx(composition(page)["center"], abs=1e-5)
    button = page.get_by_role("button", name="Download the plan (plan.json)")
    button.wait_for(state="hidden")  # the menu closes once the file is saved
    page.get_by_role("button", name="Save", exact=True).click()
    with page.expect_download(timeout=60_000) as download:
        button.click()
    assert main(["plan", str(path), "--json"]) == 0
    assert download.value.path().read_bytes() == capsysbinary.readouterr().out


def test_undo_and_redo_by_keys_and_buttons(page):
    start = composition(page)["center"]
    x, y = middle(page.locator(".sky .picture"))
    drag(page, (x, y), (x - 100, y))
    settled(page)
    moved = composition(page)["center"]
    page.locator(".sky > svg").focus()
    page.keyboard.press("Control+z")
    until(page, lambda: composition(page)["center"], lambda c: c == start)
    page.get_by_role("button", name="Redo").click()
    until(page, lambda: composition(page)["center"], lambda c: c == pytest.approx(moved, abs=1e-5))
    page.get_by_label("Object or position").press("Control+z")  # there it takes typed text back
    page.get_by_role("button", name="Save", exact=True).focus()
    page.keyboard.press("Control+z")
    until(page, lambda: composition(page)["center"], lambda c: c == start)
    page.keyboard.press("Control+y")
    until(page, lambda: composition(page)["center"], lambda c: c == pytest.approx(moved, abs=1e-5))
    page.get_by_role("link", name="Review").click()
    page.keyboard.press("Control+z")  # while the sky is being left
    page.get_by_text("not saved").wait_for(state="hidden")
    page.get_by_text("Frames that came back").wait_for()
    page.keyboard.press("Control+y")
    page.get_by_text("not saved").wait_for()
    page.keyboard.press("Control+z")
    page.get_by_text("not saved").wait_for(state="hidden")


def test_a_help_bubble_keeps_no_press_from_what_it_covers(looker):
    looker.get_by_role("button", name="Settle", exact=True).hover()
    bubble = looker.locator("[role=tooltip]")
    until(
        looker,
        lambda: bubble.evaluate_all("all => all.map(one => one.style.pointerEvents)"),
        lambda all: all == ["none"],
    )
    looker.mouse.move(5, 5)
    bubble.wait_for(state="detached")


def test_a_refusal_out_of_sight_is_brought_to_view(page):
    page.set_viewport_size({"width": 1280, "height": 420})
    tab(page, "Camera")
    apply(page, page.get_by_label("Usable part of height (to 1)", exact=True), "7")
    refusal = page.get_by_text("usable must be two fractions")
    refusal.wait_for()
    until(page, refusal.bounding_box, lambda box: box and 0 < box["y"] < 420 - box["height"])


def test_the_answer_to_one_drag_does_not_disturb_the_next(page):
    x, _ = middle(page.locator(".sky .picture"))
    page.locator(
        ".sky > svg"
    ).evaluate("""svg => {   // in one task: the answer surely comes during the second drag
        svg.setPointerCapture = () => {};              // synthetic pointers cannot be captured
        const p = svg.querySelector(".picture"), b = p.getBoundingClientRect();
        const x = b.x + b.width / 2, y = b.y + b.height / 2;
        const go = (type, x, at = svg) => at.dispatchEvent(
            new PointerEvent(type, { clientX: x, clientY: y, bubbles: true, pointerId: 9 }));
        go("pointerdown", x, p); go("pointermove", x - 60); go("pointerup", x - 60);
        go("pointerdown", x - 60, p); go("pointermove", x + 60);
        window.release = () => go("pointerup", x + 60); }""")
    until(page, lambda: sky(page, "sky.data.rev"), lambda rev: rev >= 1)
    assert abs(middle(page.locator(".sky .picture"))[0] - (x + 60)) < 4
    page.evaluate("release()")
    settled(page)
    assert abs(middle(page.locator(".sky .picture"))[0] - (x + 60)) < 4
    assert composition(page)["center"][0] < 128.0


def test_the_canvas_goes_through_the_page_where_it_cannot_ask_itself(page):
    page.route("**/canvas", lambda route: route.abort())
    x, y = middle(page.locator(".sky .picture"))
    drag(page, (x, y), (x - 80, y))
    settled(page)
    center = tomllib.loads(plan_text(page))["region"]["center"]
    assert center == pytest.approx(composition(page)["center"], abs=1e-5) and center[0] > 129.0
    page.faults = [fault for fault in page.faults if "ERR_FAILED" not in fault]  # the barred request itself


def test_only_the_tab_itself_gets_answers(looker):
    ask = """async ([sid, type, body]) => (await fetch("/canvas", { method: "POST", headers: { "content-type": type },
        body: body ?? JSON.stringify({ sid, messages: [] }) })).status"""
    sid, json_type = sky(looker, "sky.sid"), "application/json"
    assert looker.evaluate(ask, [sid, json_type, None]) == 200
    assert looker.evaluate(ask, ["another", json_type, None]) == 404
    assert looker.evaluate(ask, [sid, "text/plain", None]) == 415  # what other hosts' pages can send unasked
    assert looker.evaluate(ask, [sid, json_type, "{"]) == 400
    assert looker.evaluate(ask, [sid, json_type, "1"]) == 404
    looker.faults = [fault for fault in looker.faults if "status of 4" not in fault]


def test_the_browser_projects_as_the_planner_does(looker):
    rng = np.random.default_rng(7)
    for ra, dec, half in [(128.5, -45.8, 5), (0.0, 0.5, 3), (10.0, 89.9, 20), (200.0, -89.0, 12)]:
        places = np.column_stack(
            [ra + rng.uniform(-3, 3, 20), np.clip(dec + rng.uniform(-3, 3, 20), -90, 90)]
        )
        look = f"sky.view.look({ra}, {dec}, {half}, 0)"
        each = f"{json.dumps(places.tolist())}.map(p => sky.view.pixel(sky.view.constructor.vector(p)))"
        found, width, height = sky(looker, f"({look}, [{each}, sky.view.W, sky.view.H])")
        plane = vector_to_plane(sky_to_vector(*places.T), sky_basis(ra, dec, 0.0))
        expected = np.array([width / 2, height / 2]) - plane * height / 2 / np.tan(np.radians(half))
        np.testing.assert_allclose(found, expected, atol=1e-6)


def test_a_picture_that_crosses_a_pole_does_not_spin(looker):
    bend = "(sky.composition.hold({}), sky.composition.moveTo({}), sky.composition.bend)"
    assert abs(sky(looker, bend.format([10, 89], [190, 89]))) == pytest.approx(180.0, abs=1e-6)
    assert sky(looker, bend.format([10, 40], [60, 50])) == 0
    sky(looker, "sky.revert()")


def test_the_graticule_is_right_at_a_pole_and_across_0_h(looker):
    across = sky(looker, "(sky.view.look(0.2, 10, 3, 0), sky.view.graticule())")
    hours = [line["text"] for line in across["meridians"]]
    assert "0h00m" in hours and any(text.startswith("23h") for text in hours)
    assert len(hours) == len(set(hours))
    polar = sky(looker, "(sky.view.look(123, 89.5, 8, 0), sky.view.graticule())")
    assert [line["text"] for line in polar["meridians"]] == [f"{hour}h" for hour in range(0, 24, 2)]
    pole = np.array(sky(looker, "sky.view.pixel([0, 0, 1])"))
    ends = np.array([line["points"][-1] for line in polar["meridians"]])
    short = np.linalg.norm(ends - pole, axis=1)
    assert np.allclose(short[::3], 0.0, atol=1e-6) and (short[[1, 2, 4, 5]] > 10).all()
    for circle in polar["parallels"]:  # every parallel closes about the pole
        assert np.allclose(circle["points"][0], circle["points"][-1], atol=1e-6)


def test_outline_drawn_by_keys_alone(page):
    page.get_by_role("button", name="Draw the region's outline").focus()
    page.keyboard.press("Enter")
    for keys in (["Shift+ArrowRight"] * 2, ["Shift+ArrowDown"] * 3, ["Shift+ArrowLeft"] * 4):
        for key in keys:
            page.keyboard.press(key)
        page.keyboard.press("Space")
    page.keyboard.press("Enter")
    page.get_by_text("An outline of 3 corners").wait_for()
    settled(page)
    rests(page)
    page.locator(".sky .corners circle").first.focus()
    page.keyboard.press("Insert")
    settled(page)
    page.get_by_text("An outline of 4 corners").wait_for()
    rests(page)
    page.locator(".sky .corners circle").nth(0).focus()
    page.keyboard.press("Delete")
    page.get_by_text("An outline of 3 corners").wait_for()
    settled(page)


def test_search_and_errors_at_their_place(page):
    box = page.get_by_label("Object or position", exact=True)
    box.fill("no such thing")
    follows(page, page.get_by_role("button", name="Go there").click)
    page.get_by_text("the catalogue has no object 'no such thing'").wait_for()
    box.fill("0h10m -89d")
    follows(page, page.get_by_role("button", name="Go there").click)
    until(page, lambda: sky(page, "sky.view.dec"), lambda dec: abs(dec + 89.0) < 1e-6)
    assert page.locator(".stException").count() == 0


def nebula_at(page, name):
    """Where a nebula's centre stands on the page."""
    entry = f"sky.backdrop.nebulae.entries.find(o => o.name === '{name}')"
    look = f"sky.starsHere && {entry} && sky.view.pixel({entry}.v)"  # it asks anew after a look elsewhere
    spot = until(page, lambda: sky(page, look), bool)
    box = page.locator(".sky > svg").bounding_box()
    return box["x"] + spot[0], box["y"] + spot[1]


def test_a_click_on_a_nebula_offers_what_can_be_done_with_it(page):
    assert sky(page, "sky.backdrop.nebulae.rings.length") > 3  # outlines are drawn
    x, y = nebula_at(page, "NGC 2736")
    box = page.locator(".sky > svg").bounding_box()
    name = sky(
        page, f"sky.backdrop.objectAt({x - box['x']}, {y - box['y']}).name"
    )  # the smallest that lies there
    page.mouse.click(x, y)
    until(page, lambda: value(page, "Object or position"), lambda text: text == name)
    beneath = sky(page, f"sky.backdrop.objectsAt({x - box['x']}, {y - box['y']}).map(o => o.name)")
    for nth in range(1, len(beneath) + 1):  # round, back to the smallest
        page.mouse.click(x, y)
        until(page, lambda: sky(page, "sky.chosen?.name"), lambda now, nth=nth: now == (beneath * 2)[nth])
    back = page.get_by_role("button", name="Back to the region")
    assert not back.is_visible()
    sky(page, "(sky.view.look(0, 60), sky.viewed(), sky.draw(), 1)")
    until(page, lambda: sky(page, "sky.starsHere"), bool)
    back.click()
    until(page, back.is_visible, lambda seen: not seen)
    page.mouse.click(*nebula_at(page, "NGC 2736"))
    page.get_by_role("button", name="Make it the region", exact=True).first.click()
    until(page, lambda: sky(page, "sky.data.region.form"), lambda form: form == "object")
    settled(page)
    rests(page)
    page.get_by_label("Find a nebula").fill("gum 20")
    page.locator(".find li").first.wait_for()
    assert "frame" in page.locator(".find li").first.inner_text()
    page.get_by_label("Find a nebula").press("Enter")
    page.get_by_role("button", name="Add to the region").click()
    until(page, lambda: sky(page, "sky.data.region.form"), lambda form: form == "parts")
    settled(page)


def test_lines_that_help_to_compose_are_off_until_they_are_asked_for(page):
    lines = page.locator(".sky path.lines")
    assert not lines.get_attribute("d")
    assert page.locator(".sky .union").first.get_attribute("d").count("M") == page.locator(PANEL).count()
    page.locator(".shown summary").click()
    for name, count in (("Thirds", 4), ("Middle", 6), ("Diagonals", 8)):
        page.get_by_label(name, exact=True).check()
        until(
            page,
            lambda: (lines.get_attribute("d") or "").count("M"),
            lambda found, count=count: found == count,
        )
    ends = [
        [float(x) for x in re.findall(r"[-\d.]+", one)] for one in lines.get_attribute("d").split("M")[1:]
    ]
    corners = [sky(page, f"sky.view.pixel(sky.composition.live().picture[{i}])") for i in range(4)]
    np.testing.assert_allclose(np.reshape(ends[6:], (4, 2)), np.array(corners)[[0, 2, 1, 3]], atol=0.06)
    assert page.locator(".sky .shades").is_visible()
    page.get_by_label("Empty and outside", exact=True).uncheck()
    assert not page.locator(".sky .shades").is_visible()


def test_the_margin_of_one_frame_is_told_and_follows_the_hand(server, chromium):
    address, folder = server
    disc = "center = [128.5, -45.8]\nradius_deg = 0.5\n"
    text = re.sub(r"(?s)\[region\].*?\n\n", f"[region]\n{disc}\n", PLAN).replace('layout = "grid"\n', "")
    panel = "[[panels]]\nname = 'A1'\nra_deg = 128.5\ndec_deg = -45.8\nposition_angle_deg = 20.0\n"
    page = opened(chromium, address)
    page.get_by_role("button", name="As file").click()
    page.get_by_label("The plan file", exact=True).fill(text + panel)
    follows(page, page.get_by_role("button", name="Use this text").click)
    until(page, lambda: sky(page, "sky.data.region.form"), lambda form: form == "circle")
    field = 4000 * 3.9e-3 / 380 / 2  # tangent of half the height; the margin is a difference of tangents
    margin = np.degrees(field - np.tan(np.radians(0.5))) * 60
    told = lambda: page.locator(".sky .read").inner_text()  # noqa: E731
    until(page, told, lambda words: f"1 panel · margin {margin:.1f}\u2032" in words)
    words = "sky.root.querySelector('.read').textContent"
    moved = sky(page, f"(sky.composition.moveTo([128.5, -44.8]), sky.draw(), {words})")
    cut = 60 * (np.cos(np.radians(20.0)) + 0.5) - np.degrees(field) * 60  # flat: tangents add a little
    assert float(re.search(r"([\d.]+)\u2032 cut", moved)[1]) == pytest.approx(cut, abs=0.3)
    page.close()


def test_kinds_can_be_hidden_and_stay_hidden(page):
    page.locator(".shown summary").click()
    page.get_by_label("Names", exact=True).uncheck()
    page.get_by_label("Outlines", exact=True).uncheck()
    assert sky(page, "[sky.backdrop.shown.names, sky.backdrop.shown.outlines, sky.backdrop.shown.dark]") == [
        False,
        False,
        True,
    ]
    page_of(page, "Angles")
    page_of(page, "Compose")
    page.locator(".sky .panels polygon").first.wait_for()
    assert sky(page, "sky.backdrop.shown.names") is False


def test_two_tabs_do_not_disturb_each_other(chromium, page, server):
    other = opened(chromium, server[0])
    start = composition(other)["center"]
    x, y = middle(page.locator(".sky .picture"))
    drag(page, (x, y), (x - 60, y))
    settled(page)
    tab(other, "Panels")
    apply(other, other.get_by_label("Overlap (above 0, to 0.9)", exact=True), "0.3")
    other.get_by_text("not saved").wait_for()
    assert composition(other)["center"] == start
    assert "overlap = 0.3" not in plan_text(page)
    closed(other, server[0])


def test_red_view_lets_only_red_through(chromium, server, tmp_path):
    from PIL import Image

    page = opened(chromium, server[0] + "/?view=red", color_scheme="light")
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme)
        page.wait_for_function(
            f"getComputedStyle(document.querySelector('.stApp')).colorScheme === '{scheme}'"
        )
        page.screenshot(path=str(tmp_path / "red.png"))
        pixels = np.asarray(Image.open(tmp_path / "red.png").convert("RGB")).astype(int)
        assert pixels[..., 1:].max() == 0
        red = pixels[..., 0]  # the sky's ground has 30; how much of the page it takes is another matter
        assert red.max() > 120 and np.median(red) <= 30 and red.mean() < 60
    closed(page, server[0])


NAMELESS = """() => {
    const roots = [document, ...[...document.querySelectorAll("*")].map(e => e.shadowRoot).filter(Boolean)];
    const name = e => [e.ariaLabel, e.innerText, e.title, e.placeholder,
        ...[...(e.labels ?? [])].map(l => l.innerText), ...(e.getAttribute("aria-labelledby") ?? "").split(" ")
            .map(id => document.getElementById(id)?.innerText)];
    return roots.flatMap(r => [...r.querySelectorAll("button, input, textarea, [role=slider], [role=application]")])
        .filter(e => e.checkVisibility() && !e.closest("[aria-hidden=true]"))
        .filter(e => e.type !== "file" && !name(e).some(text => text?.trim()))
        .map(e => e.outerHTML.slice(0, 200)); }"""
"""Controls that a screen reader could not name."""


def test_every_page_opens_and_names_its_controls(page, server):
    assert page.evaluate(NAMELESS) == []
    for name in ("Targets", "Angles", "Nights", "Hand over", "Review"):
        page_of(page, name)
        assert page.locator(".stException").count() == 0
        until(page, lambda: page.evaluate(NAMELESS), lambda found: found == [])  # tables come piece by piece
    page_of(page, "Compose")
    page.locator(PANEL).first.wait_for(state="attached")
    assert sky(page, "sky.backdrop.stars.mag.length") > 500  # a new canvas gets its stars


def test_a_frame_is_uploaded_and_files_are_taken_along(page, tmp_path):
    from .test_pages import solved_frame

    solved_frame(tmp_path / "frame.fits", 50.0)
    page_of(page, "Angles")
    page.locator("input[type=file]").last.set_input_files(tmp_path / "frame.fits")
    page.get_by_text("frame.fits").wait_for()  # the form's button waits until it has arrived
    page.locator(".st-key-frame_reading input").fill("30")
    follows(page, page.get_by_role("button", name="Calibrate with it").click)
    page.get_by_text("Save this zero in the plan").wait_for()
    with page.expect_download(timeout=60_000) as sheet:
        page.get_by_role("button", name="Sheet for the helper").click()
    assert sheet.value.path().read_bytes().startswith(b"%PDF")
    page_of(page, "Hand over")
    for kind in ("instruction sheet for a person", "coverage maps of panels and region"):
        page.get_by_role("button", name=kind).click()
    follows(page, page.get_by_role("button", name="Make the files").click)
    with page.expect_download(timeout=60_000) as bundle:
        page.get_by_role("button", name="as one zip").click()
    names = zipfile.ZipFile(bundle.value.path()).namelist()
    assert "plan.json" in names and "headers/A1.hdr" in names and "site_sheet.pdf" not in names


def test_two_hundred_random_interactions(page, server):
    choose = random.Random(20)
    keys = [
        "ArrowUp",
        "ArrowDown",
        "ArrowLeft",
        "ArrowRight",
        ",",
        ".",
        "+",
        "-",
        "0",
        "Control+z",
        "Control+y",
    ]
    box = page.locator(".sky > svg").bounding_box()
    for _ in range(200):
        spot = (
            box["x"] + choose.uniform(5, box["width"] - 5),
            box["y"] + choose.uniform(60, box["height"] - 5),
        )
        kind = choose.randrange(4)
        if kind == 0:
            drag(page, spot, (spot[0] + choose.uniform(-90, 90), spot[1] + choose.uniform(-60, 60)), steps=1)
        elif kind == 1:
            page.mouse.move(*spot)
            page.mouse.wheel(0, choose.choice([-200, 200]))
        else:
            page.locator(".sky > svg").focus()
            page.keyboard.press(choose.choice(keys))
    settled(page)
    assert page.locator(".stException").count() == 0
    assert json.dumps(composition(page)) and page.locator(PANEL).count() > 0
