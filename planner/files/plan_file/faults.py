"""The faults of a file, gathered so that all of them are reported at once."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

from planner.errors import FileError, InputError

__all__ = ["Fault", "Faults", "PlanFileError"]

MOST_TOLD = 5
OWN = re.compile(r"^\[+([a-z_]+)")
"""The table's own name in the way a file writes it, a number or a key behind it or not."""
DOTTED = re.compile(r"^([a-z_]+)\.([a-z_]+)")
"""The table in front of a key, as values name it in their own sentences: ``mosaic.overlap``."""


@dataclass(frozen=True)
class Fault:
    """One fault: the table and key it stands at (empty for the file itself), and the sentence."""

    place: str
    text: str


class PlanFileError(FileError):
    """A plan, setup or season file with faults; its text is one line, the first fault first.

    Parameters
    ----------
    faults : tuple of Fault
    path : Path or None
        None for what was not read from a file.
    """

    def __init__(self, faults: tuple[Fault, ...], path: Path | None) -> None:
        self.faults, self.path = faults, path
        text = faults[0].text
        if len(faults) > 1:
            others = [fault.text for fault in faults[1:MOST_TOLD]]
            others += [f"{len(faults) - MOST_TOLD} more"] if len(faults) > MOST_TOLD else []
            text += " (and: " + "; ".join(others) + ")"
        super().__init__(f"{path}: {text}" if path else text)


class Faults:
    """Gathers faults while a file is read; `stop` raises them together."""

    def __init__(self, path: Path | None = None) -> None:
        self.path = path
        self.found: list[Fault] = []

    def add(self, place: str, sentence: str) -> None:
        """Note a fault at a place such as ``[mosaic] overlap``; the sentence goes on from it."""
        self.found.append(Fault(place, f"{place} {sentence}".strip()))

    def add_error(self, table: str, error: InputError) -> None:
        """Note what a value said of itself, ``mosaic.overlap must`` turned into ``[mosaic] overlap must``.

        Parameters
        ----------
        table : str
            As written in the file, ``[mosaic]`` or ``[[site]] 2``; empty where the sentence names it.
        """
        text, own = str(error), (OWN.findall(table) or [""])[0]
        if own and re.match(rf"{own}[. ]", text):
            text = text[len(own) + 1 :]
        text = f"{table} {text}" if table else DOTTED.sub(r"[\1] \2", text)
        place = " ".join(text.split()[: 1 + len(table.split())])
        self.found.append(Fault(place.rstrip(":,"), text))

    def stop(self) -> None:
        """Raise a `PlanFileError` if anything has been found."""
        if self.found:
            raise PlanFileError(tuple(self.found), self.path)
