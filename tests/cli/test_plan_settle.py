"""Panels kept in the plan file: taken as they are, seen through when the request changes, let go again."""

import json
import subprocess
import sys
from pathlib import Path

import pytest

from planner.cli import main

PLAN = """# my shell
title = "Shell"  # short

[camera]
focal_length_mm = 380.0
sensor_px = [6000, 4000]
pixel_um = 3.9

[region]
center = ["08h34m", "-45d50m"]   # by eye
radius_deg = 2.2

[mosaic]
overlap = 0.15
position_angle_deg = 20.0
layout = "sliding"
"""


@pytest.fixture
def file(tmp_path):
    path = tmp_path / "shell.toml"
    path.write_text(PLAN, encoding="utf-8")
    return path


def planned(file, capsys, *options):
    code = main(["plan", str(file), "--json", *options])
    out, err = capsys.readouterr()
    return code, json.loads(out) if out else None, err


def same_panels(first, second):
    """Whether two plans have the same panels: names, orders, and centres to a tenth of a milliarcsecond."""
    assert len(first["panels"]) == len(second["panels"]) > 1
    for one, other in zip(first["panels"], second["panels"], strict=True):
        assert (one["name"], one["order"]) == (other["name"], other["order"])
        for key in ("ra_deg", "dec_deg", "position_angle_deg"):
            assert one[key] == pytest.approx(other[key], abs=3e-8)
        assert one["corners_deg"] == [pytest.approx(corner, abs=3e-8) for corner in other["corners_deg"]]
    return True


def test_settled_panels_are_those_of_the_plan_and_stay(file, capsys):
    _, before, _ = planned(file, capsys)
    code, _, err = planned(file, capsys, "--settle")
    assert code == 0 and f"shell.toml keeps {len(before['panels'])} panels" in err
    text = file.read_text(encoding="utf-8")
    assert text.startswith(PLAN)  # comments and order stay
    code, after, _ = planned(file, capsys)
    assert code == 0 and same_panels(after, before)
    for key in ("overlap_found", "panel_count_bound", "covered", "angles", "region"):
        assert (
            after[key] == pytest.approx(before[key], abs=2e-6)
            if key == "overlap_found"
            else after[key] == before[key]
        )
    assert any("settled:" in note for note in after["notes"])
    planned(file, capsys, "--settle")
    assert file.read_text(encoding="utf-8") == text


def test_no_search_runs_over_settled_panels(file, capsys, monkeypatch):
    file.write_text(PLAN.replace('layout = "sliding"', 'layout = "free"'), encoding="utf-8")
    planned(file, capsys, "--settle", "--effort", "quick")

    def refused(*_, **__):
        raise AssertionError("a search ran")

    monkeypatch.setattr("planner.answers.plan.build_mosaic", refused)
    code, document, _ = planned(file, capsys)
    assert code == 0 and document["covered"]


def test_a_changed_request_is_seen_and_said(file, capsys):
    planned(file, capsys, "--settle")
    file.write_text(file.read_text().replace("radius_deg = 2.2", "radius_deg = 2.9"), encoding="utf-8")
    code, document, err = planned(file, capsys)
    assert code == 1 and not document["covered"] and "falls short" in err
    (note,) = [note for note in document["notes"] if "changed since the panels were settled" in note]
    assert note.startswith("[region] changed") and "they fall short of it" in note
    smaller = file.read_text().replace("radius_deg = 2.9", "radius_deg = 2.1")
    file.write_text(smaller, encoding="utf-8")
    code, document, _ = planned(file, capsys)
    assert code == 0 and any("they still give what is asked" in note for note in document["notes"])
    assert document["panel_count_bound"] == 2  # by the area: the settled bound was another request's


def test_settled_panels_at_another_angle_than_asked_are_told(file, capsys):
    planned(file, capsys, "--settle")
    file.write_text(
        file.read_text().replace("\nposition_angle_deg = 20.0\n", "\nposition_angle_deg = 65.0\n", 1)
    )
    words = "camera angle 65.00 is asked for, theirs is 20.00"
    _, document, _ = planned(file, capsys)
    assert any(f": {words}; keep those" in note for note in document["notes"])
    planned(file, capsys, "--settle")
    _, document, _ = planned(file, capsys)
    assert words in document["notes"]  # kept as they are: what is asked for is told all the same


def test_a_key_written_another_way_is_no_change(file, capsys):
    planned(file, capsys, "--settle")
    text = (
        file.read_text()
        .replace("380.0", "380")
        .replace('["08h34m", "-45d50m"]', "[128.5, -45.833333333333336]")
    )
    file.write_text(text, encoding="utf-8")
    _, document, _ = planned(file, capsys)
    assert any(note.startswith("settled:") for note in document["notes"])


def test_unsettle_gives_the_text_back(file, capsys):
    planned(file, capsys, "--settle")
    code, _, err = planned(file, capsys, "--unsettle")
    assert code == 0 and "keeps no panels any more" in err
    assert file.read_text(encoding="utf-8").rstrip() == PLAN.rstrip()


def test_settling_anew_after_a_change(file, capsys):
    planned(file, capsys, "--settle")
    file.write_text(file.read_text().replace("radius_deg = 2.2", "radius_deg = 2.9"), encoding="utf-8")
    code, document, _ = planned(file, capsys, "--unsettle", "--settle")
    assert code == 0 and document["covered"]
    assert same_panels(planned(file, capsys)[1], document)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("order = 1\n", "order = 1\nexposures = {}\n", None),
        ('name = "A1"', 'name = "Z9"', "[settled] must belong to the [[panels]] beside it"),
        ('name = "A1"', 'name = "B1"', "['B1'] twice; rename one"),
        ("order = 1\n", "order = 2\n", "[panels] order must count all panels from 1 on"),
        ("dec_deg = -4", "dec_deg = -94", "[-90, 90]"),
        ('words = "', 'words = "\\n', "words must be one line of at most 200 letters"),
        ('region = "', 'region = "z', "region must be a digest, 16 of 0 to 9 and a to f"),
        ("panel_count_bound = ", "panel_count_bound = 9", "must be at most the number of [[panels]]"),
    ],
)
def test_panels_changed_by_hand(file, capsys, old, new, said):
    planned(file, capsys, "--settle")
    file.write_text(file.read_text().replace(old, new, 1), encoding="utf-8")
    before = file.read_bytes()
    code, _, err = planned(file, capsys, "--settle")
    if said is None:
        assert code == 0
    else:
        assert code == 2 and said in err and len(err.splitlines()) == 1
        assert file.read_bytes() == before
        assert planned(file, capsys, "--unsettle")[0] == 0


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["--object", "NGC 3372", "--settle"], "--settle is for plan files"),
        (["FILE", "--settle", "--which-angle"], "exclude each other"),
        (["FILE", "--unsettle", "--from-table", "x.csv"], "exclude each other"),
    ],
)
def test_bad_use_is_one_line(file, capsys, arguments, said):
    code = main(["plan", *(str(file) if one == "FILE" else one for one in arguments)])
    err = capsys.readouterr().err
    assert code == 2 and said in err and len(err.splitlines()) == 1
    assert file.read_text(encoding="utf-8") == PLAN


def test_a_kill_leaves_the_old_file_or_the_new_one(file, capsys):
    """The file changes in one step: whoever looks while it is written sees one of two texts."""
    script = (
        "import os, sys; from planner.files import output; real = os.replace\n"
        "def cut(*paths):\n    os._exit(9)\n"
        "os.replace = cut; os.rename = cut\n"
        "from planner.cli import main; main(['plan', sys.argv[1], '--settle'])"
    )
    root = Path(__file__).parents[2]
    killed = subprocess.run(
        [sys.executable, "-c", script, str(file)], check=False, cwd=root, capture_output=True
    )
    assert killed.returncode == 9
    assert file.read_text(encoding="utf-8") == PLAN
