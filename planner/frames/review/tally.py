"""What has been exposed and what is missing, by panel and filter."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass

from planner.mosaic.panel import Panel
from planner.night.settings import Filter

from .match import Verdict

__all__ = ["PanelExposure", "Reshoot", "Tally", "label_of"]

WORDS: Mapping[Verdict, str] = {
    "good": "good",
    "off_target": "off target",
    "turned": "turned",
    "wrong_scale": "of wrong scale",
    "unsolved": "unsolved",
    "unreadable": "unreadable",
}


@dataclass(frozen=True)
class PanelExposure:
    """Good exposures of one panel through one filter.

    Parameters
    ----------
    name : str
        Of the panel.
    filter : str or None
        None for frames that name none.
    exposures : int
        Good frames.
    wanted : int or None
        Exposures that the plan wants; None for a filter that it does not name.
    seconds : float
        Of the good frames.
    dark_sky_seconds : float or None
        Seconds at a dark sky that they are worth; None where the plan has no site or no filters.
    instrument : str or None
        Whose panel it is, where several instruments share the mosaic.
    """

    name: str
    filter: str | None
    exposures: int
    wanted: int | None
    seconds: float
    dark_sky_seconds: float | None = None
    instrument: str | None = None

    @property
    def label(self) -> str:
        """Name of the panel, with its instrument where several share the mosaic."""
        return label_of(self.instrument, self.name)


@dataclass(frozen=True)
class Reshoot:
    """What is to be shot again: exposures of a panel through a filter, and why.

    `filter` and `exposures` are None where the plan names no filters; `instrument` where there is one only.
    """

    panel: str
    filter: str | None
    exposures: int | None
    reason: str
    instrument: str | None = None

    @property
    def label(self) -> str:
        """Name of the panel, with its instrument where several share the mosaic."""
        return label_of(self.instrument, self.panel)


def label_of(instrument: str | None, panel: str) -> str:
    """Return what a panel is called: by its name, or by its instrument and its name."""
    return panel if instrument is None else f"{instrument} {panel}"


class Tally:
    """Counts frames of panels and filters.

    Parameters
    ----------
    panels : sequence of Panel
    filters : sequence of Filter
        Of the plan.
    wanted : callable, optional
        Exposures wanted of a panel, by name, through a filter; by default the filter's own number.
    had : callable, optional
        Good exposures that a panel has in any case, whatever frames are counted.
    begun : collection of str
        Names of panels that have good frames in any case.
    """

    def __init__(
        self,
        panels: Sequence[Panel],
        filters: Sequence[Filter],
        wanted: Callable[[str, Filter], int] | None = None,
        *,
        had: Callable[[str, Filter], int] | None = None,
        begun: Collection[str] = (),
    ) -> None:
        self.panels, self.filters = panels, filters
        self.verdicts: Counter[Verdict] = Counter()
        self._wanted = {one.name: one for one in filters}
        self._count = wanted or (lambda panel, one: one.exposures)
        self._had, self._begun = had or (lambda panel, one: 0), frozenset(begun)
        self._seconds: Counter[tuple[int, str | None]] = Counter()
        self._frames: dict[tuple[int, str | None], Counter[Verdict]] = {}

    def add(
        self, verdict: Verdict, panel: int | None, filter_name: str | None, seconds: float | None
    ) -> float:
        """Count one frame; returns the seconds it counts for, those of the plan where it does not say."""
        self.verdicts[verdict] += 1
        if panel is None:
            return 0.0
        key = panel, filter_name
        self._frames.setdefault(key, Counter())[verdict] += 1
        if verdict != "good":
            return 0.0
        if seconds is None or not 0.0 <= seconds < float("inf"):
            wanted = self._wanted.get(filter_name or "")
            seconds = wanted.exposure_s if wanted else 0.0
        self._seconds[key] += seconds  # type: ignore[assignment]
        return seconds

    def filter_names(self) -> list[str]:
        """Return the filters of the plan in its order, then others that frames name, by name."""
        others = {name for _, name in self._frames if name is not None} - set(self._wanted)
        return [*self._wanted, *sorted(others)]

    def exposures(self) -> list[PanelExposure]:
        """Every panel with every filter of the plan, and with whatever else it was exposed through."""
        rows = []
        for number, panel in enumerate(self.panels):
            for name in (*self.filter_names(), None):
                key, wanted = (number, name), self._wanted.get(name or "")
                good = self._frames.get(key, Counter())["good"]
                if good or wanted:
                    count = self.wanted(number, wanted) if wanted else None
                    rows.append(PanelExposure(panel.name, name, good, count, float(self._seconds[key])))
        return rows

    def good(self) -> dict[tuple[int, str | None], int]:
        """Good frames by number of the panel and filter."""
        return {key: counts["good"] for key, counts in self._frames.items() if counts["good"]}

    def missing(self) -> list[Reshoot]:
        """Exposures still wanted; where the plan names no filter, panels without a good frame."""
        rows: list[Reshoot] = []
        for number, panel in enumerate(self.panels):
            if not self.filters and panel.name not in self._begun:
                rows += self._panel_without_frame(number, panel)
            for one in self.filters:
                count = self.exposures_missing(number, one)
                if count:
                    rows.append(Reshoot(panel.name, one.name, count, self._why(number, one)))
        return rows

    def wanted(self, panel: int, one: Filter) -> int:
        """Exposures that the plan wants of a panel through a filter."""
        return self._count(self.panels[panel].name, one)

    def exposures_missing(self, panel: int, wanted: Filter) -> int:
        """Exposures of the plan's length that make up for the seconds missing."""
        had_s = self._had(self.panels[panel].name, wanted) * wanted.exposure_s
        lacking = self.wanted(panel, wanted) * wanted.exposure_s - max(
            self._seconds[panel, wanted.name], had_s
        )
        return max(0, math.ceil(lacking / wanted.exposure_s - 1e-6))

    def _panel_without_frame(self, number: int, panel: Panel) -> Iterable[Reshoot]:
        counts = sum(
            (found for (place, _), found in self._frames.items() if place == number), Counter[Verdict]()
        )
        if not counts["good"]:
            yield Reshoot(panel.name, None, None, _why_text(counts, None))

    def _why(self, number: int, wanted: Filter) -> str:
        counts = self._frames.get((number, wanted.name), Counter())
        count = self.wanted(number, wanted)
        done_s, wanted_s = self._seconds[number, wanted.name], count * wanted.exposure_s
        if counts["good"] >= count:
            return f"{done_s:.0f} s of {wanted_s:.0f} s wanted: its frames are shorter than planned"
        return _why_text(counts, count)


def _why_text(counts: Mapping[Verdict, int], wanted: int | None) -> str:
    """Say how many frames are good, and what is wrong with the others."""
    if not counts:
        return "no frame"
    others = [f"{count} {WORDS[name]}" for name, count in counts.items() if name != "good" and count]
    good = f"{counts.get('good', 0)} of {wanted} good" if wanted is not None else "none good"
    return "; ".join([good, *([", ".join(others)] if others else [])])
