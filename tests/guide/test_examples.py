"""Every example shown is made by the code that is there; every command shown can be typed.

The first page walks through the whole job: its commands run in order, as printed, in an empty folder.
"""

import json
import os
import re
import shlex
import signal
import subprocess
import sys

import click
import pytest

from planner.cli import VERBS, cli
from tests.guide import pictures
from tests.guide.examples import (
    FIRST,
    MAY_VARY,
    PAPERS,
    ROOT,
    arguments_of,
    compared,
    examples_of,
    fenced,
    output_of,
    refreshed,
)
from tests.guide.test_machine_forms import undocumented

STALE = "a picture is out of date: run python -m tests.guide.pictures and look at it"
STEPS = list(examples_of(FIRST))
EXAMPLES = [example for paper in PAPERS if paper != FIRST for example in examples_of(paper)]


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda example: example.name)
def test_an_example_shows_what_the_planner_prints(example, folder):
    code, lines, errors = output_of(example, folder)
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
    if "--help" in words:
        assert words[1:] == ["--help"]
        return
    command.make_context(words[0], list(words[1:]), resilient_parsing=False)


@pytest.fixture(scope="module")
def walk(empty_folder):
    """Every command in its order: what each printed."""
    assert not any(empty_folder.iterdir())
    return {example.line: output_of(example, empty_folder) for example in STEPS}


@pytest.mark.parametrize("example", STEPS, ids=lambda example: example.name)
def test_a_step_prints_what_the_page_shows(walk, example):
    code, lines, errors = walk[example.line]
    wanted = {"review": 1, "progress": 1}.get(example.command.split()[3], 0)  # most is still to be shot
    assert code == wanted, errors
    new = refreshed(example.shown, lines)
    assert [compared(line) for line in example.shown] == [compared(line) for line in new], (
        "the example is out of date: run python -m tests.guide.regenerate and read what changed"
    )


def test_the_walk_leads_through_the_whole_job():
    used = {arguments_of(example.command)[0] for example in STEPS} | {"app"}
    assert set(VERBS) <= used


def test_files_that_the_page_names_are_there(walk, empty_folder):
    text = FIRST.read_text(encoding="utf-8")
    named = re.findall(r"`([\w/]+\.\w+)`", text)
    assert len(named) > 8
    for name in named:
        assert any(path.is_file() for path in (empty_folder / name, empty_folder / "practice" / name)), name


def test_every_key_of_what_the_walk_writes_is_documented(walk, empty_folder):
    found = [json.loads(path.read_text(encoding="utf-8")) for path in empty_folder.rglob("*.json")]
    documents = [document for document in found if "schema" in document]
    assert len(documents) >= 4
    for document in documents:
        assert undocumented(document) == set()


def test_the_app_starts_as_the_page_says(walk, empty_folder):
    commands = [line for _, lines in fenced(FIRST, "sh") for line in lines]
    assert commands == ["python -m planner app practice/vela_shell.toml"]
    environment = {**os.environ, "PYTHONPATH": str(ROOT), "DISPLAY": "", "WAYLAND_DISPLAY": ""}
    command = [sys.executable, "-m", "planner", *arguments_of(commands[0]), "--no-browser"]
    with subprocess.Popen(
        command, cwd=empty_folder, env=environment, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    ) as app:
        try:
            assert "The planner is at http://127.0.0.1:" in app.stdout.readline()
            app.send_signal(signal.SIGINT)
            app.communicate(timeout=60)
        finally:
            app.kill()  # where signals of the keyboard are ignored the wait above ends, and so does the app


ALIKE = 4.0
"""Grey levels by which pictures made on different machines may differ, seen from afar."""


def test_the_chart_on_the_front_page_is_the_one_that_plan_draws():
    kept, made = pictures.CHART.read_bytes(), pictures.chart()
    assert pictures.words_of(pictures.shown_in(kept)) == pictures.words_of(pictures.shown_in(made)), STALE
    assert pictures.difference(kept, made) < ALIKE, STALE


def test_the_picture_of_the_app_shows_what_the_app_shows(chromium, tmp_path):
    kept, made = pictures.APP.read_bytes(), pictures.app(chromium, tmp_path)
    assert pictures.words_of(pictures.shown_in(kept)) == pictures.words_of(pictures.shown_in(made)), STALE
    assert pictures.difference(kept, made) < ALIKE, STALE


def test_pictures_that_differ_are_told_apart():
    chart, app = pictures.CHART.read_bytes(), pictures.APP.read_bytes()
    assert pictures.difference(chart, app) > 2 * ALIKE
    assert pictures.difference(chart, chart) == 0
