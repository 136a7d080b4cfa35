"""Frames of several instruments solved: by whichever instrument's camera and panels they fit."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from .frame_solver import FrameSolver, SolvedFrame
from .solve import Refusal

__all__ = ["AnySolver"]


@dataclass(frozen=True)
class AnySolver:
    """Tries solvers in turn.

    Parameters
    ----------
    solvers : sequence of FrameSolver
        At least one.
    """

    solvers: Sequence[FrameSolver]

    @property
    def key(self) -> str:
        """Stands for all of them: the same key solves the same frames."""
        return hashlib.sha256(" ".join(one.key for one in self.solvers).encode()).hexdigest()[:16]

    def solve(self, path: Path) -> SolvedFrame | Refusal:
        """Solve one frame from its pixels; the last refusal where none can."""
        found: SolvedFrame | Refusal | None = None
        for solver in self.solvers:
            found = solver.solve(path)
            if isinstance(found, SolvedFrame):
                break
        assert found is not None
        return found
