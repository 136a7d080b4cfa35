"""Where a mosaic stands, in words: the same on screen, on paper and in the app."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from typing import TYPE_CHECKING

from planner.answers.night_steps import NO_TIME_FOR
from planner.words import counted, money

if TYPE_CHECKING:
    from .mosaic_progress import MosaicProgress
    from .tonight import TonightWork

__all__ = [
    "clock_text",
    "facts",
    "headline",
    "no_time_words",
    "no_work_words",
    "per_cent",
    "shortfall",
    "tonight_words",
]


LEAST_WAITING_HOURS = 0.05
"""Less is none to the decimals that are told."""


def per_cent(share: float) -> str:
    """Whole per cent of a share, rounded down: 100 only where all is there.

    >>> per_cent(0.999), per_cent(1.0)
    ('99 %', '100 %')
    """
    return f"{int(100.0 * share + 1e-9)} %"


def headline(standing: MosaicProgress) -> str:
    """How far each filter is, in one line."""
    if not standing.shares:
        done = sum(not row.missing for row in standing.rows if row.exposures)
        panels = len(standing.plan.mosaic.panels)
        return f"{done} of {panels} panels have a good frame"
    return ", ".join(f"{name} {per_cent(share)}" for name, share in standing.shares.items())


def shortfall(standing: MosaicProgress) -> str | None:
    """Say in one sentence what is wanted still; None if nothing is."""
    if standing.finished:
        return None
    rows = standing.review.reshoot
    panels = len({row.panel for row in rows})
    count = sum(row.exposures or 0 for row in rows)
    subject = counted(panels, "panel")
    if count:
        subject = f"{counted(count, 'exposure')} of {subject}"
    return f"{subject} {'is' if (count or panels) == 1 else 'are'} still wanted"


def facts(standing: MosaicProgress) -> Iterator[tuple[str, str]]:
    """Yield what there is to know besides table and work: a label and a sentence each."""
    yield "Done", headline(standing)
    yield from _frames(standing)
    if not standing.has_nights:
        if not standing.finished:
            yield "Season", "when the rest can be shot needs [site] and [nights] in the plan file"
        return
    yield from _clear(standing)
    yield "Finished", _finish(standing)
    yield from _cost(standing)


def _frames(standing: MosaicProgress) -> Iterator[tuple[str, str]]:
    review = standing.review
    good = review.verdicts.get("good", 0)
    text = f"{review.frame_count} in the folder, {good} good" if review.frame_count else "none found"
    undated = review.shots.undated
    if undated:
        one = undated == 1
        told = f"{undated} tell{'s' * one} no date, and {'is' if one else 'are'} not in the clear share and the cost"
        text += f"; {told}"
    yield "Frames", text
    if review.made_up_words:
        yield "Made up", review.made_up_words
    if review.elsewhere_words:
        yield "Elsewhere", f"{review.elsewhere_words}; they are in no date, cost or clear share"
    if review.filter_words:
        yield "Filters", review.filter_words


def _clear(standing: MosaicProgress) -> Iterator[tuple[str, str]]:
    done, nights = standing.so_far, standing.plan.request.nights
    if done is None or done.clear_fraction_met is None or nights is None:
        return
    yield (
        "Clear share",
        f"{done.clear_fraction_met:.2f} met on the evenings with frames; the plan expects "
        f"{nights.clear_fraction:g}",
    )


def _finish(standing: MosaicProgress) -> str:
    last, nights = standing.last_evening, standing.plan.request.nights
    assert nights is not None
    if standing.finished:
        return f"all is done{f'; last frame on the evening of {last}' if last else ''}"
    if standing.season_over:
        return f"not in this season, which ended on {nights.last}; give later dates in [nights]"
    if standing.timetable is None:
        return "not known: a timetable needs [[filters]] in the plan file"
    if last is None:
        left = sum(row.exposures for row in standing.timetable.missing)
        return f"not in this season: {left} exposures find no place until {nights.last}"
    met = standing.so_far is not None and bool(standing.so_far.clear_fraction_met)
    return f"on the evening of {last}, {'if it stays as clear' if met else 'if it is as clear as expected'}"


def _cost(standing: MosaicProgress) -> Iterator[tuple[str, str]]:
    done = standing.so_far
    if done is None or not done.cost:
        return
    to_come = standing.cost_to_come
    later = f", {money(to_come)} to come" if to_come else ""
    yield "Cost", f"{money(done.cost)} so far for {done.hours:.1f} hours{later}"
    if done.waiting_hours >= LEAST_WAITING_HOURS:
        yield (
            "Waiting",
            f"{done.waiting_hours:.1f} hours between exposures, {money(done.waiting_cost)}, come on top of what "
            "exposures and overheads cost so far; a timetable's hours and cost hold them already",
        )


def tonight_words(standing: MosaicProgress) -> str:
    """Heading of the work of the coming evening."""
    assert standing.evening is not None
    return f"To shoot on the evening of {standing.evening}, in this order"


def no_time_words(standing: MosaicProgress) -> str | None:
    """Say what the times of the coming evening do not hold; None where it has no timed work."""
    device = standing.plan.request.angle_device
    timed = any(one.exposures is not None for one in standing.tonight)
    return f"{NO_TIME_FOR}." if timed and (device is None or device.kind != "fixed") else None


def no_work_words(standing: MosaicProgress) -> str | None:
    """Say why there is no work on the coming evening; None where there is, or where all is done."""
    if standing.finished or standing.tonight or not standing.has_nights or standing.season_over:
        return None
    timetable, ahead = standing.timetable, standing.ahead
    if timetable is None or ahead is None or not timetable.blocks:
        return f"Nothing that is wanted can be shot on the evening of {standing.evening}."
    first = min(ahead.survey.evenings[block.night].evening.date for block in timetable.blocks)
    return f"Nothing on the evening of {standing.evening}; the timetable goes on on {first}."


def clock_text(standing: MosaicProgress, one: TonightWork) -> str:
    """From and to of a block, site time."""
    zone = standing.plan.request.sites[one.site].zone
    start, end = (dt.datetime.fromtimestamp(time_s, tz=zone) for time_s in (one.start_s, one.end_s))
    return f"{start:%H:%M}-{end:%H:%M}"
