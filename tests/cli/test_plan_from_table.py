import csv
import io
import json

import pytest

from planner.cli import main

from .plan_texts import grid_text

PLAN = (
    grid_text("Proof of a table", width_deg=5.0)
    + """
[[tables]]
file = "mine.txt"
delimiter = ";"
columns = [
  { name = "RA", field = "ra", unit = "hours", form = "sexagesimal", decimals = 6 },
  { name = "DEC", field = "dec", form = "sexagesimal", decimals = 5 },
  { name = "ANGLE", field = "position_angle", decimals = 9, direction = "west" },
]
"""
)


@pytest.fixture
def plan_file(tmp_path):
    path = tmp_path / "plan.toml"
    path.write_text(PLAN, encoding="utf-8")
    return str(path)


@pytest.fixture
def planned(plan_file, tmp_path):
    """Folder with the plan's own files and all of its hand-over."""
    assert (
        main(
            [
                "handover",
                plan_file,
                "--only",
                "json",
                "--only",
                "ecsv",
                "--only",
                "votable",
                "--only",
                "tables",
                "--out",
                str(tmp_path / "made"),
            ]
        )
        == 0
    )
    assert main(["plan", plan_file, "--no-chart", "--out", str(tmp_path / "made" / "plan")]) == 0
    return tmp_path / "made"


def proven(capsys, *arguments):
    capsys.readouterr()
    code = main(["plan", *map(str, arguments), "--json"])
    shown = capsys.readouterr()
    return code, json.loads(shown.out), shown.err


@pytest.mark.parametrize(
    "name", ["plan.json", "panels.ecsv", "observations.vot", "tables/mine.txt", "plan/panels.csv"]
)
def test_own_table_of_any_form_proves_as_the_plan_did(plan_file, planned, capsys, name):
    wanted = json.loads((planned / "plan.json").read_text())
    code, got, _ = proven(capsys, plan_file, "--from-table", planned / name)
    assert code == 0
    assert got["covered"]
    assert got["overlap_found"] == pytest.approx(wanted["overlap_found"], abs=1e-6)
    in_order = sorted(wanted["panels"], key=lambda panel: panel["order"])
    assert [panel["order"] for panel in got["panels"]] == list(range(1, len(in_order) + 1))
    for key in ("ra_deg", "dec_deg", "position_angle_deg"):
        values = [panel[key] for panel in in_order]
        assert [panel[key] for panel in got["panels"]] == pytest.approx(values, abs=1e-8)


def test_table_with_a_panel_missing_has_a_gap(plan_file, planned, capsys, tmp_path):
    rows = list(csv.reader(io.StringIO((planned / "plan" / "panels.csv").read_text())))
    short = tmp_path / "short.csv"
    short.write_text("\n".join(",".join(row[:7]) for row in rows[:-1]))
    code, got, said = proven(capsys, plan_file, "--from-table", short)
    assert code == 1
    assert not got["covered"]
    assert got["gap_area_deg2"] > 0.1
    assert len(got["panels"]) == len(rows) - 2
    assert "gap" in said


def test_table_writes_the_files_of_a_plan(plan_file, planned, tmp_path, capsys):
    out = tmp_path / "proof"
    arguments = ["plan", plan_file, "--from-table", str(planned / "panels.ecsv"), "--no-chart"]
    assert main([*arguments, "--out", str(out)]) == 0
    assert sorted(path.name for path in out.iterdir()) == ["panels.csv", "panels.ecsv", "plan.json"]
    assert "Overlap" in capsys.readouterr().out


def test_names_that_repeat_are_replaced(plan_file, tmp_path, capsys):
    table = tmp_path / "twice.csv"
    table.write_text("name,ra,dec,pa\nx,128.5,-45.8,20\nx,130.0,-45.8,21\n")
    _, got, _ = proven(capsys, plan_file, "--from-table", table)
    assert [panel["name"] for panel in got["panels"]] == ["A1", "A2"]
    assert got["angles"] == 2


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        (None, "cannot read"),
        ("ra,dec,pa\n", "has no rows"),
        ("ra,dec,pa\n1,95,0\n", "declination must be in [-90, 90], got 95"),
        ("a,b,c\n1,2,3\n", "has no column ra_deg"),
    ],
)
def test_bad_table_is_one_line_and_writes_nothing(plan_file, tmp_path, capsys, content, sentence):
    table = tmp_path / "bad.csv"
    if content is not None:
        table.write_text(content)
    assert main(["plan", plan_file, "--from-table", str(table), "--out", str(tmp_path / "out")]) == 2
    shown = capsys.readouterr()
    assert sentence in shown.err
    assert shown.err.count("\n") == 1
    assert not (tmp_path / "out").exists()
