import json

import pytest

from planner.cli import main

PLAN = """
title = "Field"
[camera]
focal_length_mm = 420
sensor_px = [6000, 4000]
pixel_um = 3.76
[region]
center = [128.0, -45.0]
width_deg = 5.0
height_deg = 1.6
position_angle_deg = 30.0
[mosaic]
layout = "sliding"
position_angle_range_deg = [28.0, 34.0]
"""


@pytest.fixture
def field(tmp_path):
    path = tmp_path / "field.toml"
    path.write_text(PLAN)
    return path


def run(capsys, *arguments):
    code = main(["plan", *map(str, arguments), "--angles", "--effort", "quick"])
    shown = capsys.readouterr()
    return code, shown.out, shown.err


def test_json_and_files(field, tmp_path, capsys):
    folder = tmp_path / "out"
    code, out, _ = run(capsys, field, "--json", "--out", folder)
    assert code == 0
    document = json.loads(out)
    assert document["schema"] == "angles 1" and document["title"] == "Field"
    assert [one["position_angle_deg"] for one in document["angles"]] == list(range(28, 35))
    assert document["best_position_angle_deg"] in range(28, 35)
    for one in document["angles"]:
        assert ("overlap_found" in one) == one["proven"]
    assert sorted(path.name for path in folder.iterdir()) == ["angles.json", "angles.png"]
    assert (folder / "angles.json").read_text() == out
    code, _, err = run(capsys, field, "--out", folder)
    assert code == 0 and "replaced in" in err


def test_screen(field, capsys):
    code, out, err = run(capsys, field, "--no-chart")
    assert code == 0 and err == ""
    lines = out.splitlines()
    assert lines[0].strip() == "Field" and lines[1].split() == [
        "angle",
        "panels",
        "more",
        "overlap",
        "planned",
    ]
    assert lines[2].startswith("28") and "best: " in out
    assert "Best angle: " in lines[-2] and "2 panels with " in lines[-2]
    assert "an estimate" in lines[-1]


def test_a_pinned_angle_is_told(field, capsys):
    field.write_text(PLAN + "position_angle_deg = 33\n")
    code, out, _ = run(capsys, field)
    assert code == 0 and "Asked for: 33 degrees, " in out and "more than the best." in out


def test_falling_short_at_every_angle(field, capsys):
    field.write_text(PLAN.replace("width_deg = 5.0", "width_deg = 15.0") + "columns = 2\nrows = 1\n")
    code, out, err = run(capsys, field)
    assert code == 1 and "falls short" in out and "at every angle" in err


def test_one_extra_at_a_time(field, tmp_path, capsys):
    code, out, err = run(capsys, field, "--from-table", tmp_path / "some.csv")
    assert code == 2 and out == "" and "exclude each other" in err


def test_a_foreign_file_in_the_way(field, tmp_path, capsys):
    (tmp_path / "angles.json").write_text("{}")
    code, out, err = run(capsys, field, "--out", tmp_path)
    assert code == 2 and out == "" and "is in the way" in err
    assert not (tmp_path / "angles.png").exists()
