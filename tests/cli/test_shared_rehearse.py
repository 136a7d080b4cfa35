"""`rehearse` of a mosaic that several instruments share: frames of all in one folder, which a review tells apart."""

import json
from collections import Counter

import pytest

from planner.cli import main
from planner.files.rehearsal.folder import check_rehearsal_folder
from tests.answers.shared.shared_files import write_shared
from tests.files.rehearsal.test_review_finds_it import wanted


@pytest.fixture
def shared(tmp_path, monkeypatch):
    monkeypatch.setattr("planner.night.fill_season._rounds", lambda *_: 2)  # frames are tried, not the search
    return write_shared(tmp_path)


def run(capsys, *arguments):
    code = main([str(one) for one in arguments])
    out, err = capsys.readouterr()
    return code, out, err


def reviewed(capsys, path, folder):
    _, out, _ = run(capsys, "review", path, folder, "--json", "--no-solve")
    return {one["file"]: one for one in json.loads(out)["frames"]}


@pytest.mark.parametrize("focal", [500.0, 381.0], ids=["by the field", "alike, by the filter"])
@pytest.mark.parametrize("at", [(129.0, -20.0), (359.9, 5.0)], ids=str)
def test_a_review_finds_whose_frame_it_is_and_what_was_put_in(shared, tmp_path, capsys, focal, at):
    path, folder = write_shared(tmp_path, focal=focal, at=at), tmp_path / "frames"
    if at[0] > 300.0:
        path.write_text(path.read_text().replace("2027-01-", "2027-09-"))
    code, out, err = run(capsys, "rehearse", path, folder, "--faults", "many", "--solutions", "all", "--json")
    assert code == 0 and "Wide pier: " in err and "Fine pier: " in err
    told = json.loads(out)
    assert told["schema"] == "rehearsal 1"
    assert json.loads((folder / "rehearsal.json").read_text()) == told
    results, seen = reviewed(capsys, path, folder), Counter()
    back = [one for one in told["frames"] if "file" in one]
    assert len(results) == len(back) > 10
    for one in back:
        result = results[one["file"]]
        seen.update((one["instrument"], fault) for fault in one["faults"])
        assert result["verdict"] == wanted(one["faults"]), (one, result)
        if result["verdict"] != "unsolved" and not (focal < 400.0 and "filter" in one["faults"]):
            assert (result["instrument"], result["panel"]) == (one["instrument"], one["panel"])
    for name in ("Wide pier", "Fine pier"):
        assert {fault for instrument, fault in seen if instrument == name} >= {"pointing", "turned", "filter"}


def test_an_earlier_one_is_replaced_and_the_same_seed_makes_the_same(shared, tmp_path, capsys):
    folder, again = tmp_path / "frames", tmp_path / "again"
    run(capsys, "rehearse", shared, folder, "--nights", "1", "--seed", "7")
    text = (folder / "rehearsal.txt").read_text()
    assert text.startswith("A rehearsal of Shell, shared, made by the mosaic planner")
    assert "\nWide pier\n" in text and "\nFine pier\n" in text
    run(capsys, "rehearse", shared, again, "--nights", "1", "--seed", "7")
    names = sorted(one.relative_to(folder) for one in folder.rglob("*") if one.is_file())
    assert all((again / name).read_bytes() == (folder / name).read_bytes() for name in names)
    code, _, err = run(capsys, "rehearse", shared, folder, "--nights", "1")
    assert code == 0 and f"replaced an earlier rehearsal of {len(names) - 2} frames" in err
    assert check_rehearsal_folder(folder) > 0


def test_an_instrument_without_a_timetable_is_named(shared, tmp_path, capsys):
    text = shared.read_text()
    shared.write_text(text[: text.index("[nights]")] + text[text.index("[[filters]]") :])
    code, out, err = run(capsys, "rehearse", shared, tmp_path / "frames")
    assert (code, out) == (2, "") and "Wide pier: " in err and err.count("\n") == 1
    assert not (tmp_path / "frames").exists()
