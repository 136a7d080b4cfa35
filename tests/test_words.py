"""One word for one thing: what people read, held to a list; and every option of every verb says what it is."""

import ast
from functools import cache
from pathlib import Path

import click
import pytest

from planner.cli import VERBS, cli

ROOT = Path(__file__).resolve().parents[1]
FACES = (
    "planner/cli",
    "planner/screen",
    "planner/draw",
    "planner/handover",
    "planner/answers",
    "planner/rig",
    "pages",
)
INSTEAD = {
    "in reach": "can be shot, or within the travel",
    "in sight": "can be shot",
    "through the pole": "looking east",
    "pointing state": "looking east, looking west",
    "at the least": "no plan can have fewer than",
    "No timetable": "No plan can",
    "PA deg": "position angle",
    "at PA ": "at position angle",
    '"/px': "arc seconds a pixel",
    "linear relaxation": "within ... of the best possible",
    "nothing to spare": "less than 0.01 degrees",
    "not promised": "only the region is guaranteed",
    "Lie on": "Match",
    "hand over file": "hand-over",
    "camera turns": "camera angles",
    "turns = ": "angles = ",
    "frame of the picture": "basis, or system",
}
"""What is not said, and what is said instead."""


def texts_of(path):
    """String literals of a module that are no documentation: pieces of f-strings too."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    spoken = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in spoken:
            yield node.lineno, node.value


@cache
def said():
    """Path, line and text of everything that the modules say."""
    paths = [path for place in FACES for path in sorted((ROOT / place).rglob("*.py"))]
    return [(path.relative_to(ROOT), *found) for path in paths for found in texts_of(path)]


def test_the_list_finds_what_it_is_for(tmp_path):
    (tmp_path / "one.py").write_text('"""Documentation: in reach."""\nX = f"{1} panels in reach"\n')
    assert [text for _, text in texts_of(tmp_path / "one.py")] == [" panels in reach"]


@pytest.mark.parametrize("words", INSTEAD)
def test_people_read_one_word_for_one_thing(words):
    found = [f"{path}:{line}: {text!r}" for path, line, text in said() if words in text]
    assert not found, f"say {INSTEAD[words]!r}: {found}"


@pytest.mark.parametrize("verb", VERBS)
def test_every_option_says_what_it_is(verb):
    command = cli.get_command(click.Context(cli), verb)
    assert command is not None and command.help
    for option in command.params:
        if isinstance(option, click.Option):
            assert option.help and option.help.endswith("."), option.opts
            named = option.opts[0].rsplit("-", 1)[-1]
            unit = {"arcmin": "arc minutes", "deg": "degrees", "mm": "millimetres", "um": "micrometres"}.get(
                named
            )
            if unit and option.opts[0].startswith("--"):
                assert unit in option.help, option.opts
