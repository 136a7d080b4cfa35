"""Nothing typed is lost in a real browser: other tabs and pages, a reload, a planner that stops and starts again."""

import pytest

from .conftest import choose, follows, key_of, rests, start_server
from .test_browser import (
    PANEL,
    PLAN,
    apply,
    composition,
    drag,
    file_boxes,
    middle,
    opened,
    page_of,
    settled,
    tab,
    until,
)

OVERLAP, COLUMNS = ".st-key-panels-mosaic-overlap input", ".st-key-panels-mosaic-columns input"
WIDTH = ".st-key-region-region-width_deg input"
LAYOUT, ANGLE = ".st-key-panels-mosaic-layout input", ".st-key-angle_value input"
FEWEST = ".st-key-angle_mode label[data-testid=stRadioOption] >> nth=0"
FOLDER, SOLVE, FIND = ".st-key-review_folder input", ".st-key-review_solve label", ".st-key-find_text input"


@pytest.fixture(scope="module")
def server(tmp_path_factory):
    folder = tmp_path_factory.mktemp("typed")
    (folder / "plan.toml").write_text(PLAN)
    process, address, log = start_server(folder, "plan.toml")
    yield address, folder
    process.terminate()
    process.wait(60)
    assert "Traceback" not in log.read_text()


@pytest.fixture
def page(chromium, server):
    page = opened(chromium, server[0])
    yield page
    assert page.faults == []
    page.close()


def remembered(page, *texts):
    """Wait until the browser has noted what was typed."""
    until(
        page,
        lambda: page.evaluate("sessionStorage.getItem('mosaic-planner') ?? ''"),
        lambda it: all(t in it for t in texts),
    )


def forgotten(page):
    """Wait until the browser remembers nothing that was typed."""
    until(
        page,
        lambda: page.evaluate("JSON.parse(sessionStorage.getItem('mosaic-planner')).drafts"),
        lambda all: not all,
    )


def comes_back(page, field, text):
    until(page, page.locator(field).input_value, lambda found: found == text)


def stays(page, field, text):
    """Go to another tab and back: an input shows a text, and nothing that is remembered is given back to it."""
    for name in ("Region", "Panels"):
        tab(page, name)
    comes_back(page, field, text)
    page.wait_for_timeout(500)  # what is remembered would be given back by now
    rests(page)
    assert page.locator(field).input_value() == text


def file_text(page):
    """What As file shows at once when it is opened."""
    page.get_by_role("button", name="As file").click()
    (text,) = until(page, lambda: file_boxes(page), lambda texts: len(texts) == 1)
    page.keyboard.press("Escape")
    page.get_by_label("The plan file", exact=True).wait_for(state="hidden")
    return text


def saved_text(folder):
    """The present text as it is kept beside the plan file, or the file itself."""
    kept = list(folder.glob(".plan.toml.*.unsaved"))
    return (
        max(kept, key=lambda path: path.stat().st_mtime_ns).read_text()
        if kept
        else (folder / "plan.toml").read_text()
    )


def test_what_is_typed_comes_back_on_tabs_on_pages_and_after_a_reload(page):
    tab(page, "Panels")
    page.locator(OVERLAP).fill("0.3")
    page.locator(COLUMNS).fill("3")
    choose(page, page.locator(LAYOUT), "sliding")
    remembered(page, '"0.3', '"3"', '"sliding"')
    tab(page, "Angle")
    page.locator(FEWEST).click()
    page.locator(ANGLE).fill("33")
    remembered(page, '"33"', '"angle_mode"')
    page_of(page, "Nights")
    page.locator(".st-key-season-nights-first [data-type=year]").click()
    page.keyboard.type("20270108")
    remembered(page, '"2027-01-08"')
    page_of(page, "Review")
    page.locator(FOLDER).fill("/data/vela")
    page.locator(SOLVE).click()
    remembered(page, '"/data/vela"', '"false"')
    page_of(page, "Nights")
    until(
        page,
        page.locator(".st-key-season-nights-first").inner_text,
        lambda text: "2027" in text and "08" in text,
    )
    page_of(page, "Review")
    comes_back(page, FOLDER, "/data/vela")
    until(page, lambda: page.locator(SOLVE).locator("input").is_checked(), lambda found: found is False)
    page_of(page, "Compose")
    opened_tab = page.locator("[role=tab][aria-selected=true]")
    for reload in (False, True):
        if reload:
            page.reload()
            page.locator(PANEL).first.wait_for(state="attached")
            rests(page)
        until(page, opened_tab.all_inner_texts, lambda names: names == ["Angle"])  # as it was left
        tab(page, "Panels")
        comes_back(page, OVERLAP, "0.30")
        comes_back(page, COLUMNS, "3")
        comes_back(page, LAYOUT, "sliding")
        tab(page, "Angle")
        comes_back(page, ANGLE, "33.00")
        until(page, page.locator(FEWEST).locator("input").is_checked, bool)


def test_what_was_applied_or_undone_does_not_come_back(page):
    tab(page, "Panels")
    apply(page, page.locator(OVERLAP), "0.25")
    page.get_by_text("not saved").wait_for()
    settled(page)
    page.locator(".sky > svg").focus()
    page.keyboard.press("Control+z")
    page.get_by_text("not saved").wait_for(state="hidden")
    rests(page)
    stays(page, OVERLAP, "0.15")


FAR_AWAY = """const Near = WebSocket; window.WebSocket = class extends Near {
    set onmessage(act) { super.onmessage = (event) => this.later(act, event); }
    addEventListener(name, act, ...rest) {
        super.addEventListener(name, name === "message" ? (event) => this.later(act, event) : act, ...rest);
    }
    later(act, event) { setTimeout(() => act(event), 300); } };"""
"""Every answer of the planner reaches the browser 0.3 s late."""


def test_inputs_keep_their_values_and_the_last_tab_stays_where_clicks_are_faster_than_answers(
    chromium, server
):
    page = opened(chromium, server[0], first_of_all=FAR_AWAY)
    for name in ("Panels", "Region", "Camera"):
        tab(page, name)
    for name in ("Print", "Panels", "Region", "Panels"):
        page.get_by_role("tab", name=name, exact=True).click()
        page.wait_for_timeout(200 if name == "Print" else 100)  # Print is answered by then, and not heard of
    rests(page)
    last = page.get_by_role("tab", name="Panels", exact=True)
    until(page, lambda: last.get_attribute("aria-selected"), lambda it: it == "true")  # if lost, chosen again
    comes_back(page, OVERLAP, "0.15")
    page.wait_for_timeout(500)  # what is remembered would be given back by now
    rests(page)
    assert last.get_attribute("aria-selected") == "true" and page.locator(OVERLAP).input_value() == "0.15"
    page.locator(OVERLAP).fill("0.25")
    page.locator(OVERLAP).press("Enter")
    remembered(page, '"0.25')
    page.locator(".sky > svg").focus()
    page.keyboard.press("Control+z")  # undone before it was seen to be applied
    forgotten(page)
    comes_back(page, OVERLAP, "0.15")
    assert page.faults == []
    page.close()


def test_a_list_stays_open_while_the_page_changes_about_it(chromium, server):
    page = opened(chromium, server[0], first_of_all=FAR_AWAY)
    page.set_viewport_size({"width": 1280, "height": 600})  # the page scrolls by itself to keep what is seen
    width, kind = page.locator(WIDTH), page.locator(".st-key-region_form_wanted input")
    for text, says in (("-7", "visible"), ("4.9", "hidden")):
        width.fill(text)
        width.press("Enter")
        kind.click()
        listed = page.locator("[role=listbox][data-collection]").element_handle()
        page.get_by_text("width_deg must").wait_for(state=says)
        rests(page)
        assert listed.evaluate("list => list.isConnected && list.childElementCount > 0")
        page.keyboard.press("Escape")
    assert page.faults == []
    page.close()


FIRST_IS_LOST = """const away = WebSocket.prototype.send; window.lost = 0;
WebSocket.prototype.send = function (what) {
    const text = new TextDecoder("latin1").decode(what);
    if (!window.lost && text.includes('"inputs"') && text.includes("0.3")) { window.lost = 1; return; }
    return away.call(this, what); };"""
"""The first message that gives back what was typed does not arrive."""


def test_what_was_typed_is_given_back_again_where_the_message_is_lost(chromium, server):
    page = opened(chromium, server[0], first_of_all=FIRST_IS_LOST)
    tab(page, "Panels")
    page.locator(OVERLAP).fill("0.3")
    remembered(page, '"0.3')
    tab(page, "Region")
    page.locator(OVERLAP).wait_for(state="hidden")
    tab(page, "Panels")
    comes_back(page, OVERLAP, "0.30")
    assert page.evaluate("window.lost") == 1
    assert page.faults == []
    page.close()


def test_what_is_pasted_comes_back_where_the_tab_is_left_at_once(page):
    tab(page, "Panels")
    page.locator(OVERLAP).click(click_count=3)
    page.keyboard.insert_text("0.3")
    page.keyboard.press("Tab")
    tab(page, "Region")
    tab(page, "Panels")
    comes_back(page, OVERLAP, "0.30")


def test_what_was_given_back_and_taken_back_by_hand_stays_so(page):
    tab(page, "Panels")
    page.locator(OVERLAP).fill("0.3")
    remembered(page, '"0.3')
    tab(page, "Region")
    tab(page, "Panels")
    comes_back(page, OVERLAP, "0.30")
    follows(page, page.locator(".st-key-red label").click)  # the planner knows by now what stands there
    page.locator(OVERLAP).fill("0.15")
    page.locator(OVERLAP).press("Tab")
    forgotten(page)
    page.wait_for_timeout(500)
    rests(page)
    stays(page, OVERLAP, "0.15")
    follows(page, page.locator(".st-key-red label").click)


def test_another_plan_than_the_first_is_back_after_a_reload_with_all_that_was_typed_and_chosen(page, server):
    (server[1] / "other.toml").write_text(PLAN.replace("Browser test", "Another one").replace("20.0", "33.0"))
    page.get_by_role("button", name="Open", exact=True).first.click()
    apply(page, page.get_by_label("Plan file on this machine"), str(server[1] / "other.toml"))
    page.locator(".st-key-open_path_text").wait_for(state="hidden")  # the menu closes
    rests(page)
    tab(page, "Panels")
    page.locator(OVERLAP).fill("0.3")
    remembered(page, '"0.3', "other.toml")
    drafts = page.evaluate("JSON.parse(sessionStorage.getItem('mosaic-planner')).drafts")
    assert list(drafts) == ["panels-mosaic-overlap"]  # nothing that nobody typed
    page.reload()
    page.get_by_text("Another one").first.wait_for()
    comes_back(page, OVERLAP, "0.30")  # its tab is open again
    assert page.locator("html.planner-going-back").count() == 0


def test_as_file_shows_the_present_text_wherever_one_comes_from(page, server):
    folder = server[1]

    def go_there():
        apply(page, page.locator(FIND), "0h10m -89d")

    for way in (
        lambda: None,
        lambda: tab(page, "Panels"),
        lambda: tab(page, "Region"),
        lambda: follows(page, page.locator(".st-key-red label").click),
        lambda: page_of(page, "Nights"),
        lambda: page_of(page, "Review"),
        go_there,
    ):
        x, y = middle(page.locator(".sky .picture"))
        drag(page, (x, y), (x - 25, y + 15))
        settled(page)
        center = composition(page)["center"]
        way()
        rests(page)
        text = until(page, lambda: file_text(page), lambda text: f"{center[0]}" in text)
        assert text == saved_text(folder)
        if page.locator(PANEL).count() == 0:
            page_of(page, "Compose")
            page.locator(PANEL).first.wait_for(state="attached")
            assert file_text(page) == text
            rests(page)


def test_a_table_of_filters_that_is_not_applied_stays_on_other_pages(page, server):
    page_of(page, "Nights")
    cells = page.locator("[data-testid=stDataFrame] canvas").first
    cells.wait_for()
    box = cells.bounding_box()
    page.mouse.dblclick(box["x"] + 60, box["y"] + 52)
    page.locator("[class*=gdg-] input, [class*=gdg-] textarea").first.wait_for()
    page.wait_for_function("document.activeElement.matches('[class*=gdg-] :is(input, textarea)')")
    page.wait_for_timeout(400)  # the table's editor takes the focus with a delay
    page.keyboard.press("Control+a")
    page.keyboard.type("OIII", delay=80)
    follows(page, lambda: page.keyboard.press("Enter"))
    page_of(page, "Angles")
    page_of(page, "Nights")
    follows(page, page.locator(".st-key-filters_apply button").click)
    page.get_by_text("not saved").wait_for()
    assert 'name = "OIII"' in saved_text(server[1])


def test_typed_text_of_the_file_stays_when_the_menu_closes(page):
    page.get_by_role("button", name="As file").click()
    box = page.get_by_label("The plan file", exact=True)
    box.wait_for()
    rests(page)
    box.fill(box.input_value() + "# half a thought\n")
    remembered(page, "half a thought")
    page.keyboard.press("Escape")
    page_of(page, "Angles")
    page.get_by_role("button", name="As file").click()
    until(page, lambda: file_boxes(page), lambda texts: len(texts) == 1 and "half a thought" in texts[0])


def test_a_planner_that_stops_and_starts_again_says_so_and_has_what_was_unsaved(chromium, tmp_path):
    (tmp_path / "plan.toml").write_text(PLAN)
    process, address, log = start_server(tmp_path, "plan.toml", key=True)
    page = opened(chromium, f"{address}/?key={key_of(log)}")
    tab(page, "Panels")
    apply(page, page.locator(OVERLAP), "0.3")
    page.get_by_text("not saved").wait_for()
    page.locator(COLUMNS).fill("4")
    page.locator(COLUMNS).press("Tab")  # what is typed lasts where its field was left, too
    remembered(page, '"4"')
    process.terminate()
    process.wait(60)
    assert "Traceback" not in log.read_text()
    page.get_by_text("The planner does not answer").wait_for()
    assert not any(words.is_visible() for words in page.get_by_text("connected to the internet").all())
    process, _, log = start_server(tmp_path, "plan.toml", key=True, port=int(address.rpartition(":")[2]))
    page.get_by_text("open the address that its command line printed").wait_for()
    another = page.context.new_page()
    another.goto(f"{address}/?key={key_of(log)}")  # lets this browser in again
    page.get_by_text("The planner was restarted; your unsaved text of this plan is here").wait_for()
    comes_back(page, COLUMNS, "4")
    rests(page)
    follows(page, page.get_by_role("button", name="Use my text").click)
    page.get_by_text("not saved").wait_for()
    comes_back(page, OVERLAP, "0.30")
    assert "overlap = 0.3" in file_text(page) and "overlap" not in (tmp_path / "plan.toml").read_text()
    another.close()
    page.close()
    process.terminate()
    process.wait(60)
    assert "Traceback" not in log.read_text()
