"""Pictures that are full: every point of the rectangle, its shape, and how few panels do it."""

import json
import math

import numpy as np
import pytest

from planner.answers.plan import make_plan
from planner.cli import main
from planner.errors import InputError
from planner.files.documents.plan import plan_document
from planner.files.plan_file.read import request_from_document
from planner.geometry import vector_to_sky
from tests.mosaic import oracle

CAMERA = {"focal_length_mm": 380.0, "sensor_px": [6000, 4000], "pixel_um": 3.9}
PLACES = [(318.0, 60.0), (0.2, -5.0), (40.0, 88.5)]


def plan_of(region, picture, effort="quick", **mosaic):
    document = {"camera": CAMERA, "region": region, "picture": picture, "mosaic": mosaic}
    return make_plan(request_from_document(document), effort=effort)


def panels_needed(side_deg, field_deg, overlap=0.15):
    """Panels along a side by the usual sum: the first shows its whole field, each further one 1 - overlap of it."""
    return max(1, math.ceil((side_deg - field_deg) / (field_deg * (1 - overlap)) - 1e-9) + 1)


def holds_the_whole_picture(plan):
    rectangle = plan.picture.as_region()
    points = oracle.spread_over(rectangle.outline_deg, 1500, np.random.default_rng(3))
    panels = [(p.ra_deg, p.dec_deg, p.position_angle_deg) for p in plan.mosaic.panels]
    field = plan.mosaic.field
    return not len(oracle.uncovered(points, panels, (field.half_width, field.half_height)))


@pytest.mark.parametrize(
    ("center", "aspect"), [*((place, (3, 2)) for place in PLACES), (PLACES[0], None)], ids=str
)
def test_every_point_of_a_full_picture_lies_in_a_panel(center, aspect):
    parts = [
        {"center": list(center), "radius_deg": 1.0},
        {"center": [center[0] + 2.0, center[1] - 2.5], "radius_deg": 0.6},
    ]
    picture = {"filled": True} | ({"aspect": list(aspect), "upright": "either"} if aspect else {})
    layout = "sliding" if center[1] > 80.0 else "free"
    plan = plan_of({"parts": parts, "margin_arcmin": 6.0}, picture, layout=layout)
    assert plan.shortfalls == ()
    assert holds_the_whole_picture(plan)
    outline = plan.picture.as_region().outline_deg
    corners = plan.region.outline_vectors
    corners = corners + 1e-7 * (corners.mean(axis=0) - corners)  # where they touch a side, a hair inside
    corners /= np.linalg.norm(corners, axis=1, keepdims=True)
    assert oracle.in_outline(corners, outline).all()
    if aspect:
        half = np.tan(np.radians([plan.picture.width_deg, plan.picture.height_deg]) / 2)
        assert max(half) / min(half) == pytest.approx(1.5, rel=1e-9)
    # the whole region and its parts are told, not the rectangle that is covered
    told = plan_document(plan)
    assert len(told["region"]["parts"]) == 2
    assert told["region"]["area_deg2"] < told["picture"]["width_deg"] * told["picture"]["height_deg"]


@pytest.mark.parametrize("radius_deg", [0.8, 1.6, 2.6])
def test_a_square_about_a_disc_needs_the_panels_of_the_usual_sum_and_leaves_their_room(radius_deg):
    plan = plan_of({"center": [83.0, 0.0], "radius_deg": radius_deg}, {"filled": True, "aspect": [1, 1]})
    width, height = plan.mosaic.field.width_deg, plan.mosaic.field.height_deg
    columns, rows = panels_needed(2 * radius_deg, width), panels_needed(2 * radius_deg, height)
    assert len(plan.mosaic.panels) == columns * rows == plan.mosaic.panel_count_bound
    side = min(width * (1 + 0.85 * (columns - 1)), height * (1 + 0.85 * (rows - 1)))
    assert plan.picture.width_deg == pytest.approx(
        side, rel=0.01
    )  # tangents in the place of angles, and rounding
    room = [note for note in plan.notes if "lie between" in note]
    told = float(room[0].split("at least ")[1].split()[0])
    assert told == pytest.approx(30 * (side - 2 * radius_deg), abs=1.5)


def test_the_angle_is_that_of_the_fewest_panels():
    slanted = {"center": [83.0, 0.0], "width_deg": 3.4, "height_deg": 4.2, "position_angle_deg": 35.0}
    plan = plan_of(slanted, {"filled": True})
    assert len(plan.mosaic.panels) == 2
    assert plan.picture.position_angle_deg % 90.0 == pytest.approx(35.0, abs=1.5)
    pinned = plan_of(slanted, {"filled": True}, position_angle_deg=80.0)
    assert len(pinned.mosaic.panels) > 2
    assert {panel.position_angle_deg for panel in pinned.mosaic.panels} == {80.0}


@pytest.mark.parametrize(("upright", "tall"), [(True, True), (False, False), (None, False), ("either", True)])
def test_which_way_up(upright, tall):
    region = {"center": [83.0, 0.0], "width_deg": 2.0, "height_deg": 5.0}
    picture = {"aspect": [3, 2], "filled": True} | ({} if upright is None else {"upright": upright})
    plan = plan_of(region, picture, position_angle_deg=0.0)
    assert (plan.picture.height_deg > plan.picture.width_deg) == tall


def test_a_picture_angle_of_its_own_is_kept():
    plan = plan_of({"center": [83.0, 0.0], "radius_deg": 1.2}, {"filled": True, "position_angle_deg": 25.0})
    assert plan.picture.position_angle_deg == 25.0
    assert holds_the_whole_picture(plan)
    turned = plan_of(
        {"center": [83.0, 0.0], "radius_deg": 1.2},
        {"filled": True, "position_angle_deg": 25.0},
        position_angle_deg=60.0,
    )
    assert turned.picture.position_angle_deg == 25.0
    assert holds_the_whole_picture(turned)


def test_angles_square_with_a_full_picture_near_the_pole():
    plan = plan_of({"center": [40.0, 87.0], "radius_deg": 2.5}, {"filled": True}, angles="per_panel")
    assert plan.shortfalls == ()
    assert holds_the_whole_picture(plan)


def test_upright_belongs_to_an_aspect():
    with pytest.raises(InputError, match="upright belongs to an aspect"):
        plan_of({"center": [83.0, 0.0], "radius_deg": 1.0}, {"upright": True})


def test_listed_panels_that_leave_the_picture_empty_say_how_much(tmp_path, capsys):
    path = tmp_path / "plan.toml"
    path.write_text(
        "[camera]\nfocal_length_mm = 380.0\nsensor_px = [6000, 4000]\npixel_um = 3.9\n"
        "[region]\ncenter = [83.0, 0.0]\nradius_deg = 1.0\n"
        "[picture]\nfilled = true\naspect = [2, 1]\n"
        "[[panels]]\nname = 'A1'\nra_deg = 83.0\ndec_deg = 0.0\nposition_angle_deg = 0.0\n"
    )
    code = main(["plan", str(path), "--json"])
    told = capsys.readouterr()
    # the picture is 4 x 2 degrees, the panel 3.527 wide: 1 - 3.527 / 4 of it is empty
    assert code == 1
    assert "12 per cent of the picture is empty" in told.err
    assert json.loads(told.out)["covered"] is False


def test_plan_json_tells_the_largest_full_picture():
    plan = plan_of(
        {"center": [83.0, 20.0], "radius_deg": 2.0},
        {"aspect": [3, 2]},
        position_angle_deg=10.0,
        layout="sliding",
    )
    told = plan_document(plan)["full_picture"]
    assert told["width_deg"] / told["height_deg"] == pytest.approx(1.5, rel=2e-3)  # of the tangents
    assert told["position_angle_deg"] == 10.0
    assert told["print_cm"] == pytest.approx([size / 300 * 2.54 for size in told["pixels"]])
    basis_region = plan.full_picture.picture.as_region()
    points = oracle.spread_over(basis_region.outline_deg, 800, np.random.default_rng(1))
    panels = [(p.ra_deg, p.dec_deg, p.position_angle_deg) for p in plan.mosaic.panels]
    field = plan.mosaic.field
    assert not len(oracle.uncovered(points, panels, (field.half_width, field.half_height)))
    if "turned" in told:
        assert told["turned"]["width_deg"] > told["width_deg"]
    assert vector_to_sky(basis_region.basis[2])[0] == pytest.approx(told["center_deg"][0], abs=1e-6)
