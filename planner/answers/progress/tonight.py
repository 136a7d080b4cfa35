"""What to shoot on the coming evening, in the order of its timetable, and why."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from planner.answers.night_steps import night_steps
from planner.night.brightening import altitude_deg, moon_separation_deg
from planner.night.spans import common

if TYPE_CHECKING:
    from planner.answers.nights import NightsPlan
    from planner.night.timetable import Block

    from .rows import PanelProgress

__all__ = ["TonightWork", "tonight_work"]

NEAR_TRANSIT_S = 2700.0


@dataclass(frozen=True)
class TonightWork:
    """A block of the coming evening.

    Parameters
    ----------
    panel : str
    filter : str or None
    exposures : int or None
        Both None where the plan has no filters: then the span is the panel's window.
    start_s, end_s : float
        POSIX seconds, overheads included.
    site : int
        Index of the site.
    looking : str or None
        To which side the telescope looks.
    reason : str
        Why it is shot on this evening.
    first : tuple of str
        What comes before it: a turn of the camera, a change of the side to which the mount looks.
    """

    panel: str
    filter: str | None
    exposures: int | None
    start_s: float
    end_s: float
    site: int
    looking: str | None
    reason: str
    first: tuple[str, ...] = ()


def tonight_work(
    nights: NightsPlan, rows: Sequence[PanelProgress], evening: dt.date
) -> tuple[TonightWork, ...]:
    """Return the work of an evening by time; without filters the panels that lack a frame, the most urgent first.

    Parameters
    ----------
    nights : NightsPlan
        Of what remains.
    rows : sequence of PanelProgress
        With `nights_left`.
    evening : datetime.date
    """
    work = _Tonight(nights, rows, evening)
    return tuple(work.blocks() if nights.timetable is not None else work.windows())


class _Tonight:
    """One evening of what remains."""

    def __init__(self, nights: NightsPlan, rows: Sequence[PanelProgress], evening: dt.date) -> None:
        self.nights, self.survey = nights, nights.survey
        self.numbers = [
            number for number, one in enumerate(self.survey.evenings) if one.evening.date == evening
        ]
        named = bool(self.survey.filters)
        self.rows = {(row.name, row.filter if named else None): row for row in rows if row.missing}
        left = [row.nights_left or 0 for row in self.rows.values()]
        self.fewest, self.most = min(left, default=0), max(left, default=0)

    def blocks(self) -> Iterator[TonightWork]:
        steps = [one for one in night_steps(self.nights) if one.block.night in self.numbers]
        totals: dict[tuple[int, int], int] = {}
        for one in sorted(steps, key=lambda one: one.block.start_s):
            job = one.block.panel, one.block.chosen
            totals[job] = totals.get(job, 0) + one.block.exposures
            yield self._work(one.block, totals[job], one.first)

    def _work(self, block: Block, so_many: int, first: tuple[str, ...]) -> TonightWork:
        panel = self.survey.targets.names[block.panel]
        chosen = self.survey.filters[block.chosen].name
        row = self.rows[panel, chosen]
        middle_s = (block.start_s + block.end_s) / 2.0
        reason = "; ".join(
            [
                *self._urgency(row),
                *self._closing(block.night, block.panel, chosen=block.chosen, end_s=block.end_s),
                self._sky(block.night, block.panel, middle_s),
                self._of_wanted(row, so_many),
            ]
        )
        return TonightWork(
            panel,
            chosen,
            block.exposures,
            block.start_s,
            block.end_s,
            self.survey.evenings[block.night].evening.site,
            block.looking,
            reason,
            first,
        )

    def windows(self) -> Iterator[TonightWork]:
        """Windows of panels that lack a good frame; the longest of each."""
        names = self.survey.targets.names
        found = []
        for night in self.numbers:
            sight = self.survey.evenings[night].sight
            for panel in sorted(set(sight.panel.tolist())):
                row = self.rows.get((names[panel], None))
                if row is not None:
                    start, end = max(sight.windows_of(panel), key=lambda span: span[1] - span[0])
                    found.append((row.nights_left or 0, end, start, night, panel))
        for _, end, start, night, panel in sorted(found):
            yield self._window(night, panel, start, end)

    def _window(self, night: int, panel: int, start_s: float, end_s: float) -> TonightWork:
        name = self.survey.targets.names[panel]
        row = self.rows[name, None]
        sky = self._sky(night, panel, (start_s + end_s) / 2.0)
        reason = "; ".join([*self._urgency(row), sky, f"wanted: {row.why}"])
        site = self.survey.evenings[night].evening.site
        return TonightWork(name, None, None, start_s, end_s, site, None, reason)

    def _urgency(self, row: PanelProgress) -> Iterator[str]:
        left = row.nights_left or 0
        if left == 1:
            yield "the last night of the season on which it can be shot"
        elif left == self.fewest < self.most:
            yield f"fewest nights left of all that is wanted: {left}"
        else:
            alike = len(self.rows) > 1 and self.fewest == self.most
            yield f"{left} nights left{', as for all that is wanted' if alike else ''}"

    def _closing(self, night: int, panel: int, *, chosen: int, end_s: float) -> Iterator[str]:
        """Say until when it can be shot through this filter, where that is before the dark ends."""
        one = self.survey.evenings[night]
        last = max(row.end_s for row in one.segments if (row.panel, row.chosen) == (panel, chosen))
        if end_s <= last < one.evening.dark_s[-1][1] - 60.0:
            zone = self.survey.sites[one.evening.site].zone
            yield f"tonight it can be shot until {dt.datetime.fromtimestamp(last, tz=zone):%H:%M}"

    def _sky(self, night: int, panel: int, time_s: float) -> str:
        """Say how high it stands in the middle of its time, whether it rises or sinks, and how the Moon does."""
        one = self.survey.evenings[night]
        past_s = time_s - float(one.sight.transit_s[panel])
        way = "near its highest" if abs(past_s) < NEAR_TRANSIT_S else "sinking" if past_s > 0 else "rising"
        high = f"{float(altitude_deg(self.survey, night, panel, time_s)):.0f} degrees high and {way}"
        if not common([(time_s - 0.5, time_s + 0.5)], one.evening.moon_s):
            return f"{high}, the Moon down"
        apart = float(moon_separation_deg(self.survey, night, panel, time_s))
        return f"{high}, the Moon {one.evening.moon_illumination:.0%} lit and {apart:.0f} degrees away"

    def _of_wanted(self, row: PanelProgress, so_many: int) -> str:
        if so_many >= row.missing:
            return f"completes {row.name} in {row.filter}"
        return f"then {row.missing - so_many} still wanted of {row.name} in {row.filter}"
