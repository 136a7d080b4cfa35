"""What the verbs share: output options, tables on screen, files out, progress on standard error."""

from __future__ import annotations

import os
import shutil
import sys
import time
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal, TextIO, TypeVar

import click

from planner.errors import FileError
from planner.halves import two_processes
from planner.progress import EFFORTS, Progress

from .given.kinds import FOLDER, PATH
from .tables.folding import Column, folded, hanging

if TYPE_CHECKING:
    from rich.console import Group
    from rich.table import Table

    from planner.files.output import Content

    from .tables.folding import Part

__all__ = [
    "GOALS",
    "PATH",
    "Command",
    "both_on_terminal",
    "effort_option",
    "goal_option",
    "json_option",
    "live_table",
    "out_option",
    "print_fact",
    "print_facts",
    "print_json",
    "print_left_out",
    "print_line",
    "print_table",
    "progress_shown",
    "refuse_existing",
    "room_of",
    "say",
    "table_of",
    "write_all",
    "write_out",
]

Command = TypeVar("Command", bound=Callable[..., Any])

GOALS = ("soonest", "cheapest")
PATIENCE_S = 1.0
"""Work that is done within this time shows no progress."""
LINE_EVERY_S = 5.0
"""How often progress is told where there is no terminal."""
PAPER_WIDTH = 120
"""Characters of a line to which texts in tables fold where there is no terminal."""
ANY_WIDTH = 100_000
"""Characters of a line in which no table needs to be cut."""
LABEL_WIDTH = 14
"""Characters that labels of facts take."""


def out_option(command: Command) -> Command:
    """Add ``--out FOLDER``; the verb takes it as `out`."""
    about = "Write the files into this folder; files of an earlier run are replaced."
    return click.option("--out", type=FOLDER, metavar="FOLDER", help=about)(command)


def json_option(command: Command) -> Command:
    """Add ``--json``; the verb takes it as `as_json`."""
    about = "Print the form for programs (JSON) on standard output instead of the table."
    return click.option("--json", "as_json", is_flag=True, help=about)(command)


def effort_option(command: Command) -> Command:
    """Add ``--effort``; the verb takes it as `effort`."""
    about = "Search effort of the plan (default usual)."
    return click.option("--effort", type=click.Choice(EFFORTS), default="usual", help=about)(command)


def goal_option(about: str) -> Callable[[Command], Command]:
    """Return what adds ``--goal``, of which `about` tells what for; the verb takes it as `goal`."""
    return click.option("--goal", type=click.Choice(GOALS), default="soonest", help=about)


def refuse_existing(save_as: Path | None) -> None:
    """Refuse a name for ``--save-as`` that is taken, before anything is worked out.

    Raises
    ------
    FileError
        If there is something of that name.
    """
    if save_as is not None and (save_as.exists() or save_as.is_symlink()):
        raise FileError(f"{save_as} exists already; choose another name for --save-as")


def say(text: str) -> None:
    """Say one line on standard error, which a terminal gets folded at words."""
    line = f"planner: {' '.join(text.split())}"
    print(hanging(line, room_of(sys.stderr), 9) if sys.stderr.isatty() else line, file=sys.stderr)


def print_line(text: str = "", *, indent: int = 0) -> None:
    """Print a text on standard output, folded at words into the room there is, further lines `indent` letters in."""
    print(hanging(text, room_of(sys.stdout), indent))


def print_left_out(count: int, noun: str = "rows") -> None:
    """Print how many rows a table leaves out, if any."""
    if count:
        print_line(f"... and {count} more {noun}; --out writes them all")


def print_fact(label: str, text: str, *, width: int = LABEL_WIDTH) -> None:
    """Print a text behind its label, folded beside it."""
    print_line(f"{label:<{width}}{text}", indent=width)


def print_facts(facts: Iterable[tuple[str, str]], *, width: int = LABEL_WIDTH) -> None:
    """Print lines of text behind their labels."""
    for label, text in facts:
        print_fact(label, text, width=width)


def print_json(document: Mapping[str, object]) -> None:
    """Print a machine form on standard output, UTF-8 whatever the terminal's encoding."""
    from planner.files.documents.json_text import json_bytes

    sys.stdout.flush()
    sys.stdout.buffer.write(json_bytes(document))
    sys.stdout.buffer.flush()


def print_table(
    columns: Sequence[str], rows: Sequence[Sequence[str]], *, title: str | None = None, keys: int = 1
) -> None:
    """Print a table on standard output, as `table_of` makes it, as wide as the terminal.

    Elsewhere it has the width that COLUMNS says, or as much as it needs.
    """
    from rich.console import Console

    console = Console(file=sys.stdout, width=ANY_WIDTH, highlight=False)
    console.print(table_of(columns, rows, title=title, keys=keys, room=room_of(sys.stdout)))


def table_of(
    columns: Sequence[str],
    rows: Sequence[Sequence[str]],
    *,
    title: str | None = None,
    keys: int = 1,
    room: int | None = None,
) -> Group:
    """Return a table; a column whose name begins with ``>`` is set to the right, with ``~`` it is text that may fold.

    Parameters
    ----------
    columns : sequence of str
    rows : sequence of sequence of str
    title : str, optional
    keys : int
        How many of the first columns are repeated where others go into a table below.
    room : int, optional
        Letters of a line; without it nothing folds but long texts.
    """
    from rich.console import Group
    from rich.text import Text

    cells = list(zip(*rows, strict=True)) if rows else [()] * len(columns)
    named = [Column.of(name, below) for name, below in zip(columns, cells, strict=True)]
    parts = [_part(part) for part in folded(named, room, text_room=PAPER_WIDTH, keys=keys)]
    heads = [Text(hanging(title, room, 2), style="italic", overflow="fold")] if title else []
    below = [line for part in parts for line in (part, Text(""))]
    return Group(*heads, *below[:-1])


def _part(columns: Part) -> Table:
    from rich.table import Table
    from rich.text import Text

    table = Table(box=None, pad_edge=False)
    for column in columns:
        justify: Literal["right", "left"] = "right" if column.right else "left"
        table.add_column(Text(column.name), justify=justify, no_wrap=True, overflow="fold")
    for row in zip(*(column.cells for column in columns), strict=True):
        table.add_row(*(Text(cell) for cell in row))
    return table


def room_of(stream: TextIO) -> int | None:
    """Letters of a line: those of the terminal, elsewhere what COLUMNS says, None where it says nothing."""
    said = os.environ.get("COLUMNS", "")
    if said.isdecimal() and int(said) > 0:
        return int(said)
    return shutil.get_terminal_size().columns if stream.isatty() else None


def write_out(folder: Path, contents: Mapping[str, Content]) -> None:
    """Write files into a folder, as `write_all` does."""
    write_all({folder / name: content for name, content in contents.items()})


def write_all(
    contents: Mapping[Path, Content], may_replace: Callable[[Path], bool] | None = None
) -> list[Path]:
    """Write files whole or not at all, and say on standard error which were replaced.

    Parameters
    ----------
    contents : mapping
        Of every file that a run writes, so that all are written or none.
    may_replace : callable, optional
        Whether an existing file may be replaced; by default if it carries our mark.

    Raises
    ------
    FileError
        If a folder cannot be written or another file is in the way.
    """
    from planner.files.output import is_ours, write_paths

    replaced = write_paths(contents, may_replace or is_ours)
    for folder in dict.fromkeys(path.parent for path in replaced):
        names = [path.name for path in replaced if path.parent == folder]
        say(f"replaced in {folder}: {', '.join(names)}")
    return replaced


@contextmanager
def progress_shown() -> Iterator[Progress]:
    """Show progress on standard error: a bar on a terminal, a line now and then elsewhere.

    Nothing is shown of work that is done within a second. Verbs have their process to themselves, so a second one may
    help with such work.
    """
    with two_processes(), _told_on_stderr(time.monotonic()) as show:
        yield show


@contextmanager
def _told_on_stderr(started: float) -> Iterator[Progress]:
    if not sys.stderr.isatty():
        yield _line_teller(started)
        return
    from rich.console import Console
    from rich.progress import Progress as Bar

    # what is printed while the bar is there goes above it, but on a terminal alone: never out of a file or pipe
    bar = Bar(console=Console(file=sys.stderr), transient=True, redirect_stdout=sys.stdout.isatty())
    task = bar.add_task("", total=1.0)

    def show(what: str, fraction: float) -> None:
        if time.monotonic() - started > PATIENCE_S:
            bar.start()
            bar.update(task, description=what, completed=fraction)

    try:
        yield show
    finally:
        bar.stop()


def both_on_terminal() -> bool:
    """Whether standard output and standard error are a terminal, so that what is shown may change."""
    return sys.stdout.isatty() and sys.stderr.isatty()


@contextmanager
def live_table() -> Iterator[tuple[Progress, Callable[[str, Group], None]]]:
    """Show progress, a hint and a table that may be replaced, until the work is done; then all three go.

    Only for terminals. What does not fit on one is left out.
    """
    from rich.console import Console, Group
    from rich.live import Live
    from rich.progress import Progress as Bar

    bar = Bar()
    task = bar.add_task("", total=1.0)
    with Live(console=Console(file=sys.stderr), transient=True) as live:
        try:
            yield (
                lambda what, fraction: bar.update(task, description=what, completed=fraction),
                lambda hint, table: live.update(Group(bar, hint, table), refresh=True),
            )
        finally:
            live.update("")


def _line_teller(started: float) -> Progress:
    told = [started]

    def tell(what: str, fraction: float) -> None:
        now = time.monotonic()
        if now - told[0] > LINE_EVERY_S:
            told[0] = now
            say(f"{what}, {fraction:.0%}")

    return tell
