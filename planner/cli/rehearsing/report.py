"""A rehearsal on screen: how large it is, what was put in, how to go on."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from planner.answers.rehearsal.choices import FAULTS
from planner.cli._show import print_facts, print_line, print_table
from planner.files.rehearsal.story import FAULT_WORDS, size_words
from planner.words import listed

if TYPE_CHECKING:
    from planner.answers.rehearsal.rehearsal import Rehearsal
    from planner.files.rehearsal.names import AnyRehearsal

__all__ = ["print_rehearsal", "sizes"]

NAMED = 8


def sizes(rehearsal: AnyRehearsal) -> str:
    """Say how many frames there are and how large they are, of each instrument."""
    return "; ".join(f"{name}: {size_words(one)}" if name else size_words(one) for name, one in rehearsal.named)


def print_rehearsal(rehearsal: AnyRehearsal, folder: Path) -> None:
    """Print what was put in, of each instrument."""
    for number, (_, part) in enumerate(rehearsal.named):
        if number:
            print_line()
        _print_part(part, folder)


def _print_part(rehearsal: Rehearsal, folder: Path) -> None:
    counts = rehearsal.counts()
    rows = [[fault, str(counts[fault]), *FAULT_WORDS[fault]] for fault in FAULTS if counts[fault]]
    title = f"{rehearsal.plan.request.title}: {size_words(rehearsal)}"
    if rows:
        print_table(["Fault", ">Frames", "~What happened", "~A review says"], rows, title=title)
        print_line()
    else:
        print_line(title)
    print_facts(_facts(rehearsal, folder))


def _facts(rehearsal: Rehearsal, folder: Path) -> list[tuple[str, str]]:
    poor = rehearsal.poor_panels()
    solved = sum(frame.solved for frame in rehearsal.written)
    facts = [
        ("Evenings", rehearsal.evenings_words),
        ("Exposures", rehearsal.exposures_words),
        ("Solutions", f"{solved} of {len(rehearsal.written)} headers hold a plate solution"),
        ("Told in", f"{folder / 'rehearsal.txt'}, and for programs in rehearsal.json"),
        ("Made up", "every header says so: MADEUP = T"),
    ]
    if poor:
        facts.append(
            (
                "Note",
                f"few catalogue stars in {listed(poor, NAMED)}: a review may not solve frames there; "
                "--solutions all helps",
            )
        )
    return facts
