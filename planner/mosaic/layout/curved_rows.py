"""Sliding rows: panels in rows along parallels of a spherical system, each row shifted and counted on its own.

A row answers for a band of latitude. Where the region lies in that band, panels are marched along it: the first
one reaches the region's rim with its side, each next one as far as its core meets the last one's, until the
region ends. Rows follow the parallels of the system of the region's centre, or the rings around the pole of the
system in which the panels stand at a constant angle; panels that stand tilted in their row count with the part of
their core that fills the row's band. Rows of all phases and bands are marched at once, as longitudes alone; the
ways with the fewest panels are laid out and proven. Where the proof finds a gap, smaller cores are marched.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from planner.mosaic.demand import Demand
from planner.mosaic.orientation import Orientation
from planner.mosaic.poles import CONVERGING, comes_near
from planner.mosaic.proof.cover import Cover
from planner.mosaic.proof.spare_panels import needed
from planner.mosaic.region import Region

from .curved_row_ways import Way, ways
from .parallels import Ring

__all__ = ["row_systems", "sliding_rows"]

Array = NDArray[np.float64]
PHASES, PHASES_NEAR_POLE = 12, 24
"""How many shifts of the rows across their direction are tried."""
SHRINKS = (1.0, 0.998, 0.99, 0.97, 0.93, 0.86, 0.75, 0.6, 0.45)
"""Parts of the cores that are marched, until the proof finds no gap."""
TRIES, TRIES_NEAR_POLE = 4, 20
"""Of the ways to lay rows, this many of either kind are proven at each shrink, the fewest panels first."""
MOST_PROVEN = 700
"""After so many panels have been proven, one proven way is enough."""
SQUARE_WITHIN_DEG = 10.0


def row_systems(region: Region, orientation: Orientation) -> list[Orientation]:
    """Systems whose parallels rows of such panels may follow.

    The system of the region's centre with the panels' up as its north, and, for a camera that nobody turns, the
    rings around its own pole where the panels stand nearly square in them or the pole is near.
    """
    angle = float(orientation.position_angles_deg(region.basis[2]))
    own = Orientation.square_with(*region.center_deg, angle)
    if not orientation.is_common:
        return [orientation.turned_to(0.0)]
    ring = orientation.turned_to(0.0)
    tilt = (orientation.angle_deg + 45.0) % 90.0 - 45.0
    return (
        [own, ring] if comes_near(region, orientation, CONVERGING) or abs(tilt) < SQUARE_WITHIN_DEG else [own]
    )


def sliding_rows(
    region: Region, orientation: Orientation, demands: Sequence[Demand], *, enough: int = 0
) -> Iterator[Array]:
    """Centres of panels in sliding rows that meet all demands, none of them a spare: a few ways to lay rows.

    Parameters
    ----------
    region : Region
    orientation : Orientation
        Of the panels.
    demands : sequence of Demand
        Proven for every result.
    enough : int
        Ways with so few panels, if any is proven, save the trial of others.

    Yields
    ------
    ndarray, shape (N, 3)
        Unit vectors; those first that seem to need the fewest. Nothing comes where no core is left.
    """
    cores = np.array([demand.core for demand in demands])
    if cores.min() <= 0:
        return
    a, b = cores.min(axis=0) - 1e-9
    systems, found = row_systems(region, orientation), False
    pole = comes_near(region, orientation, CONVERGING)
    phases, tries = (PHASES_NEAR_POLE, TRIES_NEAR_POLE) if pole else (PHASES, TRIES)
    spent = 0
    for shrink, goal in [(SHRINKS[0], enough)] * (enough > 0) + [(shrink, 0) for shrink in SHRINKS]:
        rings = [
            Ring(system, orientation, (a * shrink, b * shrink), _smallest_half_size(demands))
            for system in systems
        ]
        candidates = [way for ring in rings for way in ways(region, ring, phases, goal)]
        candidates.sort(key=lambda way: (len(way), way.rank))
        for centers in _promising(candidates, tries):
            if found and spent > MOST_PROVEN:
                return
            spent += len(centers)
            cover = Cover(region, orientation.bases(centers))
            if not cover.first_gap(demands):
                found = True
                yield centers[needed(cover, demands)]
        if found:
            return


def _promising(found: Sequence[Way], most: int) -> Iterator[Array]:
    """Centres of the ways that are worth a proof, the fewest panels first: so many of either kind."""
    tried = {False: 0, True: 0}
    for way in found:
        if tried[way.divided] < most:
            tried[way.divided] += 1
            yield way.centers()


def _smallest_half_size(demands: Sequence[Demand]) -> tuple[float, float]:
    return min(d.half_size[0] for d in demands), min(d.half_size[1] for d in demands)
