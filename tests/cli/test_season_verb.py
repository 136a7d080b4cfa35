import json
import struct
import subprocess
import sys
from pathlib import Path

import pytest

from . import running
from .plan_texts import CAMERA

ROOT = Path(__file__).parents[2]
SETUP = (
    CAMERA
    + """
[angle_device]
kind = "adjuster"
zero_deg = 112.4
division_deg = 30
"""
)
PLAN = """
title = "{title}"
setup = "pier.toml"
[region]
center = [130.0, -20.0]
width_deg = 2.09
height_deg = 7.15
position_angle_deg = {angle}
[mosaic]
layout = "sliding"
angle_error_deg = {error}
"""
SEASON = 'title = "Winter"\nplans = ["a.toml", "b.toml"]\nturns_allowed = {turns}\n'


@pytest.fixture
def write(tmp_path):
    def write(*, turns=0, error=0, season=SEASON, **texts):
        files = {
            "pier": SETUP,
            "a": PLAN.format(title="Arm", angle=30, error=error),
            "b": PLAN.format(title="Bow", angle=100, error=error),
            "season": season.format(turns=turns),
            **texts,
        }
        for name, text in files.items():
            (tmp_path / f"{name}.toml").write_text(text)
        return tmp_path / "season.toml"

    return write


def run(capsys, *arguments):
    return running.run(capsys, "season", *arguments, "--effort", "quick")


def test_json_has_exactly_the_keys_of_the_schema(write, capsys):
    code, out, err = run(capsys, write(turns=1), "--json")
    assert (code, err) == (0, "")
    season = json.loads(out)
    assert list(season) == ["schema", "angles", "targets", "panels_total", "panels_total_free"]
    assert season["schema"] == "season 1"
    assert [list(angle) for angle in season["angles"]] == [["position_angle_deg", "reading_deg", "plans"]] * 2
    assert sorted(name for angle in season["angles"] for name in angle["plans"]) == ["Arm", "Bow"]
    for angle in season["angles"]:
        assert angle["reading_deg"] % 30 == 0
        assert (angle["position_angle_deg"] - 112.4 - angle["reading_deg"]) % 180 == pytest.approx(
            0, abs=1e-6
        )
    assert [target["title"] for target in season["targets"]] == ["Arm", "Bow"]
    counts = [(target["panels"], target["panels_at_own_best_angle"]) for target in season["targets"]]
    assert (season["panels_total"], season["panels_total_free"]) == tuple(map(sum, zip(*counts, strict=True)))
    assert season["panels_total"] == season["panels_total_free"]  # an angle for each


def test_screen(write, capsys):
    code, out, _ = run(capsys, write())
    assert code == 0
    lines = out.splitlines()
    assert lines[0].strip() == "Winter"
    assert lines[1].split() == "Position angle Reading Panels Targets, in this order".split()
    assert lines[2].rstrip().endswith("Arm, Bow")
    assert "with 0 turns of the camera" in out and "if the camera were turned for each target" in out
    assert "half a division (15 degrees)" in out


def test_files(write, capsys, tmp_path):
    folder = tmp_path / "out"
    path = write(turns=0)
    code, out, _ = run(capsys, path, "--out", folder, "--json")
    assert code == 0
    files = sorted(str(one.relative_to(folder)) for one in folder.rglob("*") if one.is_file())
    assert files == [
        "a/panels.csv",
        "a/plan.json",
        "b/panels.csv",
        "b/plan.json",
        "season.json",
        "season.png",
    ]
    season = json.loads((folder / "season.json").read_text())
    assert season == json.loads(out)
    for name, target in zip("ab", season["targets"], strict=True):
        plan = json.loads((folder / name / "plan.json").read_text())
        assert plan["title"] == target["title"] and len(plan["panels"]) == target["panels"]
        angles = {panel["position_angle_deg"] for panel in plan["panels"]}
        assert angles == {season["angles"][0]["position_angle_deg"]}
    picture = (folder / "season.png").read_bytes()
    width, height = struct.unpack(">II", picture[16:24])
    assert width > 1000 and height > 500
    code, _, err = run(capsys, path, "--out", folder, "--json")
    assert code == 0 and "replaced" in err
    assert (folder / "season.png").read_bytes() == picture


def test_dark_picture_of_two_angles(write, capsys, tmp_path):
    pictures = []
    for number, (turns, dark) in enumerate(((0, []), (1, ["--dark"]))):
        run(capsys, write(turns=turns), "--out", tmp_path / str(number), *dark)
        pictures.append((tmp_path / str(number) / "season.png").read_bytes())
    assert len(set(pictures)) == 2


def test_two_plan_files_of_one_name_get_folders_of_their_own(write, capsys, tmp_path):
    season = 'plans = ["a.toml", "other/a.toml"]\n'
    path = write(season=season)
    (tmp_path / "other").mkdir()
    (tmp_path / "other" / "a.toml").write_text(PLAN.format(title="Bow", angle=100, error=0))
    (tmp_path / "other" / "pier.toml").write_text(SETUP)
    code, _, _ = run(capsys, path, "--out", tmp_path / "out")
    assert code == 0
    assert {one.name for one in (tmp_path / "out").iterdir() if one.is_dir()} == {"a_1", "a_2"}


def test_a_plan_that_falls_short_is_exit_code_1(write, capsys):
    short = PLAN.format(title="Arm", angle=30, error=0) + "columns = 1\nrows = 1\n"
    code, out, err = run(capsys, write(a=short), "--json")
    assert code == 1
    assert "Arm: a gap of" in err and "Traceback" not in err
    assert json.loads(out)["panels_total"] >= 2


OTHER = "[camera]\nfocal_length_mm = 500\nsensor_px = [6000, 4000]\npixel_um = 3.9\n"
BAD = {
    "camera": ({"b": PLAN + OTHER}, "camera"),
    "device": ({"b": PLAN + "[angle_device]\nkind = 'fixed'\n"}, "angle_device"),
    "turns": ({"b": PLAN + "angles = 'per_panel'\n"}, "angles = 1"),
    "pin": (
        {"a": PLAN + "position_angle_deg = 10\n", "b": PLAN + "position_angle_deg = 100\n"},
        "turns_allowed",
    ),
}


@pytest.mark.parametrize("name", BAD)
def test_bad_input_is_one_sentence_and_writes_nothing(write, capsys, tmp_path, name):
    changes, expected = BAD[name]
    texts = {key: text.format(title=key, angle=30, error=0) for key, text in changes.items()}
    code, out, err = run(capsys, write(**texts), "--out", tmp_path / "out")
    assert (code, out) == (2, "")
    assert err.count("\n") == 1 and expected in err
    assert not (tmp_path / "out").exists()


def test_disagreement_says_which_and_where(write, capsys):
    text = BAD["camera"][0]["b"].format(title="Bow", angle=30, error=0)
    _, _, err = run(capsys, write(b=text))
    assert "focal_length_mm = 380.0 in 'Arm'" in err and "focal_length_mm = 500.0 in 'Bow'" in err
    assert "a.toml" in err and "b.toml" in err


def test_missing_file_and_foreign_file(write, capsys, tmp_path):
    code, _, err = run(capsys, tmp_path / "none.toml")
    assert code == 2 and "none.toml" in err
    folder = tmp_path / "out"
    folder.mkdir()
    (folder / "season.png").write_bytes(b"mine")
    code, _, err = run(capsys, write(), "--out", folder)
    assert code == 2 and "in the way" in err
    assert [one.name for one in folder.iterdir()] == ["season.png"]


def test_help_and_a_process_of_its_own(write):
    command = [sys.executable, "-m", "planner", "season"]
    shown = subprocess.run([*command, "--help"], cwd=ROOT, capture_output=True, text=True, check=True).stdout
    assert "python -m planner season sample_targets/karoo_season.toml" in shown
    done = subprocess.run(
        [*command, write(), "--effort", "quick", "--json"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0 and json.loads(done.stdout)["schema"] == "season 1"
