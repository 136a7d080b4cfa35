"""Drafts: what the sky shows of a gesture's plan before the page follows with the plan itself."""

import dataclasses
from pathlib import Path

import pytest

from planner.answers.in_rows import in_rows
from planner.answers.plan import Plan, make_draft, make_plan, plan_of_draft
from planner.errors import InputError
from planner.files.documents.json_text import json_bytes
from planner.files.documents.plan import plan_document
from planner.files.plan_file.read import request_from_text
from planner.session.opening import FIRST_PLAN
from planner.session.plans import PlanDesk, is_searched
from planner.session.session import Session
from planner.session.tab import Tab
from tests.hard_fields import HARD_FIELDS

from .hand_made import CAMERA, OBJECT, OUTLINE, RECTANGLE, message

ERRORS = "pointing_error_arcmin = 1.0\nangle_error_deg = 0.3\nleast_overlap_arcmin = 2.0\n"
FALLS_SHORT = "columns = 1\nrows = 1\n"


def asked(region=RECTANGLE, *, layout="grid", angle=20.0, more=""):
    pinned = "" if angle is None else f"position_angle_deg = {angle}\n"
    return f'{CAMERA}{region}[mosaic]\nlayout = "{layout}"\n{pinned}{more}'


def place(field):
    dec_deg = max(-89.9, min(89.9, field.dec_deg))
    return (
        f"[region]\ncenter = [{field.ra_deg}, {dec_deg}]\nwidth_deg = 4.5\nheight_deg = 3.0\n"
        f"position_angle_deg = {field.position_angle_deg}\n"
    )


def new_tab():
    tab = Tab(Session(asked(), Path("plan.toml")))
    tab.desk = PlanDesk()
    return tab


def assert_same_panels(draft, plan):
    for name in ("region", "panels", "angles", "axes", "panel_count_bound", "gap_center_deg"):
        assert getattr(draft.mosaic, name) == getattr(plan.mosaic, name)
    assert draft.picture == plan.picture and draft.request == plan.request
    assert draft.shortfalls == plan.shortfalls


@pytest.mark.parametrize("layout", ["grid", "sliding"])
@pytest.mark.parametrize("field", HARD_FIELDS, ids=str)
def test_a_draft_has_the_panels_of_the_plan_and_becomes_it(field, layout):
    text = asked(place(field), layout=layout, angle=field.position_angle_deg)
    request = request_from_text(text)
    draft, plan = make_draft(request), make_plan(request)
    assert not isinstance(draft, Plan)
    assert_same_panels(draft, plan)
    assert draft.mosaic.overlap_found == 0.15 < plan.mosaic.overlap_found
    become = plan_of_draft(draft)
    assert json_bytes(plan_document(become)) == json_bytes(plan_document(plan))
    assert become.notes == plan.notes


@pytest.mark.parametrize(
    ("region", "more"),
    [
        (OBJECT, ERRORS),
        (OBJECT, 'angles = "per_panel"\n'),
        (RECTANGLE + "margin_arcmin = 90.0\n", "overlap_arcmin = 20.0\n"),
        (OBJECT, FALLS_SHORT),
        (OUTLINE, FALLS_SHORT),
    ],
)
def test_drafts_of_all_kinds_become_their_plans(region, more):
    request = request_from_text(asked(region, more=more))
    draft, plan = make_draft(request), make_plan(request)
    assert_same_panels(draft, plan)
    assert json_bytes(plan_document(plan_of_draft(draft))) == json_bytes(plan_document(plan))
    assert bool(plan.shortfalls) == (region == OBJECT and more == FALLS_SHORT)


def test_a_draft_of_listed_panels_becomes_its_plan():
    listed = '[[panels]]\nname = "A1"\nra_deg = 128.5\ndec_deg = -45.8\nposition_angle_deg = 0.0\n'
    request = request_from_text(FIRST_PLAN + listed)
    draft, plan = PlanDesk().draft(request), make_plan(request)
    assert plan.shortfalls
    assert_same_panels(draft, plan)


@pytest.mark.parametrize("layout", ["free", "sliding", "grid"])
@pytest.mark.parametrize("angle", [None, 20.0])
def test_the_desk_goes_from_the_draft_to_the_plan_that_it_would_have_made_without(layout, angle):
    request = request_from_text(asked(layout=layout, angle=angle).replace("3.0", "6.0"))
    desk = PlanDesk()
    draft = desk.draft(request)
    assert not isinstance(draft, Plan) and desk.draft(request) is draft
    assert desk.stage(request) is None  # no page shows it
    answer, plain = desk.answer(request), PlanDesk().answer(request)
    assert answer.stage == plain.stage == ("rows" if is_searched(request) else "usual")
    assert_same_panels(draft, answer.plan)
    assert json_bytes(plan_document(answer.plan)) == json_bytes(plan_document(plain.plan))
    laid = in_rows(request) if is_searched(request) else request
    again = dataclasses.replace(make_plan(laid, effort="quick"), request=request)
    assert json_bytes(plan_document(answer.plan)) == json_bytes(plan_document(again))
    assert desk.draft(request) is answer.plan  # the best at hand


def test_a_draft_that_differs_in_nothing_a_plan_depends_on_is_not_made_anew():
    request = request_from_text(asked())
    desk = PlanDesk()
    draft = desk.draft(request)
    renamed = dataclasses.replace(request, title="Other title")
    assert desk.draft(renamed).mosaic is draft.mosaic and desk.draft(renamed).request == renamed
    assert desk.answer(renamed).plan.request == renamed


def test_where_rows_are_refused_the_draft_is_what_the_search_finds(monkeypatch):
    def refused(*_, **__):
        raise InputError("no rows")

    monkeypatch.setattr("planner.session.plans.in_rows", refused)
    desk, request = PlanDesk(), request_from_text(asked(layout="sliding", angle=None))
    found = desk.draft(request)
    assert isinstance(found, Plan) and desk.stage(request) == "quick"


def test_a_refusal_of_a_draft_is_the_plans():
    desk, bad = PlanDesk(), request_from_text(asked(OBJECT.replace("M 31", "No such thing")))
    for find in (desk.draft, desk.answer):
        with pytest.raises(InputError, match="No such thing"):
            find(bad)


def test_the_sky_shows_the_draft_and_the_page_the_plan():
    tab = Tab(Session(asked(), Path("plan.toml")))
    tab.desk = PlanDesk()
    shown = tab.sky()
    assert not isinstance(tab.seen, Plan)
    assert {panel["name"] for panel in shown["panels"]} == {p.name for p in tab.seen.mosaic.panels}
    tab.take([message("rectangle", center=(130.0, -45.0)) | {"sid": tab.session.id, "rev": 1}])
    moved = tab.sky()
    assert moved["rev"] == 1 and moved["region"]["center"] == [130.0, -45.0]
    assert tab.desk.stage(tab.session.request) is None
    plan = tab.look()
    assert isinstance(plan, Plan) and plan is tab.desk.answer(tab.session.request).plan
    assert plan.mosaic.overlap_found > 0.15 and len(plan.star_counts.seams) == len(plan.mosaic.seams)
    assert len(tab.sky()["full"]) == 4 and moved["full"] is None, (
        "the largest full picture comes with the plan"
    )
    assert tab.sky() | {"full": None} == moved and tab.seen is plan


def test_what_is_foreseen_is_at_hand_as_a_plan():
    tab = Tab(Session(asked(), Path("plan.toml")))
    tab.desk = PlanDesk()
    tab.look()
    sent = message("rectangle", center=(130.0, -45.0)) | {"sid": tab.session.id, "rev": 1}
    tab.foresee(sent)
    tab.take([sent])
    assert tab.desk.stage(tab.session.request) == "usual"
    tab.sky()
    assert isinstance(tab.seen, Plan)
