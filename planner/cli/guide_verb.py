"""`planner guide`: the guide, a page a subject."""

from __future__ import annotations

import sys

import click

from planner.guide.pages import GuidePage, guide_page, guide_pages

from ._show import print_line, print_table

__all__ = ["guide_verb"]

LINE_WIDTH = 110
"""Characters of a line on a wide terminal: longer ones are hard to read."""


@click.command("guide")
@click.argument("subject", required=False, nargs=-1)
def guide_verb(subject: tuple[str, ...]) -> int:
    """Show the guide's page on SUBJECT; without one, list the pages.

    SUBJECT is a page or a verb. On a terminal the page is set for reading, in a pipe it is plain text (Markdown).
    Example:

    python -m planner guide first-mosaic
    """
    if not subject:
        _list_pages()
        return 0
    page = guide_page(" ".join(subject))
    if sys.stdout.isatty():
        _show(page)
    else:
        print_line(page.text.rstrip("\n"))
    return 0


def _list_pages() -> None:
    print_table(["Subject", "Page"], [[page.subject, page.title] for page in guide_pages()])
    print_line()
    print_line("python -m planner guide SUBJECT shows a page; begin with first-mosaic.")


def _show(page: GuidePage) -> None:
    from rich.console import Console
    from rich.markdown import Markdown

    console = Console(file=sys.stdout)
    console.print(Markdown(page.text), width=min(console.width, LINE_WIDTH))
