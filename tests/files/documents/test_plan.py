import json
import math
import re
from dataclasses import replace

import numpy as np
import pytest

from planner.files.documents.json_text import json_bytes, json_text
from planner.files.documents.plan import plan_document
from planner.geometry import sky_to_vector
from planner.mosaic.mosaic import Axes
from planner.mosaic.panel import Panel, panel_corners
from tests.files.hand_made_plan import ADJUSTER, hand_made_plan

TOP = (
    "schema title frame camera region picture angles overlap_asked overlap_found covered gap_area_deg2 "
    "panel_count_bound panels seams notes full_picture"
).split()
PANEL = (
    "name order row column ra_deg dec_deg position_angle_deg corners_deg reading_deg stars_in_seams".split()
)


def written(plan):
    return json.loads(json_bytes(plan_document(plan)))


def test_keys_stand_in_the_order_of_the_schema():
    document = written(hand_made_plan(device=ADJUSTER))
    assert list(document) == TOP
    assert document["schema"] == "mosaic-plan 1"
    assert [list(panel) for panel in document["panels"]] == [PANEL, PANEL]
    assert list(document["camera"]) == ["field_deg", "scale_arcsec_px", "sensor_px"]
    assert list(document["region"]) == ["outline_deg", "area_deg2"]
    assert list(document["picture"]) == "center_deg width_deg height_deg position_angle_deg pixels".split()
    assert document["seams"] == [{"panels": ["A1", "A2"], "width_arcmin": 14.25, "stars": 7}]


def test_keys_without_ground_are_absent():
    document = written(hand_made_plan())
    assert "axes" not in document and "overlap_after_errors_arcmin" not in document
    assert all("reading_deg" not in panel for panel in document["panels"])
    assert b"null" not in json_bytes(plan_document(hand_made_plan()))


def test_axes_and_errors_where_there_is_ground():
    axes = Axes(360.0, 40.0, -20.0)
    document = written(hand_made_plan(overlap_after_errors_arcmin=9.1, angles="per_panel", axes=axes))
    assert document["angles"] == "per_panel"
    assert document["axes"] == {"center_deg": [0.0, 40.0], "position_angle_deg": 340.0}
    assert document["overlap_after_errors_arcmin"] == 9.1
    assert (
        list(document)[6:11] == "angles axes overlap_asked overlap_found overlap_after_errors_arcmin".split()
    )


def test_readings():
    panel = written(hand_made_plan(device=ADJUSTER))["panels"][0]
    # zero 112.4 and position angle 20: 20 - 112.4 + 180 (a rectangle) = 87.6
    assert panel["reading_deg"] == 87.6


def test_unreachable_readings_are_absent():
    short = replace(ADJUSTER, range_deg=(0.0, 10.0))
    document = written(hand_made_plan(device=short))
    assert all("reading_deg" not in panel for panel in document["panels"])


def test_claims_no_more_than_is_proven():
    found = 0.16123456789999
    document = written(
        hand_made_plan(overlap_found=found, gap_area_deg2=1e-14, overlap_after_errors_arcmin=9.10000000009)
    )
    assert found - 1e-9 < document["overlap_found"] <= found
    assert document["overlap_after_errors_arcmin"] == 9.1
    assert document["covered"] is False and document["gap_area_deg2"] == 1e-10
    assert written(hand_made_plan())["gap_area_deg2"] == 0


def test_right_ascension_never_reaches_a_turn():
    document = written(hand_made_plan())
    assert document["panels"][1]["ra_deg"] == 0.0
    corners = [ra for panel in document["panels"] for ra, _ in panel["corners_deg"]]
    assert all(0.0 <= ra < 360.0 for ra in corners)


def test_positions_have_ten_decimals_and_no_number_an_exponent():
    panels = (Panel("A1", 1, 1, 1, 1e-9, -1e-7, 0.0),)
    text = json_bytes(plan_document(hand_made_plan(panels=panels, seams=()))).decode()
    assert '"ra_deg": 0.0000000010, "dec_deg": -0.0000001000' in text
    assert not re.search(r"\d[eE][+-]?\d", text)


def test_corners_are_those_of_the_panels():
    plan = hand_made_plan()
    for panel, corners in zip(
        plan_document(plan)["panels"], panel_corners(plan.mosaic.panels, plan.mosaic.field), strict=True
    ):
        found = sky_to_vector(*np.array(panel["corners_deg"]).T)
        assert np.abs(found - corners).max() < 1e-11  # ten decimals of a degree: 1e-12 rad


def test_same_bytes_again():
    assert json_bytes(plan_document(hand_made_plan())) == json_bytes(plan_document(hand_made_plan()))


def test_read_back():
    plan = hand_made_plan(title='a "name" \N{GREEK SMALL LETTER ALPHA}')
    document = json.loads(json_bytes(plan_document(plan)))
    assert document == json.loads(json.dumps(plan_document(plan)))
    names = ("name", "order", "row", "column", "ra_deg", "dec_deg", "position_angle_deg")
    panels = [Panel(*(row[name] for name in names)) for row in document["panels"]]
    assert panels[0] == plan.mosaic.panels[0]
    assert panels[1] == replace(plan.mosaic.panels[1], ra_deg=0.0)


@pytest.mark.parametrize("value", [math.nan, math.inf])
def test_there_is_no_json_for_what_is_no_number(value):
    with pytest.raises(ValueError, match="no text"):
        json_text({"ra_deg": value})
