"""Lines that go by, and one line that stays at the foot of a terminal."""

from __future__ import annotations

import sys
from types import TracebackType
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from rich.live import Live

__all__ = ["Foot", "plain"]


def plain(text: str) -> str:
    """Return a text as one line without signs that would steer a terminal.

    >>> plain("a\\nb\\x1b[2Jc")
    'a\\\\nb\\\\x1b[2Jc'
    """
    return "".join(
        sign if sign.isprintable() else sign.encode("unicode_escape", "replace").decode()
        for sign in text.encode("utf-8", "replace").decode()
    )


class Foot:
    """Prints lines on standard output above a foot line; without a terminal the foot is told as it changes."""

    def __init__(self) -> None:
        self._live: Live | None = None
        self._shown = ""

    def __enter__(self) -> Foot:
        if sys.stdout.isatty() or sys.stderr.isatty():
            from rich.console import Console
            from rich.live import Live

            console = Console(file=sys.stdout if sys.stdout.isatty() else sys.stderr, highlight=False)
            self._live = Live("", console=console, transient=True, auto_refresh=False)
            self._live.start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self._live is not None:
            self._live.stop()

    def line(self, text: str) -> None:
        """Print a line on standard output."""
        if self._live is not None and sys.stdout.isatty():
            self._live.console.print(plain(text), markup=False, emoji=False, soft_wrap=True)
        else:
            print(plain(text), flush=True)

    def show(self, text: str) -> None:
        """Change the foot."""
        if self._live is not None:
            from rich.text import Text

            self._live.update(Text(plain(text), no_wrap=True, overflow="ellipsis"), refresh=True)
        elif text and text != self._shown:
            print(plain(text), file=sys.stderr, flush=True)
        self._shown = text
