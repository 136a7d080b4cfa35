"""Verbs with a plan file that two instruments share: what is written, printed and refused."""

import json
from pathlib import Path

import pytest

from planner.cli.review_report import Faulty, print_faulty
from planner.files.plan_file.read import read_plan_file
from planner.frames.review.review import FrameResult
from planner.rig.cautions import CAMERA_CAUTIONS, REMOTE_CAUTIONS, SUN_CAUTION
from tests.answers.shared.shared_files import write_shared
from tests.frames.solved_file import write_solved

from .running import run


@pytest.fixture
def shared(tmp_path, monkeypatch):
    monkeypatch.setattr(
        "planner.night.fill_season._rounds", lambda *_: 2
    )  # the sums are tried, not the search
    return write_shared(tmp_path)


def files_in(folder):
    return sorted(path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file())


def test_plan_writes_the_whole_and_each_part(shared, tmp_path, capsys):
    code, out, err = run(capsys, "plan", shared, "--out", tmp_path / "out", "--no-chart")
    assert (code, err) == (0, "")
    assert "Scale         160.887 arc seconds a pixel, the finest: that of Fine pier" in out
    assert "Wide pier: 211.693 arc seconds a pixel, enlarged 1.32 times" in out
    own = ["panels.csv", "panels.ecsv", "plan.json", "plan.toml"]
    parts = [f"{folder}/{name}" for folder in ("fine_pier", "wide_pier") for name in own]
    assert files_in(tmp_path / "out") == sorted(["plan.json", *parts])
    document = json.loads((tmp_path / "out" / "plan.json").read_text())
    for one in document["instruments"]:
        text = (tmp_path / "out" / one["folder"] / "plan.json").read_text()
        assert json.loads(text)["panels"] == one["plan"]["panels"]
        assert read_plan_file(tmp_path / "out" / one["folder"] / "plan.toml").settled is not None
    code, _, err = run(capsys, "plan", shared, "--out", tmp_path / "out", "--no-chart")
    assert code == 0 and "replaced" in err
    assert run(capsys, "plan", shared, "--json")[1] == (tmp_path / "out" / "plan.json").read_text()


def test_nights_are_arranged_together(shared, tmp_path, capsys, monkeypatch):
    monkeypatch.setattr("planner.cli.nights_report.nights_files", lambda *_: {"nights.pdf": b"a page"})
    code, out, _ = run(capsys, "nights", shared, "--out", tmp_path / "out")
    document = json.loads((tmp_path / "out" / "nights.json").read_text())
    parts = {one["name"]: one["nights"] for one in document["instruments"]}
    assert set(parts) == {"Wide pier", "Fine pier"}
    assert len(document["timetable"]) == sum(len(one["timetable"]) for one in parts.values()) > 1
    starts = [block["from"] for block in document["timetable"]]
    assert starts == sorted(starts)
    for block in document["timetable"]:
        plain = {key: value for key, value in block.items() if key != "instrument"}
        assert plain in parts[block["instrument"]]["timetable"]
    assert document["finished"] == all(one["finished"] for one in parts.values()) == (code == 0)
    assert document["evening_of_last"] == max(one["evening_of_last"] for one in parts.values())
    assert document["hours_used"] == pytest.approx(sum(one["hours_used"] for one in parts.values()))
    assert "Shell, shared: together" in out
    assert "wide_pier/nights.pdf" in files_in(tmp_path / "out")
    assert SUN_CAUTION in out


def test_handover_has_a_folder_and_an_index_for_each(shared, tmp_path, capsys):
    code, _, _ = run(
        capsys, "handover", shared, "--out", tmp_path / "out", "--only", "json", "--only", "ecsv"
    )
    assert code == 0
    own = ["README.txt", "panels.ecsv", "plan.json"]
    parts = [f"{folder}/{name}" for folder in ("fine_pier", "wide_pier") for name in own]
    assert files_in(tmp_path / "out") == sorted(["README.txt", "plan.json", *parts])
    index = (tmp_path / "out" / "README.txt").read_text()
    flat = " ".join(index.replace("\n! ", " ").split())
    assert "wide_pier/: Wide pier" in flat and "through Ha" in flat
    for caution in (*CAMERA_CAUTIONS, *REMOTE_CAUTIONS, SUN_CAUTION):
        assert caution in flat
    _, _, err = run(capsys, "handover", shared, "--only", "tables")
    assert err.startswith("planner: tables cannot be written: the plan has no [[tables]]")


def frames_but_the_first(shared, tmp_path, capsys):
    """Frames of every panel of both instruments but the first ones; returns their folder."""
    document = json.loads(run(capsys, "plan", shared, "--json")[1])
    folder = tmp_path / "frames"
    folder.mkdir()
    for one in document["instruments"]:
        for panel in one["plan"]["panels"][1:]:
            place = panel["ra_deg"], panel["dec_deg"]
            write_solved(
                folder / f"{one['folder']}_{panel['name']}.fits",
                size=(60, 40),
                scale_arcsec=one["plan"]["camera"]["scale_arcsec_px"],
                position_angle_deg=panel["position_angle_deg"],
                center=place,
                **{"FILTER": one["filters"][0], "EXPTIME": 1200.0, "DATE__OBS": "2027-01-05T01:00:00"},
            )
    return folder


def test_review_counts_for_both_and_nights_takes_it(shared, tmp_path, capsys):
    folder = frames_but_the_first(shared, tmp_path, capsys)
    again = tmp_path / "again.toml"
    code, out, err = run(
        capsys, "review", shared, folder, "--out", tmp_path / "review", "--reshoot", again, "--no-solve"
    )
    assert code == 1 and "2 panels must be shot again" in err
    assert "Wide pier A1" in out and "Fine pier A1" in out
    assert all(caution in out for caution in (*REMOTE_CAUTIONS, SUN_CAUTION))
    found = json.loads((tmp_path / "review" / "review.json").read_text())
    assert {row["instrument"] for row in found["frames"]} == {"Wide pier", "Fine pier"}
    assert [(row["instrument"], row["panel"]) for row in found["reshoot"]] == [
        ("Wide pier", "A1"),
        ("Fine pier", "A1"),
    ]
    for name in ("wide_pier", "fine_pier"):
        rest = read_plan_file(tmp_path / f"again_{name}.toml")
        assert [one.name for one in rest.panels] == ["A1"]
    arguments = ("nights", shared, "--done", tmp_path / "review" / "review.json", "--json")
    blocks = json.loads(run(capsys, *arguments)[1])["timetable"]
    assert {(block["instrument"], block["panel"]) for block in blocks} <= {
        ("Wide pier", "A1"),
        ("Fine pier", "A1"),
    }


def test_progress_is_summed_over_both(shared, tmp_path, capsys):
    folder = frames_but_the_first(shared, tmp_path, capsys)
    arguments = ("progress", shared, folder, "--now", "2027-01-06", "--no-solve")
    code, out, err = run(capsys, *arguments, "--json")
    assert code == 1 and "Wide pier: 2 exposures of 1 panel are still wanted" in err
    document = json.loads(out)
    parts = {one["name"]: one["progress"] for one in document["instruments"]}
    for one in document["filters"]:
        rows = [row for part in parts.values() for row in part["panels"] if row["filter"] == one["name"]]
        done = sum(min(row["seconds"], row["wanted_seconds"]) for row in rows)
        assert one["share"] == pytest.approx(done / sum(row["wanted_seconds"] for row in rows), abs=1e-6)
        assert 0.5 < one["share"] < 1.0
    assert document["finished"] is False
    last = [part.get("evening_of_last") for part in parts.values()]
    assert document.get("evening_of_last") == (None if None in last else max(last))
    assert {block["panel"] for part in parts.values() for block in part["tonight"]} <= {"A1"}
    code, out, _ = run(capsys, *arguments)
    assert code == 1 and "Shell, shared: together" in out and SUN_CAUTION in out


def test_compare_sets_both_together_beside_one_alone(shared, tmp_path, capsys):
    code, out, _ = run(capsys, "compare", shared, tmp_path / "wide.toml", "--json")
    assert code == 0
    rows = {row["setup"]: row for row in json.loads(out)["setups"]}
    together, alone = rows["Wide pier and Fine pier"], rows["Wide pier"]
    parts = {one["name"]: one for one in json.loads(run(capsys, "plan", shared, "--json")[1])["instruments"]}
    counts = {name: len(one["panels"]) for name, one in parts.items()}
    assert together["panels"] == sum(counts.values())
    # two exposures of 600 s through one filter of each; the other alone through both filters
    assert together["exposure_hours"] == pytest.approx(sum(counts.values()) * 1200 / 3600)
    assert alone["exposure_hours"] == pytest.approx(counts["Wide pier"] * 2400 / 3600)
    assert together["scale_arcsec_px"] < alone["scale_arcsec_px"]
    assert 0.0 < together["dark_sky_hours"] <= together["exposure_hours"]
    assert "position_angle_deg" not in together


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("plan", "--keep", "review.json"), "plan.toml for each: give it one of these"),
        (("plan", "--which-angle"), "--which-angle is for one instrument"),
        (("plan", "--how-many-angles"), "--how-many-angles is for one instrument"),
    ],
)
def test_what_is_about_one_instrument_is_refused(shared, capsys, arguments, said):
    code, out, err = run(capsys, arguments[0], shared, *arguments[1:])
    assert (code, out) == (2, "")
    assert said in err and err.count("\n") == 1


def test_a_review_of_one_instrument_is_refused(shared, tmp_path, capsys):
    review = tmp_path / "review.json"
    review.write_text(json.dumps({"schema": "review 1", "panels": [{"name": "A1", "exposures": 1}]}))
    code, _, err = run(capsys, "nights", shared, "--done", review)
    assert code == 2 and "names no instrument, but those that share the mosaic are Wide pier" in err


@pytest.mark.parametrize(("instrument", "shown"), [("Karoo pier", "(of Karoo pier A1)"), (None, "(of A1)")])
def test_a_frame_without_solution_names_its_instrument_where_several_share(instrument, shown, capsys):
    frame = FrameResult(
        Path("frames/a.fits"), None, "Ha", 300.0, None, None, "unsolved", "no solution", instrument, "A1"
    )
    faulty = Faulty(Path("frames"))
    faulty.add(frame)
    print_faulty(faulty)
    assert f"a.fits {shown}: " in capsys.readouterr().out
