"""What no timetable can beat: a linear relaxation of the season.

Panels are gathered into groups of like right ascension; a *kind* is one group through one filter. Each night
is cut at the instants where the span of a kind begins or ends. Time may be dealt out freely between kinds
within each piece, and an exposure takes its expected time plus a share of the overhead, as if every block
were as long as any segment of its kind allows on that night. All true timetables fit in, so the optimum is a
bound. Solved by HiGHS (Huangfu & Hall 2018, Math. Prog. Comp. 10, 119) through `scipy.optimize.linprog`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .workload import Opening, Workload

__all__ = ["Relaxation", "make_relaxation"]

GROUPS = 6
"""Groups of panels; more give a tighter bound and cost time."""
TOLERANCE = 1e-7
"""Part of the work that may be missing before a relaxation counts as falling short."""
MISSING_PRICE = 1e3
"""Worth of a second that stays undone, in units of the dearest second."""

Values = NDArray[np.float64]
Indices = NDArray[np.int64]


@dataclass(frozen=True)
class Relaxation:
    """The linear relaxation of a season, night by night; make it with `make_relaxation`.

    Parameters
    ----------
    wanted : ndarray, shape (K,)
        Exposures of each kind.
    exposure_s : ndarray, shape (K,)
    nights : tuple of _Pieces
        In the order of the openings.
    """

    wanted: Values
    exposure_s: Values
    nights: tuple[_Pieces, ...]

    @property
    def work_s(self) -> float:
        """Expected time of all exposures without overheads, seconds."""
        return float(self.wanted @ self.exposure_s)

    def missing_s(self, nights: Sequence[int]) -> float:
        """Least expected time of exposures that stay undone if only these nights are used."""
        return self._solve(nights, np.zeros(len(nights)), 1.0)[0]

    def cost(self, nights: Sequence[int], price: Sequence[float]) -> tuple[float, float]:
        """Missing time in seconds, and the least cost of the nights with the least time missing.

        Parameters
        ----------
        price : sequence of float
            Of a second, for each night.
        """
        dearest = max([*price, 1e-12])
        missing, total = self._solve(nights, np.asarray(price, dtype=float), MISSING_PRICE * dearest)
        return missing, total - MISSING_PRICE * dearest * missing

    def fewest_nights(self, order: Sequence[int]) -> int | None:
        """Least number of nights, taken in order, in which all work could be done; None if it never can."""
        enough = TOLERANCE * self.work_s + 1e-6
        if self.missing_s(order) > enough:
            return None
        low, high = 0, len(order)
        while low < high:
            middle = (low + high) // 2
            if self.missing_s(order[:middle]) > enough:
                low = middle + 1
            else:
                high = middle
        return low

    def _solve(self, nights: Sequence[int], price: Values, missing_price: float) -> tuple[float, float]:
        """Missing time and optimum of: price of the time used + price of the time missing."""
        from scipy import sparse
        from scipy.optimize import linprog

        pieces = [self.nights[night] for night in nights]
        kind = np.concatenate([one.kind for one in pieces] or [np.empty(0, int)])
        starts = np.cumsum([0, *(len(one.room_s) for one in pieces)])
        piece = np.concatenate([one.piece + at for one, at in zip(pieces, starts, strict=False)] or [kind])
        rate = np.concatenate([one.rate for one in pieces] or [np.empty(0)])
        room = np.concatenate([one.room_s for one in pieces] or [np.empty(0)])
        columns, kinds = np.arange(len(kind)), len(self.wanted)
        done = sparse.csr_matrix((rate, (kind, columns)), shape=(kinds, len(kind)))
        used = sparse.csr_matrix((np.ones(len(kind)), (piece, columns)), shape=(len(room), len(kind)))
        cost = np.repeat(price, [len(one.kind) for one in pieces])
        found = linprog(
            np.concatenate([cost, missing_price * self.exposure_s]),
            A_ub=sparse.hstack([used, sparse.csr_matrix((len(room), kinds))]) if len(room) else None,
            b_ub=room if len(room) else None,
            A_eq=sparse.hstack([done, sparse.eye(kinds)]),
            b_eq=self.wanted,
            method="highs",
        )
        return float(found.x[len(kind) :] @ self.exposure_s), float(found.fun)


@dataclass(frozen=True)
class _Pieces:
    """One night of the relaxation: columns (a kind in a piece of time) and the pieces' lengths.

    `rate` is the greatest number of exposures in a second, the share of the overhead included.
    """

    kind: Indices
    piece: Indices
    rate: Values
    room_s: Values


def make_relaxation(work: Workload, ra_deg: Values, *, groups: int = GROUPS) -> Relaxation:
    """Relax the work of a season.

    Parameters
    ----------
    ra_deg : ndarray, shape (N,)
        Right ascensions of the panels, by which they are gathered into groups.
    """
    group = _groups(ra_deg, groups)
    job = np.arange(len(work.wanted))
    kind = group[job // work.filters] * work.filters + job % work.filters
    wanted = np.bincount(kind, work.wanted).astype(float)
    exposure_s = np.zeros(len(wanted))
    exposure_s[kind] = work.exposure_s
    nights = tuple(_pieces(one, kind, exposure_s, work.overhead_s) for one in work.openings)
    return Relaxation(wanted, exposure_s, nights)


def _groups(ra_deg: Values, count: int) -> Indices:
    """Group of each panel: neighbours in right ascension, counted from the widest gap."""
    ra = np.asarray(ra_deg, dtype=float) % 360.0
    order = np.argsort(ra, kind="stable")
    gaps = np.diff(ra[order], append=ra[order[0]] + 360.0)
    order = np.roll(order, -int(np.argmax(gaps)) - 1)
    group = np.empty(len(ra), dtype=np.int64)
    for number, members in enumerate(np.array_split(order, min(count, len(ra)))):
        group[members] = number
    return group


def _pieces(opening: Opening, kind: Indices, exposure_s: Values, overhead_s: float) -> _Pieces:
    present = np.unique(kind[opening.job])
    rows = [kind[opening.job] == one for one in present]
    start = np.array([opening.start_s[row].min() for row in rows])
    end = np.array([opening.end_s[row].max() for row in rows])
    most = np.array([opening.most[row].max() for row in rows])
    cuts = np.unique(np.concatenate([start, end]))
    inside = (start[:, None] <= cuts[None, :-1]) & (end[:, None] >= cuts[None, 1:])
    row, piece = np.nonzero(inside)
    rate = 1.0 / (exposure_s[present] + overhead_s / np.maximum(most, 1.0))
    return _Pieces(present[row], piece, rate[row], np.diff(cuts))
