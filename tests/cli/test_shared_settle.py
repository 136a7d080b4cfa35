"""`plan --settle` of a mosaic that several instruments share: every layout kept in the one plan file."""

import json
import tomllib

import pytest

from planner.files.plan_file.shared import read_shared_file
from tests.answers.shared.shared_files import write_shared

from .running import run


def planned(capsys, path):
    """Panels of each instrument, as `plan --json` tells them."""
    code, out, _ = run(capsys, "plan", path, "--json")
    assert code == 0
    return [one["plan"]["panels"] for one in json.loads(out)["instruments"]]


def places(panels):
    return [[(one["name"], one["ra_deg"], one["dec_deg"]) for one in own] for own in panels]


def test_settled_layouts_stay_and_let_go_the_file_is_as_it_was(tmp_path, capsys):
    path = write_shared(tmp_path)
    text = path.read_text()
    code, _, err = run(capsys, "plan", path, "--settle")
    assert code == 0
    assert "shell.toml keeps 6 panels of Wide pier and 9 panels of Fine pier" in err
    kept, before = path.read_text(), planned(capsys, path)
    changed = tomllib.loads(kept)
    for entry in changed["setup_files"]:
        del entry["own_panels"], entry["settled"]
    assert changed == tomllib.loads(text)
    assert run(capsys, "plan", path, "--settle")[2] == ""
    assert path.read_text() == kept
    path.write_text(kept.replace('layout = "grid"', 'layout = "sliding"'))
    assert places(planned(capsys, path)) == places(before)
    code, out, _ = run(capsys, "plan", path)
    assert out.count("[mosaic] or its own position_angle_deg changed since the panels were settled") == 2
    assert "--keep" not in out and out.count("plan --unsettle") == 2, "what refuses shared files is not advised"
    path.write_text(kept)
    code, _, err = run(capsys, "plan", path, "--unsettle")
    assert (code, err) == (0, "planner: shell.toml keeps no panels any more\n")
    assert path.read_text() == text


@pytest.mark.parametrize("verb", ["nights", "handover"])
def test_every_verb_takes_the_settled_panels(tmp_path, capsys, monkeypatch, verb):
    monkeypatch.setattr("planner.night.fill_season._rounds", lambda *_: 2)
    path = write_shared(tmp_path)
    run(capsys, "plan", path, "--settle")
    monkeypatch.setattr("planner.answers.plan.build_mosaic", no_search)
    more = {"handover": ["--only", "json"]}.get(verb, [])
    assert run(capsys, verb, path, *more)[0] == 0


def no_search(*_arguments, **_options):
    raise AssertionError("settled panels are not searched for")


def test_part_plan_files_keep_what_the_shared_file_keeps(tmp_path, capsys):
    path = write_shared(tmp_path, wide='filters = ["Ha"]\npanels = ["A1", "B2"]')
    run(capsys, "plan", path, "--settle")
    request = read_shared_file(path)
    wide = request.instruments[0]
    assert (wide.panels, len(wide.request.panels)) == (("A1", "B2"), 6)
    code, _, err = run(capsys, "plan", path, "--out", tmp_path / "out", "--no-chart")
    assert code == 1 and "Wide pier leaves" in err
    part = tomllib.loads((tmp_path / "out" / "wide_pier" / "plan.toml").read_text())
    own = {one.name: (one.ra_deg, one.dec_deg) for one in wide.request.panels}
    assert {one["name"]: (one["ra_deg"], one["dec_deg"]) for one in part["panels"]} == {
        name: own[name] for name in ("A1", "B2")
    }


def test_tables_written_out_are_taken_and_changed_alike(tmp_path, capsys):
    path = write_shared(tmp_path)
    run(capsys, "plan", path, "--settle")
    before = read_shared_file(path)
    path.write_text(written_out(path.read_text()))
    assert read_shared_file(path) == before
    assert run(capsys, "plan", path, "--settle")[2] == ""
    assert run(capsys, "plan", path, "--unsettle")[0] == 0
    assert "own_panels" not in path.read_text() and len(read_shared_file(path).instruments) == 2


def written_out(text):
    """The same file with a table of its own for each panel."""
    lines = []
    for entry in tomllib.loads(text)["setup_files"]:
        lines += ["[[setup_files]]", *(f"{key} = {json.dumps(entry[key])}" for key in ("file", "filters"))]
        lines += ["[setup_files.settled]", *pairs(entry["settled"])]
        for panel in entry["own_panels"]:
            lines += ["[[setup_files.own_panels]]", *pairs(panel)]
    return text[: text.index("[[setup_files]]")] + "\n".join(lines) + "\n"


def pairs(table):
    return [f"{key} = {json.dumps(value)}" for key, value in table.items()]


def test_panels_changed_by_hand_are_refused_and_nothing_is_written(tmp_path, capsys):
    path = write_shared(tmp_path)
    run(capsys, "plan", path, "--settle")
    text = path.read_text().replace('{name = "A1"', '{name = "A9"', 1)
    path.write_text(text)
    code, out, err = run(capsys, "plan", path, "--settle", "--out", tmp_path / "out")
    assert (code, out) == (2, "")
    assert "settled must belong to the own_panels beside it, got 6 panels that were changed by hand" in err
    assert err.count("\n") == 1
    assert path.read_text() == text and not (tmp_path / "out").exists()


def test_a_file_that_cannot_be_written_stays_whole(tmp_path, capsys, monkeypatch):
    path = write_shared(tmp_path)
    text = path.read_text()

    def full(*_arguments, **_options):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.replace", full)
    code, _, err = run(capsys, "plan", path, "--settle")
    assert code == 2 and "No space left" in err
    assert path.read_text() == text
    assert sorted(one.name for one in tmp_path.iterdir()) == ["fine.toml", "shell.toml", "wide.toml"]


def test_a_filled_picture_keeps_all_layouts(tmp_path, capsys):
    path = write_shared(tmp_path)
    path.write_text(
        path.read_text().replace("[mosaic]", "[picture]\naspect = [3, 2]\nfilled = true\n\n[mosaic]")
    )
    run(capsys, "plan", path, "--settle")
    code, out, _ = run(capsys, "plan", path)
    assert code == 0 and out.count("are those that the plan file keeps") == 2
    path.write_text(path.read_text().replace("aspect = [3, 2]", "aspect = [5, 3]"))
    code, out, _ = run(capsys, "plan", path)
    assert out.count("[picture] changed since the panels were settled") == 2
