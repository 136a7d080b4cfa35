"""The machine form of a camera angle, and calibrations stored in the user's own files."""

import json

import pytest

from planner.errors import InputError
from planner.files.documents.camera_angle import camera_angle_document
from planner.files.documents.json_text import json_text
from planner.files.plan_file.calibration import save_calibration
from planner.files.plan_file.read import read_plan_file
from planner.rig.angle_device import AngleDevice
from planner.rig.matching import match_picture
from tests.rig.hand_made import FIELD, grid_mosaic, solution_at
from tests.rig.test_angle_report import ADJUSTER, frame, report_of

SETUP = """# my pier
[angle_device]   # on the right
kind = "adjuster"
zero_deg = 100.0   # measured in spring
sense = 1
[camera]
focal_length_mm = 380.0   # with flattener
sensor_px = [6000, 4000]
pixel_um = 3.9
"""
PLAN = """setup = "pier.toml"   # shared
[region]
center = [128.5, -45.8]
radius_deg = 1.0
"""


def document_of(report):
    return json.loads(json_text(camera_angle_document(report)))


def written(tmp_path, *, plan=PLAN, setup=SETUP):
    (tmp_path / "pier.toml").write_text(setup)
    (tmp_path / "plan.toml").write_text(plan)
    return read_plan_file(tmp_path / "plan.toml")


def test_keys_of_a_plain_report():
    document = document_of(report_of())
    assert next(iter(document)) == "schema" and document["schema"] == "camera-angle 1"
    assert {"calibration", "turn", "match", "unreachable"}.isdisjoint(document)
    first = document["panels"][0]
    assert (first["name"], first["position_angle_deg"], first["reachable"]) == ("A1", 130.0, True)
    assert first["reading_deg"] == pytest.approx(17.6)
    assert document["tolerance"]["no_gap"]["together_deg"] >= document["tolerance"]["no_gap"]["singly_deg"]


def test_keys_of_a_calibration():
    frames = [frame(150.0, 40.0, "a"), frame(160.2, 50.0, "b"), frame(170.0, 60.0, "c")]
    document = document_of(report_of(ADJUSTER, frames))
    found = document["calibration"]
    assert found["frame_position_angle_deg"] == 170.0
    assert found["focal_length_mm"] == pytest.approx(380.0)
    assert (found["parity"], found["sense"]) == ("sky", 1)
    assert found["zero_deg"] == pytest.approx(110.0667, abs=1e-3)
    assert found["scatter_deg"] == pytest.approx(0.1155, abs=1e-3)
    turn = document["turn"]
    assert turn["to_reading_deg"] == pytest.approx(19.9333, abs=1e-3)
    assert turn["reading_deg"] == turn["position_angle_deg"] == pytest.approx(-40.0667, abs=1e-3)
    two = document_of(report_of(ADJUSTER, frames[:2]))["calibration"]
    assert "scatter_deg" not in two


def test_angles_stay_below_a_turn_when_rounded():
    almost = grid_mosaic(1, 1, angle=359.999999999999)
    document = document_of(report_of(ADJUSTER, [frame(-1e-13, 40.0)], mosaic=almost))
    assert document["panels"][0]["position_angle_deg"] == 0.0
    assert document["calibration"]["frame_position_angle_deg"] == 0.0


def test_keys_without_a_device_or_a_way():
    panels = document_of(report_of(None))["panels"]
    assert set(panels[0]) == {"name", "position_angle_deg"}
    short = document_of(report_of(AngleDevice("adjuster", 0.0, 1, (0.0, 100.0))))
    assert short["panels"][0]["reachable"] is False and "reading_deg" not in short["panels"][0]
    assert short["unreachable"]["reading_deg"] == 100.0


def test_keys_of_a_match():
    document = document_of(report_of(match=match_picture(solution_at(60.0), FIELD)))
    found = document["match"]
    assert found["center_deg"] == [128.5, -45.8]
    assert (found["position_angle_deg"], found["covered_share"]) == (60.0, pytest.approx(1.0))


def test_calibration_goes_into_the_setup_file_and_nothing_else_changes(tmp_path):
    request = written(tmp_path)
    lines = save_calibration(request, AngleDevice("adjuster", 112.43, -1))
    text = (tmp_path / "pier.toml").read_text()
    assert text == SETUP.replace("100.0", "112.43").replace("sense = 1", "sense = -1")
    assert (tmp_path / "plan.toml").read_text() == PLAN
    assert lines == (
        "Saved in pier.toml: angle_device.zero_deg = 112.43 (was 100.0).",
        "Saved in pier.toml: angle_device.sense = -1 (was 1).",
    )
    assert read_plan_file(tmp_path / "plan.toml").angle_device == AngleDevice("adjuster", 112.43, -1)


def test_the_table_in_the_plan_file_counts(tmp_path):
    table = '[angle_device]\nkind = "rotator"\nzero_deg = 5\n'
    request = written(tmp_path, plan=PLAN + table)
    save_calibration(request, AngleDevice("rotator", 7.0), focal_length_mm=379.25)
    assert (tmp_path / "plan.toml").read_text() == PLAN + table.replace("5", "7.0") + "sense = 1\n"
    assert "focal_length_mm = 379.25   # with flattener" in (tmp_path / "pier.toml").read_text()
    assert "zero_deg = 100.0" in (tmp_path / "pier.toml").read_text()


def test_a_device_that_no_file_has_is_added(tmp_path):
    request = written(tmp_path, setup=SETUP[SETUP.index("[camera]") :])
    lines = save_calibration(request, AngleDevice("adjuster", 12.5))
    assert any("was not set" in line for line in lines)
    assert read_plan_file(tmp_path / "plan.toml").angle_device == AngleDevice("adjuster", 12.5)


def test_plans_without_a_file_cannot_be_saved_to():
    from planner.request.request import RegionRequest, Request
    from tests.rig.hand_made import CAMERA

    request = Request("x", CAMERA, RegionRequest(center=(1.0, 2.0), radius_deg=1.0))
    with pytest.raises(InputError, match="stored in a plan file"):
        save_calibration(request, AngleDevice("adjuster"))


def test_no_number_has_an_exponent():
    report = report_of(AngleDevice("adjuster", 129.9999999), mosaic=grid_mosaic(1, 1, angle=130.0))
    text = json_text(camera_angle_document(report))
    assert "e-" not in text
