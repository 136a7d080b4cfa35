"""Settled files of today, kept as witnesses: every later version must take the panels as they stand in them."""

import tomllib
from dataclasses import replace
from pathlib import Path

import pytest

from planner.answers.plan import make_plan
from planner.answers.settle import settled_tables
from planner.files.plan_file.read import read_plan_file, request_from_text
from planner.files.plan_file.write import update_document

WITNESSES = sorted(Path(__file__).with_name("settled_files").glob("*.toml"))


@pytest.fixture(params=WITNESSES, ids=lambda path: path.stem)
def witness(request):
    return request.param


def test_there_are_witnesses():
    assert len(WITNESSES) >= 4


def test_a_settled_file_gives_the_panels_that_stand_in_it(witness):
    kept = tomllib.loads(witness.read_text(encoding="utf-8"))
    plan = make_plan(read_plan_file(witness))
    for panel, table in zip(plan.mosaic.panels, kept["panels"], strict=True):
        assert (panel.name, panel.order) == (table["name"], table["order"])
        assert (panel.ra_deg, panel.dec_deg) == (table["ra_deg"], table["dec_deg"])
        assert panel.position_angle_deg == table["position_angle_deg"]
    assert plan.mosaic.covered and not plan.shortfalls
    assert not plan.request.changed_tables, "a later version must read the request as it was read then"
    assert plan.mosaic.panel_count_bound == kept["settled"]["panel_count_bound"]
    axes = kept["settled"].get("axes_deg")
    assert (plan.mosaic.axes is not None) == (axes is not None)


def test_settling_a_settled_plan_changes_nothing(witness):
    kept = tomllib.loads(witness.read_text(encoding="utf-8"))
    tables = settled_tables(make_plan(read_plan_file(witness)))
    assert tables["panels"] == kept["panels"]
    told = {name: value for name, value in tables["settled"].items() if value is not None}  # None: a key goes
    assert {**told, "words": ""} == {**kept["settled"], "words": ""}


def test_what_changes_no_panel_is_no_change(witness):
    request = read_plan_file(witness)
    other = replace(request, title="another", camera=replace(request.camera, aperture_mm=80.0))
    assert other.changed_tables == ()
    assert replace(request, camera=replace(request.camera, binning=2)).changed_tables == ("camera",)
    margin = replace(request.region, margin_arcmin=3.0)
    assert replace(request, region=margin).changed_tables == ("region",)
    assert request.unsettled.changed_tables == () and not request.unsettled.panels


def test_another_picture_to_fill_is_seen_and_another_print_is_not():
    text = """[camera]
focal_length_mm = 400.0
sensor_px = [6000, 4000]
pixel_um = 3.9
[region]
center = [10.0, 10.0]
radius_deg = 0.5
[picture]
filled = true
aspect = [3, 2]
[mosaic]
position_angle_deg = 0.0
"""
    plan = make_plan(request_from_text(text), effort="quick")
    settled = update_document(text, settled_tables(plan))
    assert request_from_text(settled).changed_tables == ()
    assert request_from_text(settled.replace("aspect = [3, 2]", "aspect = [1, 1]")).changed_tables == (
        "picture",
    )
    assert request_from_text(settled.replace("filled = true", "filled = false")).changed_tables == (
        "picture",
    )
    printed = settled.replace("aspect = [3, 2]", "aspect = [3, 2]\nprint_width_cm = 60.0")
    assert request_from_text(printed).changed_tables == ()


def test_other_questions_leave_settled_panels_aside():
    """A season takes their angle; tables of pointings and other setups bring panels of their own."""
    from planner.answers.compare import compare_setups
    from planner.answers.season import plan_season
    from planner.request.request import SeasonRequest, Setup

    (path,) = (one for one in WITNESSES if one.stem == "common_angle_at_60_south")
    request = read_plan_file(path)
    season = plan_season(SeasonRequest("s", (request,)), effort="quick")
    assert season.targets[0].plan.mosaic.panels[0].position_angle_deg == pytest.approx(12.0)
    (answer,) = compare_setups(
        request, [Setup(title="long", camera=replace(request.camera, focal_length_mm=500.0))]
    )
    assert answer.panels > len(request.panels)
