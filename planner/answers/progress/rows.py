"""What is done of each panel through each filter: the review's own counts beside what is wanted."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from planner.frames.review.tally import PanelExposure
from planner.words import floored

if TYPE_CHECKING:
    from planner.answers.plan import Plan
    from planner.frames.review.review import Review

__all__ = ["PanelProgress", "filter_shares", "panel_rows"]

SHARE_DECIMALS = 6


@dataclass(frozen=True)
class PanelProgress(PanelExposure):
    """One panel through one filter: what a review counts of it, and what is wanted.

    A plan without filters has one of each panel, with the filters that its frames name.

    Parameters
    ----------
    wanted_seconds : float or None
        `wanted` exposures of the plan's length.
    had_seconds : float
        Of good exposures that the panel has in any case, by the plan file; they count where the folder has fewer.
    missing : int
        Exposures that the review wants to be shot still; 1 for a panel without a good frame where the plan has no
        filters.
    why : str
        The review's reason; empty where nothing is missing.
    nights_left : int or None
        Evenings to come on which it can be shot; None where the plan has no nights, and for a filter that it does
        not have.
    """

    wanted_seconds: float | None = None
    had_seconds: float = 0.0
    missing: int = 0
    why: str = ""
    nights_left: int | None = None

    @property
    def done_seconds(self) -> float:
        """Seconds that count towards the wish: never more than it; 0 where the plan wants no number."""
        return min(max(self.seconds, self.had_seconds), self.wanted_seconds or 0.0)

    @property
    def share(self) -> float | None:
        """Part of the wanted seconds that good frames have, in [0, 1]; None where the plan wants no number."""
        return None if self.wanted_seconds is None else share_of(self.done_seconds, self.wanted_seconds)


def share_of(seconds: float, wanted: float) -> float:
    """Part of what is wanted that there is, rounded down, never above 1; 1 where nothing is wanted.

    >>> share_of(1199.9999, 1200.0), share_of(3000.0, 1200.0), share_of(0.0, 0.0)
    (0.999999, 1.0, 1.0)
    """
    if wanted <= 0.0:
        return 1.0
    return min(1.0, floored(seconds / wanted, SHARE_DECIMALS, slack=1e-6))


def panel_rows(plan: Plan, review: Review) -> tuple[PanelProgress, ...]:
    """Return the rows of a review beside what is wanted; each panel of a plan without filters has one, too."""
    lengths_s = {one.name: one.exposure_s for one in plan.request.filters}
    had_s: dict[tuple[str, str | None], float] = {
        (panel.name, name): panel.had(name) * length_s
        for panel in plan.request.panels
        for name, length_s in lengths_s.items()
    }
    missing = {(one.panel, one.filter): one for one in review.reshoot}
    rows = [
        PanelProgress(
            **vars(row),
            wanted_seconds=None if row.wanted is None else row.wanted * lengths_s[row.filter or ""],
            had_seconds=had_s.get((row.name, row.filter), 0.0),
        )
        for row in review.panels
    ]
    if not lengths_s:
        rows = list(_every_panel(plan, rows))
    found = []
    for row in rows:
        lack = missing.pop((row.name, row.filter if lengths_s else None), None)
        found.append(row if lack is None else replace(row, missing=lack.exposures or 1, why=lack.reason))
    return tuple(found)


def _every_panel(plan: Plan, rows: Sequence[PanelProgress]) -> Iterator[PanelProgress]:
    for panel in plan.mosaic.panels:
        own = [row for row in rows if row.name == panel.name]
        yield from own or [PanelProgress(panel.name, None, 0, None, 0.0)]


def filter_shares(plan: Plan, rows: Sequence[PanelProgress]) -> dict[str, float]:
    """Return the part of the wanted seconds that good frames have, by filter; no panel counts above its wish."""
    shares = {}
    for one in plan.request.filters:
        own = [row for row in rows if row.filter == one.name]
        wanted = sum(row.wanted_seconds or 0.0 for row in own)
        shares[one.name] = share_of(sum(row.done_seconds for row in own), wanted)
    return shares
