"""The pages with a plan file that two instruments share: one is chosen, and all pages tell its part."""

import sys

import pytest
from streamlit.testing.v1 import AppTest

from planner.answers.shared.shared_plan import make_shared_plan
from planner.files.plan_file.shared import read_shared_file
from tests.answers.shared.shared_files import write_shared
from tests.app.conftest import ROOT
from tests.app.test_pages import healthy, open_tab, press, turn_to
from tests.frames.solved_file import write_solved

pytestmark = pytest.mark.usefixtures("made_once")


@pytest.fixture
def path(tmp_path, monkeypatch):
    found = write_shared(tmp_path, wide='filters = ["Ha"]\npanels = ["A1", "B2"]')
    monkeypatch.setattr(sys, "argv", ["app.py", str(found)])
    return found


@pytest.fixture
def app(path):
    return AppTest.from_file(ROOT / "planner" / "app.py", default_timeout=60).run()


def choose(app, name):
    (control,) = [one for one in app.segmented_control if "Wide pier" in one.options]
    healthy(control.set_value(name).run())


def frames_of_both(path, folder):
    """One solved frame of each panel that an instrument takes."""
    folder.mkdir()
    for one in make_shared_plan(read_shared_file(path)).instruments:
        for panel in one.plan.mosaic.panels:
            write_solved(
                folder / f"{one.name[0]}_{panel.name}.fits",
                size=(60, 40),
                scale_arcsec=one.plan.request.camera.scale_arcsec_px,
                position_angle_deg=panel.position_angle_deg,
                center=(panel.ra_deg, panel.dec_deg),
                FILTER=one.instrument.filters[0],
                EXPTIME=600.0,
            )
    return folder


def test_every_page_tells_the_part_of_the_chosen_instrument(app, path, tmp_path):
    healthy(app)
    assert any("The pages tell the part of Fine pier" in one.value for one in app.caption)
    assert any("9 panels" in one.value for one in app.markdown)
    choose(app, "Wide pier")
    assert any("2 panels" in one.value for one in app.markdown)
    for page in ("angles", "nights", "hand_over"):
        healthy(turn_to(app, page))
    turn_to(app, "review")
    app.text_input(key="review_folder").set_value(str(frames_of_both(path, tmp_path / "frames")))
    healthy(press(app, "Review"))
    found = app.session_state["reviewed"]
    assert {frame.instrument for frame in found.frames} == {"Wide pier"}
    assert found.review.verdicts == {"good": 2} and found.review.coverage.covered
    assert not any("changed since this review" in one.value for one in app.info)
    choose(app, "Fine pier")
    healthy(app.toggle(key="review_follow").set_value(True).run())
    assert any(one.value.startswith("Following: 11 frames (11 good)") for one in app.caption)
    assert app.session_state["reviewed"].review.verdicts == {"good": 9}
    (tmp_path / "frames" / "F_A1.fits").unlink()
    (tmp_path / "frames" / "W_A1.fits").unlink()
    healthy(app.run())  # as the page does by itself every two seconds
    found = app.session_state["reviewed"]
    assert found.review.verdicts == {"good": 8} and len(found.frames) == 8


def headlines(app):
    return [one.value for one in app.markdown if "good" in one.value]


def test_the_review_shown_is_that_of_the_chosen_instrument(app, path, tmp_path):
    choose(app, "Wide pier")
    turn_to(app, "review")
    app.text_input(key="review_folder").set_value(str(frames_of_both(path, tmp_path / "frames")))
    healthy(press(app, "Review"))
    assert any("2 good" in one for one in headlines(app))
    for name, count in (("Fine pier", 9), ("Wide pier", 2)):
        choose(app, name)
        assert any(f"{count} good" in one for one in headlines(app)) and not app.info
    each = app.session_state["reviewed"].each
    assert {frame.instrument for frame in each["Fine pier"].frames} == {"Fine pier"}
    open_tab(app, "Progress", "review_tabs")
    choose(app, "Fine pier")
    assert app.session_state["kept"]["standing"][1].plan.request.title.endswith("Fine pier")
    app.session_state["tab"].session.edit("here", {"region.width_deg": 6.0})
    healthy(app.run())
    assert [one.value for one in app.info] == ["This review is of Wide pier; press Review for Fine pier."]
    assert not headlines(app)
    choose(app, "Wide pier")
    assert any("changed since this review" in one.value for one in app.info)


def test_panels_of_all_are_settled_and_let_go_with_one_press(app):
    now = app.session_state["tab"].session
    before = now.history.present
    healthy(app.button(key="settle").click().run())
    assert [len(one.request.panels) for one in now.shared.instruments] == [6, 9]
    healthy(app.button(key="unsettle").click().run())
    assert now.history.present == before
