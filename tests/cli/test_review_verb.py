"""`review` on the command line: what it prints, writes and refuses."""

import io
import json
import subprocess
import sys

import numpy as np
import pytest
from astropy.io import fits
from PIL import Image

from planner.answers.plan import make_plan
from planner.cli import main
from planner.cli._show import print_table
from planner.files.plan_file.read import read_plan_file
from planner.files.plan_file.reshoot import OVER
from planner.frames.header.header import read_header
from tests.frames.small_plan import write_all, write_solved
from tests.frames.synthetic import Sky, write_frame

PLAN = """title = "Shell"
[camera]
focal_length_mm = 380.0
sensor_px = [60, 40]
pixel_um = 390.0
[region]
center = [129.0, -45.0]
width_deg = 7.0
height_deg = 3.5
position_angle_deg = 20.0
[mosaic]
overlap = 0.15            # usual here
position_angle_deg = 20.0
layout = "grid"
columns = 3
rows = 2
[[site]]
name = "pier"
latitude_deg = -31.2
longitude_deg = 22.6
seeing_arcsec = 2.5
[[filters]]
name = "Ha"
band = "narrow"
exposure_s = 600
exposures = 2
"""


@pytest.fixture
def scene(tmp_path):
    """A plan file, its plan, and a folder with every frame but those of B2."""
    path = tmp_path / "shell.toml"
    path.write_text(PLAN)
    plan = make_plan(read_plan_file(path))
    write_all(tmp_path / "frames", plan, filters=("Ha",), without=("B2",))
    return path, plan, tmp_path / "frames"


def test_nothing_is_to_be_turned_or_shot_on_the_word_of_made_up_frames(scene, capsys):
    path, plan, folder = scene
    caution = "Frames are made up: turn nothing and shoot nothing on their word."
    assert main(["review", str(path), str(folder)]) == 1
    assert caution not in capsys.readouterr().out
    write_solved(folder / "drawn.fits", plan.mosaic.panels[0], MADEUP=True)
    assert main(["review", str(path), str(folder)]) == 1
    assert caution in capsys.readouterr().out


@pytest.mark.parametrize(
    ("count", "said"),
    [(0, None), (1, "the one file in {} is no frame"), (2, "none of the 2 files in {} is a frame")],
)
def test_a_folder_without_a_frame_is_told(tmp_path, capsys, count, said):
    path, folder = tmp_path / "shell.toml", tmp_path / "raw"
    path.write_text(PLAN)
    (folder / "night").mkdir(parents=True)
    for number in range(count):
        (folder / "night" / f"{number}.txt").write_text("no frame")
    assert main(["review", str(path), str(folder)]) == 1
    err = capsys.readouterr().err
    assert said.format(folder) in err if said else "frame: names" not in err


def test_json_has_the_keys_of_the_contract(scene, capsys):
    path, _, folder = scene
    assert main(["review", str(path), str(folder), "--json"]) == 1
    out, err = capsys.readouterr()
    document = json.loads(out)
    assert [key for key in document if key != "made_up"][:7] == [
        *("schema", "frames", "panels", "covered_by_good_frames", "gap_area_deg2", "overlap_found", "reshoot")
    ]
    assert document["schema"] == "review 1"
    assert document["frames"][0] == {
        "file": "Ha/A1_0.fits",
        "panel": "A1",
        "filter": "Ha",
        "start": "2027-01-08T20:00:00Z",
        "exposure_s": 600.0,
        "offset_arcmin": pytest.approx(0.0, abs=1e-4),
        "angle_off_deg": pytest.approx(0.0, abs=1e-6),
        "verdict": "good",
        "reason": "",
    }
    assert document["panels"][0] == {
        "name": "A1",
        "filter": "Ha",
        "exposures": 2,
        "worth": 2,
        "wanted": 2,
        "seconds": 1200.0,
        "dark_sky_seconds": 1200.0,
    }
    assert document["reshoot"] == [{"panel": "B2", "filter": "Ha", "exposures": 2, "reason": "no frame"}]
    assert document["covered_by_good_frames"] is False
    assert 0.0 < document["gap_area_deg2"] < 6.8
    assert document["overlap_found"] == 0.0
    assert document["depth"]["least_seconds"] == 0.0
    assert document["drift"]["states"][0]["state"] == "as planned"
    assert "1 panel must be shot again" in err


def test_complete_mosaic_is_done(scene, capsys):
    path, plan, folder = scene
    b2 = next(one for one in plan.mosaic.panels if one.name == "B2")
    write_solved(folder / "b2.fits", b2, EXPTIME=1200.0, turn_deg=180.0)
    assert main(["review", str(path), str(folder)]) == 0
    out, err = capsys.readouterr()
    assert "overlap at least 14.9 %" in out or "overlap at least 15.0 %" in out
    assert "11 good" in out
    assert "Shoot again   nothing" in out
    assert "seeing of 2.5 arc seconds" in out
    assert err == ""


def test_text_names_what_is_wrong(scene, capsys):
    path, plan, folder = scene
    write_solved(folder / "late.fits", plan.mosaic.panels[4], turn_deg=4.0)
    (folder / "bröken.fits").write_text("x")
    assert main(["review", str(path), str(folder)]) == 1
    out = capsys.readouterr().out
    assert "late.fits (B2): turned: turned by +4.0 degrees, at most 1.0 wanted" in out
    assert "bröken.fits: unreadable: is no FITS file" in out
    assert "leave" in out
    assert "0 of 2 good; 1 turned" in out


def test_flats_are_told_and_what_lacks_them(scene, capsys):
    path, plan, folder = scene
    assert main(["review", str(path), str(folder)]) == 1
    assert (
        "Flats         flats in Ha at 20.00° missing, which 10 good frames need\n" in capsys.readouterr().out
    )
    write_solved(folder / "flat.fits", plan.mosaic.panels[0], IMAGETYP="FLAT", POSANGLE=20.0)
    assert main(["review", str(path), str(folder)]) == 1
    assert "Flats         flats in Ha at 20.00°: 1\n" in capsys.readouterr().out


def test_out_writes_review_depth_and_drift_once_and_again(scene, tmp_path, capsys):
    path, _, folder = scene
    out = tmp_path / "out"
    assert main(["review", str(path), str(folder), "--out", str(out)]) == 1
    written = ["depth.png", "drift.png", "frames-read.jsonl", "review.json"]
    assert sorted(file.name for file in out.iterdir()) == written
    first = {file.name: file.read_bytes() for file in out.iterdir()}
    assert json.loads(first["review.json"])["schema"] == "review 1"
    for name in ("depth.png", "drift.png"):
        assert Image.open(io.BytesIO(first[name])).info["Software"] == "mosaic planner"
    capsys.readouterr()
    assert main(["review", str(path), str(folder), "--out", str(out)]) == 1
    assert "replaced in" in capsys.readouterr().err
    assert {file.name: file.read_bytes() for file in out.iterdir()} == first


def test_a_picture_of_an_earlier_review_goes_where_there_is_nothing_to_draw(scene, tmp_path, capsys):
    path, _, folder = scene
    out, empty = tmp_path / "out", tmp_path / "empty"
    empty.mkdir()
    assert main(["review", str(path), str(folder), "--out", str(out)]) == 1
    capsys.readouterr()
    assert main(["review", str(path), str(empty), "--out", str(out)]) == 1
    told = capsys.readouterr()
    assert not (out / "drift.png").exists() and f"removed {out / 'drift.png'}" in told.err
    assert "Least depth   none: no frame is good\n" in told.out
    (out / "drift.png").write_bytes(b"mine")
    assert main(["review", str(path), str(empty), "--out", str(out)]) == 1
    assert (out / "drift.png").read_bytes() == b"mine"


def test_foreign_file_in_the_way_is_left_alone(scene, tmp_path, capsys):
    path, _, folder = scene
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "review.json").write_text("mine")
    assert main(["review", str(path), str(folder), "--out", str(tmp_path / "out")]) == 2
    assert "in the way" in capsys.readouterr().err
    assert (tmp_path / "out" / "review.json").read_text() == "mine"


def test_reshoot_file_is_a_plan_of_exactly_what_is_missing(scene, tmp_path, capsys):
    path, plan, folder = scene
    (folder / "Ha" / "A1_1.fits").unlink()
    again = tmp_path / "next" / "again.toml"
    assert main(["review", str(path), str(folder), "--reshoot", str(again)]) == 1
    request = read_plan_file(again)
    assert request.title == "Shell, to shoot again"
    listed = {one.name: one for one in request.panels}
    assert {name: one.exposures for name, one in listed.items()} == {"A1": {"Ha": 1}, "B2": {"Ha": 2}}
    for panel in make_plan(request).mosaic.panels:
        planned = next(one for one in plan.mosaic.panels if one.name == panel.name)
        assert panel.ra_deg == pytest.approx(planned.ra_deg, abs=1e-8)
        assert panel.dec_deg == pytest.approx(planned.dec_deg, abs=1e-8)
        assert panel.position_angle_deg == pytest.approx(planned.position_angle_deg, abs=1e-8)
    assert "# usual here" in again.read_text()
    capsys.readouterr()
    assert main(["review", str(again), str(folder), "--reshoot", str(again)]) == 2
    assert "which the plan is read from" in capsys.readouterr().err
    assert main(["review", str(path), str(folder), "--reshoot", str(again)]) == 1
    assert "replaced" in capsys.readouterr().err


@pytest.mark.parametrize(("last", "first"), [("2027-03-31", "2027-01-09"), ("2027-01-08", "2027-01-01")])
def test_reshoot_begins_after_the_last_frame(scene, tmp_path, capsys, last, first):
    """All frames are of 2027-01-08; a season that ended with them stays, and a comment says that it is over."""
    path, _, folder = scene
    path.write_text(f"{PLAN}[nights]\nfirst = 2027-01-01  # new year\nlast = {last}\n")
    again = tmp_path / "again.toml"
    assert main(["review", str(path), str(folder), "--reshoot", str(again)]) == 1
    text = again.read_text()
    assert f"first = {first} " in text.replace("#", " #") and "# new year" in text
    assert (OVER in text) == (first == "2027-01-01")
    assert (f"the season of {again} is over" in capsys.readouterr().err) == (OVER in text)
    assert main(["review", str(path), str(folder), "--reshoot", str(again)]) == 1
    assert again.read_text() == text


def test_reshoot_follows_the_setup_and_never_replaces_a_plan(scene, tmp_path, capsys):
    path, _, folder = scene
    camera, rest = PLAN.split("[region]")
    (tmp_path / "setup").mkdir()
    (tmp_path / "setup" / "pier.toml").write_text(camera.replace('title = "Shell"\n', ""))
    path.write_text('title = "Shell"\nsetup = "setup/pier.toml"\n[region]' + rest)
    again = tmp_path / "a" / "b" / "again.toml"
    assert main(["review", str(path), str(folder), "--reshoot", str(again)]) == 1
    assert read_plan_file(again).camera.focal_length_mm == 380.0
    assert 'setup = "../../setup/pier.toml"' in again.read_text()
    other = tmp_path / "other.toml"
    other.write_text("# A plan file of the mosaic planner.\n")
    capsys.readouterr()
    assert main(["review", str(path), str(folder), "--reshoot", str(other)]) == 2
    assert "in the way" in capsys.readouterr().err


def test_nothing_missing_writes_no_reshoot_file(scene, tmp_path, capsys):
    path, plan, folder = scene
    write_solved(folder / "b2.fits", plan.mosaic.panels[4], EXPTIME=1200.0)
    assert main(["review", str(path), str(folder), "--reshoot", str(tmp_path / "again.toml")]) == 0
    assert not (tmp_path / "again.toml").exists()
    assert "nothing is missing" in capsys.readouterr().err


SOLVABLE = PLAN.replace("[60, 40]", "[800, 600]").replace("390.0", "24.0").replace("380.0", "412.529612")
"""12 arc seconds a pixel, 2.67 x 2 degrees."""


def test_unsolved_frames_are_solved_and_their_solutions_kept_beside_them(tmp_path, capsys):
    path, folder = tmp_path / "shell.toml", tmp_path / "frames"
    path.write_text(
        SOLVABLE.replace("width_deg = 7.0", "width_deg = 5.0").replace("height_deg = 3.5", "height_deg = 3")
    )
    folder.mkdir()
    panel = make_plan(read_plan_file(path)).mosaic.panels[1]
    sky = Sky(panel.ra_deg, panel.dec_deg, panel.position_angle_deg + 180.3, 12.0)
    frame = write_frame(folder / "raw.fits", sky, solved=False, FILTER="Ha", EXPTIME=600.0)
    noise = write_frame(folder / "noise.fits", Sky(0.0, 0.0), solved=False, with_stars=False)
    before = frame.read_bytes(), noise.read_bytes()
    assert main(["review", str(path), str(folder), "--json", "--no-solve"]) == 1
    assert [one["verdict"] for one in json.loads(capsys.readouterr().out)["frames"]] == ["unsolved"] * 2
    assert main(["review", str(path), str(folder), "--json", "--write-solutions"]) == 1
    found = {one["file"]: one for one in json.loads(capsys.readouterr().out)["frames"]}
    assert found["noise.fits"]["verdict"] == "unsolved"
    assert "could not be solved" in found["noise.fits"]["reason"]
    assert (found["raw.fits"]["panel"], found["raw.fits"]["verdict"]) == (panel.name, "good")
    assert found["raw.fits"]["angle_off_deg"] == pytest.approx(0.3, abs=0.02)
    assert found["raw.fits"]["offset_arcmin"] < 2 / 60
    assert (frame.read_bytes(), noise.read_bytes()) == before
    beside = folder / "raw.fits.solution.fits"
    assert fits.getheader(beside)["CTYPE1"] == "RA---TAN"
    assert "CTYPE1" not in read_header(frame)
    assert sorted(file.name for file in folder.iterdir()) == [
        "noise.fits",
        "raw.fits",
        "raw.fits.solution.fits",
    ]
    assert main(["review", str(path), str(folder), "--json", "--no-solve"]) == 1
    again = {one["file"]: one for one in json.loads(capsys.readouterr().out)["frames"]}
    assert again["raw.fits"]["reason"] == "solution read from the file beside it"
    beside.write_bytes(b"mine")
    assert main(["review", str(path), str(folder), "--write-solutions"]) == 1
    assert "in the way" in capsys.readouterr().err
    assert beside.read_bytes() == b"mine"
    assert again["raw.fits"]["angle_off_deg"] == pytest.approx(found["raw.fits"]["angle_off_deg"], abs=1e-6)


def test_preview_as_png_and_fits(scene, tmp_path):
    path, _, folder = scene
    png, cube = tmp_path / "p.png", tmp_path / "p.fits"
    arguments = ["review", str(path), str(folder), "--preview", str(png), "--preview", str(cube)]
    assert main([*arguments, "--preview-scale", "0.5"]) == 1
    with fits.open(cube) as parts:
        assert parts[0].header["FILTER"] == "Ha"
        assert parts[0].header["NFRAMES"] == 10
        assert np.nanmax(np.abs(parts[0].data)) == 0.0
        assert Image.open(png).size == parts[0].data.shape[::-1]


@pytest.mark.parametrize(
    ("options", "word"),
    [
        (["--offset-limit", "-1"], "must be in"),
        (["--angle-limit", "0"], "must be in"),
        (["--scale-limit", "nan"], "must be in"),
        (["--preview", "p.jpg"], ".png or .fits"),
        (["--preview-scale", "0.5"], "needs --preview"),
        (["--scheduler", "tcp://x:1"], "needs --preview"),
        (["--scheduler", "x", "--preview", "p.png"], "tcp://host:8786"),
        (["--preview", "p.png", "--preview-scale", "2"], "(0, 1]"),
        (["--reshoot", "again.json"], ".toml"),
        (["--no-solve", "--write-solutions"], "leave --no-solve out"),
        (["--preview-frames", "worst"], "worst"),
        (["--offsets", "1"], "--offset"),
    ],
)
def test_bad_use_is_one_sentence_and_nothing_is_written(scene, monkeypatch, capsys, options, word):
    path, _, folder = scene
    tmp_path = path.parent
    monkeypatch.chdir(tmp_path)
    before = sorted(tmp_path.rglob("*"))
    assert main(["review", str(path), str(folder), *options]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert word in err
    assert len(err.splitlines()) == 1
    assert sorted(tmp_path.rglob("*")) == before


def test_missing_folder_and_missing_plan(scene, tmp_path, capsys):
    path, _, folder = scene
    assert main(["review", str(path), str(tmp_path / "nowhere")]) == 2
    assert "is no folder" in capsys.readouterr().err
    assert main(["review", str(tmp_path / "no.toml"), str(folder)]) == 2
    assert len(capsys.readouterr().err.splitlines()) == 1
    assert main(["review", str(path), str(path)]) == 2
    assert "is a file" in capsys.readouterr().err


def test_help_has_an_example(capsys):
    assert main(["review", "--help"]) == 0
    assert "python -m planner review sample_targets/vela_shell.toml frames" in capsys.readouterr().out


def test_from_the_shell(scene):
    path, _, folder = scene
    command = [sys.executable, "-m", "planner", "review", str(path), str(folder), "--json", "--no-solve"]
    done = subprocess.run(command, capture_output=True, check=False)
    assert done.returncode == 1
    assert json.loads(done.stdout)["schema"] == "review 1"
    said = [
        line for line in done.stderr.splitlines() if not line.endswith(b"%")
    ]  # a slow machine tells of progress
    assert len(said) == 1


def test_a_file_in_the_way_of_one_leaves_all_unwritten(scene, capsys, tmp_path):
    path, _, folder = scene
    (tmp_path / "again.toml").write_text("mine = 1")
    args = ["review", path, folder, "--out", tmp_path / "out", "--reshoot", tmp_path / "again.toml"]
    assert main([*map(str, args)]) == 2
    shown = capsys.readouterr()
    assert shown.out == "" and shown.err.count("\n") == 1 and "in the way" in shown.err
    assert not (tmp_path / "out").exists() and (tmp_path / "again.toml").read_text() == "mine = 1"


def test_an_unreadable_file_has_no_filter(scene, capsys):
    path, _, folder = scene
    (folder / "text.fits").write_text("no frame")
    main(["review", str(path), str(folder), "--json", "--no-solve"])
    frames = {frame["file"]: frame for frame in json.loads(capsys.readouterr().out)["frames"]}
    assert set(frames["text.fits"]) == {"file", "verdict", "reason"}
    assert frames["text.fits"]["verdict"] == "unreadable"


def test_a_long_reason_wraps_and_hides_no_other_column(capsys):
    rows = [["A1", "Ha", "13", "5 of 18 good in 2 frames, 1 of them stacked; " + "1 unsolved, " * 12]]
    print_table(["Panel", "Filter", ">Exposures", "~Why"], rows, title="To shoot again")
    lines = capsys.readouterr().out.splitlines()
    assert lines[1].split() == ["Panel", "Filter", "Exposures", "Why"]
    assert lines[2].startswith("A1     Ha             13  5 of 18 good") and len(lines) > 3
    assert " ".join(" ".join(lines).split()).count("1 unsolved") == 12 and not any(
        "…" in line for line in lines
    )
