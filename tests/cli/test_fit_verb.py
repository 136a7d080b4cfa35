"""The verb `fit`: what it prints, writes and refuses."""

import json
from pathlib import Path

import pytest

from planner.cli import main
from planner.files.plan_file.read import read_plan_file

from . import running
from .plan_texts import CAMERA

SAMPLES = Path(__file__).parents[2] / "sample_targets"
PLAN = f"""
title = "Pair"
{CAMERA}
[region]
join = "apart"
parts = [
    {{ center = [128.0, -45.0], radius_deg = 0.4 }},   # the first
    {{ center = [129.0, -45.5], width_deg = 0.5, height_deg = 0.2, margin_arcmin = 2 }},
]
[mosaic]
overlap = 0.2  # wide
position_angle_range_deg = [0, 20]
"""
KEYS = [
    "setup",
    "field_deg",
    "fits",
    "margin_arcmin",
    "margin_bound_arcmin",
    "center_deg",
    "position_angle_deg",
    "margins_arcmin",
    "fits_at_deg",
    "longest_focal_length_mm",
]


@pytest.fixture
def pair(tmp_path):
    path = tmp_path / "pair.toml"
    path.write_text(PLAN)
    return path


def run(capsys, *arguments):
    return running.run(capsys, "fit", *arguments)


def test_json(pair, capsys):
    code, out, err = run(capsys, pair, "--json")
    assert (code, err) == (0, "")
    document = json.loads(out)
    assert list(document) == ["schema", "setups"] and document["schema"] == "fit 1"
    [one] = document["setups"]
    assert list(one) == KEYS and one["fits"] is True
    assert one["margin_arcmin"] == pytest.approx(min(one["margins_arcmin"].values()), abs=1e-9)
    assert list(one["margins_arcmin"]) == ["top", "bottom", "left", "right"]
    assert one["margin_bound_arcmin"] >= one["margin_arcmin"]
    assert 0 <= one["position_angle_deg"] < 180
    for start, stop in one["fits_at_deg"]:
        assert 0 <= start < 180 and start <= stop


def test_several_setups_and_what_does_not_fit(pair, capsys):
    code, out, err = run(
        capsys, pair, *(SAMPLES / f"{name}_pier.toml" for name in ("karoo_long", "karoo")), "--json"
    )
    assert code == 0
    longer, karoo = json.loads(out)["setups"]
    assert longer["setup"] == "Karoo long pier" and longer["fits"] is False and longer["panels"] >= 2
    assert longer["margin_arcmin"] < 0 and longer["fits_at_deg"] == []
    assert longer["position_angle_deg"] == 4.0
    assert longer["margin_bound_arcmin"] >= longer["margin_arcmin"]
    assert karoo["setup"] == "Karoo pier" and list(karoo) == KEYS
    code, out, err = run(capsys, pair, SAMPLES / "karoo_long_pier.toml")
    assert code == 1 and err.count("\n") == 1 and "it fits no single frame" in err
    for text in ("Cut", "Would fit", "Panels", "fixed at position angle 4"):
        assert text in out


def test_files(pair, tmp_path, capsys):
    out = tmp_path / "out"
    assert run(capsys, pair, "--out", out)[0] == 0
    assert sorted(path.name for path in out.iterdir()) == ["fit.json", "fit.png"]
    first = {path.name: path.read_bytes() for path in out.iterdir()}
    code, _, err = run(capsys, pair, "--out", out)
    assert code == 0 and "replaced" in err
    assert {path.name: path.read_bytes() for path in out.iterdir()} == first
    assert json.loads(first["fit.json"])["schema"] == "fit 1"
    (out / "fit.json").write_text("mine")
    assert run(capsys, pair, "--out", out)[0] == 2


def test_save_as(pair, tmp_path, capsys):
    saved = tmp_path / "best.toml"
    code, _, err = run(capsys, pair, "--save-as", saved)
    assert code == 0 and "wrote the plan file" in err
    text = saved.read_text()
    assert "# the first" in text and "# wide" in text and "position_angle_range_deg" not in text
    request = read_plan_file(saved)
    assert len(request.panels) == 1
    code = main(["plan", str(saved), "--json"])
    plan = json.loads(capsys.readouterr().out)
    assert code == 0 and plan["covered"] and len(plan["panels"]) == 1
    assert run(capsys, pair, "--save-as", saved)[0] == 2
    assert saved.read_text() == text


def test_save_as_of_a_setup(pair, tmp_path, capsys):
    folder = tmp_path / "sub"
    folder.mkdir()
    saved = folder / "best.toml"
    assert run(capsys, pair, SAMPLES / "karoo_pier.toml", "--save-as", saved)[0] == 0
    request = read_plan_file(saved)
    assert request.setup_path is not None and request.setup_path.resolve() == SAMPLES / "karoo_pier.toml"
    assert request.camera == read_plan_file(SAMPLES / "vela_shell.toml").camera
    longer = folder / "longer.toml"
    assert run(capsys, pair, SAMPLES / "karoo_long_pier.toml", "--save-as", longer)[0] == 1
    assert len(read_plan_file(longer).panels) >= 2


BAD = {
    "no part": ("parts = []", "at least one"),
    "a part twice": ('objects = ["NGC 3372", "Carina Nebula"]', "same object"),
    "too far apart": (
        "parts = [{ center = [0, 0], radius_deg = 1 }, { center = [150, 0], radius_deg = 1 }]",
        "150 degrees|degrees",
    ),
    "101 parts": (
        "parts = [" + ", ".join(f"{{ center = [{k}, 0], radius_deg = 0.1 }}" for k in range(101)) + "]",
        "1 to 100",
    ),
}


@pytest.mark.parametrize("name", BAD)
def test_bad_regions_are_refused_in_one_sentence(name, tmp_path, capsys):
    region, words = BAD[name]
    path = tmp_path / "bad.toml"
    path.write_text(f"{CAMERA}\n[region]\n{region}\n")
    code, out, err = run(capsys, path, "--out", tmp_path / "out")
    assert (code, out) == (2, "") and err.count("\n") == 1
    assert any(word in err for word in words.split("|"))
    assert not (tmp_path / "out").exists()


def test_around(tmp_path, capsys):
    plan, out, saved = SAMPLES / "carina_pair.toml", tmp_path / "out", tmp_path / "group.toml"
    code, shown, err = run(capsys, plan, "--around", "IC 2944", "--json", "--out", out, "--save-as", saved)
    assert code == 0 and "wrote the plan file" in err
    document = json.loads(shown)
    assert document["schema"] == "fit-around 1" and document["around"] == "IC 2944"
    assert document["complete"] is True and document["looked_at"] > document["candidates"] > 0
    worth = [one["area_deg2"] * one["margin_arcmin"] for one in document["groups"]]
    assert worth == sorted(worth, reverse=True) and 0 < len(worth) <= 20
    for group in document["groups"]:
        assert group["parts"][0] == "IC 2944" and len(group["parts"]) > 1
        assert group["margin_arcmin"] == pytest.approx(min(group["margins_arcmin"].values()))
        assert 0 <= group["margin_arcmin"] <= document["margin_alone_arcmin"]
    assert sorted(path.name for path in out.iterdir()) == ["fit-around.json", "fit-around.png"]
    request = read_plan_file(saved)
    lead, *_ = saved.read_text(encoding="utf-8").splitlines()  # not that of the file it was made from
    assert lead == "# IC 2944 and what fits one frame with it, found by the mosaic planner."
    assert list(request.region.objects) == document["groups"][0]["parts"] and len(request.panels) == 1
    assert main(["plan", str(saved), "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["covered"] is True


def test_around_what_does_not_fit(capsys):
    code, out, err = run(capsys, SAMPLES / "vela_shell.toml", "--around", "NGC 7000")
    assert (code, out) == (1, "") and "NGC 7000 alone does not fit one frame of" in err
    assert "short by" in err and err.count("\n") == 1
    code, out, err = run(capsys, SAMPLES / "vela_shell.toml", "--around", "no such thing")
    assert (code, out) == (2, "") and err.count("\n") == 1
    piers = [SAMPLES / f"{name}_pier.toml" for name in ("karoo", "canary")]
    assert run(capsys, SAMPLES / "vela_shell.toml", *piers, "--around", "M 42")[0] == 2


def test_parts_too_far_apart_for_any_frame(tmp_path, capsys):
    """No frame is offered that holds nothing, and three panels without a seam have no overlap to tell."""
    circles = ", ".join(f"{{ center = [{ra}, -30.0], radius_deg = 0.5 }}" for ra in (120.0, 160.0, 200.0))
    file = tmp_path / "far.toml"
    file.write_text(f'title = "Far"\n{CAMERA}\n[region]\nparts = [{circles}]\n', encoding="utf-8")
    assert main(["fit", str(file)]) == 1
    shown = capsys.readouterr().out
    assert "Best frame    none: the parts lie so far apart" in shown and "0.0 %" not in shown
    assert main(["plan", str(file), "--effort", "quick"]) == 0
    shown = capsys.readouterr().out
    assert "there are no seams" in shown and "100.0 %" not in shown
