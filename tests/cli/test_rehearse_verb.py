"""`rehearse` on the command line: what it prints, writes and refuses."""

import json

import pytest

from planner.cli import main

from .plan_texts import grid_text

SITE = """
[site]
name = "pier"
latitude_deg = -31.2
longitude_deg = 22.6
"""
NIGHTS = """
[nights]
first = 2027-01-11
last = 2027-01-12
"""
FILTERS = """
[[filters]]
name = "Ha"
band = "narrow"
exposure_s = 600
exposures = 3
"""
WHOLE = grid_text("Shell", width_deg=4.0) + SITE + NIGHTS + FILTERS


@pytest.fixture
def plan_file(tmp_path):
    def write(text=WHOLE):
        path = tmp_path / "shell.toml"
        path.write_text(text)
        return str(path)

    return write


def test_frames_are_made_up_and_told(plan_file, tmp_path, capsys):
    file, folder = plan_file(), tmp_path / "frames"
    assert main(["rehearse", file, str(folder), "--faults", "many", "--nights", "1"]) == 0
    printed = capsys.readouterr()
    assert "Shell: " in printed.out
    assert "made-up frames of 600 x 400 pixels" in printed.err
    assert "MADEUP = T" in printed.out
    assert (folder / "rehearsal.txt").is_file()
    assert (
        main(
            ["rehearse", file, str(folder), "--json", "--seed", "5", "--faults", "none", "--solutions", "all"]
        )
        == 0
    )
    printed = capsys.readouterr()
    document = json.loads(printed.out)
    assert list(document) == ["schema", "frames", "seed"]
    assert document["schema"] == "rehearsal 1"
    assert list(document["frames"][0]) == [
        "file",
        "panel",
        "filter",
        "exposure_s",
        "center_deg",
        "position_angle_deg",
        "faults",
    ]
    assert document == json.loads((folder / "rehearsal.json").read_text())
    assert "replaced an earlier rehearsal of" in printed.err
    assert main(["review", file, str(folder), "--json"]) in (0, 1)
    review = json.loads(capsys.readouterr().out)
    assert review["made_up"] == len(document["frames"])
    assert {frame["verdict"] for frame in review["frames"]} <= {"good"}
    assert main(["review", file, str(folder)]) in (0, 1)
    assert (
        f"Made up       {review['made_up']} of {review['made_up']} frames are made up"
        in capsys.readouterr().out
    )


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (WHOLE.replace(FILTERS, ""), "add [[filters]]"),
        (WHOLE.replace(SITE, ""), "add [site]"),
        (WHOLE.replace(NIGHTS, ""), "add [nights]"),
        (WHOLE.replace("latitude_deg = -31.2", "latitude_deg = 80"), "nothing of the plan can be shot"),
        (WHOLE.replace("overlap = 0.15", "overlap = 15"), "overlap"),
    ],
)
def test_plans_that_cannot_be_rehearsed_are_refused(plan_file, tmp_path, capsys, text, words):
    assert main(["rehearse", plan_file(text), str(tmp_path / "frames")]) == 2
    printed = capsys.readouterr()
    assert printed.out == ""
    (line,) = printed.err.splitlines()
    assert words in line
    assert not (tmp_path / "frames").exists()


@pytest.mark.parametrize(
    ("more", "words"),
    [
        (["--nights", "0"], "--nights"),
        (["--nights", "two"], "--nights"),
        (["--seed", "-1"], "--seed"),
        (["--faults", "lots"], "--faults"),
        (["--solutions", "few"], "--solutions"),
        (["--out", "x"], "--out"),
    ],
)
def test_senseless_options_are_refused(plan_file, tmp_path, capsys, more, words):
    assert main(["rehearse", plan_file(), str(tmp_path / "frames"), *more]) == 2
    (line,) = capsys.readouterr().err.splitlines()
    assert words in line
    assert not (tmp_path / "frames").exists()


def test_a_folder_of_other_files_is_refused_before_anything_is_planned(plan_file, tmp_path, capsys):
    folder = tmp_path / "frames"
    folder.mkdir()
    (folder / "real.fits").write_bytes(b"mine")
    assert main(["rehearse", plan_file("nonsense"), str(folder)]) == 2
    assert "holds real.fits, which no rehearsal wrote" in capsys.readouterr().err
    assert (folder / "real.fits").read_bytes() == b"mine"
    assert main(["rehearse", plan_file(), plan_file()]) == 2
    assert "is a file, wanted a folder" in capsys.readouterr().err


def test_a_poor_field_is_noted(plan_file, tmp_path, capsys):
    text = WHOLE.replace("380.0", "3000.0").replace("width_deg = 4.0", "width_deg = 0.5")
    assert (
        main(
            ["rehearse", plan_file(text.replace("height_deg = 1.5", "height_deg = 0.2")), str(tmp_path / "f")]
        )
        == 0
    )
    assert "Note          few catalogue stars in" in capsys.readouterr().out
