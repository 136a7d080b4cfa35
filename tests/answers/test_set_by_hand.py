"""What a plan and its camera angle say of an adjuster whose divisions are coarser than the plan bears."""

import pytest

from planner.answers.camera_angle import camera_angle
from planner.answers.plan import make_plan
from planner.files.plan_file.read import request_from_document
from planner.rig.angle_words import report_lines
from planner.rig.tolerance import forgives

CAMERA = {"focal_length_mm": 380.0, "sensor_px": [6000, 4000], "pixel_um": 3.9}
NOTE = (
    "an adjuster set by hand is off by half a division (10 degrees) or more, but angle_error_deg is less in "
    "'Shell'; raise it there"
)


def plan_of(device, **mosaic):
    """Three panels, which bear some 7.9 degrees, each on its own."""
    region = {"center": [130.0, -20.0], "width_deg": 5.0, "height_deg": 3.0}
    document = {"title": "Shell", "camera": CAMERA, "region": region, "mosaic": mosaic}
    return make_plan(request_from_document({**document, "angle_device": device}), effort="quick")


def told(plan):
    """The sentences of the plan and of its camera angle."""
    answer = camera_angle(plan)
    lines = report_lines(answer.report, answer.effects)
    return [note for note in plan.notes if "half a division" in note], [
        line for line in lines if "half a division" in line
    ]


def test_plan_and_angle_say_the_same_of_divisions_too_coarse():
    plan = plan_of({"kind": "adjuster", "division_deg": 20.0})
    assert not forgives(plan.mosaic, 10.0)
    assert told(plan) == ([NOTE], [f"A{NOTE[1:]}."])


@pytest.mark.parametrize(
    ("device", "mosaic"),
    [
        ({"kind": "adjuster", "division_deg": 12.0}, {}),
        ({"kind": "adjuster", "division_deg": 20.0}, {"angle_error_deg": 10.0}),
        ({"kind": "rotator", "division_deg": 20.0}, {}),
        ({"kind": "fixed"}, {}),
    ],
)
def test_nothing_is_said_where_it_is_borne_allowed_for_or_not_set_by_hand(device, mosaic):
    assert told(plan_of(device, **mosaic)) == ([], [])
