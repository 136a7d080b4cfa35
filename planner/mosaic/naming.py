"""Names, rows, columns and the shooting order of panels."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Collection, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from planner.geometry import steady, vector_to_sky, wrapped_deg

from .orientation import Orientation
from .panel import Panel

__all__ = ["grid_place", "named_panels", "ordered_by_angle", "renamed", "row_letters"]

GRID_NAME = re.compile(r"([A-Z]{1,3})([1-9][0-9]{0,4})")
MOST_ROWS = 702
"""Names of rows up to `ZZ` count as names of rows; `NGC7000` does not."""
DECIMALS = 10
"""Centres and angles are rounded to this many decimals of a degree before anything is proven of them."""


def row_letters(row: int) -> str:
    """Letters of a row from 1: A to Z, then AA, AB and so on.

    >>> row_letters(1), row_letters(26), row_letters(27), row_letters(703)
    ('A', 'Z', 'AA', 'AAA')
    """
    letters = ""
    while row > 0:
        row, rest = divmod(row - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return letters


def grid_place(name: str) -> tuple[int, int] | None:
    """Return row and column of a panel's name; None where the name tells none.

    >>> grid_place("B3"), grid_place("AA12"), grid_place("east")
    ((2, 3), (27, 12), None)
    """
    match = GRID_NAME.fullmatch(name)
    if not match:
        return None
    row = 0
    for letter in match[1]:
        row = 26 * row + ord(letter) - ord("A") + 1
    return row, int(match[2])


def renamed(panels: Sequence[Panel], used: Collection[str]) -> tuple[Panel, ...]:
    """Panels with names that were never used: their rows go on after the last row of all used names.

    >>> [p.name for p in renamed([Panel("A1", 1, 1, 1, 0.0, 0.0, 0.0)], ["B2", "A1", "east"])]
    ['C1']
    """
    rows = [place[0] for name in used if (place := grid_place(name)) and place[0] <= MOST_ROWS]
    last = max(rows, default=0)
    while True:
        moved = [
            replace(one, row=last + one.row, name=f"{row_letters(last + one.row)}{one.column}")
            for one in panels
        ]
        if not any(one.name in used for one in moved):
            return tuple(moved)
        last += 1


def named_panels(
    centers: NDArray[np.float64],
    position_angles_deg: NDArray[np.float64],
    *,
    picture: Orientation,
    band_deg: float,
) -> tuple[Panel, ...]:
    """Panels named by bands from the top of the picture and by columns from its left.

    A new band begins where the next centre lies more than half a panel below the band's first. The shooting
    order goes along the bands to and fro.

    Parameters
    ----------
    centers : ndarray, shape (N, 3)
        Unit vectors, ICRS.
    position_angles_deg : ndarray, shape (N,)
    picture : Orientation
        Its system's north is the picture's up, its origin the middle.
    band_deg : float
        Half a panel's height, degrees.

    Returns
    -------
    tuple of Panel
        By row, then column.
    """
    longitude_deg, latitude_deg = vector_to_sky(steady.times(centers, picture.rotation.T))
    longitude_deg = wrapped_deg(longitude_deg)
    ra_deg, dec_deg = (np.round(values, DECIMALS) for values in vector_to_sky(centers))
    angles_deg = np.round(np.asarray(position_angles_deg) % 360.0, DECIMALS) % 360.0
    panels: list[Panel] = []
    for row, found in enumerate(_bands(latitude_deg, band_deg), start=1):
        band = found[np.lexsort((-latitude_deg[found], -longitude_deg[found].round(9)))]
        for column, index in enumerate(band, start=1):
            step = column if row % 2 else len(band) + 1 - column
            panels.append(
                Panel(
                    name=f"{row_letters(row)}{column}",
                    order=len(panels) - column + 1 + step,
                    row=row,
                    column=column,
                    ra_deg=float(ra_deg[index] % 360.0),
                    dec_deg=float(dec_deg[index]),
                    position_angle_deg=float(angles_deg[index]),
                )
            )
    return tuple(panels)


def ordered_by_angle(panels: Sequence[Panel]) -> tuple[Panel, ...]:
    """Panels with a shooting order in which every position angle is set once.

    The angle with most panels comes first; within an angle the order stays.
    """
    counts = Counter(panel.position_angle_deg for panel in panels)
    ranked = sorted(panels, key=lambda p: (-counts[p.position_angle_deg], p.position_angle_deg, p.order))
    order = {panel.name: number for number, panel in enumerate(ranked, start=1)}
    return tuple(replace(panel, order=order[panel.name]) for panel in panels)


def _bands(latitude_deg: NDArray[np.float64], band_deg: float) -> list[NDArray[np.intp]]:
    """Indices of the centres in each band, from the top."""
    order = np.argsort(-latitude_deg, kind="stable")
    starts = [0]
    for place, index in enumerate(order):
        if latitude_deg[order[starts[-1]]] - latitude_deg[index] > band_deg:
            starts.append(place)
    return np.split(order, starts[1:])
