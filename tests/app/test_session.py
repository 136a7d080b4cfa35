"""The session's model without a screen: gestures, edits, undo, saving."""

import dataclasses
import threading
import time
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.answers.in_rows import in_rows
from planner.answers.plan import make_plan
from planner.answers.which_angle.grow_curve import angle_curve
from planner.errors import FileError, InputError
from planner.files.documents.json_text import json_bytes
from planner.files.documents.plan import plan_document
from planner.files.plan_file.read import read_plan_file, request_from_text
from planner.session.curves import CurveDesk
from planner.session.edits import edited_text
from planner.session.finding import find_position
from planner.session.forms import convert_region, full_picture_edits
from planner.session.gestures import gesture_edits, square_edits
from planner.session.history import History
from planner.session.making import Work
from planner.session.opening import FIRST_PLAN, open_uploads, sample_files, save_plan
from planner.session.plans import PlanDesk, is_searched
from planner.session.scene import scene_data
from planner.session.session import Session
from planner.session.shelf import Shelf
from planner.session.uploads import Uploads

from .hand_made import CAMERA, CIRCLE, OBJECT, OUTLINE, RECTANGLE, hand_made_plan, message

pytestmark = pytest.mark.usefixtures("made_once")

PICTURE = "[picture]\nposition_angle_deg = 20.0\n"
PINNED = "[mosaic]\nposition_angle_deg = 200.0  # square with the picture, upside down\n"


def after(text, plan, sent):
    return request_from_text(edited_text(text, gesture_edits(plan, sent)))


@pytest.mark.parametrize(("form", "region"), [("rectangle", RECTANGLE), ("circle", CIRCLE)])
def test_dragging_moves_the_region_and_keeps_its_size(form, region):
    text = CAMERA + region
    moved = after(text, hand_made_plan(text), message(form, center=(130.123456, -44.5))).region
    was = request_from_text(text).region
    assert moved.center == (130.12346, -44.5)
    assert (moved.radius_deg, moved.width_deg, moved.height_deg) == (
        was.radius_deg,
        was.width_deg,
        was.height_deg,
    )


def test_dragging_an_outline_moves_its_corners():
    text = CAMERA + OUTLINE
    corners = [[130.0, -46.0], [131.0, -46.0], [130.5, -45.0]]
    moved = after(text, hand_made_plan(text), message("outline", outline=corners))
    assert moved.region.outline == tuple(map(tuple, corners))


def test_turning_about_an_outline_leaves_it_where_it_is():
    text = CAMERA + OUTLINE
    sent = message("outline", angle=33.333, touched=False, outline=[[1.0, 2.0]])
    turned = after(text, hand_made_plan(text), sent)
    assert turned.region == request_from_text(text).region
    assert turned.picture.position_angle_deg == 33.33


def test_dragging_the_picture_off_an_object_makes_it_the_region():
    text = CAMERA + OBJECT + "margin_arcmin = 5.0\n"
    region = after(text, hand_made_plan(text), message("object", center=(10.0, 41.0))).region
    assert region.object is None and region.center == (10.0, 41.0) and region.margin_arcmin == 0.0
    assert (region.width_deg, region.height_deg, region.position_angle_deg) == (3.0, 2.0, 20.0)


def test_a_click_on_an_object_changes_nothing():
    text = CAMERA + OBJECT
    assert gesture_edits(hand_made_plan(text), message("object", touched=False)) == {}


def test_turning_turns_a_rectangle_and_panels_that_are_square_with_it():
    text = CAMERA + RECTANGLE + PICTURE + PINNED
    turned = after(text, hand_made_plan(text), message("rectangle", angle=50.0))
    assert turned.region.position_angle_deg == 50.0
    assert turned.picture.position_angle_deg == 50.0
    assert turned.mosaic.position_angle_deg == 50.0


def test_turning_leaves_panels_that_have_an_angle_of_their_own():
    text = CAMERA + RECTANGLE + PICTURE + PINNED.replace("200.0", "77.0")
    turned = after(text, hand_made_plan(text), message("rectangle", angle=50.0))
    assert turned.mosaic.position_angle_deg == 77.0


def test_panels_are_set_square_with_the_picture():
    stated = hand_made_plan(CAMERA + CIRCLE + PICTURE.replace("20.0", "33.0"), picture_angle=33.0)
    assert square_edits(stated) == {"mosaic.position_angle_deg": 33.0}
    free = hand_made_plan(CAMERA + RECTANGLE, picture_angle=77.0)  # the picture at the panels' own angle
    assert square_edits(free) == {"picture.position_angle_deg": 20.0, "mosaic.position_angle_deg": 20.0}


def test_corners_resize():
    text = CAMERA + RECTANGLE
    sent = message("rectangle", width_deg=4.123456, height_deg=1.5)
    region = after(text, hand_made_plan(text), sent).region
    assert (region.width_deg, region.height_deg) == (4.1235, 1.5)


def test_gestures_faster_than_plans_build_on_what_the_file_says():
    text = CAMERA + RECTANGLE + PICTURE + PINNED
    plan = hand_made_plan(text)
    first = edited_text(text, gesture_edits(plan, message("rectangle", angle=50.0)))
    back = edited_text(first, gesture_edits(plan, message("rectangle", angle=20.0), request_from_text(first)))
    now = request_from_text(back)
    assert (now.region.position_angle_deg, now.picture.position_angle_deg) == (20.0, 20.0)
    assert now.mosaic.position_angle_deg == 20.0


def test_drawing_replaces_any_region():
    text = CAMERA + OBJECT
    sent = {"form": "draw", "outline": [[1.0, 2.0], [3.0, 2.0], [2.0, 4.0]]}
    region = after(text, hand_made_plan(text), sent).region
    assert region.object is None and len(region.outline) == 3


def test_comments_order_and_setup_stay():
    text = f"# mine\n{CAMERA}{CIRCLE}# the end\n"
    new = edited_text(text, {"region.radius_deg": 2.0, "mosaic.overlap": 0.2})
    assert "# mine" in new and "# the middle" in new and "# the end" in new
    assert new.index("[camera]") < new.index("[region]") < new.index("[mosaic]")


def test_a_table_of_the_setup_is_copied_before_one_of_its_keys_changes():
    new = edited_text(f'setup = "pier.toml"\n{CIRCLE}', {"camera.binning": 2}, CAMERA)
    assert request_from_text(new.replace('setup = "pier.toml"\n', "")).camera.focal_length_mm == 380.0
    assert "binning = 2" in new


def test_a_table_that_is_left_empty_goes():
    assert "[mosaic]" not in edited_text(
        f"{CAMERA}{CIRCLE}[mosaic]\noverlap = 0.2\n", {"mosaic.overlap": None}
    )


@given(st.lists(st.sampled_from(["undo", "redo", "a", "b", "c"]), max_size=40))
def test_history_behaves_like_two_stacks(steps):
    history, past, future, present = History(""), [], [], ""
    for step in steps:
        if step == "undo":
            history = history.undone()
            if past:
                future.append(present)
                present = past.pop()
        elif step == "redo":
            history = history.redone()
            if future:
                past.append(present)
                present = future.pop()
        else:
            history = history.then(step)
            if step != present:
                past.append(present)
                present, future = step, []
        assert history.present == present
        assert (len(history.past), len(history.future)) == (len(past), len(future))


def new_session():
    return Session(CAMERA + RECTANGLE, Path("plan.toml"))


def test_stale_and_foreign_gestures_are_ignored():
    session = new_session()
    plan = hand_made_plan(session.text)
    sent = message("rectangle", center=(130.0, -45.8)) | {"sid": session.id, "rev": 1}
    assert session.gesture(plan, sent)
    assert session.request.region.center == (130.0, -45.8)
    assert not session.gesture(plan, sent | {"center": [99.0, 0.0]})
    assert not session.gesture(plan, sent | {"center": [99.0, 0.0], "rev": 9, "sid": "another tab"})
    assert not session.gesture(plan, None)
    assert session.request.region.center == (130.0, -45.8)


def test_undo_and_redo_by_gesture():
    session = new_session()
    session.gesture(
        hand_made_plan(session.text), message("rectangle", center=(1.0, 2.0)) | {"sid": session.id, "rev": 1}
    )
    session.gesture(None, {"kind": "undo", "sid": session.id, "rev": 2})
    assert session.request.region.center == (128.5, -45.8) and session.revision == 2
    session.gesture(None, {"kind": "redo", "sid": session.id, "rev": 3})
    assert session.request.region.center == (1.0, 2.0)


def test_a_refused_change_leaves_the_plan_and_says_why():
    session = new_session()
    assert not session.edit("panels", {"mosaic.overlap": 15})
    assert "fraction, not per cent" in session.faults["panels"]
    assert session.request.mosaic.overlap == 0.15
    assert session.edit("panels", {"mosaic.overlap": 0.2}) and "panels" not in session.faults


def test_saving_keeps_others_files_and_sees_changes_of_others(tmp_path):
    session, path = new_session(), tmp_path / "mine.toml"
    save_plan(session, path)
    assert path.read_text() == session.text and not session.changed and session.own
    session.edit("panels", {"mosaic.overlap": 0.2})
    save_plan(session, path)
    assert "0.2" in path.read_text()
    (tmp_path / "other.toml").write_text("x = 1")
    with pytest.raises(FileError, match="in the way"):
        save_plan(session, tmp_path / "other.toml")
    path.write_text(path.read_text() + "# by an editor\n")
    with pytest.raises(FileError, match="has been changed"):
        save_plan(session, path)
    with pytest.raises(FileError, match="ends in .toml"):
        save_plan(session, tmp_path / "plan.txt")


def test_saving_elsewhere_tells_what_is_missing_there(tmp_path):
    (tmp_path / "pier.toml").write_text(CAMERA)
    (tmp_path / "plan.toml").write_text(f'setup = "pier.toml"\n{CIRCLE}')
    session = Session.open(tmp_path / "plan.toml")
    with pytest.raises(FileError, match="pier.toml"):
        save_plan(session, tmp_path / "sub" / "plan.toml")
    assert not (tmp_path / "sub").exists()


def test_uploads_bring_what_they_name():
    uploads = Uploads()
    files = {"pier.toml": CAMERA.encode(), "plan.toml": f'setup = "pier.toml"\n{CIRCLE}'.encode()}
    assert open_uploads(uploads, files).request.camera.pixel_um == 3.9
    with pytest.raises(FileError, match="wanted one plan file"):
        open_uploads(uploads, {"pier.toml": CAMERA.encode()})
    with pytest.raises(FileError, match="pier.toml") as refused:
        open_uploads(uploads, {"plan.toml": files["plan.toml"]})
    assert "/" not in uploads.named(str(refused.value))  # files have the names that their owner gave them


@pytest.mark.parametrize(
    ("text", "position"),
    [
        ("08h34m -45d30m", (128.5, -45.5)),
        ("8h34m, +12d", (128.5, 12.0)),
        ("128.5 -45.5", (128.5, -45.5)),
        ("128.5 45.5", (128.5, 45.5)),
        ("0h -90d", (0.0, -90.0)),
    ],
)
def test_positions_are_found(text, position):
    assert find_position(text) == (None, pytest.approx(position))


@pytest.mark.parametrize("text", ["", "no such thing", "400 10", "10 95", "08:34 -45"])
def test_what_is_no_place_is_said_in_one_sentence(text):
    with pytest.raises(InputError) as caught:
        find_position(text)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize("form", ["rectangle", "circle", "outline"])
@pytest.mark.parametrize("region", [RECTANGLE, CIRCLE, OUTLINE, OBJECT])
def test_every_form_turns_into_every_other(form, region):
    text = CAMERA + region
    new = request_from_text(edited_text(text, convert_region(hand_made_plan(text), form))).region
    kind = {"rectangle": new.width_deg, "circle": new.radius_deg, "outline": new.outline}[form]
    assert kind is not None


def test_the_first_plan_and_the_samples_are_valid():
    assert request_from_text(FIRST_PLAN).region.width_deg == 6.0
    for path in sample_files().values():
        assert Session.open(path).request.title


def plan_maker(calls):
    def make(request, *, effort, progress=None):
        calls.append(effort + (" in rows" if request.mosaic.layout == "sliding" else ""))
        if request.mosaic.overlap == 0.9:
            raise InputError("no plan")
        return hand_made_plan(FIRST_PLAN)

    return make


def test_the_desk_makes_each_plan_once_and_the_better_one_behind():
    calls = []
    desk = PlanDesk(plan_maker(calls))
    searched = request_from_text(FIRST_PLAN)
    assert desk.answer(searched).stage == "rows" and desk.stage(searched) == "rows"
    desk.answer(searched)
    assert calls == ["quick in rows"]
    desk.improve(searched)
    desk.improve(searched)
    until(lambda: desk.stage(searched) == "usual")
    assert desk.answer(searched).final and calls == ["quick in rows", "quick", "usual"]
    renamed = dataclasses.replace(searched, title="Other title")
    answer = desk.answer(renamed)
    assert answer.plan.request.title == "Other title" and len(calls) == 3
    assert desk.answer(renamed).plan is answer.plan  # pictures of it need not be drawn again


def until(right):
    ends = time.monotonic() + 60
    while not right():
        assert time.monotonic() < ends
        time.sleep(0.05)


def test_desks_share_what_was_made_and_wait_for_each_other():
    calls, shelf, begun = [], Shelf(), threading.Event()

    def make(request, *, effort, progress=None):
        begun.set()
        time.sleep(0.2)
        return plan_maker(calls)(request, effort=effort)

    searched = request_from_text(FIRST_PLAN)
    first = threading.Thread(target=lambda: PlanDesk(make, shelf).answer(searched))
    first.start()
    begun.wait()
    PlanDesk(make, shelf).answer(searched)
    first.join()
    assert calls == ["quick in rows"]


def test_what_is_kept_is_bounded_by_its_weight():
    shelf = Shelf(most=10, weigh=lambda value: value)
    for value in (4, 5, 3, 20):
        assert shelf.made(value, lambda value=value: value) == value
    assert [value in shelf for value in (4, 5, 3, 20)] == [False, False, False, True]
    shelf.made(6, lambda: 6)
    shelf.made(2, lambda: 2)
    assert [value in shelf for value in (20, 6, 2)] == [False, True, True]


@pytest.mark.parametrize("path", sample_files().values(), ids=lambda path: path.stem)
def test_rows_come_first_and_are_proven(path):
    request = Session.open(path).request
    rows = PlanDesk().answer(request)
    assert rows.stage == "rows" and rows.plan.request == request
    assert rows.plan.mosaic.covered and not rows.plan.shortfalls


def test_rows_take_no_fewer_panels_than_the_search():
    request = read_plan_file(sample_files()["Stream across 0 h"])
    rows, searched = PlanDesk().answer(request).plan, make_plan(request, effort="quick")
    assert len(rows.mosaic.panels) > len(searched.mosaic.panels)


@pytest.mark.parametrize(
    ("asked", "layout"),
    [
        ("", "sliding"),
        ('layout = "grid"', "grid"),
        ("columns = 3\nrows = 2", "sliding"),
        ("angles = 2", "sliding"),
    ],
)
def test_rows_stand_at_the_best_angle_for_them_or_the_one_asked(asked, layout):
    free = request_from_text(FIRST_PLAN + f"[mosaic]\n{asked}\n")
    rows = in_rows(free).mosaic
    assert (rows.layout, rows.angles, rows.columns) == (layout, free.mosaic.angles, free.mosaic.columns)
    curve = CurveDesk().curve(request_from_text(FIRST_PLAN)).angles
    counts = [one.panels for one in curve]
    assert counts[int(rows.position_angle_deg)] == min(counts) < max(counts)
    pinned = request_from_text(FIRST_PLAN + f"[mosaic]\nposition_angle_deg = 77.0\n{asked}\n")
    assert in_rows(pinned).mosaic.position_angle_deg == 77.0


@pytest.fixture
def works():
    """What is being done behind for this test."""
    before = set(threading.enumerate())
    return lambda: [one for one in threading.enumerate() if isinstance(one, Work) and one not in before]


def test_the_desk_gives_up_a_search_that_nobody_waits_for(works, monkeypatch):
    monkeypatch.setattr("planner.session.behind.QUIET_S", 600.0)  # however slowly a machine comes to `rest`
    calls = []
    desk = PlanDesk(plan_maker(calls))
    first, second = (request_from_text(FIRST_PLAN + f"margin_arcmin = {margin}") for margin in (1, 2))
    desk.improve(first)
    desk.improve(second)
    assert works()
    desk.rest()
    until(lambda: not works())
    assert calls == []


def test_the_curve_of_angles_has_estimates_at_once_and_plans_behind():
    desk = CurveDesk()
    request = request_from_text(CAMERA + RECTANGLE + '[mosaic]\nlayout = "sliding"\n')
    first = desk.curve(request)
    assert len(first.angles) == 180 and first.waiting and not any(one.proven for one in first.angles)
    desk.refine(request)
    until(lambda: not desk.curve(request).waiting)
    done = desk.curve(request)
    assert done == angle_curve(request, as_planned=False) and done.best.proven
    pinned = dataclasses.replace(
        request, title="Pinned", mosaic=dataclasses.replace(request.mosaic, position_angle_deg=33.0)
    )
    assert desk.curve(pinned) is done
    plan = make_plan(pinned, effort="quick")
    desk.learn(pinned, plan)
    known = desk.curve(request)
    assert known.angles[33].proven and known.likely[33] == len(plan.mosaic.panels)


def test_a_curve_that_was_given_up_keeps_what_it_has_and_goes_on(works, monkeypatch):
    desk = CurveDesk()
    request = request_from_text(CAMERA + RECTANGLE + '[mosaic]\nlayout = "sliding"\n')
    assert desk.curve(request).waiting

    def stopped(request, *, as_planned, progress, partial):
        def then_rests(curve):
            partial(curve)
            if any(one.proven for one in curve.angles):
                desk.rest()

        return angle_curve(request, as_planned=as_planned, progress=progress, partial=then_rests)

    with monkeypatch.context() as patch:
        patch.setattr("planner.answers.which_angle.grow_curve.angle_curve", stopped)
        desk.refine(request)
        until(lambda: not works())
    left = desk.curve(request)
    assert left.waiting and any(one.proven for one in left.angles)
    desk.refine(request)
    until(lambda: not desk.curve(request).waiting)
    assert desk.curve(request) == angle_curve(request, as_planned=False)


def test_angles_at_which_nothing_can_be_planned_end_the_curve(monkeypatch):
    import planner.answers.which_angle.grow_curve

    desk, request = CurveDesk(), request_from_text(CAMERA + RECTANGLE)
    estimates = desk.curve(request)

    def refused(*_, **__):
        raise InputError("nothing")

    monkeypatch.setattr(planner.answers.which_angle.grow_curve, "angle_curve", refused)
    desk.refine(request)
    until(lambda: not desk.curve(request).waiting)
    assert desk.curve(request).angles == estimates.angles


def test_a_refusal_is_remembered_too():
    calls = []
    desk = PlanDesk(plan_maker(calls))
    bad = request_from_text(FIRST_PLAN + "[mosaic]\noverlap = 0.9\n")
    for _ in range(2):
        with pytest.raises(InputError, match="no plan"):
            desk.answer(bad)
    assert calls == ["quick in rows", "quick"]


@pytest.mark.parametrize("layout", ["grid", "sliding"])
def test_effort_makes_no_difference_where_nothing_is_searched(layout):
    text = CAMERA + RECTANGLE + f'[mosaic]\nposition_angle_deg = 33.0\nlayout = "{layout}"\n'
    request = request_from_text(text)
    assert not is_searched(request)
    plans = [json_bytes(plan_document(make_plan(request, effort=effort))) for effort in ("quick", "usual")]
    assert plans[0] == plans[1]


def test_listed_panels_stay_and_nothing_is_searched():
    text = (
        FIRST_PLAN
        + """
[[panels]]
name = "A1"
ra_deg = 128.5
dec_deg = -45.8
position_angle_deg = 0.0
exposures = { Ha = 3 }
[[filters]]
name = "Ha"
band = "narrow"
exposure_s = 600
exposures = 3
"""
    )
    request = request_from_text(text)
    answer = PlanDesk().answer(request)
    assert answer.final and [panel.name for panel in answer.plan.mosaic.panels] == ["A1"]
    assert scene_data(answer.plan, answer.plan.mosaic.region)["listed"]


def test_undo_is_taken_though_the_canvas_did_not_know_of_the_last_edit_yet():
    session = Session(CAMERA + CIRCLE, Path("plan.toml"))
    session.edit("region", {"region.radius_deg": 2.0})
    undo = {"kind": "undo", "rev": 1, "sid": session.id}
    assert session.revision == 1 and session.gesture(None, undo)
    assert session.history.present == CAMERA + CIRCLE and session.revision == 2
    assert not session.gesture(None, undo)  # sent again since the answer was late
    session.step("redo")
    moved = {"kind": "move", "form": "circle", "center": [130.0, -45.0], "rev": 2, "sid": session.id}
    assert not session.gesture(None, moved)  # of the picture before the change


def test_the_largest_full_picture_becomes_the_picture():
    text = CAMERA + CIRCLE + '[mosaic]\nlayout = "sliding"\nposition_angle_deg = 20.0\n'
    plan = make_plan(request_from_text(text), effort="quick")
    full = plan.full_picture.picture
    new = make_plan(request_from_text(edited_text(text, full_picture_edits(plan))), effort="quick")
    assert new.picture.center_deg == pytest.approx(full.center_deg, abs=2e-5)
    assert (new.picture.width_deg, new.picture.height_deg) == pytest.approx(
        (full.width_deg, full.height_deg), abs=2e-4
    )
    assert new.picture.position_angle_deg == pytest.approx(20.0)
    assert {panel.position_angle_deg for panel in new.mosaic.panels} == {20.0}


def test_the_canvas_gets_the_parts_and_the_largest_full_picture():
    text = CAMERA + (
        "[region]\nparts = [{ center = [128.0, -45.0], radius_deg = 1.0, name = 'disc' }, "
        "{ center = [134.0, -45.0], width_deg = 2.0, height_deg = 1.0 }]\n"
        '[mosaic]\nlayout = "sliding"\nposition_angle_deg = 20.0\n'
    )
    plan = make_plan(request_from_text(text), effort="quick")
    scene = scene_data(plan, plan.region)
    assert (scene["region"]["form"], scene["region"]["editable"]) == ("parts", False)
    assert [len(ring) for ring in scene["region"]["rings"]] == [180, 4]
    assert len(scene["full"]) == 4
    moved = edited_text(text, convert_region(plan, "circle"))
    assert request_from_text(moved).region.parts is None
    assert request_from_text(edited_text(text, convert_region(plan, "outline"))).region.outline
