"""Where the frames of several instruments stand, kept up to date at little cost."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from planner.mosaic.proof.cover import Gap

from .coverage import frame_gap
from .footprints import Footprints, joined
from .shared import SharedWork
from .standing import Standing
from .tally import label_of

__all__ = ["SharedStandingCount"]


@dataclass
class SharedStandingCount:
    """Follows a shared review's work as frames are added, as `StandingCount` does one of a single instrument.

    Parameters
    ----------
    work : SharedWork
    """

    work: SharedWork
    _gaps: dict[str | None, Gap] = field(default_factory=dict, repr=False)
    _seen: list[int] = field(default_factory=list, repr=False)

    def now(self) -> Standing:
        """Return where the frames stand; panels are named with their instrument."""
        new = [*self._new()]
        names: list[str | None] = [None, *self.work.filters]
        for name in names:
            self._close(name, new)
        wanted = tuple(self._wanted())
        missing = {*self._missing()}
        return Standing(
            self.work.verdicts(),
            frozenset(one for one in wanted if one not in missing),
            wanted,
            {name: self._gaps[name].area_deg2 for name in names},
            sum(one.made_up for one in self.work.works),
        )

    def _new(self) -> Iterator[Footprints]:
        """Footprints of each instrument since the last time."""
        seen = self._seen or [0] * len(self.work.works)
        self._seen = []
        for first, work in zip(seen, self.work.works, strict=True):
            found = work.ground.footprints(first=first)
            self._seen.append(first + len(found))
            yield found

    def _close(self, name: str | None, new: list[Footprints]) -> None:
        before = self._gaps.get(name)
        ours = joined([*self._of(name, new)])
        if before is None or (before and len(ours)):
            self._gaps[name] = frame_gap(self.work.reference, ours, before)

    def _of(self, name: str | None, new: list[Footprints]) -> Iterator[Footprints]:
        """Those of a filter, whose number each instrument has for itself."""
        for work, found in zip(self.work.works, new, strict=True):
            yield found if name is None else found.chosen(found.filters == work.filter_numbers.get(name, -2))

    def _wanted(self) -> Iterator[tuple[str, str | None]]:
        for part, work in zip(self.work.parts, self.work.works, strict=True):
            names: list[str | None] = [one.name for one in work.request.filters]
            for panel in work.mosaic.panels:
                for name in names or [None]:
                    yield label_of(part.name, panel.name), name

    def _missing(self) -> Iterator[tuple[str, str | None]]:
        for part, work in zip(self.work.parts, self.work.works, strict=True):
            for row in work.tally.missing():
                yield label_of(part.name, row.panel), row.filter
