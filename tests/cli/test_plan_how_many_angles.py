import json

import pytest

from planner.cli import main

from .plan_texts import CAMERA

PLAN = f"""
title = "Field"
{CAMERA}
[region]
center = [128.0, -45.0]
width_deg = 3.9
height_deg = 1.5
position_angle_deg = 30.0
[mosaic]
position_angle_range_deg = [28.0, 32.0]
"""


@pytest.fixture
def plan_file(tmp_path):
    path = tmp_path / "plan.toml"
    path.write_text(PLAN, encoding="utf-8")
    return path


def asked(path, *options):
    return main(["plan", str(path), "--how-many-angles", "--effort", "quick", *options])


def test_the_table_names_every_number_of_angles(plan_file, capsys):
    assert asked(plan_file) == 0
    lines = [line.split() for line in capsys.readouterr().out.splitlines()]
    assert lines[0] == ["Field"]
    assert lines[1][:3] == ["Angles", "Panels", "Used"]
    angles = ["1", "2", "3", "4", "per_panel"]
    assert [line[:2] for line in lines[2:7]] == [[one, "2"] for one in angles]


def test_the_machine_form_is_the_file_and_a_later_run_replaces_it(plan_file, tmp_path, capsys):
    assert asked(plan_file, "--json", "--out", str(tmp_path / "out")) == 0
    shown = capsys.readouterr().out
    assert [path.name for path in (tmp_path / "out").iterdir()] == ["how-many-angles.json"]
    assert shown == (tmp_path / "out" / "how-many-angles.json").read_text()
    document = json.loads(shown)
    assert (document["schema"], document["title"]) == ("how-many-angles 1", "Field")
    assert [row["angles"] for row in document["rows"]] == [1, 2, 3, 4, "per_panel"]
    assert list(document["rows"][0]) == [
        "angles",
        "panels",
        "angles_used",
        "overlap_found",
        "panel_count_bound",
    ]
    assert asked(plan_file, "--json", "--out", str(tmp_path / "out")) == 0
    assert "replaced" in capsys.readouterr().err


RANGE = "[mosaic]\nposition_angle_range_deg = [28.0, 32.0]"
GRID = "[mosaic]\ncolumns = 2\nrows = 1"
LISTED = '[[panels]]\nname = "A"\nra_deg = 128.0\ndec_deg = -45.0\nposition_angle_deg = 30.0'


@pytest.mark.parametrize(
    ("tables", "words"), [(GRID, "got mosaic.columns and rows"), (LISTED, "got listed [[panels]]")]
)
def test_what_cannot_vary_is_refused_before_anything_is_written(plan_file, tmp_path, capsys, tables, words):
    plan_file.write_text(PLAN.replace(RANGE, tables))
    assert asked(plan_file, "--out", str(tmp_path / "out")) == 2
    said = capsys.readouterr().err
    assert words in said and said.count("\n") == 1
    assert not (tmp_path / "out").exists()


def test_another_extra_beside_it_is_refused(plan_file, capsys):
    assert asked(plan_file, "--from-table", "mine.csv") == 2
    assert "exclude each other" in capsys.readouterr().err
