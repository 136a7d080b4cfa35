"""`targets` tells which angle serves most: on screen, as JSON and as a picture, with weights of the user's own."""

import json

import numpy as np
import pytest

from planner.__main__ import main
from tests.app.conftest import ROOT
from tests.session.targets.test_targets import NAMES

SETUP = str(ROOT / "sample_targets" / "karoo_pier.toml")
ASKED = ["targets", SETUP, "--first", "2027-05-01", "--last", "2027-05-03", "--names", ", ".join(NAMES)]


def document(capsys, *more):
    assert main([*ASKED, "--json", *more]) == 0
    return json.loads(capsys.readouterr().out)


def count_at(document, angle):
    """How many nebulae fit at an angle, by the stretches of each row; groups do not count."""
    stretches = [row["fits_at_deg"] for row in document["targets"] if "parts" not in row]
    return sum(any((angle - low) % 180 <= high - low for low, high in some) for some in stretches)


def test_served_and_best(capsys):
    """Counts of `served` and `best` against the rows' own stretches, at random angles and on every division."""
    found = document(capsys, "--reading", "37")
    angles, counts = np.array(found["served"]).T
    for angle in np.random.default_rng(0).uniform(0, 180, 300):
        assert counts[np.searchsorted(angles, angle, side="right") - 1] == count_at(found, angle)
    divisions = (112.4 + np.arange(180)) % 180
    assert found["best"][0]["served"] == max(count_at(found, angle) for angle in divisions)
    for row in found["best"]:
        assert [round((112.4 + reading) % 180, 6) for reading in row["readings_deg"]] == [
            round(angle, 6) for angle in row["angles_deg"]
        ]
    assert found["now_deg"] == pytest.approx(149.4)
    assert found["turn"]["hours"] >= found["turn"]["hours_without"] > 0


def test_words_and_files(capsys, tmp_path):
    assert main([*ASKED[:-1], "IC 2944, M 17", "--reading", "37", "--out", str(tmp_path)]) == 0
    said = capsys.readouterr().out
    found = json.loads((tmp_path / "targets.json").read_text())
    assert f"at reading 37 you can frame {count_at(found, 149.4)} of the 2" in said
    assert "Caution" in said
    assert (tmp_path / "angles.png").read_bytes().startswith(b"\x89PNG")


def test_own_weights(capsys, tmp_path):
    (tmp_path / "mine.csv").write_text("name,weight\nIC 2944,5\nsharpless 45,0.5\nM 42,3\n")
    assert main([*ASKED, "--json", "--weights", str(tmp_path / "mine.csv")]) == 0
    printed = capsys.readouterr()
    assert json.loads(printed.out)["best"][0]["served"] == 5.5
    assert "also names M 42, not in this list: left out" in printed.err
    (tmp_path / "mine.csv").write_text("Nowhere,1\n")
    out = tmp_path / "out"
    assert main([*ASKED, "--weights", str(tmp_path / "mine.csv"), "--out", str(out)]) == 2
    assert "line 1 names 'Nowhere', of which the catalogue has no nebula" in capsys.readouterr().err
    assert not out.exists()


def test_weighed_by_hours(capsys):
    found = document(capsys, "--weigh", "hours")
    whole = sum(max(row["hours"].values()) for row in found["targets"] if "parts" not in row)
    assert 0 < found["best"][0]["served"] <= whole + 1e-6
