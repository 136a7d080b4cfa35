"""Settled panels whose request has changed: every verb says what they now fall short of, and what to do."""

from pathlib import Path

import pytest

from planner.cli import main
from tests.cli.plan_texts import SHELL
from tests.cli.test_nights_verb import FILTERS, MOUNT, NIGHTS, SITE

SETUP = Path(__file__).parents[2] / "sample_targets" / "karoo_pier.toml"
SAID = (
    "[mosaic] changed since the panels were settled",
    "overlap",
    "plan --keep",
    "plan --unsettle",
    "--settle",
)


@pytest.fixture(scope="module")
def changed(tmp_path_factory):
    """A settled plan file of which more overlap is asked now, and an empty folder of frames."""
    folder = tmp_path_factory.mktemp("changed")
    path = folder / "shell.toml"
    path.write_text(SHELL + MOUNT + SITE + NIGHTS + FILTERS)
    assert main(["plan", str(path), "--settle", "--effort", "quick"]) == 0
    text = path.read_text()
    assert 'layout = "sliding"' in text
    path.write_text(text.replace('layout = "sliding"', 'layout = "sliding"\noverlap = 0.35'))
    (folder / "frames").mkdir()
    return folder


@pytest.mark.parametrize(
    "words",
    [
        ("plan", "{file}"),
        ("angle", "{file}"),
        ("nights", "{file}"),
        ("handover", "{file}", "--only", "ecsv"),
        ("review", "{file}", "{folder}/frames"),
        ("progress", "{file}", "{folder}/frames"),
    ],
    ids=lambda words: words[0],
)
def test_every_verb_says_it(changed, capsys, words):
    told = [word.format(file=changed / "shell.toml", folder=changed) for word in words]
    assert main(told) == 1
    shown = capsys.readouterr()
    said = shown.err if words[0] != "plan" else shown.out
    assert all(part in said for part in SAID)
    assert shown.err.count("changed since the panels were settled") == (words[0] != "plan")


def test_a_comparison_says_it_though_it_plans_anew(changed, capsys):
    assert main(["compare", str(changed / "shell.toml"), str(SETUP), "--effort", "quick"]) == 0
    said = capsys.readouterr().err
    assert all(part in said for part in SAID)

@pytest.mark.parametrize(
    ("angle", "more", "lack"),
    [("90", "", "camera angle 90.00 is asked for"), ("20", "columns = 9\nrows = 9", "9 x 9 panels are asked for")],
    ids=["angle", "grid"],
)
@pytest.mark.parametrize("verb", ["plan", "angle", "handover"])
def test_another_angle_or_grid_falls_short(changed, capsys, tmp_path, verb, angle, more, lack):
    text = (changed / "shell.toml").read_text().replace("overlap = 0.35", more)
    text = text.replace("position_angle_deg = 20", f"position_angle_deg = {angle}", 1)
    (tmp_path / "shell.toml").write_text(text)
    assert main([verb, str(tmp_path / "shell.toml"), *(["--only", "ecsv"] if verb == "handover" else [])]) == 1
    assert lack in capsys.readouterr().err


def test_a_camera_angle_of_one_instrument_of_several_is_named():
    from types import SimpleNamespace

    from planner.answers.settled_words import change_words

    settled = SimpleNamespace(words="5 panels")
    request = SimpleNamespace(settled=settled, shares=True, changed_tables=("mosaic",))
    assert change_words(request, ["short"]).startswith("[mosaic] or its own position_angle_deg changed since")
