"""A radial term of lens distortion: stars lie nearer to the centre, or further out, with the cube of distance.

Source: Brown 1971, Photogrammetric Engineering 37, 855 (the first radial term of a lens' distortion).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["Radial", "radial_step"]

Vectors = NDArray[np.float64]

TURNS = 8
"""Newton steps back from ideal positions to the sensor's."""
FAR = 1.3
"""Corner distances beyond which the term is held: there is no frame, and the cubic need not grow."""


@dataclass(frozen=True)
class Radial:
    """Where an ideal lens would have put what a real one put elsewhere.

    Parameters
    ----------
    strength : float
        k in `ideal = seen (1 + k (r / corner)^2)`, with r the distance seen from the frame's centre.
    corner_px : float
        Distance of the corners from the centre.
    """

    strength: float
    corner_px: float

    def ideal(self, seen: Vectors) -> Vectors:
        """Ideal positions about the centre, (N, 2), of positions seen; `seen` is the way back."""
        return np.asarray(seen * (1.0 + self.strength * self._squares(seen))[:, None])

    def seen(self, ideal: Vectors) -> Vectors:
        """Positions seen about the centre, (N, 2), of ideal ones; `ideal` is the way back."""
        wanted = np.linalg.norm(ideal, axis=1) / self.corner_px
        found = np.minimum(wanted, FAR)
        for _ in range(TURNS):
            slope = 1.0 + 3.0 * self.strength * found**2
            found = np.clip(found - (found * (1.0 + self.strength * found**2) - wanted) / slope, 0.0, FAR)
        return np.asarray(ideal / (1.0 + self.strength * found**2)[:, None])

    def _squares(self, seen: Vectors) -> Vectors:
        """Squares of the distances from the centre, the corner's being 1."""
        return np.asarray(np.minimum(np.sum((seen / self.corner_px) ** 2, axis=1), FAR**2))


def radial_step(seen: Vectors, wanted: Vectors, radial: Radial) -> tuple[float, float]:
    """Change of the strength that brings stars nearest to where they are wanted, and its standard error.

    Shift, turn and scale go along as free unknowns, so that the term takes none of theirs.

    Parameters
    ----------
    seen : ndarray, shape (N, 2)
        Positions about the centre; N at least 4.
    wanted : ndarray, shape (N, 2)
        Ideal positions of the same stars about the centre.
    radial : Radial
        As it stands.
    """
    off = (wanted - radial.ideal(seen)).T.ravel()
    x, y = seen.T
    one, none = np.ones(len(seen)), np.zeros(len(seen))
    bend = (seen * np.sum((seen / radial.corner_px) ** 2, axis=1)[:, None]).T.ravel()
    columns = [np.r_[one, none], np.r_[none, one], np.r_[x, y], np.r_[-y, x], bend]
    design = np.column_stack(columns) / np.array([1.0, 1.0, *[radial.corner_px] * 3])
    solution, _, rank, _ = np.linalg.lstsq(design, off, rcond=None)
    if rank < design.shape[1] or len(off) <= design.shape[1]:
        return 0.0, np.inf
    left = off - design @ solution
    variance = left @ left / (len(off) - design.shape[1])
    error = np.sqrt(variance * np.linalg.inv(design.T @ design)[-1, -1])
    return float(solution[-1]) / radial.corner_px, float(error) / radial.corner_px
