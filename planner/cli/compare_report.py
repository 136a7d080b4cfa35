"""A comparison of setups on screen: a table, what a setup cannot do, the notes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from ._show import print_facts, print_line, print_table

if TYPE_CHECKING:
    from planner.answers.compare import SetupAnswer

__all__ = ["print_comparison"]

COLUMNS = (
    "~Setup",
    ">Panels",
    ">Angle",
    ">Scale",
    ">Exposures",
    ">At a dark sky",
    ">Overheads",
    ">Cost, least to most",
    ">Print",
)
UNITS = (
    "angle: position angle, degrees east of north; scale: arc seconds a pixel; exposures, at a dark sky, "
    "overheads: hours; "
    "print: width in centimetres"
)
NONE = "-"
LABEL_WIDTH = 15


def print_comparison(title: str, answers: Sequence[SetupAnswer]) -> None:
    """Print a comparison on standard output."""
    print_table(COLUMNS, [_row(answer) for answer in answers], title=title)
    print_line()
    print_facts(_remarks(answers), width=LABEL_WIDTH)


def _row(answer: SetupAnswer) -> list[str]:
    angle, hours, cost = answer.position_angle_deg, answer.hours, answer.cost
    return [
        answer.name,
        NONE if answer.panels is None else str(answer.panels),
        NONE if angle is None else f"{angle:.2f}",
        f"{answer.scale_arcsec_px:.3f}",
        NONE if hours is None else f"{hours.exposures:.1f}",
        NONE if hours is None or hours.dark_sky is None else f"{hours.dark_sky:.1f}",
        NONE if hours is None else f"{hours.overheads:.1f}",
        NONE if cost is None else f"{cost.least:,.0f} to {cost.most:,.0f} {cost.currency}".rstrip(),
        NONE if answer.print_width_cm is None else f"{answer.print_width_cm:.1f}",
    ]


def _remarks(answers: Sequence[SetupAnswer]) -> Iterator[tuple[str, str]]:
    yield "Units", UNITS
    for answer in answers:
        for text in answer.cannot:
            yield "Cannot", f"{answer.name}: {text}"
    for answer in answers:
        for text in answer.notes:
            yield "Note", f"{answer.name}: {text}"
    if any(answer.hours and answer.hours.dark_sky is not None for answer in answers):
        text = "what the exposures are worth, spread over all hours of the season that the filters' Moon rules allow"
        yield "At a dark sky", text
    if any(answer.hours for answer in answers):
        text = (
            "one block for every panel and filter, and what each exposure needs besides; clouds come on top"
        )
        yield "Overheads", text
    if any(answer.cost for answer in answers):
        yield (
            "Cost",
            "exposures and overheads at the cheapest and at the dearest hour; `nights` tells more exactly",
        )
