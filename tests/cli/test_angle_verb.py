"""The angle verb from files to screen, machine form, sheet and saved setup."""

import json
import subprocess
import sys

import pytest

from planner.answers.plan import make_plan
from planner.cli import main
from planner.files.plan_file.read import read_plan_file
from planner.files.solution_file import write_solution
from planner.frames.solve.frame_solver import FrameSolver
from planner.rig.cautions import CAMERA_CAUTIONS
from tests.frames.solved_file import write_solved
from tests.frames.synthetic import Sky, write_frame

from . import running

SETUP = """# pier with an adjuster
[camera]
focal_length_mm = 380.0      # nominal
sensor_px = [6000, 4000]
pixel_um = 3.9

[angle_device]
kind = "adjuster"
zero_deg = 112.4             # from last season
sense = 1
range_deg = [0, 360]
division_deg = 1.0
"""
PLAN = """title = "Two panels"
setup = "pier.toml"

[region]
center = [128.5, 0.0]
width_deg = 5.0
height_deg = 1.6
position_angle_deg = 130.0

[mosaic]
position_angle_deg = 130.0
overlap = 0.1
layout = "sliding"
"""


@pytest.fixture
def plan(tmp_path):
    (tmp_path / "pier.toml").write_text(SETUP)
    (tmp_path / "plan.toml").write_text(PLAN)
    return tmp_path / "plan.toml"


def solved(folder, name, angle, **more):
    """Frame of the whole sensor, binned 8 x 8 where nothing else is said, at the plan's place."""
    binning = more.pop("binning", 8)
    scale = 206264.80624709636 * 3.9e-3 * binning / more.pop("focal_mm", 380.0)
    keys = {"XBINNING": binning, "YBINNING": binning} | more
    size = (6000 // binning, 4000 // binning)
    small = {"size": size, "scale_arcsec": scale, "position_angle_deg": angle, "center": (128.5, 0.0)}
    return write_solved(folder / name, **small, **keys)


def run(capsys, *arguments):
    return running.run(capsys, "angle", *arguments)


def run_json(capsys, *args):
    code, out, _ = run(capsys, *args, "--json")
    return code, json.loads(out)


def test_readings_of_a_plan(plan, capsys):
    code, out, _ = run(capsys, plan)
    assert code == 0
    assert "reading 17.6°" in out and "A1, A2" in out
    assert CAMERA_CAUTIONS[0] in out and "no gap opens" in out


def test_machine_form(plan, capsys):
    code, document = run_json(capsys, plan)
    assert code == 0 and document["schema"] == "camera-angle 1"
    for panel in document["panels"]:
        assert panel["position_angle_deg"] == pytest.approx(130.0)
        assert panel["reading_deg"] == pytest.approx(17.6)


@pytest.mark.parametrize(("binning", "looking"), [(1, ""), (1, "west"), (4, "east")])
def test_one_frame_calibrates_and_tells_the_turn(plan, capsys, binning, looking):
    angle = 150.0 + 180.0 * (looking == "east")
    path = solved(plan.parent, "t.fits", angle, binning=binning, focal_mm=425.0)
    args = ["--frame", path, "--reading", "40"] + ["--looking", looking] * bool(looking)
    code, document = run_json(capsys, plan, *args)
    assert code == 0
    found = document["calibration"]
    assert found["zero_deg"] == pytest.approx(110.0, abs=1e-6)
    assert found["looking"] == (looking or "west")
    assert found["focal_length_mm"] == pytest.approx(425.0, rel=1e-6)
    assert found["binning"] == [binning, binning]
    assert document["turn"]["position_angle_deg"] == pytest.approx(-20.0, abs=1e-6)
    assert document["turn"]["to_reading_deg"] == pytest.approx(20.0, abs=1e-6)
    assert document["panels"][0]["reading_deg"] == pytest.approx(20.0, abs=1e-6)


def test_frames_of_both_sides_in_one_calibration(plan, capsys):
    east, west = solved(plan.parent, "e.fits", 310.0), solved(plan.parent, "w.fits", 130.0)
    pairs = ["--frame", east, "--reading", "17.6", "--frame", west, "--reading", "17.6"]
    _, document = run_json(capsys, plan, *pairs, "--looking", "east", "--looking", "west")
    assert document["calibration"]["zero_deg"] == pytest.approx(112.4)
    assert document["calibration"]["looking"] == "west"
    code, out, _ = run(capsys, plan, *pairs)  # taken for one side they contradict each other
    assert code == 1 and "and --looking, and take them again" in out


def test_sides_that_make_no_sense(plan, capsys):
    pair = ["--frame", solved(plan.parent, "t.fits", 150.0), "--reading", "40"]
    code, _, err = run(capsys, plan, *pair, "--looking", "east", "--looking", "west")
    assert code == 2 and "got 2 for 1; give one for each frame" in err
    plan.write_text(plan.read_text() + "\n[mount]\nkind = 'fork'\n")
    code, _, err = run(capsys, plan, *pair, "--looking", "east")
    assert code == 2 and "got mount.kind = 'fork'; leave it out" in err
    _, document = run_json(capsys, plan, *pair)
    assert "looking" not in document["calibration"]


def test_two_frames_tell_the_sense_and_three_the_scatter(plan, capsys):
    pairs = []
    for name, angle, reading in (("a", 150.0, 40), ("b", 120.0, 70), ("c", 90.3, 100)):
        pairs += ["--frame", solved(plan.parent, f"{name}.fits", angle), "--reading", str(reading)]
    _, two = run_json(capsys, plan, *pairs[:8])
    assert two["calibration"]["sense"] == -1 and two["calibration"]["zero_deg"] == pytest.approx(190.0)
    assert "scatter_deg" not in two["calibration"]
    _, three = run_json(capsys, plan, *pairs)
    assert three["calibration"]["scatter_deg"] == pytest.approx(0.1732, abs=1e-3)


def test_save_keeps_comments_and_shows_the_previous_value(plan, capsys):
    path = solved(plan.parent, "t.fits", 150.0)
    code, _, err = run(capsys, plan, "--frame", path, "--reading", "40", "--save")
    assert code == 0
    assert "zero_deg = 110.0 (was 112.4)" in err
    assert (plan.parent / "pier.toml").read_text() == SETUP.replace("112.4", "110.0")
    _, document = run_json(capsys, plan)
    assert document["panels"][0]["reading_deg"] == pytest.approx(20.0)


def test_planning_with_the_measured_focal_length(plan, capsys):
    path = solved(plan.parent, "t.fits", 150.0, focal_mm=400.0)
    args = ["--frame", path, "--reading", "40"]
    code, out, _ = run(capsys, plan, *args)
    assert "Focal length 400.0 mm, +5.26 % of the plan's" in out
    code, out, err = run(capsys, plan, *args, "--measured-focal-length", "--save")
    assert code == 0 and "+0.00 % of the plan's" in out
    assert "camera.focal_length_mm = 400.0 (was 380.0)" in err
    assert "focal_length_mm = 400.0      # nominal" in (plan.parent / "pier.toml").read_text()


def test_lying_on_an_earlier_picture(plan, capsys):
    path = solved(plan.parent, "old.fits", 60.0, focal_mm=840.0)
    code, document = run_json(capsys, plan, "--match", path)
    assert code == 0
    assert document["match"]["covered_share"] == pytest.approx(1.0)
    assert document["match"]["position_angle_deg"] == pytest.approx(60.0)
    assert document["match"]["center_deg"] == pytest.approx([128.5, 0.0])
    _, out, _ = run(capsys, plan, "--match", path)
    assert "One panel covers all of it." in out


def test_unreachable_angle_says_what_it_costs(plan, capsys):
    setup = plan.parent / "pier.toml"
    setup.write_text(SETUP.replace("[0, 360]", "[30, 150]"))
    code, out, err = run(capsys, plan)
    assert code == 1
    assert "cannot be reached" in out and "Planned anew for that angle it takes" in out
    assert err.strip().endswith("cannot reach the plan's angle") and err.count("\n") == 1
    _, document = run_json(capsys, plan)
    assert document["panels"][0]["reachable"] is False
    assert document["unreachable"]["off_deg"] == pytest.approx(12.4)
    assert document["unreachable"]["replanned"]["covered"] is True


def test_files_out(plan, capsys):
    out_folder, sheet = plan.parent / "out", plan.parent / "turn.pdf"
    code, _, _ = run(capsys, plan, "--out", out_folder, "--sheet", sheet)
    assert code == 0
    names = sorted(path.name for path in out_folder.iterdir())
    assert names == ["camera-angle.json", "camera-angle.pdf"]
    assert json.loads((out_folder / "camera-angle.json").read_text())["schema"] == "camera-angle 1"
    assert sheet.read_bytes() == (out_folder / "camera-angle.pdf").read_bytes()
    (out_folder / "camera-angle.pdf").write_bytes(b"somebody else's")
    code, _, err = run(capsys, plan, "--out", out_folder)
    assert code == 2 and "in the way" in err


@pytest.mark.parametrize(
    ("args", "words"),
    [
        (["--frame", "t.fits"], "go in pairs"),
        (["--reading", "4"], "give --frame with it"),
        (["--frame", "t.fits", "--reading", "400"], "within the travel"),
        (["--frame", "t.fits", "--reading", "nan"], "within the travel"),
        (["--frame", "none.fits", "--reading", "4"], "does not exist"),
        (["--frame", "plan.toml", "--reading", "4"], "no FITS file"),
        (["--frame", ".", "--reading", "4"], "is a folder"),
        (["--match", "plan.toml"], "no FITS file"),
        (["--save"], "--save needs a solved frame"),
        (["--looking", "east"], "--looking needs a solved frame"),
        (["--measured-focal-length"], "needs a solved frame"),
        (["--sheet", "turn.png"], "must name a .pdf file"),
        (["--reading", "ten"], "--reading must be a number, got 'ten'; give one"),
    ],
)
def test_bad_use_is_one_line_and_writes_nothing(plan, capsys, monkeypatch, args, words):
    monkeypatch.chdir(plan.parent)
    solved(plan.parent, "t.fits", 150.0)
    before = sorted(plan.parent.iterdir())
    code, out, err = run(capsys, plan, *args)
    assert (code, out, err.count("\n")) == (2, "", 1)
    assert words in err
    assert sorted(plan.parent.iterdir()) == before


def test_contradictory_frames_are_not_saved(plan, capsys):
    pairs = []
    for name, angle, reading in (("a", 150.0, 40), ("b", 100.0, 70)):
        pairs += ["--frame", solved(plan.parent, f"{name}.fits", angle), "--reading", str(reading)]
    code, out, err = run(capsys, plan, *pairs)
    assert code == 1 and "contradict each other" in out and "contradict each other" in err
    code, _, err = run(capsys, plan, *pairs, "--save")
    assert code == 2 and "nothing is saved" in err
    assert (plan.parent / "pier.toml").read_text() == SETUP


def test_a_made_up_frame_calibrates_nothing_that_is_kept(plan, capsys):
    frame = ["--frame", solved(plan.parent, "drawn.fits", 150.0, MADEUP=True), "--reading", "40"]
    real = ["--frame", solved(plan.parent, "real.fits", 150.0), "--reading", "40"]
    match = ["--match", frame[1]]
    for kept in (["--save"], ["--sheet", str(plan.parent / "turn.pdf")]):
        for given in (frame, [*real, *frame], [*real, *match]):
            code, out, err = run(capsys, plan, *given, *kept)
            assert (code, out) == (2, "") and "made up, to practise with" in err and err.count("\n") == 1
    assert (plan.parent / "pier.toml").read_text() == SETUP and not (plan.parent / "turn.pdf").exists()
    code, out, err = run(capsys, plan, *frame, "--out", plan.parent / "out")
    assert code == 0 and "turn nothing and shoot nothing" in out and "no camera-angle.pdf" in err
    assert [path.name for path in (plan.parent / "out").iterdir()] == ["camera-angle.json"]
    document = json.loads((plan.parent / "out/camera-angle.json").read_text())
    assert document["calibration"]["made_up"] == ["drawn.fits"]


def test_a_fixed_camera_has_no_scale_to_read(plan, capsys):
    fixed = SETUP.replace('"adjuster"', '"fixed"')
    (plan.parent / "pier.toml").write_text(fixed)
    frame = ["--frame", solved(plan.parent, "t.fits", 150.0)]
    for given in (["--reading", "4"], [*frame, "--reading", "4"]):
        code, out, err = run(capsys, plan, *given)
        assert (
            (code, out) == (2, "") and "a fixed camera has no scale to read" in err and err.count("\n") == 1
        )
    assert run(capsys, plan, *frame, "--reading", "0")[0] in (0, 1)


def test_plans_without_an_angle_device(plan, capsys):
    (plan.parent / "pier.toml").write_text(SETUP[: SETUP.index("[angle_device]")])
    code, out, _ = run(capsys, plan)
    assert code == 0 and "No angle device" in out
    code, _, err = run(capsys, plan, "--sheet", plan.parent / "x.pdf")
    assert code == 2 and "needs an angle device" in err


def test_alt_azimuth_mount_needs_a_rotator_that_follows(plan, capsys):
    site = "[site]\nlatitude_deg = -32.0\nlongitude_deg = 20.8\n"
    exposures = '[[filters]]\nname = "Ha"\nband = "narrow"\nexposure_s = 600\nexposures = 2\n'
    (plan.parent / "pier.toml").write_text(f'{SETUP}[mount]\nkind = "altaz"\n{site}{exposures}')
    _, out, _ = run(capsys, plan)
    assert "turns the field by up to" in out and "only a rotator that follows the field" in out
    assert "no meridian flip" in out


def test_help_has_an_example_and_start_is_light():
    script = (
        "import sys; from planner.cli import main; code = main(['angle', '--help']); "
        "heavy = {'astropy', 'matplotlib', 'scipy', 'streamlit'} & set(sys.modules); "
        "sys.exit(code or bool(heavy))"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert "python -m planner angle sample_targets/vela_shell.toml" in done.stdout


def test_a_sheet_that_cannot_be_written_leaves_everything_unwritten(plan, capsys, tmp_path):
    (tmp_path / "sheet.pdf").write_text("not ours")
    code, out, err = run(capsys, plan, "--out", tmp_path / "out", "--sheet", tmp_path / "sheet.pdf")
    assert code == 2 and out == "" and err.count("\n") == 1 and "in the way" in err
    assert not (tmp_path / "out").exists()


SOLVABLE = PLAN.replace('setup = "pier.toml"\n', "").replace("[128.5, 0.0]", "[128.5, -45.4]") + (
    "[camera]\nfocal_length_mm = 412.529612\nsensor_px = [800, 600]\npixel_um = 24.0\n"
    '[angle_device]\nkind = "adjuster"\n'
)
"""12 arc seconds a pixel, 2.67 x 2 degrees."""


def origin_and_angle(capsys, *args):
    assert main(["angle", *map(str, args), "--reading", "0", "--json", "--effort", "quick"]) in (0, 1)
    found = json.loads(capsys.readouterr().out)["calibration"]
    return found.get("solution_origin", ""), found["frame_position_angle_deg"]


def test_a_frame_without_a_solution_is_solved_or_read_from_beside(tmp_path, capsys):
    plan = tmp_path / "plan.toml"
    plan.write_text(SOLVABLE)
    raw = write_frame(tmp_path / "raw.fits", Sky(128.7, -45.3, 71.0), solved=False, XBINNING=1)
    before = raw.read_bytes()
    origin, angle_deg = origin_and_angle(capsys, plan, "--frame", raw)
    assert origin.startswith("solved here by") and angle_deg == pytest.approx(71.0, abs=0.02)
    code, _, err = run(capsys, plan, "--frame", raw, "--reading", "0", "--no-solve")
    assert code == 2 and "raw.fits" in err
    assert sorted(path.name for path in tmp_path.iterdir()) == ["plan.toml", "raw.fits"]

    found = FrameSolver(*solver_of(plan)).solve(raw)
    beside = write_solution(raw, found)
    for frame in (raw, beside):
        origin, same_deg = origin_and_angle(capsys, plan, "--frame", frame, "--no-solve")
        assert origin.startswith("solution read from") and same_deg == pytest.approx(angle_deg, abs=1e-6)
    alone = beside.rename(tmp_path / "renamed.fits")
    assert origin_and_angle(capsys, plan, "--frame", alone)[1] == pytest.approx(angle_deg, abs=1e-6)
    assert raw.read_bytes() == before


def test_a_frame_that_fits_nowhere_is_refused_in_one_sentence(tmp_path, capsys):
    plan = tmp_path / "plan.toml"
    plan.write_text(SOLVABLE)
    elsewhere = write_frame(tmp_path / "raw.fits", Sky(250.0, 20.0), solved=False)
    code, out, err = run(capsys, plan, "--frame", elsewhere, "--reading", "0", "--effort", "quick")
    assert (code, out) == (2, "")
    assert "could not be solved here" in err and "Traceback" not in err


def solver_of(path):
    plan = make_plan(read_plan_file(path), effort="quick")
    return plan.request.camera, plan.mosaic.panels
