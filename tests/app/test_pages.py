"""Every page without a browser: it opens, its inputs reach the plan file, faults stand at their place."""

import datetime as dt
import io
import json
import logging
import sys

import numpy as np
import pytest
from astropy.io import fits
from astropy.wcs import WCS
from streamlit.proto.WidgetStates_pb2 import WidgetState
from streamlit.testing.v1 import AppTest

from planner.answers.plan import make_plan
from planner.files.plan_file.made_up_mark import MADE_UP_LINE
from planner.files.plan_file.write import update_document
from planner.screen.state import BROKEN
from planner.session.gestures import region_edits
from planner.session.plans import PlanDesk

from .conftest import ROOT
from .test_browser import PLAN

pytestmark = pytest.mark.usefixtures("made_once")
PAGES = ["compose", "targets", "angles", "nights", "hand_over", "review"]


@pytest.fixture
def app(tmp_path, monkeypatch):
    (tmp_path / "plan.toml").write_text(PLAN)
    monkeypatch.setattr(sys, "argv", ["app.py", str(tmp_path / "plan.toml")])
    return AppTest.from_file(ROOT / "planner" / "app.py", default_timeout=60).run()


def healthy(app):
    assert not app.exception, app.exception
    assert BROKEN not in [error.value for error in app.error]
    return app


def turn_to(app, page):
    return healthy(app.switch_page(f"../pages/{page}.py").run())


def canvas_data(app):
    return json.loads(app.get_by_key("sky").proto.json)


def send(app, event, value, states=None):
    """What the browser sends after a gesture. AppTest has no public call for it: private names, only here."""
    from streamlit.components.v2.bidi_component.main import _make_trigger_id

    state = WidgetState(id=_make_trigger_id(app.get_by_key("sky").proto.id, "events"))
    state.json_trigger_value = json.dumps([{"event": event, "value": value}])
    states = states or app._tree.get_widget_states()
    states.widgets.append(state)
    return healthy(app._run(states))


def gesture(app, *messages, states=None, sky=""):
    value = {"messages": list(messages), "sid": canvas_data(app)["sid"], "sky": sky}
    return send(app, "gesture", value, states)


def test_gestures_that_came_together_are_taken_in_turn(app):
    sid = canvas_data(app)["sid"]
    undo = {"kind": "undo", "rev": 2, "sid": sid}
    first, last = moved(app, 1, [130.0, -45.0]), moved(app, 3, [131.0, -45.0], angle=50.0)
    gesture(app, first, undo, last)
    assert request(app).region.center == (131.0, -45.0)
    assert request(app).mosaic.position_angle_deg == 50.0
    gesture(app, first, undo, last)  # sent again since the answer was late: known already
    assert len(app.session_state["tab"].session.history.past) == 1
    gesture(app, {"kind": "pick", "name": "NGC 2736", "rev": 4, "sid": sid})
    assert app.text_input(key="find_text").value == "NGC 2736"


def moved(app, rev, center, angle=20.0):
    return {
        "kind": "move",
        "form": "rectangle",
        "center": center,
        "position_angle_deg": angle,
        "region_angle_deg": angle,
        "touched": True,
        "rev": rev,
        "sid": canvas_data(app)["sid"],
        "picture": {"center": center, "width_deg": 6.0, "height_deg": 4.0},
    }


def press(app, label):
    found = [button for button in app.button if button.label == label]
    return healthy(found[0].click().run())


def open_tab(app, name, key="side"):
    """Open a tab: only the open one is made."""
    app.session_state[key] = name
    return healthy(app.run())


def submit(app, form):
    """Press a form's one button."""
    return next(one for one in app.button if one.proto.form_id == form).click().run()


def save_path(app):
    return next(one for one in app.text_input if one.key.startswith("save_path"))


def file_text(app):
    return next(one for one in app.text_area if one.label == "The plan file")


def request(app):
    return app.session_state["tab"].session.request


@pytest.mark.parametrize("page", PAGES)
def test_every_page_opens_with_the_plan_and_its_command_line(app, page):
    turn_to(app, page)
    verb = {"compose": "plan", "hand_over": "handover", "angles": "angle"}.get(page, page)
    assert f"python -m planner {verb} " in app.code[0].value
    assert [error.value for error in app.error] == []


@pytest.mark.parametrize("page", PAGES[2:])
def test_pages_say_while_a_search_may_still_change_the_panels(app, page):
    searched = PLAN.replace("position_angle_deg = 20.0\nlayout", "layout").replace("grid", "sliding")
    file_text(app).set_value(searched.replace("width_deg = 5.0", "width_deg = 3.6"))
    press(app, "Use this text")
    app.session_state["tab"].desk = PlanDesk()
    turn_to(app, page)
    assert any("the panels may still change" in one.value for one in app.warning)
    app.session_state["tab"].desk.final(request(app))
    assert not any("may still change" in one.value for one in healthy(app.run()).warning)


def test_gestures_reach_inputs_plan_and_canvas(app):
    gesture(app, moved(app, 1, [130.0, -45.0]))
    assert request(app).region.center == (130.0, -45.0)
    assert app.text_input(key="region:region.center 0").value == "08h40m00.0s"
    data = canvas_data(app)
    assert data["rev"] == 1 and data["region"]["center"] == [130.0, -45.0] and len(data["panels"]) == 4
    assert data["can_undo"] and not data["can_redo"]


def test_stars_that_the_canvas_has_are_not_sent_again(app):
    first = canvas_data(app)["sky"]
    assert len(first["stars"]) > 10_000 and first["objects"]
    gesture(app, moved(app, 1, [130.0, -45.0]), sky=first["key"])
    assert canvas_data(app)["sky"] == {"key": first["key"]}
    gesture(app, moved(app, 2, [131.0, -45.0]), sky="others")
    assert canvas_data(app)["sky"] == first
    assert canvas_data(healthy(app.run()))["sky"] == first  # a page that is made anew may have a new canvas


def test_only_the_open_tab_is_made(app):
    keys = [one.key for one in app.number_input]
    assert any(key.startswith("region:") for key in keys)
    assert not any(key.startswith(("panels:", "camera:", "print:")) for key in keys)


def test_a_message_sent_before_the_answer_carries_old_inputs_that_do_no_harm(app):
    """Every message holds the values of all inputs: here those from before the first gesture."""
    old = app._tree.get_widget_states()
    gesture(app, moved(app, 1, [130.0, -45.0]))
    gesture(app, moved(app, 2, [131.0, -45.0]), states=old)
    assert request(app).region.center == (131.0, -45.0)


def test_panels_shown_are_those_of_the_command_line(app):
    plan = make_plan(request(app))
    corners = np.array([panel["corners"] for panel in canvas_data(app)["panels"]])
    from planner.geometry import vector_to_sky
    from planner.mosaic.panel import panel_corners

    expected = np.stack(vector_to_sky(panel_corners(plan.mosaic.panels, plan.mosaic.field)), axis=-1)
    np.testing.assert_allclose(corners, expected, atol=1e-6)


def test_typed_values_reach_the_plan_file_and_bad_ones_are_explained(app):
    open_tab(app, "Panels")
    app.number_input(key="panels:mosaic.overlap").set_value(0.25)
    app.selectbox(key="panels:mosaic.angles").set_value("per_panel")
    app.button(key="FormSubmitter:panels-Apply").click().run()
    assert (request(app).mosaic.overlap, request(app).mosaic.angles) == (0.25, "per_panel")
    app.number_input(key="panels:mosaic.overlap").set_value(25.0)
    app.button(key="FormSubmitter:panels-Apply").click().run()
    assert "fraction, not per cent" in app.error[0].value
    assert request(app).mosaic.overlap == 0.25


def test_a_position_can_be_typed_in_any_form(app):
    app.text_input(key="region:region.center 0").set_value("9h00m00s")
    app.button(key="FormSubmitter:region-Apply").click().run()
    assert request(app).region.center == (135.0, -45.8)
    assert '"9h00m00s"' in app.session_state["tab"].session.history.present


def test_the_camera_angle_is_free_square_or_pinned(app):
    open_tab(app, "Angle")
    app.radio(key="angle_mode").set_value("fewest panels")
    app.button(key="FormSubmitter:angle-Apply").click().run()
    assert request(app).mosaic.position_angle_deg is None
    app.radio(key="angle_mode").set_value("this angle")
    app.number_input(key="angle_value").set_value(33.0)
    app.button(key="FormSubmitter:angle-Apply").click().run()
    assert request(app).mosaic.position_angle_deg == 33.0
    app.radio(key="angle_mode").set_value("square with the picture")
    app.button(key="FormSubmitter:angle-Apply").click().run()
    assert request(app).mosaic.position_angle_deg == 20.0


def test_undo_puts_the_camera_angle_s_choice_and_its_field_back(app):
    open_tab(app, "Angle")
    before = app.radio(key="angle_mode").value, app.number_input(key="angle_value").value
    app.radio(key="angle_mode").set_value("this angle")
    app.number_input(key="angle_value").set_value(33.0)
    app.button(key="FormSubmitter:angle-Apply").click().run()
    assert (app.radio(key="angle_mode").value, app.number_input(key="angle_value").value) != before
    gesture(app, {"kind": "undo", "rev": 5, "sid": canvas_data(app)["sid"]})
    assert (app.radio(key="angle_mode").value, app.number_input(key="angle_value").value) == before


def test_the_curve_of_angles_is_shown_and_its_best_taken(app):
    open_tab(app, "Angle")
    data = json.loads(app.get_by_key("angle_curve").proto.json)
    assert len(data["angles"]) == len(data["counts"]) == 180 and data["present"] == 20.0
    plan = app.session_state["tab"].desk.answer(request(app)).plan
    assert data["present_count"] == len(plan.mosaic.panels) and not any(data["proven"])
    assert data["counts"][int(data["best"])] == min(data["counts"])
    app.button(key="angle_best").click().run()
    assert request(app).mosaic.position_angle_deg == data["best"]
    app.button(key="angle_search").click().run()
    assert request(app).mosaic.position_angle_deg is None
    searched = json.loads(app.get_by_key("angle_curve").proto.json)
    assert searched["best"] is None  # the upright line is the best that was found: no other one beside it


def test_objects_become_the_region(app):
    app.text_input(key="find_text").set_value("NGC 2736")
    press(app, "Make it the region")
    assert request(app).region.object == "NGC 2736"
    app.text_input(key="find_text").set_value("NGC 99999")
    press(app, "Make it the region")
    assert "no object" in app.error[0].value and request(app).region.object == "NGC 2736"


def test_the_level_of_an_object_s_outline_is_chosen(app):
    app.text_input(key="find_text").set_value("IC 405")
    press(app, "Make it the region")
    assert app.selectbox(key="region:region.level").value == "as catalogues say"
    app.selectbox(key="region:region.level").set_value("bright")
    app.button(key="FormSubmitter:region-Apply").click().run()
    assert request(healthy(app)).region.level == "bright"
    app.selectbox(key="region:region.level").set_value("as catalogues say")
    app.button(key="FormSubmitter:region-Apply").click().run()
    assert request(healthy(app)).region.level is None


def test_the_text_of_the_plan_file_can_be_changed(app):
    text = file_text(app).value
    file_text(app).set_value(text.replace("width_deg = 5.0", "width_deg = 4.0"))
    press(app, "Use this text")
    assert request(app).region.width_deg == 4.0
    file_text(app).set_value("[camera\n")
    press(app, "Use this text")
    assert len(app.error) == 1 and request(app).region.width_deg == 4.0


def test_samples_paths_and_uploads_are_opened(app, tmp_path):
    app.selectbox(key="open_sample_title").set_value("Stream across 0 h")
    press(app, "Open the sample")
    assert request(app).title == "Stream across 0 h"
    other = tmp_path / "other.toml"
    other.write_text(PLAN.replace("Browser test", "Other plan"))
    app.text_input(key="open_path_text").set_value(str(other))
    press(app, "Open the file")
    assert request(app).title == "Other plan" and canvas_data(app)["look"]["n"] == 3
    files = [("pier.toml", PLAN[: PLAN.index("[region]")].encode(), "application/toml")]
    app.file_uploader(key="open_files").set_value(files)
    press(app, "Open these")
    assert "wanted one plan file" in app.error[0].value and request(app).title == "Other plan"
    text = PLAN.replace("Browser test", "Uploaded plan").encode()
    app.file_uploader(key="open_files").set_value([("up.toml", text, "application/toml")])
    press(app, "Open these")
    assert request(app).title == "Uploaded plan" and not app.error


def test_saving_writes_the_plan_file_and_nothing_else(app, tmp_path):
    open_tab(app, "Panels")
    app.number_input(key="panels:mosaic.overlap").set_value(0.25)
    app.button(key="FormSubmitter:panels-Apply").click().run()
    press(app, "Save")
    assert "overlap = 0.25" in (tmp_path / "plan.toml").read_text()
    (tmp_path / "taken.toml").write_text("other = 1\n")
    save_path(app).set_value(str(tmp_path / "taken.toml"))
    press(app, "Save")
    assert "in the way" in app.error[0].value
    assert (tmp_path / "taken.toml").read_text() == "other = 1\n"


def test_a_plan_that_cannot_be_made_says_so_and_can_be_undone(app):
    open_tab(app, "Camera")
    app.number_input(key="camera:camera.focal_length_mm").set_value(100000.0)
    app.button(key="FormSubmitter:camera-Apply").click().run()
    assert "more than the 20,000" in app.error[0].value
    gesture(app, {"kind": "undo", "rev": 99, "sid": canvas_data(app)["sid"]})
    assert request(app).camera.focal_length_mm == 380.0 and not app.error


def solved_frame(path, position_angle_deg, center_deg=(128.5, -45.8)):
    """A frame of the plan's camera, binned by 64, with a plate solution, written by astropy."""
    wcs = WCS(naxis=2)
    scale, turn = 64 * np.degrees(3.9e-3 / 380.0), np.radians(position_angle_deg)
    wcs.wcs.ctype, wcs.wcs.crval, wcs.wcs.crpix = ["RA---TAN", "DEC--TAN"], center_deg, [47.375, 31.75]
    wcs.wcs.cd = scale * np.array([[-np.cos(turn), np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    header = wcs.to_header()
    header["XBINNING"] = 64
    fits.PrimaryHDU(np.zeros((62, 93), dtype=np.uint8), header).writeto(path)
    return path.read_bytes()


def test_what_nothing_else_catches_is_told_in_a_sentence(monkeypatch):
    log, told = logging.getLogger("planner"), io.StringIO()
    monkeypatch.setattr(log, "handlers", [logging.StreamHandler(told)])

    def script():
        from planner.screen.state import on_defect

        assert on_defect(ValueError("nobody foresaw it"))

    app = AppTest.from_function(script, default_timeout=60).run()
    assert not app.exception and [error.value for error in app.error] == [BROKEN]
    assert "nobody foresaw it" in told.getvalue()


def test_half_of_a_pair_and_an_emptied_number_are_told_of_and_change_nothing(app):
    for tab, key, other, said in [
        ("Print", "print:picture.aspect 0", "print:picture.aspect 1", "'Proportions: width' and 'to height'"),
        ("Camera", "camera:camera.sensor_px 1", "camera:camera.sensor_px 0", "'Sensor rows (pixels)'"),
        ("Camera", "camera:camera.usable 1", "camera:camera.usable 0", "'Usable part of height (to 1)'"),
    ]:
        open_tab(app, tab)
        before, shown = file_text(app).value, app.number_input(key=other).value
        app.number_input(key=key).set_value(3.0 if shown is None else None)
        healthy(submit(app, tab.lower()))
        assert said in app.error[0].value and file_text(app).value == before
        app.number_input(key=key).set_value(shown)
        healthy(submit(app, tab.lower()))
    app.number_input(key="camera:camera.focal_length_mm").set_value(None)
    healthy(submit(app, "camera"))
    assert "focal_length_mm" in app.error[0].value and file_text(app).value == before
    app.number_input(key="camera:camera.focal_length_mm").set_value(380.0)
    app.number_input(key="camera:camera.binning").set_value(None)
    healthy(submit(app, "camera"))
    assert app.number_input(key="camera:camera.binning").value == 1  # left out: one


def test_an_emptied_key_is_left_out_of_the_file(app):
    open_tab(app, "Panels")
    app.number_input(key="panels:mosaic.overlap").set_value(0.2)
    healthy(submit(app, "panels"))
    assert "overlap = 0.2" in file_text(app).value
    app.number_input(key="panels:mosaic.overlap").set_value(None)
    healthy(submit(app, "panels"))
    assert "overlap" not in file_text(app).value
    assert app.number_input(key="panels:mosaic.overlap").value == request(app).mosaic.overlap == 0.15


def test_a_defect_in_an_action_is_told_and_the_page_stays(app, monkeypatch):
    monkeypatch.setattr("planner.screen.find_part.find_position", lambda text: 1 / 0)
    app.text_input(key="find_text").set_value("NGC 2736")
    next(button for button in app.button if button.label == "Go there").click().run()
    assert not app.exception and [error.value for error in app.error] == [BROKEN]
    assert app.get_by_key("broken_action") and app.get_by_key("sky")
    assert "NGC 2736" == app.text_input(key="find_text").value
    monkeypatch.undo()
    assert [error.value for error in press(app, "Go there").error] == []


def test_a_page_that_breaks_says_so_and_offers_the_plan_file(app, monkeypatch):
    monkeypatch.setattr("planner.answers.nights.check_nights", lambda *_: 1 / 0)
    app.switch_page("../pages/nights.py").run()
    assert not app.exception and [error.value for error in app.error] == [BROKEN]
    assert app.get_by_key("broken_page")


def test_unsaved_text_is_offered_after_a_reload(app, tmp_path):
    open_tab(app, "Panels")
    app.number_input(key="panels:mosaic.overlap").set_value(0.23)
    healthy(submit(app, "panels"))
    text = file_text(app).value
    app.session_state["tab"].is_open = lambda: False  # the tab is closed
    for name, shown in [("kept_take_0", text), ("kept_drop_0", PLAN)]:
        again = healthy(AppTest.from_file(ROOT / "planner" / "app.py", default_timeout=60).run())
        (told,) = [note.value for note in again.info if "unsaved text of this plan is here" in note.value]
        assert told.endswith("It has mosaic.overlap = 0.23.")
        healthy(again.button(key=name).click().run())
        assert not any("unsaved text" in note.value for note in again.info)
        again.session_state["tab"].is_open = lambda: False
        assert file_text(again).value == shown
    assert [path.name for path in tmp_path.iterdir()] == ["plan.toml"]


def test_choices_and_refused_values_are_there_again_after_another_page(app):
    turn_to(app, "hand_over")
    app.text_area(key="table_text").set_value("# half\n").run()
    kinds = app.get_by_key("handover_kinds")
    turn_to(app, "compose")
    open_tab(app, "Panels")
    app.number_input(key="panels:mosaic.overlap").set_value(7.0)
    healthy(submit(app, "panels"))
    turn_to(app, "hand_over")
    assert app.text_area(key="table_text").value == "# half\n" and kinds is not None
    turn_to(app, "compose")
    open_tab(app, "Panels")
    assert app.number_input(key="panels:mosaic.overlap").value == 7.0


def test_a_text_from_before_a_change_is_not_put_back(app):
    key, text = file_text(app).key, file_text(app).value
    gesture(app, moved(app, 1, [130.0, -45.0]))
    assert "130.0" in file_text(app).value and file_text(app).key != key
    assert text != file_text(app).value


def test_a_refused_picture_does_not_leave_the_one_before_in_force(app, tmp_path):
    turn_to(app, "angles")
    content = solved_frame(tmp_path / "earlier.fits", 50.0)
    app.file_uploader(key="frame_file").set_value([("earlier.fits", content, "application/fits")])
    app.text_input(key="frame_path").set_value("/data/other.fits")
    press(app, "Match this earlier picture")
    assert app.session_state["given_frames"].match.name == "earlier.fits"
    assert any("the uploaded file counts" in note.value for note in app.info)
    press(app, "Match this earlier picture")
    app.file_uploader(key="frame_file").set_value([("worse.fits", b"no frame", "application/fits")])
    press(app, "Match this earlier picture")
    assert app.session_state["given_frames"].match is None
    assert "worse.fits" in app.error[0].value and "/tmp" not in app.error[0].value


def test_a_reading_that_is_missing_is_asked_for(app, tmp_path):
    turn_to(app, "angles")
    solved_frame(tmp_path / "test.fits", 50.0)
    app.text_input(key="frame_path").set_value(str(tmp_path / "test.fits"))
    press(app, "Calibrate with it")
    assert "the reading of the scale is missing" in app.error[0].value
    assert app.session_state["given_frames"].paths == ()


def test_a_solution_beside_the_frame_calibrates_and_a_blank_frame_is_refused(app, tmp_path):
    solved_frame(tmp_path / "solved.fits", 50.0)
    with fits.open(tmp_path / "solved.fits") as parts:
        apart = fits.PrimaryHDU(header=parts[0].header["[CLPRX]*"])
        apart.header.update(FRAME1=93, FRAME2=62)
        fits.PrimaryHDU(parts[0].data).writeto(tmp_path / "raw.fits")
    turn_to(app, "angles")
    app.text_input(key="frame_path").set_value(str(tmp_path / "raw.fits"))
    app.number_input(key="frame_reading").set_value(300.0)
    press(app, "Calibrate with it")
    assert "could not be solved here: 0 stars" in app.error[0].value
    assert app.session_state["given_frames"].paths == ()
    apart.writeto(tmp_path / "raw.fits.solution.fits")
    press(app, "Calibrate with it")
    assert [error.value for error in app.error] == []
    assert any("read from the file beside it" in one.value for one in app.text)


@pytest.mark.parametrize(("side", "half_turn_deg"), [("west", 0.0), ("east", 180.0)])
def test_a_solved_frame_calibrates_the_scale(app, tmp_path, side, half_turn_deg):
    turn_to(app, "angles")
    assert app.radio(key="frame_looking").value == "west"
    app.radio(key="frame_looking").set_value(side)
    content = solved_frame(tmp_path / "test.fits", 50.0)
    app.file_uploader(key="frame_file").set_value([("test.fits", content, "application/fits")])
    app.number_input(key="frame_reading").set_value(300.0)
    press(app, "Calibrate with it")
    assert [error.value for error in app.error] == []
    press(app, "Save this zero in the plan")
    zero_deg = (50.0 - half_turn_deg - 300.0) % 360.0
    assert request(app).angle_device.zero_deg == pytest.approx(zero_deg, abs=0.01)


def test_a_made_up_frame_is_neither_saved_nor_printed(app, tmp_path):
    solved_frame(tmp_path / "drawn.fits", 50.0)
    with fits.open(tmp_path / "drawn.fits", mode="update") as parts:
        parts[0].header["MADEUP"] = True
    turn_to(app, "angles")
    app.text_input(key="frame_path").set_value(str(tmp_path / "drawn.fits"))
    app.number_input(key="frame_reading").set_value(300.0)
    press(app, "Calibrate with it")
    assert any("drawn.fits. Nobody has taken it" in one.value for one in app.warning)
    assert app.warning[0].value.startswith("Frames are made up: turn nothing")
    labels = [one.label for one in app.button]
    assert "Save this zero in the plan" not in labels and "Forget the frames" in labels
    assert "angle_sheet" not in app.session_state


def test_the_report_speaks_of_what_the_page_has_not_of_options(app, tmp_path):
    text = file_text(app).value
    file_text(app).set_value(text.replace("= 380.0", "= 390.0"))
    press(app, "Use this text")
    turn_to(app, "angles")
    content = solved_frame(tmp_path / "test.fits", 50.0)
    app.file_uploader(key="frame_file").set_value([("test.fits", content, "application/fits")])
    app.number_input(key="frame_reading").set_value(0.0)
    press(app, "Calibrate with it")
    report = "\n".join(one.value for one in app.text)
    assert "type it on the page Compose under Camera" in report and "--" not in report


def test_one_panel_is_proven_fewest_and_that_is_said_once(app):
    text = file_text(app).value
    small = text.replace("width_deg = 5.0", "width_deg = 1.0").replace("height_deg = 3.5", "height_deg = 1.0")
    file_text(app).set_value(small.replace('layout = "grid"', ""))
    press(app, "Use this text")
    assert any("in rows, before the search" in one.value for one in app.caption)
    app.session_state["tab"].desk.final(request(app))
    healthy(app.run())
    shown = " ".join(one.value for one in [*app.markdown, *app.caption])
    assert "### 1 panel " in shown and "1 panels" not in shown and shown.count("proven fewest") == 1


def test_a_file_that_is_no_frame_is_explained(app):
    turn_to(app, "angles")
    app.text_input(key="frame_path").set_value("/no/such/frame.fits")
    press(app, "Calibrate with it")
    assert "/no/such/frame.fits" in app.error[0].value


def test_the_hand_over_is_that_of_the_command_line(app):
    from planner.handover.handover import handover_files

    turn_to(app, "hand_over")
    kinds = ["json", "ecsv", "headers"]
    app.button_group(key="handover_kinds").set_value(kinds).run()
    app.button(key="handover_make").click().run()
    files = app.session_state["handover_making"].made
    healthy(app.run())
    made = {one.path: one.content for one in files}
    expected = handover_files(make_plan(request(app)), only=kinds)
    assert made == {one.path: one.content for one in expected} and len(made) == 3 + 4


def test_a_table_of_ones_own_is_previewed_and_put_into_the_plan(app):
    turn_to(app, "hand_over")
    app.text_area(key="table_text").set_value(
        '# of the pier\n[[tables]]\nfile = "mine.csv"\n'
        'columns = [{ name = "PA", field = "position_angle", decimals = 0 }]\n'
    ).run()
    healthy(app)
    assert any("Not in the plan yet" in note.value for note in app.caption)
    assert any(block.value.startswith("PA\n20\n") for block in app.code)
    app.button(key="table_put").click().run()
    assert request(app).tables[0]["file"] == "mine.csv"
    assert not any("Not in the plan yet" in note.value for note in app.caption)
    assert '# of the pier\n[[tables]]\nfile = "mine.csv"' in file_text(app).value
    app.text_area(key="table_text").set_value("[[tables]]\nfil = 1\n").run()
    assert len(app.error) == 1 and "fil" in app.error[0].value


def frames_of(plan, folder, angle_off_deg=0.0):
    """One solved frame of each panel of a plan."""
    folder.mkdir()
    for panel in plan.mosaic.panels:
        turn = panel.position_angle_deg + angle_off_deg
        solved_frame(folder / f"{panel.name}.fits", turn, (panel.ra_deg, panel.dec_deg))
    return folder


def test_a_folder_of_frames_is_reviewed(app, tmp_path):
    turn_to(app, "review")
    plan = make_plan(request(app))
    folder, first = frames_of(plan, tmp_path / "frames"), plan.mosaic.panels[0]
    solved_frame(folder / "turned.fits", 50.0, (first.ra_deg, first.dec_deg))
    app.text_input(key="review_folder").set_value(str(folder))
    press(app, "Review")
    review = app.session_state["reviewed"].review
    assert review.verdicts == {"good": 4, "turned": 1} and review.coverage.covered
    assert any("4 good, 1 turned" in block.value for block in app.markdown)
    open_tab(app, "Depth and preview", "review_tabs")
    press(app, "Review")  # once more
    assert app.session_state["reviewed"].review.verdicts == review.verdicts
    app.text_input(key="review_folder").set_value(str(tmp_path / "nowhere"))
    press(app, "Review")
    assert "nowhere" in app.error[0].value and "reviewed" not in app.session_state
    app.text_input(key="review_folder").set_value("/" + "n" * 3000)
    press(app, "Review")
    assert "File name too long" in app.error[0].value


def test_a_folder_is_followed_while_the_switch_is_on(app, tmp_path):
    turn_to(app, "review")
    app.toggle(key="review_follow").set_value(True).run()
    assert any("type its path and press Review" in one.value for one in app.info)
    plan = make_plan(request(app))
    folder, first = frames_of(plan, tmp_path / "frames"), plan.mosaic.panels[0]
    app.text_input(key="review_folder").set_value(str(folder))
    press(app, "Review")
    assert any(one.value.startswith("Following: 4 frames (4 good)") for one in app.caption)
    solved_frame(folder / "turned.fits", 50.0, (first.ra_deg, first.dec_deg))
    healthy(app.run())  # as the page does by itself every two seconds
    assert app.session_state["reviewed"].review.verdicts == {"good": 4, "turned": 1}
    assert any("4 good, 1 turned" in block.value for block in app.markdown)
    assert any("* the camera is turned: turned.fits is turned by" in one.value for one in app.text)
    assert any("turned.fits  turned  " in one.value for one in app.code)
    app.toggle(key="review_follow").set_value(False).run()
    assert not any(one.value.startswith("Following") for one in app.caption)
    app.text_input(key="review_folder").set_value(str(tmp_path / "nowhere"))
    app.toggle(key="review_follow").set_value(True)
    press(app, "Review")
    assert any("there is no such folder" in one.value for one in app.error)


def test_good_frames_are_laid_together_when_told_to(app, tmp_path):
    from PIL import Image

    turn_to(app, "review")
    plan = make_plan(request(app))
    app.text_input(key="review_folder").set_value(str(frames_of(plan, tmp_path / "frames")))
    press(app, "Review")
    open_tab(app, "Depth and preview", "review_tabs")
    assert "preview" not in app.session_state["kept"]
    press(app, "Make a preview of 4 good frames")
    shown = app.session_state["kept"]["preview"][1]
    picture = np.asarray(Image.open(io.BytesIO(shown.png)))
    assert max(picture.shape) <= 1400 and picture.shape[1] / picture.shape[0] == pytest.approx(
        plan.picture.pixels[0] / plan.picture.pixels[1], abs=0.01
    )
    assert shown.words.startswith("4 frames") and not shown.left_out
    for path in (tmp_path / "frames").iterdir():
        path.unlink()
    app.radio(key="preview_choice").set_value("mean").run()
    press(app, "Make a preview of 4 good frames")
    assert any("no frame can be laid into a preview" in error.value for error in app.error)


SEASON = """
[site]
name = "Test pier"
latitude_deg = -32.4
longitude_deg = 20.8
time_zone = "Africa/Johannesburg"
[nights]
first = 2027-01-08
last = 2027-01-11
[[filters]]
name = "Ha"
band = "narrow"
exposure_s = 600
exposures = 2
"""


def test_nights_are_arranged_as_on_the_command_line(app, no_year_drawn):
    from planner.answers.nights import plan_nights
    from planner.files.documents.nights import nights_document

    file_text(app).set_value(PLAN + SEASON)
    press(app, "Use this text")
    turn_to(app, "nights")
    app.button(key="nights_make").click().run()
    healthy(app)
    expected = nights_document(plan_nights(make_plan(request(app))))
    assert app.session_state["kept"]["nights_document"][1] == expected and expected["finished"]
    open_tab(app, "Timetable", "nights_tabs")
    tables = [one.value for one in app.dataframe if "Looking" in one.value]
    assert list(tables[0]["Looking"]) == [row["looking"] for row in expected["timetable"]]
    assert list(tables[0]["Panel"]) == [row["panel"] for row in expected["timetable"]]
    assert any("Finished on the evening of" in block.value for block in app.markdown)


def test_arranging_takes_what_is_typed_and_not_applied(app, no_year_drawn):
    file_text(app).set_value(PLAN + SEASON)
    press(app, "Use this text")
    turn_to(app, "nights")
    app.date_input(key="season:nights.last").set_value(dt.date(2027, 1, 10))
    rows = [{**row, "exposures": 1} for row in app.session_state["filters_base"]]
    app.session_state["filters_rows"] = request(app).filters, rows
    app.session_state["filters_base"] = rows  # as the table of filters sends what is typed into it
    app.button(key="nights_make").click().run()
    asked = request(healthy(app))
    assert asked.nights.last == dt.date(2027, 1, 10) and asked.filters[0].exposures == 1
    assert app.session_state["kept"]["nights"][1].plan.request.nights == asked.nights
    app.number_input(key="season:nights.clear_fraction").set_value(7.0)
    app.button(key="nights_make").click().run()
    assert "clear_fraction" in app.error[0].value and request(app) == asked


def test_the_review_is_practised_with_made_up_frames(app):
    turn_to(app, "review")
    assert any("nights need a site" in one.value for one in app.info)  # said where the frames are offered
    file_text(app).set_value(PLAN + SEASON.replace("exposures = 2", "exposures = 3"))
    press(app, "Use this text")
    app.segmented_control(key="practice_faults").set_value("none")
    press(app, "Practise with made-up frames")
    found = app.session_state["reviewed"]
    assert found.review.verdicts == {"good": 12} and found.review.made_up == 12
    assert any("12 of 12 frames are made up" in one.value for one in app.warning)
    assert any("call every frame good" in one.value for one in app.code)
    _the_good_ones_are_kept(app, found)
    app.segmented_control(key="practice_faults").set_value("many")
    press(app, "Practise with made-up frames")  # in the place of the others
    assert app.session_state["reviewed"].folder == found.folder
    assert any("beside its panel" in one.value for one in app.code)
    app.text_input(key="review_folder").set_value(str(found.folder / "nowhere"))
    press(app, "Review")
    assert not any("rehearsal of" in one.value for one in app.code)


def _the_good_ones_are_kept(app, found):
    """Made-up frames are reviewed again in another way, and kept in a settled plan, as the command line does."""
    app.checkbox(key="review_solve").set_value(False)
    press(app, "Review the made-up frames again")
    again = app.session_state["reviewed"]
    assert again.folder == found.folder and again.review.verdicts == {"good": 6, "unsolved": 6}
    app.checkbox(key="review_solve").set_value(True)
    press(app, "Review the made-up frames again")
    healthy(app.button(key="settle").click().run())
    now = app.session_state["tab"].session
    settled = now.history.present
    turn_to(app, "compose")
    open_tab(app, "Panels")
    press(app, "Keep by the present review (12 good frames)")
    assert request(app).grows and len(request(app).panels) == 4 and MADE_UP_LINE in now.history.present
    now.replace_text("settle", settled, "")
    turn_to(app, "review")


def test_the_season_can_be_typed(app, no_year_drawn):
    file_text(app).set_value(PLAN + SEASON)
    press(app, "Use this text")
    turn_to(app, "nights")
    app.date_input(key="season:nights.last").set_value(dt.date(2027, 1, 9))
    app.number_input(key="season:nights.clear_fraction").set_value(0.5)
    app.button(key="FormSubmitter:season-Apply").click().run()
    nights = request(app).nights
    assert (nights.last, nights.clear_fraction) == (dt.date(2027, 1, 9), 0.5)
    app.date_input(key="season:nights.last").set_value(dt.date(2026, 1, 9))
    app.button(key="FormSubmitter:season-Apply").click().run()
    assert "last" in app.error[0].value and request(app).nights.last == dt.date(2027, 1, 9)


def test_without_dates_the_page_of_nights_points_at_its_own_fields(app):
    start = SEASON.index("[nights]")
    file_text(app).set_value(PLAN + SEASON[:start] + SEASON[SEASON.index("[[filters]]") :])
    press(app, "Use this text")
    turn_to(app, "nights")
    assert app.info[0].value == "Choose the first and the last evening under Season, then press Apply."
    assert "nights_make" not in [one.key for one in app.button]


@pytest.mark.parametrize(
    ("kind", "heading"), [("rotator", "Send the rotator to "), ("fixed", "The camera is fixed")]
)
def test_only_an_adjuster_has_a_scale_to_set(app, kind, heading):
    text = file_text(app).value
    assert 'kind = "adjuster"' in text
    file_text(app).set_value(text.replace('kind = "adjuster"', f'kind = "{kind}"'))
    press(app, "Use this text")
    turn_to(app, "angles")
    shown = [one.value for one in app.markdown]
    assert any(one.startswith(f"### {heading}") for one in shown)
    assert not any("Set the scale" in one for one in shown)


def test_a_plan_named_on_the_command_line_that_is_bad_is_explained(tmp_path, monkeypatch):
    monkeypatch.setattr(sys, "argv", ["app.py", str(tmp_path / "missing.toml")])
    app = healthy(AppTest.from_file(ROOT / "planner" / "app.py", default_timeout=60).run())
    assert "missing.toml does not exist" in app.error[0].value


def test_panels_are_settled_and_let_go_with_one_press(app):
    now = app.session_state["tab"].session
    before = now.history.present
    healthy(app.button(key="settle").click().run())
    assert now.history.present.startswith(before.rstrip("\n")) and "[settled]" in now.history.present
    kept = now.request
    assert kept.settled is not None and kept.changed_tables == ()
    assert [one.name for one in kept.panels] == [
        one.name for one in app.session_state["tab"].desk.answer(kept).plan.mosaic.panels
    ]
    now.step("undo")
    assert now.history.present == before  # the exact text is back
    now.step("redo")
    healthy(app.run())
    healthy(app.button(key="unsettle").click().run())
    assert now.history.present.rstrip("\n") == before.rstrip("\n")


def test_every_page_says_what_settled_panels_fall_short_of(app):
    now = app.session_state["tab"].session
    healthy(app.button(key="settle").click().run())
    now.replace_text("overlap", update_document(now.history.present, {"mosaic": {"overlap": 0.4}}), "")
    for page in ("compose", "angles", "nights", "hand_over", "review"):
        turn_to(app, page)
        (said,) = [one.value for one in app.warning if "changed since the panels were settled" in one.value]
        assert sum("less than the 40 %" in one.value for one in app.warning) == 1  # told once
        assert said.startswith("[mosaic] ") and "less than the 40 % asked for" in said and "--" not in said
        assert {"Plan anew", "Keep them as they are"} <= {one.label for one in app.button}


def changed_notices(app):
    return [one.value for one in app.warning if "changed since the panels were settled" in one.value]


def test_another_angle_asked_of_settled_panels_is_told_with_what_can_be_done(app):
    now = app.session_state["tab"].session
    healthy(app.button(key="settle").click().run())
    text = update_document(now.history.present, {"mosaic": {"position_angle_deg": 35.0}})
    now.replace_text("angle", text, "")
    (said,) = changed_notices(healthy(app.run()))
    assert said.endswith("camera angle 35.00 is asked for, theirs is 20.00")
    assert any("no plan for what is asked now can have fewer than" in one.value for one in app.caption)
    healthy(app.button(key="changed_settle").click().run())
    assert now.request.settled is not None and not changed_notices(app)
    assert {one.position_angle_deg for one in now.request.panels} == {20.0}
    assert now.request.mosaic.position_angle_deg == 20.0  # what is asked and what is kept are one
    now.step("undo")
    healthy(app.run())
    turn_to(app, "angles")
    healthy(app.button(key="changed_anew").click().run())
    assert not now.request.panels and not changed_notices(app)
    now.step("undo")
    healthy(app.run())
    healthy(app.button(key="changed_good").click().run())
    assert any(
        one.key == "keep_path" for one in app.text_input
    )  # Compose, where panels with good frames are kept


def test_panels_with_good_frames_are_kept_and_others_added(app, tmp_path):
    now = app.session_state["tab"].session
    healthy(app.button(key="settle").click().run())
    before = now.request.panels
    review = {"schema": "review 1", "panels": [{"name": before[0].name, "exposures": 3, "seconds": 0.0}]}
    open_tab(app, "Panels")
    content = json.dumps({**review, "schema": "nights 1"}).encode()
    app.file_uploader(key="keep_file").set_value([("my.json", content, "application/json")])
    submit(app, "keep")
    assert any(one.value.startswith("review.json must have the schema") for one in app.error)
    app.file_uploader(key="keep_file").set_value([])
    (tmp_path / "review.json").write_text(json.dumps(review))
    app.text_input(key="keep_path").set_value(str(tmp_path / "review.json"))
    submit(app, "keep")
    kept = now.request
    assert kept.grows and [one.name for one in kept.panels] == [before[0].name]
    assert list(kept.names_used) == [one.name for one in before[1:]]
    assert any("Panels that stay where they are: 1." in one.value for one in app.info)
    panels = app.session_state["tab"].desk.answer(kept).plan.mosaic.panels
    assert panels[0].kept and not {one.name for one in panels[1:]} & {one.name for one in before}
    app.text_input(key="keep_path").set_value(str(tmp_path / "none.json"))
    submit(app, "keep")
    assert any("does not exist" in one.value for one in app.error)
    assert now.request == kept


def test_turned_frames_are_left_aside_unless_the_box_is_ticked(app, tmp_path):
    now = app.session_state["tab"].session
    healthy(app.button(key="settle").click().run())
    panel, frames = now.request.panels[0], tmp_path / "frames"
    frames.mkdir()
    for name, turn_deg in (("good.fits", 0.0), ("turned.fits", 3.0)):
        solved_frame(frames / name, panel.position_angle_deg + turn_deg, (panel.ra_deg, panel.dec_deg))
    with fits.open(frames / "good.fits", mode="update") as parts:
        parts[0].header["MADEUP"] = True
    open_tab(app, "Panels")
    app.text_input(key="keep_path").set_value(str(frames))
    submit(app, "keep")
    assert [one.name for one in now.request.panels] == [panel.name]
    said = " ".join(one.value for one in app.info)
    assert "turned.fits (turned by +3.0 degrees, at most 1.0 wanted)" in said and "made up" in said
    assert now.history.present.startswith(MADE_UP_LINE)
    app.checkbox(key="keep_all").set_value(True)
    app.text_input(key="keep_path").set_value(str(frames))
    submit(app, "keep")
    assert [one.name for one in now.request.panels] == [panel.name, "taken 1"]


def test_nights_show_the_year_at_once(app):
    season = "[site]\nlatitude_deg = -31.0\nlongitude_deg = 22.0\n[nights]\nfirst = 2027-01-08\nlast = 2027-01-09\n"
    file_text(app).set_value(f"{PLAN}\n{season}")
    press(app, "Use this text")
    turn_to(app, "nights")
    said = [one.value for one in app.caption]
    assert app.button(key="nights_make") and any("when each panel can be shot" in one for one in said)
    assert len(app.get("image")) == 1


def test_the_hand_over_s_calendar_is_of_the_goal_that_was_chosen(app):
    season = "[site]\nlatitude_deg = -31.0\nlongitude_deg = 22.0\n[nights]\nfirst = 2027-01-08\nlast = 2027-01-09\n"
    ha = '[[filters]]\nname = "Ha"\nband = "narrow"\nexposure_s = 600\nexposures = 1\n'
    file_text(app).set_value(f"{PLAN}\n{season}\n{ha}")
    press(app, "Use this text")
    turn_to(app, "nights")
    for goal in ("cheapest", "soonest", "cheapest"):  # each press counts, however often one changes one's mind
        assert app.button_group(key="nights_goal").set_value(goal).run().button_group(key="nights_goal").value == goal
    turn_to(app, "hand_over")
    said = [one.value for one in healthy(app).caption]
    assert any("The calendar's timetable finishes as cheap as possible" in one for one in said)
    turn_to(app, "review")
    press(app, "Practise with made-up frames")
    assert app.session_state["kept"]["nights"][1].timetable.goal == "cheapest"
    open_tab(app, "Progress", "review_tabs")
    assert app.session_state["kept"]["standing"][1].ahead.timetable.goal == "cheapest"
    assert sum("finishes as cheap as possible" in one.value for one in app.caption) == 2


def test_the_parts_of_the_region_are_a_list_with_margins(app):
    text = app.session_state["tab"].session.history.present
    app.text_input(key="find_text").set_value("NGC 2736")
    press(app, "Make it the region")
    app.text_input(key="part_named").set_value("gum 20")
    press(app, "Add it")
    assert request(app).region.part_names == (
        "NGC 2736",
        "RCW 36",
    )  # Gum 20 under the name that the catalogue lists
    app.number_input(key="parts:1:RCW 36").set_value(12.0)
    press(app, "Apply margins")
    assert [part.margin_arcmin for part in request(app).region.all_parts] == [0.0, 12.0]
    app.text_input(key="part_named").set_value("Gum 20")
    press(app, "Add it")
    assert "belongs to the region already" in app.error[0].value
    press(app, "Remove")
    assert request(healthy(app)).region.object == "RCW 36" and request(app).region.margin_arcmin == 12.0
    for _ in range(4):
        app.session_state["tab"].session.step("undo")
    assert app.session_state["tab"].session.history.present == text


def two_discs(app):
    """A region of two parts that one frame holds."""
    parts = [{"center": [128.5, -45.8], "radius_deg": 0.4}, {"center": [130.5, -45.8], "radius_deg": 0.3}]
    edits = region_edits(parts=parts) | {"mosaic.position_angle_deg": None, "picture": None}
    assert app.session_state["tab"].session.edit("test", edits)
    return healthy(app.run())


def test_one_press_fits_the_frame_or_the_picture_and_undo_brings_the_text_back(app):
    two_discs(app)
    session = app.session_state["tab"].session
    before = session.history.present
    press(app, "Fit the picture to them")
    assert request(app).picture.position_angle_deg is not None
    session.step("undo")
    press(healthy(app.run()), "Fit the frame to them")
    assert [panel.name for panel in request(app).panels] == ["A1"] and not app.error
    open_tab(app, "Panels")
    press(app, "Lay panels out")
    assert not request(app).panels
    session.step("undo")
    session.step("undo")
    assert session.history.present == before


def test_a_frame_that_is_too_small_is_told_beside_its_button(app):
    text = app.session_state["tab"].session.history.present
    press(app, "Fit the frame to it")
    assert "does not fit one frame" in app.error[0].value
    assert app.session_state["tab"].session.history.present == text


def test_the_curve_under_angle_is_the_margin_where_one_frame_does(app):
    two_discs(app)
    open_tab(app, "Angle")
    data = json.loads(app.get_by_key("angle_curve").proto.json)
    assert data["margin"]["best"] >= max(data["counts"]) > min(data["counts"])
    assert max(data["counts"]) == pytest.approx(data["counts"][round(data["best"]) % 180], abs=1.0)
    app.button(key="angle_frame").click().run()
    assert request(healthy(app)).panels[0].position_angle_deg == pytest.approx(data["best"], abs=1e-5)
    shown = json.loads(app.get_by_key("angle_curve").proto.json)
    assert shown["present"] == pytest.approx(data["best"], abs=1e-5)


def test_the_format_is_chosen_by_name_and_shares_are_told(app):
    open_tab(app, "Print")
    assert app.selectbox(key="format_name").value == "free"
    app.selectbox(key="format_name").set_value("A series")
    app.selectbox(key="format_way").set_value("stands")
    press(app, "Use it")
    assert request(app).picture.aspect == (210.0, 297.0) and request(app).picture.position_angle_deg == 20.0
    assert app.number_input(key="print:picture.aspect 0").value == 210.0
    assert any("% of what the panels cover lies outside of it" in one.value for one in app.caption)
    app.selectbox(key="format_way").set_value("either")
    press(app, "Use it")
    assert request(app).picture.upright == "either"
    app.selectbox(key="format_name").set_value("free")
    press(app, "Use it")
    assert request(app).picture.aspect is None


def test_undo_away_from_the_sky_says_what_it_changed(app, monkeypatch):
    from planner.screen.behaviour import behave

    now, told = app.session_state["tab"].session, []
    now.edit("panels", {"mosaic.overlap": 0.3})
    state = {"tab": app.session_state["tab"]}
    monkeypatch.setattr(behave.st, "session_state", state)
    monkeypatch.setattr(behave.st, "toast", told.append)

    def sent(*numbers, sid=now.id):
        state[behave.KEY] = {"step": {"sid": sid, "steps": [{"n": n, "kind": "undo"} for n in numbers]}}
        behave._step()
        return told[-1:]

    assert sent(1, sid="another") == []
    assert sent(1) == sent(1) == ["Undone: mosaic.overlap."]  # sent twice, done once
    assert len(told) == 1 and "overlap" not in now.history.present
    assert sent(1, 2) == ["Nothing to undo."]
    assert sent() == ["Nothing to undo."]  # the sky did it, and its page was left meanwhile
    assert len(told) == 3


def test_settled_panels_have_no_curve_and_one_panel_no_overlap(app):
    now = app.session_state["tab"].session
    now.edit("panels", {"mosaic.pointing_error_arcmin": 2.0})
    healthy(app.run())
    healthy(app.button(key="settle").click().run())
    assert any("The panels are settled at their angle" in one.value for one in open_tab(app, "Angle").caption)
    assert any("overlap after all errors" in one.value for one in app.caption)
    healthy(app.button(key="unsettle").click().run())
    now.edit("region", region_edits(center=[128.0, -45.0], radius_deg=0.4))
    found = healthy(app.run())
    assert not any("overlap after all errors" in one.value for one in found.caption)
