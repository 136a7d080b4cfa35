import json
import os
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

from planner.cli import main
from planner.cli.plan_extras import Output, PlanExtra

from . import running
from .plan_texts import SHELL

SAMPLES = Path(__file__).parents[2] / "sample_targets"
OPTIONS = (
    "--title Shell --focal-length-mm 380 --sensor-px 6000 4000 --pixel-um 3.9 --center 08h34m -45d50m "
    "--radius-deg 2 --position-angle-deg 20 --layout sliding"
).split()
FILES = ["panels.csv", "panels.ecsv", "plan.json"]
PLANS_ANEW = True


@pytest.fixture
def shell(tmp_path):
    path = tmp_path / "shell.toml"
    path.write_text(SHELL)
    return path


def run(capsys, *arguments):
    return running.run(capsys, "plan", *arguments)


def test_screen(shell, capsys):
    code, out, err = run(capsys, shell)
    assert (code, err) == (0, "")
    lines = out.splitlines()
    assert lines[0].strip() == "Shell"
    assert (
        lines[1].split() == "Panel Right ascension Declination Position angle Reading Stars in seams".split()
    )
    # position angle 20, zero 112.4, half a turn to spare: reading 87.6
    assert lines[2].split()[0] == "A1" and lines[2].split()[3:5] == ["20.00", "87.60"]
    facts = {line[:14].strip(): line[14:] for line in lines if line[:1].isupper()}
    assert facts["Field"].startswith("3.527 x 2.352 degrees, 2.117 arc seconds a pixel")
    assert "asked 15 %, found 16.1 %" in facts["Overlap"] and "proven" in facts["Overlap"]
    assert {"Region", "Panels", "Picture", "Print"} <= set(facts)
    assert not [path for path in shell.parent.iterdir() if path != shell]


def test_overlap_in_arc_minutes_is_told_of_the_short_side(shell, capsys):
    shell.write_text(SHELL.replace('layout = "sliding"', 'layout = "sliding"\noverlap_arcmin = 12'))
    code, out, _ = run(capsys, shell)
    # 12 of 141.1 arc minutes
    assert code == 0 and "asked 8.5" in out and "of the short side" in out


def test_files_and_machine_form(shell, capsys, tmp_path):
    code, out, err = run(capsys, shell, "--out", tmp_path / "out", "--json", "--no-chart")
    assert (code, err) == (0, "")
    assert sorted(path.name for path in (tmp_path / "out").iterdir()) == FILES
    assert out.encode() == (tmp_path / "out" / "plan.json").read_bytes()
    document = json.loads(out)
    assert document["schema"] == "mosaic-plan 1" and document["covered"] is True
    assert document["overlap_found"] >= document["overlap_asked"] == 0.15
    assert {panel["position_angle_deg"] for panel in document["panels"]} == {20.0}


def test_rerun_is_identical_and_says_what_it_replaces(shell, capsys, tmp_path):
    folder = tmp_path / "new" / "out"
    run(capsys, shell, "--out", folder, "--no-chart")
    first = {path.name: path.read_bytes() for path in folder.iterdir()}
    code, _, err = run(capsys, shell, "--out", folder, "--no-chart")
    assert code == 0
    assert err.count("\n") == 1 and "replaced" in err and all(name in err for name in FILES)
    assert {path.name: path.read_bytes() for path in folder.iterdir()} == first


def test_another_file_in_the_way_is_an_error(shell, capsys, tmp_path):
    (tmp_path / "panels.csv").write_text("my own table")
    code, out, err = run(capsys, shell, "--out", tmp_path, "--no-chart")
    assert (code, out) == (2, "") and err.count("\n") == 1 and "panels.csv is in the way" in err
    assert sorted(path.name for path in tmp_path.iterdir()) == ["panels.csv", "shell.toml"]
    assert (tmp_path / "panels.csv").read_text() == "my own table"


def test_options_that_cannot_be_saved_write_nothing(shell, capsys, tmp_path):
    region = ("--center", 10, 20, "--radius-deg", 1)
    camera = ("--focal-length-mm", 380, "--sensor-px", 6000, 4000, "--pixel-um", 3.9)
    saved = tmp_path / "shell.toml" / "saved.toml"
    code, out, err = run(
        capsys, *region, *camera, "--out", tmp_path / "out", "--save-as", saved, "--no-chart"
    )
    assert (code, out) == (2, "") and err.count("\n") == 1 and "cannot write" in err
    assert not list((tmp_path / "out").glob("*"))


@pytest.mark.parametrize(
    "verb", ["plan", "season", "compare", "angle", "nights", "handover", "review", "app"]
)
def test_examples_in_the_help_can_be_pasted(verb, capsys):
    assert main([verb, "--help"]) == 0
    lines = capsys.readouterr().out.splitlines()
    examples = [number for number, line in enumerate(lines) if line.strip().startswith("python -m planner")]
    assert examples
    for number in examples:
        assert lines[number].count("python -m") == 1
        if lines[number + 1].startswith("      "):
            assert lines[number].endswith("\\")


def test_a_name_that_no_file_can_have(capsys):
    code, out, err = run(capsys, "a\0b.toml")
    assert (code, out) == (2, "") and err.count("\n") == 1 and "NUL" in err


@pytest.mark.parametrize("folder", ["shell.toml", "shell.toml/out"])
def test_folder_that_cannot_be_written(folder, shell, capsys, tmp_path):
    code, out, err = run(capsys, shell, "--out", tmp_path / folder, "--no-chart")
    assert (code, out) == (2, "") and err.count("\n") == 1 and "shell.toml" in err
    assert list(tmp_path.iterdir()) == [shell]


def test_a_plan_with_a_gap_is_written_and_told(shell, capsys, tmp_path):
    shell.write_text(SHELL.replace('layout = "sliding"', "columns = 1\nrows = 1"))
    code, out, err = run(capsys, shell, "--out", tmp_path / "out", "--no-chart")
    assert code == 1
    assert err.count("\n") == 1 and "gap of" in err and "square degrees" in err
    assert "uncovered" in out
    document = json.loads((tmp_path / "out" / "plan.json").read_text())
    assert document["covered"] is False and document["overlap_found"] == 0 and len(document["panels"]) == 1
    # the circle's area less the panel's, which lies inside it but for its corners
    assert 4.2 < document["gap_area_deg2"] < 5.0


def test_options_plan_what_the_file_plans(shell, capsys):
    shell.write_text(SHELL.partition("[angle_device]")[0])
    from_file = run(capsys, shell, "--json")
    assert run(capsys, *OPTIONS, "--json") == from_file


def test_the_file_that_options_stand_for(capsys, tmp_path):
    path = tmp_path / "plans" / "shell.toml"
    code, out, err = run(capsys, *OPTIONS, "--save-as", path, "--json")
    assert code == 0 and err.count("\n") == 1 and "wrote the plan file" in err
    text = path.read_text()
    assert text.startswith("# A plan file of the mosaic planner")
    assert tomllib.loads(text)["region"] == {"center": ["08h34m", "-45d50m"], "radius_deg": 2.0}
    assert run(capsys, path, "--json") == (0, out, "")


def test_files_named_by_options_are_found_from_the_saved_file(capsys, tmp_path, monkeypatch):
    (tmp_path / "rim.csv").write_text("128,-45\n130,-45\n129,-46.5\n")
    (tmp_path / "pier.toml").write_text(SHELL.partition("[region]")[0])
    monkeypatch.chdir(tmp_path)
    options = "--setup pier.toml --outline-file rim.csv --layout grid --position-angle-deg 0".split()
    code, out, _ = run(capsys, *options, "--save-as", "plans/rim.toml", "--json", "--title", "Rim")
    assert code == 0
    saved = tomllib.loads(Path("plans/rim.toml").read_text())
    assert saved["setup"] == os.path.join("..", "pier.toml")
    assert run(capsys, "plans/rim.toml", "--json")[:2] == (0, out)


def test_saving_is_offered(capsys):
    assert "--save-as FILE" in run(capsys, *OPTIONS)[1]


def test_object_by_name(capsys):
    options = (
        "--object NGC3372 --focal-length-mm 380 --sensor-px 6000 4000 --pixel-um 3.9 --overlap 0.15".split()
    )
    code, out, _ = run(capsys, *options, "--position-angle-deg", "0", "--layout", "grid", "--json")
    assert code == 0
    # NGC 3372 lies at 10h45m, -59d52m (J2000; OpenNGC has 10h45m08.5s, -59d52m04s)
    document = json.loads(out)
    assert document["title"] == "NGC3372"
    center = document["picture"]["center_deg"]
    assert center == pytest.approx([161.26, -59.87], abs=1.0)
    assert any(note.startswith("NGC 3372: outline, faint level, 8.2 square") for note in document["notes"])


def test_unknown_object(capsys):
    options = "--object Nowhereia --focal-length-mm 380 --sensor-px 6000 4000 --pixel-um 3.9".split()
    code, out, err = run(capsys, *options)
    assert (code, out) == (2, "") and err.count("\n") == 1 and "Nowhereia" in err


def test_chart(shell, capsys, tmp_path):
    assert run(capsys, shell, "--out", tmp_path / "light")[0] == 0
    assert run(capsys, shell, "--out", tmp_path / "dark", "--dark")[0] == 0
    light, dark = ((tmp_path / name / "chart.png").read_bytes() for name in ("light", "dark"))
    assert light.startswith(b"\x89PNG") and dark.startswith(b"\x89PNG") and light != dark
    assert b"mosaic planner" in light


def test_help_has_an_example(capsys):
    code, out, _ = run(capsys, "--help")
    assert code == 0 and "python -m planner plan sample_targets/vela_shell.toml --out out" in out


def test_extras_run_instead_of_the_plan(shell, capsys, monkeypatch):
    extra = PlanExtra("--count", "Count.", "tests.cli.test_plan_verb:count_extra")
    monkeypatch.setattr("planner.cli.plan_extras.EXTRAS", (extra,))
    from planner.cli import plan_verb

    called = plan_verb.plan_verb.callback
    arguments = {"out": None, "as_json": True, "effort": "quick", "dark": False, "no_chart": True}
    assert called(shell, **arguments, save_as=None, extra_count=True) == 1
    assert (
        capsys.readouterr().out
        == "Shell True Output(folder=None, as_json=True, effort='quick', dark=False, chart=False)\n"
    )


def count_extra(request, value, output: Output) -> int:
    print(request.title, value, output)
    return 1


def planner_process(*arguments, **options):
    command = [sys.executable, "-m", "planner", *map(str, arguments)]
    return subprocess.run(command, check=False, capture_output=True, text=True, **options)


def test_process(shell, tmp_path):
    done = planner_process("plan", shell, "--out", tmp_path / "out", "--no-chart", cwd=SAMPLES.parent)
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout.splitlines()[0].strip() == "Shell"
    bad = planner_process("plan", tmp_path / "none.toml", cwd=SAMPLES.parent)
    assert (bad.returncode, bad.stdout, bad.stderr.count("\n")) == (2, "", 1)


def test_a_title_that_the_terminal_cannot_show(shell, tmp_path):
    shell.write_text(SHELL.replace("Shell", "H\N{LATIN SMALL LETTER U WITH DIAERESIS}lle \N{TELESCOPE}"))
    environment = {**os.environ, "PYTHONIOENCODING": "ascii"}
    done = planner_process("plan", shell, cwd=SAMPLES.parent, env=environment)
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout.splitlines()[0].strip() == "H?lle ?"
    done = planner_process("plan", shell, "--json", cwd=SAMPLES.parent, env=environment, encoding="utf-8")
    assert json.loads(done.stdout)["title"] == "H\N{LATIN SMALL LETTER U WITH DIAERESIS}lle \N{TELESCOPE}"


def test_pinned_plan_loads_no_heavy_library(shell):
    heavy = ["astropy", "scipy", "matplotlib", "streamlit", "tomlkit", "spherely"]
    code = (
        "import sys; from planner.cli import main;"
        f"code = main(['plan', {str(shell)!r}, '--no-chart']);"
        f"print(code, *[name for name in {heavy} if name in sys.modules], file=sys.stderr)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], check=False, capture_output=True, text=True, cwd=SAMPLES.parent
    )
    assert done.stderr == "0\n"
