"""The guide in the app: the button opens the page that belongs to where one stands; a `?` opens an entry."""

import re
import sys

import pytest
from streamlit.testing.v1 import AppTest

from planner.guide.entries import key_entry, word_entries
from planner.guide.pages import guide_page
from planner.screen.guide_part import PAGE_SUBJECTS
from tests.guide.examples import ROOT

PLAN = """\
[camera]
focal_length_mm = 380
sensor_px = [6000, 4000]
pixel_um = 3.9

[region]
center = [128.5, -45.8]
width_deg = 3.0
height_deg = 2.0

[mosaic]
position_angle_deg = 0
layout = "grid"
"""


@pytest.fixture(scope="module")
def app(tmp_path_factory):
    path = tmp_path_factory.mktemp("app") / "plan.toml"
    path.write_text(PLAN)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(sys, "argv", ["app.py", str(path)])
        yield AppTest.from_file(ROOT / "planner" / "app.py", default_timeout=60).run()


def test_every_page_of_the_app_has_its_page_of_the_guide():
    titles = re.findall(
        r'st\.Page\(.*?title="(.*?)"', (ROOT / "planner" / "app.py").read_text(encoding="utf-8")
    )
    assert len(titles) >= 5
    assert set(titles) == set(PAGE_SUBJECTS)


def test_the_button_opens_the_page_that_belongs_to_where_one_stands(app):
    for page, subject in (("compose", "app"), ("nights", "nights")):
        app.switch_page(f"../pages/{page}.py").run()
        app.button(key="guide").click().run()
        assert not app.exception
        first = guide_page(subject).text.partition("\n")[0]
        assert any(one.value.startswith(first) for one in app.markdown)
        app.run()  # the page is made anew behind it: it stays
        assert any(one.value.startswith(first) for one in app.markdown)
        app.session_state["guide_open"] = None
        app.run()
        assert not any(one.value.startswith(first) for one in app.markdown)


def test_the_question_mark_beside_an_input_opens_the_entry_on_its_key(app):
    app.switch_page("../pages/compose.py").run()
    app.session_state["side"] = "Panels"
    app.run()
    asked = app.number_input(key="panels:mosaic.overlap")
    assert asked.help == key_entry("mosaic.overlap")
    assert key_entry("mosaic.layout") in app.selectbox(key="panels:mosaic.layout").help


def test_the_question_mark_beside_hard_words_opens_their_entries(app):
    app.switch_page("../pages/compose.py").run()
    assert any(one.proto.help == word_entries("bound") for one in app.caption)
    assert any(one.proto.help == word_entries("panel", "overlap", "proven") for one in app.markdown)
    for page, words in (("hand_over", ["hand-over"]), ("review", ["frame", "review"])):
        app.switch_page(f"../pages/{page}.py").run()
        assert any(one.proto.help == word_entries(*words) for one in app.markdown), page


def test_every_word_asked_for_has_its_entry():
    asked = [
        word
        for path in (ROOT / "planner" / "screen").glob("*.py")
        for call in re.findall(r"word_entries\(([^)]*)\)", path.read_text(encoding="utf-8"))
        for word in re.findall(r'"(.*?)"', call)
    ]
    assert len(asked) > 12
    for word in asked:
        assert word_entries(word).startswith(f"**{word}**: ")
