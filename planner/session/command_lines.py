"""The command lines that do what the pages do."""

from __future__ import annotations

import shlex
from pathlib import Path

__all__ = ["COMMANDS", "command_line"]

COMMANDS = {
    "Compose": "python -m planner plan {file} --out {folder}",
    "Angles": "python -m planner angle {file} --out {folder}",
    "Nights": "python -m planner nights {file} --out {folder}",
    "Hand over": "python -m planner handover {file} --out {folder}",
    "Review": "python -m planner review {file} FRAMES --out {folder}",
}
"""By the page's title."""


def command_line(page: str, path: Path) -> str:
    """Return the command line that matches a page.

    >>> command_line("Compose", Path("my shell.toml"))
    "python -m planner plan 'my shell.toml' --out 'my shell'"
    """
    return COMMANDS[page].format(file=shlex.quote(str(path)), folder=shlex.quote(path.stem))
