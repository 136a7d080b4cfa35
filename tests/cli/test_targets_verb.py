"""`targets` on the command line: table, JSON, CSV, charts, plan files, refusals, and why there is nothing."""

import csv
import io
import json
from pathlib import Path

import pytest

from planner.__main__ import main
from planner.cli.targets.report import _stretches
from planner.files.plan_file.read import read_plan_file
from planner.files.plan_file.season import read_season_file
from tests.app.conftest import ROOT

SETUP = str(ROOT / "sample_targets" / "karoo_pier.toml")
SEASON = ["--first", "2027-05-01", "--last", "2027-05-02"]
NAMES = ["--names", "IC 2944, M 17,NGC 6188", "--names", "vdB 1"]
ASKED = ["targets", SETUP, *SEASON, *NAMES]


def test_table(capsys):
    assert main([*ASKED, "--reading", "37"]) == 0
    printed = capsys.readouterr().out
    rows = [line.split() for line in printed.split("\n")]
    named = [" ".join(row[1:3]) for row in rows if row and row[0].isdigit() and "group" not in row]
    assert named == ["IC 2944", "M 17", "NGC 6188"]
    assert "1 never rises above 30 degrees and the horizon" in printed
    assert "those that leave 7.1 arc minutes at all sides; the camera stands at 149.40 now" in printed


def test_files(capsys, tmp_path):
    out, saved = tmp_path / "out", tmp_path / "season"
    assert main([*ASKED, "--angle", "20", "--by", "time", "--out", str(out), "--save-as", str(saved)]) == 0
    document = json.loads((out / "targets.json").read_text())
    rows = list(csv.DictReader(io.StringIO((out / "targets.csv").read_text())))
    assert document["now_deg"] == 20
    assert [row["name"] for row in rows] == [row["name"] for row in document["targets"]]
    for row, target in zip(rows, document["targets"], strict=True):
        assert float(row["hours_Ha"]) == pytest.approx(target["hours"]["Ha"])
        assert [float(row["ra_deg"]), float(row["dec_deg"])] == target["center_deg"]
        assert int(row["panels"]) == target["panels"]
    assert (out / "targets.pdf").read_bytes().startswith(b"%PDF")
    assert (out / "targets.png").read_bytes().startswith(b"\x89PNG")
    plans = sorted(saved.glob("*.toml"))
    requests = [read_plan_file(path) for path in plans]
    assert {one.title for one in requests} == {row["name"] for row in document["targets"]}
    season = tmp_path / "season.toml"
    season.write_text(f'title = "All"\nplans = {json.dumps([f"season/{path.name}" for path in plans])}\n')
    assert len(read_season_file(season).requests) == len(plans)
    assert f"wrote {len(plans)} plan files" in capsys.readouterr().err
    assert main([*ASKED, "--done", str(saved), "--json"]) == 0
    done = json.loads(capsys.readouterr().out)["targets"]
    assert all(row["planned_as"] == row["name"] for row in done if "parts" not in row)


@pytest.mark.parametrize(
    ("given", "text"),
    [
        (["--first", "2027-05-01"], "give --last too"),
        (["--first", "2027-05-02", "--last", "2027-05-01"], "--first must not be after --last, got 2027-05-02"),
        (["--first", "3027-05-01", "--last", "3027-05-02"], "--first must lie between"),
        (["--first", "2027-05-01", "--last", "2029-06-01"], "at most two years"),
        ([*SEASON, "--kind", "emision"], "did you mean 'emission'"),
        ([*SEASON, "--names", "M 17,,M 16"], "leave no name empty"),
        ([*SEASON, "--names", "Nowhere"], "Nowhere"),
        ([*SEASON, "--names", "Foo 8"], "did you mean 'M 8' or"),
        ([*SEASON, "--angle", "20", "--reading", "7"], "give one of them"),
        ([*SEASON, "--reading", "370"], r"within the travel [0, 360], got 370"),
        ([*SEASON, "--margin", "5"], "not per cent"),
        ([*SEASON, "--size", "90", "20"], "exchange them"),
        ([*SEASON, "--panels", "0"], "must be in [1, 100]"),
        ([*SEASON, "--done", "nowhere"], "nowhere does not exist"),
        (["--names", "M 17"], "need a season, got none"),
    ],
)
def test_refusals_write_nothing(given, text, capsys, tmp_path):
    out = tmp_path / "out"
    assert main(["targets", SETUP, *given, "--out", str(out)]) == 2
    said = capsys.readouterr().err
    assert text in said and said.count("\n") == 1
    assert not out.exists()


def test_costs_and_saved_plans_tell_what_is_known_of_clouds_and_overheads(capsys, tmp_path):
    asked = ["--names", "M 17", "--no-groups", "--by", "cost", "--save-as"]
    season = ["--first", "2027-06-01", "--last", "2027-06-20"]
    assert main(["targets", SETUP, *season, *asked, str(tmp_path / "bare")]) == 0
    bare = capsys.readouterr().out
    assert "Cost ZAR" in bare and "the setup has no [nights]" in bare
    text = (tmp_path / "bare" / "m_17.toml").read_text()
    assert "clear_fraction = 1" not in text and "# clear_fraction = 0.7" in text
    assert read_plan_file(tmp_path / "bare" / "m_17.toml").nights.clear_fraction == 1.0
    setup = tmp_path / "pier.toml"
    nights = (
        "[nights]\nfirst = 2027-06-01\nlast = 2027-06-20\nclear_fraction = 0.8\noverhead_per_panel_min = 5\n"
    )
    setup.write_text(f"{Path(SETUP).read_text()}\n{nights}")
    assert main(["targets", str(setup), *asked, str(tmp_path / "full")]) == 0
    full = capsys.readouterr().out
    assert "clear share 0.8, overheads 5 min a panel" in full and "no [nights]" not in full
    told = read_plan_file(tmp_path / "full" / "m_17.toml").nights
    assert (told.clear_fraction, told.overhead_per_panel_min) == (0.8, 5.0)
    assert "# clear_fraction" not in (tmp_path / "full" / "m_17.toml").read_text()


def test_done_takes_files_that_instruments_share(capsys, tmp_path):
    samples = ROOT / "sample_targets"
    for name in ("antares_shared.toml", "karoo_pier.toml", "canary_pier.toml", "karoo_season.toml"):
        (tmp_path / name).write_text((samples / name).read_text())
    done = ["--names", "IC 4604", "--no-groups", "--done", str(tmp_path), "--json"]
    assert main(["targets", SETUP, *SEASON, *done]) == 0
    (row,) = json.loads(capsys.readouterr().out)["targets"]
    assert row["planned_as"] == "Antares dark clouds, shared"


def test_the_stretch_shown_holds_the_best_angle():
    stretches = ((3.7, 4.0), (38.0, 39.5), (170.0, 190.0))
    for best, shown in ((39.2, "38.0 to 39.5, +2"), (5.0, "170 to 10, +2"), (178.0, "170 to 10, +2")):
        assert _stretches(stretches, best) == shown


def test_a_folder_that_exists_is_left_alone(capsys, tmp_path):
    assert main([*ASKED, "--save-as", str(tmp_path)]) == 2
    assert "exists already" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("given", "text"),
    [
        (
            ["--names", "NGC 7380"],
            "of 1 that fit, none rises above 30 degrees and the horizon while it is dark",
        ),
        (
            ["--names", "M 42", "--first", "2027-06-10", "--last", "2027-06-11"],
            "of 1 that fit, none rises above",
        ),
        (["--names", "B 228"], "the nebula asked for does not fit one frame"),
        (["--names", "M 17", "--kind", "dark"], "none is asked for"),
    ],
)
def test_nothing_found(given, text, capsys):
    assert main(["targets", SETUP, *SEASON, *given]) == 1
    printed = capsys.readouterr()
    assert text in printed.err
    assert printed.out == ""
    assert main(["targets", SETUP, *SEASON, *given, "--json"]) == 1
    assert json.loads(capsys.readouterr().out)["targets"] == []
