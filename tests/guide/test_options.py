"""Every option of every verb stands on a page, with what it does, its range and default; no other is spoken of."""

import re

import click
import pytest

from planner.cli import VERBS, cli
from planner.cli.request_options import REQUEST_OPTIONS
from planner.guide.entries import tables_of
from planner.guide.pages import guide_page
from tests.guide.examples import PAPERS, examples_of

HELPED = {
    example.command.split()[3]
    for paper in PAPERS
    for example in examples_of(paper)
    if "--help" in example.command
}
ELSEWHERE = {"--check", "--L", "--json", "--help"}
"""Options of other programs that pages speak of."""


def command(verb):
    return cli.get_command(click.Context(cli), verb)


OPTIONS = [
    pytest.param(option, id=f"{verb} {option.opts[0]}")
    for verb in VERBS
    for option in command(verb).params
    if isinstance(option, click.Option)
]


def test_every_verb_shows_its_options_in_the_guide():
    assert HELPED == set(VERBS)


@pytest.mark.parametrize("option", OPTIONS)
def test_an_option_says_what_it_does(option):
    assert option.help
    numbers = option.type in (click.FLOAT, click.INT)
    if numbers:
        assert re.search(r"\d", option.help), f"{option.opts[0]} tells no range: {option.help}"


@pytest.mark.parametrize("paper", PAPERS, ids=lambda path: path.name)
def test_no_option_is_spoken_of_that_is_not_there(paper):
    known = {
        name for one in OPTIONS for name in (*one.values[0].opts, *one.values[0].secondary_opts)
    } | ELSEWHERE
    text = paper.read_text(encoding="utf-8")
    for line in text.split("\n"):
        if "ruff" in line or "pip" in line or "pytest" in line:
            continue
        for name in re.findall(r"(?<![\w-])--[a-z][a-z-]+", line):
            assert name in known, line


def test_options_that_stand_for_keys_tell_the_range_of_their_key():
    told = {
        (re.search(r"\[(\w+)\]", table.heading)[1], cells[0].strip("`")): cells[2]
        for table in tables_of(guide_page("plan-file").text)
        if "[" in table.heading
        for cells in table.rows
    }
    compared = 0
    for one in REQUEST_OPTIONS:
        span = re.search(r"(above )?-?[\d,.]*\d to -?[\d,.]*\d", told.get((one.table, one.key), ""))
        if span:
            assert span[0] in one.about, f"{one.flag}: the key takes {span[0]}, its help says {one.about!r}"
            compared += 1
    assert compared > 15
