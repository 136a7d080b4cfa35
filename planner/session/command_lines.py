"""The command lines that do what the pages do."""

from __future__ import annotations

import shlex
from pathlib import Path

__all__ = ["COMMANDS", "command_line"]

COMMANDS = {
    "Compose": "python -m planner plan {file} --out {folder}",
    "Targets": "python -m planner targets {setup} --out {folder}",
    "Angles": "python -m planner angle {file} --out {folder}",
    "Nights": "python -m planner nights {file} --out {folder}",
    "Hand over": "python -m planner handover {file} --out {folder}",
    "Review": "python -m planner review {file} FRAMES --out {folder}",
}
"""By the page's title."""


def command_line(page: str, path: Path, setup: Path | None = None) -> str:
    """Return the command line that matches a page; a plan file without a setup file is its own.

    >>> command_line("Compose", Path("my shell.toml"))
    "python -m planner plan 'my shell.toml' --out 'my shell'"
    >>> command_line("Targets", Path("shell.toml"), Path("pier.toml"))
    'python -m planner targets pier.toml --out shell'
    """
    names = {"file": path, "folder": path.stem, "setup": setup or path}
    return COMMANDS[page].format(**{name: shlex.quote(str(value)) for name, value in names.items()})
