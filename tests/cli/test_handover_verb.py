import hashlib
import json
import re
import tomllib
import zipfile

import pytest

from planner.cli import main

from .plan_texts import grid_text

PLAN = (
    grid_text("=Ring 'x', é", width_deg=4.0)
    + """
[[filters]]
name = "+Ha"
band = "narrow"
exposure_s = 600
exposures = 18
[[tables]]
file = "list.csv"
rows = "panel and filter"
columns = [
  { name = "target", field = "target" },
  { name = "filter", field = "filter" },
  { name = "ra", field = "ra", decimals = DECIMALS },
]
"""
)


@pytest.fixture
def plan_file(tmp_path):
    path = tmp_path / "plan.toml"
    path.write_text(PLAN.replace("DECIMALS", "6"), encoding="utf-8")
    return path


def files_in(folder):
    return {path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file()}


def test_everything_goes_into_one_folder(plan_file, tmp_path, capsys):
    out = tmp_path / "out"
    assert main(["handover", str(plan_file), "--out", str(out)]) == 0
    names = files_in(out)
    assert {"README.txt", "plan.json", "panels.ecsv", "observations.vot", "site_sheet.pdf"} <= names
    assert {"tables/list.csv", "headers/A1.hdr", "panels.moc.fits", "region.moc.json"} <= names
    listed = re.findall(r"^([0-9a-f]{64})  (.+)$", (out / "README.txt").read_text(), re.MULTILINE)
    assert {name for _, name in listed} == names - {"README.txt"}
    for checksum, name in listed:
        assert hashlib.sha256((out / name).read_bytes()).hexdigest() == checksum
    shown = capsys.readouterr()
    assert "observations.vot" in shown.out
    assert f"wrote {out}" in shown.out


def test_again_is_refused_unless_replace_and_then_gives_the_same_bytes(plan_file, tmp_path, capsys):
    out = tmp_path / "out"
    arguments = ["handover", str(plan_file), "--out", str(out), "--only", "json", "--only", "tables"]
    assert main(arguments) == 0
    first = {name: (out / name).read_bytes() for name in files_in(out)}
    assert set(first) == {"README.txt", "plan.json", "tables/list.csv"}
    capsys.readouterr()
    assert main(arguments) == 2
    assert "is there already; give --replace" in capsys.readouterr().err
    assert main([*arguments, "--replace"]) == 0
    assert "replaced in" in capsys.readouterr().err
    assert {name: (out / name).read_bytes() for name in files_in(out)} == first


def test_foreign_file_is_never_replaced(plan_file, tmp_path, capsys):
    out = tmp_path / "out"
    out.mkdir()
    (out / "plan.json").write_text("{}")
    assert main(["handover", str(plan_file), "--out", str(out), "--only", "json", "--replace"]) == 2
    assert "in the way and was not written by this planner" in capsys.readouterr().err
    assert files_in(out) == {"plan.json"}


def test_machine_form(plan_file, tmp_path, capsys):
    arguments = ["handover", str(plan_file), "--json", "--only", "json", "--only", "moc"]
    assert main([*arguments, "--out", str(tmp_path / "out")]) == 0
    document = json.loads(capsys.readouterr().out)
    assert list(document) == ["schema", "files"]
    assert document["schema"] == "handover 1"
    assert all(list(entry) == ["path", "kind", "standard"] for entry in document["files"])
    assert {entry["path"] for entry in document["files"]} == files_in(tmp_path / "out")


def test_zip(plan_file, tmp_path, capsys):
    out = tmp_path / "out"
    assert main(["handover", str(plan_file), "--json", "--zip", "--only", "json", "--out", str(out)]) == 0
    (entry,) = json.loads(capsys.readouterr().out)["files"]
    assert (entry["path"], entry["kind"]) == ("handover.zip", "zip")
    with zipfile.ZipFile(out / "handover.zip") as archive:
        assert archive.namelist() == [held["path"] for held in entry["holds"]] == ["README.txt", "plan.json"]
    assert files_in(out) == {"handover.zip"}


def test_without_folder_nothing_is_written(plan_file, tmp_path, capsys, monkeypatch):
    monkeypatch.chdir(tmp_path)
    assert main(["handover", str(plan_file), "--only", "json"]) == 0
    assert files_in(tmp_path) == {"plan.toml"}
    assert "Nothing has been written; --out FOLDER" in capsys.readouterr().out
    assert main(["handover", str(plan_file), "--only", "json", "--zip"]) == 0
    assert "written: --out is missing; give --out FOLDER, which gets handover.zip." in capsys.readouterr().out


def test_loss_of_precision_is_warned_about_and_formulas_are_guarded(tmp_path, capsys):
    path = tmp_path / "plan.toml"
    path.write_text(PLAN.replace("DECIMALS", "1"), encoding="utf-8")
    assert main(["handover", str(path), "--only", "tables", "--out", str(tmp_path / "out")]) == 0
    assert re.search(
        r"warning: table 'list.csv': rounding column 'ra' moves .* pixels", capsys.readouterr().err
    )
    lines = (tmp_path / "out" / "tables" / "list.csv").read_text(encoding="utf-8").splitlines()
    assert lines[1].startswith("\"'=Ring 'x', é A1\",'+Ha,")


def test_example_table(tmp_path, capsys):
    assert main(["handover", "--example-table"]) == 0
    shown = capsys.readouterr().out
    assert tomllib.loads(shown)["tables"][0]["file"] == "capture_list.csv"
    assert main(["handover", "--example-table", "--out", str(tmp_path)]) == 0
    assert (tmp_path / "example_table.toml").read_text() == shown
    assert main(["handover", "--example-table", "--out", str(tmp_path)]) == 2
    assert main(["handover", "--example-table", "--out", str(tmp_path), "--replace"]) == 0


def test_gap_gives_exit_code_1_and_is_said(tmp_path, capsys):
    path = tmp_path / "plan.toml"
    text = PLAN.replace('layout = "grid"', 'layout = "grid"\ncolumns = 1\nrows = 1').replace("DECIMALS", "6")
    path.write_text(text, encoding="utf-8")
    assert main(["handover", str(path), "--only", "json", "--out", str(tmp_path / "out")]) == 1
    assert "gap" in capsys.readouterr().err
    assert (tmp_path / "out" / "plan.json").exists()


def test_planning_date(plan_file, tmp_path):
    out = tmp_path / "out"
    arguments = [
        "handover",
        str(plan_file),
        "--only",
        "votable",
        "--planned-on",
        "2000-01-01",
        "--out",
        str(out),
    ]
    assert main(arguments) == 0
    assert "<TD>51544.0</TD>" in (out / "observations.vot").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        ([], "handover needs a plan file"),
        (["nowhere.toml"], "nowhere.toml does not exist"),
        (
            ["PLAN", "--only", "moc", "--only", "tabels"],
            "there is no kind of file 'tabels'; did you mean 'tables'",
        ),
        (["PLAN", "--planned-on", "soon"], "must be a date of the calendar, got 'soon'; give one such as 2027-01-08"),
        (["PLAN", "--effort", "great"], "--effort must be quick, usual or thorough, got 'great'; "),
    ],
)
def test_bad_use_is_one_line_and_writes_nothing(plan_file, tmp_path, capsys, arguments, sentence):
    arguments = [str(plan_file) if argument == "PLAN" else argument for argument in arguments]
    assert main(["handover", *arguments, "--out", str(tmp_path / "out")]) == 2
    shown = capsys.readouterr()
    assert sentence in shown.err
    assert shown.err.count("\n") == 1
    assert not (tmp_path / "out").exists()


def test_bad_table_is_told_before_planning(tmp_path, capsys):
    path = tmp_path / "plan.toml"
    path.write_text(PLAN.replace("DECIMALS", "'x'"), encoding="utf-8")
    assert main(["handover", str(path), "--out", str(tmp_path / "out")]) == 2
    assert "[[tables]] 1, column 3: decimals: Expected int" in capsys.readouterr().err


def test_table_without_ground_is_told_before_planning(tmp_path, capsys):
    path, out = tmp_path / "plan.toml", tmp_path / "out"
    arguments = ["handover", str(path), "--out", str(out)]
    path.write_text(PLAN.replace("decimals = DECIMALS", "equator = 'true of date'"), encoding="utf-8")
    assert main(arguments) == 2
    assert "column 'ra' wants the equator of a date, but there is none" in capsys.readouterr().err
    path.write_text(PLAN.replace('"ra", decimals = DECIMALS', '"reading"'), encoding="utf-8")
    assert main(arguments) == 2
    assert "readings need an angle device; add [angle_device]" in capsys.readouterr().err
    assert not out.exists()
    assert main([*arguments, "--only", "json"]) == 0
