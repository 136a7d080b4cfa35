"""Shares of picture and panels against areas known beforehand."""

import math
from dataclasses import replace
from types import SimpleNamespace

import pytest

from planner.answers.picture_shares import picture_shares
from planner.answers.plan import make_plan
from planner.files.plan_file.read import request_from_text

TEXT = """\
[camera]
focal_length_mm = 380.0
sensor_px = [6000, 4000]
pixel_um = 3.9

[region]
center = [128.5, -45.8]
radius_deg = 0.5

[[panels]]
name = "A1"
ra_deg = 128.5
dec_deg = -45.8
position_angle_deg = 20.0
"""


def test_one_panel_and_a_picture_about_its_middle():
    """Areas in the picture's plane are products of tangents."""
    plan = make_plan(request_from_text(TEXT))
    half = math.tan(math.radians(0.5)), math.tan(math.radians(4.0))
    field = plan.mosaic.field
    picture = replace(
        plan.picture, center_deg=(128.5, -45.8), width_deg=1.0, height_deg=8.0, position_angle_deg=20.0
    )
    shares = picture_shares(plan.mosaic, picture)
    assert shares.filled == pytest.approx(field.half_height / half[1], rel=1e-9)
    assert shares.outside == pytest.approx(1 - half[0] / field.half_width, rel=1e-9)
    within = replace(picture, height_deg=1.0)
    assert picture_shares(plan.mosaic, within).filled == pytest.approx(1.0)


def test_a_picture_that_is_nearly_full_is_not_told_as_full(monkeypatch):
    from planner.answers import plan_notes

    monkeypatch.setattr(plan_notes, "picture_shares", lambda *given: SimpleNamespace(filled=0.99999))
    (told,) = plan_notes._picture_notes(SimpleNamespace(picture=None), None, None)
    assert told.startswith("panels fill 99.9 per cent of the picture")
