import json
from pathlib import Path

import pytest

from planner.cli import main

from . import running
from .plan_texts import CAMERA

SAMPLES = Path(__file__).parents[2] / "sample_targets"
PLAN = f"""
title = "Field"
{CAMERA}
[region]
center = [128.0, -45.0]
width_deg = 4.0
height_deg = 3.0
[mosaic]
layout = "sliding"
position_angle_deg = 4
"""


@pytest.fixture
def field(tmp_path):
    path = tmp_path / "field.toml"
    path.write_text(PLAN)
    return path


def run(capsys, *arguments):
    return running.run(capsys, "compare", *arguments, "--effort", "quick")


def piers(*names):
    return [SAMPLES / f"{name}_pier.toml" for name in names]


def test_json(field, capsys):
    code, out, err = run(capsys, field, *piers("canary", "karoo_long", "karoo"), "--json")
    assert code == 0
    document = json.loads(out)
    assert list(document) == ["schema", "setups"] and document["schema"] == "compare 1"
    karoo, longer, canary = document["setups"]
    basic = ["setup", "panels", "position_angle_deg", "scale_arcsec_px"]
    assert list(karoo) == list(longer) == [*basic, "exposure_hours", "cost", "print_width_cm"]
    assert list(canary) == [*basic, "print_width_cm"]
    assert [one["setup"] for one in document["setups"]] == ["Karoo pier", "Karoo long pier", "Canary pier"]
    # two filters of 18 times 600 s; no [nights], so no overheads; the dearest hour costs 880
    assert karoo["exposure_hours"] == pytest.approx(karoo["panels"] * 6.0)
    assert karoo["cost"] == pytest.approx(880 * karoo["exposure_hours"])
    assert longer["panels"] > karoo["panels"] and longer["print_width_cm"] > karoo["print_width_cm"]
    assert err.count("\n") == 1 and "Canary pier: the region never rises above 25 degrees" in err


def test_screen(field, capsys):
    code, out, err = run(capsys, field, *piers("karoo", "canary"))
    assert (code, err) == (0, "")
    lines = out.splitlines()
    assert lines[0].strip() == "Field"
    assert lines[2].startswith("Karoo pier") and "ZAR" in lines[2]
    assert lines[3].startswith("Canary pier") and " - " in lines[3]
    assert any(line.startswith("Cannot") and "Canary pier" in line for line in lines)


def test_file(field, capsys, tmp_path):
    folder = tmp_path / "out"
    code, out, _ = run(capsys, field, *piers("karoo"), "--json", "--out", folder)
    assert code == 0
    assert [one.name for one in folder.iterdir()] == ["compare.json"]
    assert json.loads((folder / "compare.json").read_text()) == json.loads(out)
    _, _, err = run(capsys, field, *piers("karoo"), "--out", folder)
    assert "replaced" in err


def test_no_setup_that_can_is_exit_code_1(field, capsys):
    code, out, err = run(capsys, field, *piers("canary"))
    assert code == 1 and "no setup can do it" in err and "Canary pier" in out


def test_unreachable_angle_is_said(field, capsys):
    field.write_text(PLAN.replace("= 4\n", "= 60\n"))
    code, out, _ = run(capsys, field, *piers("karoo", "karoo_long"))
    assert code == 0
    assert "Karoo long pier: its camera is fixed at position angle 4, the plan asks for the angle 60" in out


@pytest.mark.parametrize(
    ("setups", "expected"),
    [
        ([], "SETUP"),
        (["none.toml"], "none.toml"),
        (["bare.toml"], "no [camera] table"),
        (["field.toml"], "field.toml"),
    ],
)
def test_bad_input_is_one_sentence_and_writes_nothing(field, capsys, tmp_path, setups, expected):
    (tmp_path / "bare.toml").write_text('title = "Bare"\n')
    (tmp_path / "field.toml").write_text(PLAN + "[[panels]]\nname = 'A1'\n")
    plan = tmp_path / "plan.toml"
    plan.write_text(PLAN)
    code, out, err = run(capsys, plan, *[tmp_path / name for name in setups], "--out", tmp_path / "out")
    assert (code, out) == (2, "") and err.count("\n") == 1 and expected in err
    assert not (tmp_path / "out").exists()


def test_help_has_an_example(capsys):
    assert main(["compare", "--help"]) == 0
    assert "python -m planner compare sample_targets/vela_shell.toml" in capsys.readouterr().out
