"""Every example shown is made by the code that is there; every command shown can be typed."""

import re
import shlex

import click
import pytest

from planner.cli import VERBS, cli
from tests.guide.example_folder import fill, plans_made_once
from tests.guide.examples import MAY_VARY, PAPERS, compared, examples_of, fenced, output_of, refreshed

EXAMPLES = [example for paper in PAPERS for example in examples_of(paper)]


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    with plans_made_once():
        yield fill(tmp_path_factory.mktemp("examples"))


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda example: example.name)
def test_an_example_shows_what_the_planner_prints(example, folder):
    code, lines, errors = output_of(example.command, folder)
    assert code in (0, 1), errors
    new = refreshed(example.shown, lines)
    assert [compared(line) for line in example.shown] == [compared(line) for line in new], (
        "the example is out of date: run python -m tests.guide.regenerate and read what changed"
    )


def test_only_lines_that_a_search_decides_may_vary():
    shown = [line for example in EXAMPLES for line in example.shown]
    for pattern in MAY_VARY:
        assert any(re.search(pattern, line) for line in shown), (
            f"no example has such a line any more: {pattern}"
        )
    assert (
        compared("Panels  10; no plan can have fewer than 7") == "Panels  10; no plan can have fewer than 7"
    )
    assert (
        compared("Overlap  asked 0.150")
        == compared("Overlap  asked 0.160")
        != compared("Overlap  kept 0.150")
    )


def test_dots_stand_for_lines_left_out():
    lines = [
        "Panel  Dec",
        "A1  1",
        "A2  2",
        "B1  3",
        "",
        "Panels  3 of the kind that is told at length",
        "Note  x",
    ]
    shown = ["Panel  Dec", "A1  9", "...", "Panels  7 of the kind ...", "..."]
    assert refreshed(shown, lines) == ["Panel  Dec", "A1  1", "...", "Panels  3 of the kind ...", "..."]
    assert refreshed(["all", "of", "it"], lines) == lines


def commands():
    """Every command of the planner that a page shows, in whatever kind of block."""
    for paper in PAPERS:
        for start, lines in fenced(paper, "sh", "console", ""):
            for line in "\n".join(lines).replace("\\\n", " ").split("\n"):
                found = re.search(r"python -m planner .*", line)
                if found:
                    words = shlex.split(found[0].partition(" && ")[0])[3:]
                    yield pytest.param(words, id=f"{paper.name}:{start}")


@pytest.mark.parametrize("words", list(commands()))
def test_a_command_shown_can_be_typed(words):
    if words[0].isupper():  # VERB: it stands for any
        return
    assert words[0] in VERBS
    context = click.Context(cli)
    command = cli.get_command(context, words[0])
    words = [word for word in words if word != "--help"]
    command.make_context(words[0], list(words[1:]), resilient_parsing=False)
