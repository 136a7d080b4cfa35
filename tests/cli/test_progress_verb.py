"""`progress` on the command line: what it prints, writes and refuses."""

import io
import json
import re

import pytest
from PIL import Image

from planner.answers.nights import plan_nights
from planner.answers.plan import make_plan
from planner.cli import main
from planner.cli.progress.progress_verb import moment
from planner.errors import InputError
from planner.files.plan_file.read import read_plan_file
from tests.answers.progress.scene import shoot
from tests.frames.small_plan import write_solved

from . import running

PLAN = """title = "Shell"
[camera]
focal_length_mm = 380.0
sensor_px = [60, 40]
pixel_um = 390.0
[region]
center = [129.0, -45.0]
width_deg = 4.0
height_deg = 2.0
position_angle_deg = 20.0
[mosaic]
position_angle_deg = 20.0
layout = "grid"
columns = 2
rows = 1
"""
NIGHTS = """
[mount]
kind = "german"
[site]
name = "pier"
latitude_deg = -31.2
longitude_deg = 22.6
time_zone = "Africa/Johannesburg"
currency = "ZAR"
hour_price = [[0.0, 880], [0.55, 540]]
[nights]
first = 2027-01-08
last = 2027-01-14
clear_fraction = 0.8
overhead_per_panel_min = 5
[[filters]]
name = "Ha"
band = "narrow"
exposure_s = 600
exposures = 3
"""


@pytest.fixture
def scene(tmp_path):
    """A plan file, its plan, and a folder with the frames of its timetable, but for one."""
    path = tmp_path / "shell.toml"
    path.write_text(PLAN + NIGHTS)
    plan = make_plan(read_plan_file(path))
    taken = shoot(tmp_path / "frames", plan, nights=plan_nights(plan), keep=lambda number: number != 4)
    return path, plan, tmp_path / "frames", taken


def run(capsys, *arguments):
    return running.run(capsys, "progress", *arguments)


def test_json_has_the_keys_of_the_contract(scene, capsys):
    path, _, folder, taken = scene
    code, out, err = run(capsys, path, folder, "--json", "--now", "2027-01-02")
    document = json.loads(out)
    assert code == 1 and err == "planner: 1 exposure of 1 panel is still wanted\n"
    assert list(document) == [
        *("schema", "panels", "filters", "evening", "tonight", "clear_fraction_met"),
        *("hours_so_far", "waiting_hours", "hours_to_come", "finished", "evening_of_last"),
        *("cost_so_far", "cost_of_waiting", "cost_to_come", "currency", "missing"),
    ]
    assert document["schema"] == "progress 1" and document["finished"] is False
    assert document["filters"] == [{"name": "Ha", "share": 0.833333}]
    rows = {row["name"]: row for row in document["panels"]}
    assert list(rows["A1"]) == [
        *("name", "filter", "exposures", "worth", "wanted", "seconds", "wanted_seconds"),
        *("dark_sky_seconds", "nights_left"),
    ]
    assert sorted(row["seconds"] for row in rows.values()) == [1200.0, 1800.0]
    assert all(row["wanted_seconds"] == 1800.0 for row in rows.values())
    (work,) = document["tonight"]
    assert list(work) == ["panel", "filter", "exposures", "from", "to", "looking", "reason"]
    assert (work["exposures"], rows[work["panel"]]["seconds"]) == (1, 1200.0)
    assert f"completes {work['panel']} in Ha" in work["reason"]
    assert document["evening"] == document["evening_of_last"] == work["from"][:10] == "2027-01-09"
    assert document["clear_fraction_met"] == pytest.approx(0.8 * 5 / 6, abs=1e-6)


def test_the_last_frame_finishes_it(scene, capsys):
    path, plan, folder, taken = scene
    lacking = next(one for one in plan.mosaic.panels if sum(row[1] == one.name for row in taken) == 2)
    write_solved(folder / "last.fits", lacking, DATE__OBS="2027-01-12T21:00:00")
    code, out, err = run(capsys, path, folder, "--now", "2027-01-02")
    assert (code, err) == (0, "")
    assert re.search(r"^Done +Ha 100 %$", out, re.MULTILINE)
    assert re.search(r"^Finished +all is done; last frame on the evening of 2027-01-12$", out, re.MULTILINE)
    assert "To shoot" not in out and "Caution" not in out


def test_text_tells_table_season_work_and_cautions(scene, capsys):
    path, _, folder, _ = scene
    code, out, _ = run(capsys, path, folder, "--now", "2027-01-10T18:00Z")
    lines = out.splitlines()
    assert code == 1 and lines[0].strip() == "Shell: where it stands"
    assert (
        lines[1].split()
        == "Panel Filter Good exposures Good frames Hours Done At a dark sky Nights left".split()
    )
    assert any(re.search(r" 2 of 3 +2  0.33 of 0.50  +66 %  +0.3\d  +5$", line) for line in lines[2:4])
    assert re.search(r"^Clear share +0.67 met on the evenings with frames; the plan expects 0.8$", out, re.M)
    assert re.search(r"^Cost +[\d,]+ ZAR so far for 1.0 hours, [\d,]+ ZAR to come$", out, re.M)
    assert "To shoot on the evening of 2027-01-10, in this order" in out
    assert re.search(r"^  1  \d\d:\d\d-\d\d:\d\d  A\d Ha x 1: 5 nights left", out, re.M)
    assert "Never let the telescope sweep near the Sun" in out


def test_out_writes_all_three_once_and_again(scene, tmp_path, capsys):
    path, _, folder, _ = scene
    out = tmp_path / "out"
    assert run(capsys, path, folder, "--now", "2027-01-10", "--out", out)[0] == 1
    first = {file.name: file.read_bytes() for file in out.iterdir()}
    assert sorted(first) == ["progress.json", "progress.pdf", "progress.png"]
    assert Image.open(io.BytesIO(first["progress.png"])).info["Software"] == "mosaic planner"
    code, _, err = run(capsys, path, folder, "--now", "2027-01-10", "--out", out)
    assert code == 1 and "replaced in" in err
    assert {file.name: file.read_bytes() for file in out.iterdir()} == first
    (out / "progress.pdf").write_text("mine")
    assert run(capsys, path, folder, "--now", "2027-01-10", "--out", out)[0] == 2
    assert (out / "progress.pdf").read_text() == "mine"


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (("plan", "nowhere"), "nowhere is no folder; check the name"),
        (("plan", "plan"), "is a file, wanted the folder with the frames"),
        (
            ("plan", "frames", "--now", "soon"),
            "--now must be a date or a time as ISO 8601 has them, got 'soon'",
        ),
        (("plan", "frames", "--now", "2027-02-30"), "got '2027-02-30'"),
        (("plan", "frames", "--angle-limit", "0"), "angle"),
        (("nowhere", "frames"), "nowhere"),
    ],
)
def test_bad_use_is_one_sentence(scene, tmp_path, capsys, arguments, told):
    path, _, folder, _ = scene
    places = {"plan": path, "frames": folder, "nowhere": tmp_path / "nowhere"}
    code, out, err = run(capsys, *(places.get(one, one) for one in arguments), "--out", tmp_path / "out")
    assert (code, out) == (2, "") and told in err and err.count("\n") == 1
    assert not (tmp_path / "out").exists()


def test_a_plan_file_without_site_and_filters_is_answered_too(tmp_path, capsys):
    path = tmp_path / "shell.toml"
    path.write_text(PLAN)
    (tmp_path / "frames").mkdir()
    code, out, err = run(capsys, path, tmp_path / "frames", "--out", tmp_path / "out")
    assert code == 1 and "2 panels are still wanted" in err
    assert "needs [site] and [nights] in the plan file" in out and "0 of 2 panels have a good frame" in out
    assert json.loads((tmp_path / "out" / "progress.json").read_text())["panels"] == [
        {"name": name, "exposures": 0, "seconds": 0.0} for name in ("A1", "A2")
    ]


def test_a_season_rehearsed_without_faults_is_finished(tmp_path, capsys):
    path = tmp_path / "shell.toml"
    path.write_text(PLAN + NIGHTS)
    plain = ("--faults", "none", "--solutions", "all")
    assert main(["rehearse", str(path), str(tmp_path / "frames"), *plain]) == 0
    capsys.readouterr()
    code, out, _ = run(capsys, path, tmp_path / "frames", "--json", "--no-solve", "--now", "2027-01-02")
    document = json.loads(out)
    assert (code, document["finished"], document["tonight"], document["cost_to_come"]) == (0, True, [], 0)
    assert document["clear_fraction_met"] == pytest.approx(0.8)
    assert document["evening_of_last"] == "2027-01-08"
    assert "made up" in run(capsys, path, tmp_path / "frames", "--no-solve", "--now", "2027-01-02")[1]


def test_an_instant_without_zone_is_utc():
    assert moment("2027-02-01T18:00") == moment("2027-02-01T18:00Z") == moment("2027-02-01T20:00+02:00")
    with pytest.raises(InputError):
        moment("02/01/2027")
