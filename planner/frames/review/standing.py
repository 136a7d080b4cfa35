"""Where the frames stand, kept up to date at little cost: what is complete, what is covered."""

from __future__ import annotations

from dataclasses import dataclass, field

from planner.mosaic.proof.cover import Gap

from .coverage import frame_gap
from .footprints import Footprints
from .match import Verdict
from .review import ReviewWork

__all__ = ["Standing", "StandingCount"]


@dataclass(frozen=True)
class Standing:
    """What all frames so far come to, in short.

    Parameters
    ----------
    verdicts : dict of str to int
        Frames by verdict.
    complete : frozenset of (str, str or None)
        Panels and filters that have all the seconds wanted; without filters in the plan panels with a good frame.
    wanted : tuple of (str, str or None)
        All panels with all filters of the plan, by panel.
    gap_deg2 : dict of str or None to float
        What good frames of each filter, and of any (None), leave of the region, square degrees.
    made_up : int
        Frames that a rehearsal made up.
    """

    verdicts: dict[Verdict, int]
    complete: frozenset[tuple[str, str | None]]
    wanted: tuple[tuple[str, str | None], ...]
    gap_deg2: dict[str | None, float]
    made_up: int = 0

    @property
    def frames(self) -> int:
        """Frames counted."""
        return sum(self.verdicts.values())

    @property
    def panels(self) -> tuple[str, ...]:
        """Names of all panels."""
        return tuple(dict.fromkeys(name for name, _ in self.wanted))

    @property
    def complete_panels(self) -> tuple[str, ...]:
        """Names of panels that are complete through every filter."""
        open_ones = {name for name, chosen in self.wanted if (name, chosen) not in self.complete}
        return tuple(name for name in self.panels if name not in open_ones)

    @property
    def covered(self) -> frozenset[str | None]:
        """Filters whose good frames cover the region; None stands for frames of any filter."""
        return frozenset(name for name, area in self.gap_deg2.items() if area == 0.0)


@dataclass
class StandingCount:
    """Follows a review's work as frames are added: of gaps only what new frames close is worked out.

    Parameters
    ----------
    work : ReviewWork
    """

    work: ReviewWork
    _gaps: dict[str | None, Gap] = field(default_factory=dict, repr=False)
    _seen: int = 0

    def now(self) -> Standing:
        """Return where the frames stand."""
        new = self.work.ground.footprints(first=self._seen)
        self._seen += len(new)
        names: list[str | None] = [None, *(one.name for one in self.work.request.filters)]
        for name in names:
            self._close(name, new)
        gaps = {name: self._gaps[name].area_deg2 for name in names}
        return Standing(
            dict(self.work.tally.verdicts), self._complete(), self._wanted(), gaps, self.work.made_up
        )

    def _close(self, name: str | None, new: Footprints) -> None:
        before = self._gaps.get(name)
        if before is not None and (not before or not len(new)):
            return
        ours = new if name is None else new.chosen(new.filters == self.work.filter_numbers[name])
        if before is None:
            filters = self.work.request.filters
            before = self.work.gap_without([one for one in filters if name in (None, one.name)])
        self._gaps[name] = frame_gap(self.work.mosaic, ours, before)

    def _wanted(self) -> tuple[tuple[str, str | None], ...]:
        names: list[str | None] = [one.name for one in self.work.request.filters]
        names = names or [None]
        return tuple((panel.name, name) for panel in self.work.mosaic.panels for name in names)

    def _complete(self) -> frozenset[tuple[str, str | None]]:
        missing = {(row.panel, row.filter) for row in self.work.tally.missing()}
        return frozenset(one for one in self._wanted() if one not in missing)
