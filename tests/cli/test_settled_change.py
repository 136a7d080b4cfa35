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
