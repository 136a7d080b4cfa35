"""Pages of the guide: which there are, in the order of reading, and what stands in each."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from pathlib import Path

from planner.errors import InputError, nearest_names

__all__ = ["OTHER_NAMES", "SUBJECTS", "GuidePage", "guide_page", "guide_pages"]

FOLDER = Path(__file__).resolve().parent
SUBJECTS = (
    "first-mosaic",
    "words",
    "plan-file",
    "panels",
    "angles",
    "nebulae",
    "nebulae-compared",
    "settled",
    "composing",
    "targets",
    "season",
    "compare",
    "camera-angle",
    "nights",
    "handover",
    "rehearse",
    "review",
    "progress",
    "two-instruments",
    "app",
    "python",
    "machine-forms",
    "proof",
    "speed",
)
"""The pages, in the order of reading; each is a file of that name."""
OTHER_NAMES = {"plan": "panels", "fit": "composing", "angle": "camera-angle", "guide": "first-mosaic"}
"""What else leads to a page: verbs whose page has another name."""


@dataclass(frozen=True)
class GuidePage:
    """A page of the guide: its subject, its title and its text, Markdown that begins with the title."""

    subject: str
    title: str
    text: str


def guide_pages() -> tuple[GuidePage, ...]:
    """Return all pages, in the order of reading."""
    return tuple(_page(subject) for subject in SUBJECTS)


def guide_page(subject: str) -> GuidePage:
    """Return the page on a subject: its name, or a verb's.

    Raises
    ------
    InputError
        If there is none.

    >>> guide_page("Plan file").title
    'The plan file'
    """
    plain = "-".join(subject.lower().replace("_", " ").replace("-", " ").split())
    plain = OTHER_NAMES.get(plain, plain)
    if plain not in SUBJECTS:
        hint = nearest_names(plain, [*SUBJECTS, *OTHER_NAMES]) or f"; the subjects are {', '.join(SUBJECTS)}"
        raise InputError(f"the guide has no page on {subject!r}{hint}")
    return _page(plain)


@cache
def _page(subject: str) -> GuidePage:
    text = (FOLDER / f"{subject}.md").read_text(encoding="utf-8")
    title = (
        text.partition("\n")[0].removeprefix("# ").partition(": `")[0]
    )  # a verb may stand behind the title
    return GuidePage(subject, title, text)
