"""The plate solution of one frame, wherever it stands: in its header, beside it, or in its stars."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from planner.errors import FileError
from planner.frames.header.fits_blocks import read_image_header
from planner.frames.header.header import read_solution
from planner.frames.header.made_up import is_made_up
from planner.rig.plate_solution import PlateSolution

from .frame_solver import FrameSolver
from .solution_cards import read_solution_beside, read_solution_file, solution_of_header
from .solve import Refusal

__all__ = ["BESIDE", "FoundSolution", "found_solution"]

BESIDE = "solution read from the file beside it"
ITSELF = "solution read from a file of its own"
STUMBLES = (OSError, EOFError, ArithmeticError, ValueError, LookupError, MemoryError)
"""What damaged pixels may raise, whatever their decoding stumbles over."""


@dataclass(frozen=True)
class FoundSolution:
    """The plate solution of one frame.

    Parameters
    ----------
    solution : PlateSolution
    origin : str
        Where it came from, in words; empty for the frame's own header.
    made_up : bool
        Whether the frame's header says that a rehearsal made it up, so that nobody has taken it.
    """

    solution: PlateSolution
    origin: str = ""
    made_up: bool = False


def found_solution(path: Path, solver: Callable[[], FrameSolver] | None = None) -> FoundSolution:
    """Return the plate solution of a frame, or of a solution file.

    The frame's own header counts first, then the solution file beside it, then its stars.

    Parameters
    ----------
    path : Path
        Of the frame, or of the solution file itself.
    solver : callable, optional
        Makes what solves frames that hold no solution, called only for these; left out, none is solved.

    Raises
    ------
    FileError
        If the file cannot be read, or no solution is found.
    """
    try:
        return FoundSolution(read_solution(path), made_up=is_made_up(read_image_header(path)))
    except FileError as error:
        apart = read_solution_file(path)
        if apart is not None:
            return FoundSolution(solution_of_header(apart), ITSELF, is_made_up(apart))
        return _without_own(path, solver, error)


def _without_own(path: Path, solver: Callable[[], FrameSolver] | None, error: FileError) -> FoundSolution:
    """Look beside a frame whose header holds no solution, then into its stars."""
    header = read_image_header(path)
    beside = read_solution_beside(header)
    if beside is not None:
        return FoundSolution(solution_of_header(beside), BESIDE, is_made_up(header))
    if solver is None:
        raise error
    try:
        found = solver().solve(path)
    except STUMBLES as stumble:
        raise FileError(f"{path} cannot be read to be solved ({stumble}); copy it again") from stumble
    if isinstance(found, Refusal):
        raise FileError(f"{error}; it could not be solved here: {found.reason}") from error
    return FoundSolution(found.solution, found.stars.words, found.made_up)
