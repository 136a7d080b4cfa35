"""What has been exposed and what is missing, by panel and filter."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass

from planner.frames.solve.solve import RefusalKind
from planner.mosaic.panel import Panel
from planner.night.settings import Filter

from .match import Verdict

__all__ = ["PanelExposure", "Reshoot", "Tally", "exposures_words", "frames_words", "label_of"]

WORDS: Mapping[Verdict, str] = {
    "good": "good",
    "off_target": "off target",
    "turned": "turned",
    "wrong_scale": "of wrong scale",
    "unsolved": "unsolved",
    "unreadable": "unreadable",
}
LOST: Mapping[RefusalKind | None, str] = {
    "trailed": "trailed",
    "few_stars": "with hardly a star (clouds?)",
    "other": "unsolved",
    None: "unsolved",
}
"""What frames without a solution are called, by what their stars are like."""
NO_FRAME = "no frame"
STACK = 2
"""A frame worth so many of the plan's exposures or more counts as a stack."""


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
        Good frames; a stack is one.
    wanted : int or None
        Exposures that the plan wants; None for a filter that it does not name.
    seconds : float
        Of the good frames.
    dark_sky_seconds : float or None
        Seconds at a dark sky that they are worth; None where the plan has no site or no filters.
    instrument : str or None
        Whose panel it is, where several instruments share the mosaic.
    worth : int or None
        Exposures of the plan's length that the seconds fill; None for a filter that it does not name.
    stacks : int
        Good frames that are worth two exposures or more.
    """

    name: str
    filter: str | None
    exposures: int
    wanted: int | None
    seconds: float
    dark_sky_seconds: float | None = None
    instrument: str | None = None
    worth: int | None = None
    stacks: int = 0

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


def exposures_words(worth: int | None, wanted: int | None) -> str:
    """Good exposures of those wanted: how many of the plan's length the seconds fill.

    >>> exposures_words(5, 18), exposures_words(None, None)
    ('5 of 18', '-')
    """
    return "-" if worth is None else f"{worth}" if wanted is None else f"{worth} of {wanted}"


def frames_words(frames: int, stacks: int) -> str:
    """How many frames, and how many of them are stacks.

    >>> frames_words(2, 1), frames_words(16, 0), frames_words(1, 1)
    ('2, 1 stack', '16', '1, a stack')
    """
    if not stacks:
        return f"{frames}"
    if frames == stacks == 1:
        return "1, a stack"
    return f"{frames}, {stacks} stack{'s' * (stacks > 1)}"


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
        self._stacks: Counter[tuple[int, str | None]] = Counter()
        self._lost: dict[tuple[int, str | None], Counter[str]] = {}

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
        self._stacks[key] += (self._worth(key, seconds) or 0) >= STACK
        return seconds

    def add_lost(self, panel: int | None, filter_name: str | None, stars: RefusalKind | None) -> None:
        """Count a frame without solution to the panel at which it was aimed, where that is known."""
        if panel is not None:
            self._lost.setdefault((panel, filter_name), Counter())[LOST[stars]] += 1

    def _worth(self, key: tuple[int, str | None], seconds: float) -> int | None:
        """Exposures of the plan's length that seconds fill; None for a filter that the plan does not name."""
        wanted = self._wanted.get(key[1] or "")
        return None if wanted is None else int(seconds / wanted.exposure_s + 1e-6)

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
                    count, seconds = (
                        self.wanted(number, wanted) if wanted else None,
                        float(self._seconds[key]),
                    )
                    worth, stacks = self._worth(key, seconds), self._stacks[key]
                    rows.append(
                        PanelExposure(panel.name, name, good, count, seconds, worth=worth, stacks=stacks)
                    )
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
            lacking = [(one, self.exposures_missing(number, one)) for one in self.filters]
            lacking = [(one, count) for one, count in lacking if count]
            for place, (one, count) in enumerate(lacking):
                why = self._why(number, one, unplanned=not place)
                rows.append(Reshoot(panel.name, one.name, count, why))
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
        lost = sum((found for (place, _), found in self._lost.items() if place == number), Counter[str]())
        if not counts["good"]:
            bad = _bad_words(counts, lost)
            yield Reshoot(panel.name, None, None, _joined("none good", bad) if bad else NO_FRAME)

    def _why(self, number: int, wanted: Filter, *, unplanned: bool) -> str:
        """Say how much is good, and what is wrong with other frames of the panel through the filter.

        Frames through filters that are not in the plan are told of with `unplanned`: once a panel is enough.
        """
        key = number, wanted.name
        counts, count = self._frames.get(key, Counter()), self.wanted(number, wanted)
        done_s, wanted_s = self._seconds[key], count * wanted.exposure_s
        if counts["good"] >= count:
            return f"{done_s:.0f} s of {wanted_s:.0f} s wanted: its frames are shorter than planned"
        others = _bad_words(counts, self._lost.get(key, Counter()))
        others += self._unplanned(number) if unplanned else ()
        worth, frames = self._worth(key, done_s), counts["good"]
        within = f" in {_frames(frames, self._stacks[key])}" if worth != frames else ""
        return _joined(f"{worth} of {count} good{within}", others) if frames or others else NO_FRAME

    def _unplanned(self, number: int) -> Iterable[str]:
        """Name filters of a panel's good frames that the plan does not have: one may be meant."""
        for (place, name), counts in self._frames.items():
            if place == number and counts["good"] and name not in self._wanted:
                told = f"through {name}, no filter of the plan" if name else "that name no filter"
                yield f"{counts['good']} good {told}"


def _frames(frames: int, stacks: int) -> str:
    words = f"{frames} frame{'s' * (frames != 1)}"
    return words if not stacks else f"{words}, {stacks} of them stack{'s' if stacks > 1 else 'ed'}"


def _bad_words(counts: Mapping[Verdict, int], lost: Mapping[str, int]) -> list[str]:
    """Say how many frames are not good, and why."""
    bad = [f"{count} {WORDS[name]}" for name, count in counts.items() if name != "good" and count]
    return [*bad, *(f"{count} {words}" for words, count in lost.items())]


def _joined(good: str, others: Sequence[str]) -> str:
    return "; ".join([good, *([", ".join(others)] if others else [])])
