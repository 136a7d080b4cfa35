"""`planner guide`: the guide, a page a subject."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from planner.errors import InputError
from planner.guide.entries import unlinked, word_entry
from planner.guide.pages import guide_page, guide_pages

from ._show import print_line, print_table, write_all
from .given.kinds import FOLDER

__all__ = ["guide_verb"]

LINE_WIDTH = 110
"""Characters of a line on a wide terminal: longer ones are hard to read."""


@click.command("guide")
@click.argument("subject", required=False, nargs=-1)
@click.option(
    "--samples", type=FOLDER, metavar="FOLDER", help="Copy the samples into this folder, to practise with."
)
def guide_verb(subject: tuple[str, ...], samples: Path | None) -> int:
    """Show the guide's page on SUBJECT; without one, list the pages.

    SUBJECT is a page, a verb or a word. On a terminal the page is set for reading, in a pipe it is plain text
    (Markdown). Examples:

    \b
    python -m planner guide first-mosaic
    python -m planner guide --samples practice
    """
    if samples is not None:
        if subject:
            raise InputError("--samples goes without a subject; leave one of them out")
        _copy_samples(samples)
    elif not subject:
        _list_pages()
    else:
        _show(_text_on(" ".join(subject)))
    return 0


def _text_on(subject: str) -> str:
    """Return the page on a subject, or the entry on a word."""
    try:
        return guide_page(subject).text
    except InputError:
        try:
            return word_entry(subject.lower())
        except InputError:
            pass
        raise


def _copy_samples(folder: Path) -> None:
    """Copy plan, setup, season and outline files; a copy that has been changed is not overwritten."""
    from planner.session.opening import SAMPLES

    samples = [path for path in sorted(SAMPLES.glob("*")) if path.suffix in (".toml", ".csv")]
    if not samples:
        raise InputError(f"there are no samples in {SAMPLES}; take them from where the planner came from")
    contents = {folder / path.name: path.read_bytes() for path in samples}
    there = [path for path in contents if path.exists()]
    changed = [path for path in there if not path.is_file() or path.read_bytes() != contents[path]]
    if changed:
        raise InputError(f"{changed[0]} is there and no sample any more; choose another folder")
    write_all({path: content for path, content in contents.items() if path not in there})
    print_line(
        f"{len(contents)} samples are in {folder}; python -m planner guide first-mosaic goes on from there."
    )


def _list_pages() -> None:
    print_table(["Subject", "~Page"], [[page.subject, page.title] for page in guide_pages()])
    print_line()
    print_line("python -m planner guide SUBJECT shows a page; begin with first-mosaic.")


def _show(text: str) -> None:
    if not sys.stdout.isatty():
        print(text.rstrip("\n"))
        return
    from rich.console import Console
    from rich.markdown import Markdown

    console = Console(file=sys.stdout)
    console.print(Markdown(unlinked(text)), width=min(console.width, LINE_WIDTH))
