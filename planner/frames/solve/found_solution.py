"""The plate solution of one frame, wherever it stands: in its header, beside it, or in its stars."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

from planner.errors import FileError
from planner.frames.header.fits_blocks import read_image_header
from planner.frames.header.header import read_solution
from planner.frames.header.made_up import is_made_up
from planner.rig.plate_solution import PlateSolution

from .frame_solver import FrameSolver
from .solution_cards import read_solution_beside, read_solution_file, solution_of_header
from .solve import Refusal

__all__ = ["BESIDE", "NOT_REAL", "FoundSolution", "found_solution", "is_of_made_up"]

BESIDE = "solution read from the file beside it"
ITSELF = "solution read from a file of its own"
NOT_REAL = "the frame is made up, to practise with: it tells nothing of the real camera"
STUMBLES = (OSError, EOFError, ArithmeticError, ValueError, LookupError, MemoryError)
"""What damaged pixels may raise, whatever their decoding stumbles over."""


@dataclass(frozen=True)
class FoundSolution:
    """A plate solution and, in words, where it came from; empty for the own header of a real frame."""

    solution: PlateSolution
    origin: str = ""


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
    found = _found(path, solver)
    if not is_of_made_up(path):
        return found
    return replace(found, origin="; ".join(text for text in (found.origin, NOT_REAL) if text))


def is_of_made_up(path: Path) -> bool:
    """Whether a file is a frame that says in its header that it is made up."""
    try:
        return is_made_up(read_image_header(path))
    except FileError:  # a solution file holds no image
        return False


def _found(path: Path, solver: Callable[[], FrameSolver] | None) -> FoundSolution:
    """Look into the frame's own header, then elsewhere."""
    try:
        return FoundSolution(read_solution(path))
    except FileError as error:
        apart = read_solution_file(path)
        if apart is not None:
            return FoundSolution(solution_of_header(apart), ITSELF)
        return _without_own(path, solver, error)


def _without_own(path: Path, solver: Callable[[], FrameSolver] | None, error: FileError) -> FoundSolution:
    """Look beside a frame whose header holds no solution, then into its stars."""
    beside = read_solution_beside(read_image_header(path))
    if beside is not None:
        return FoundSolution(solution_of_header(beside), BESIDE)
    if solver is None:
        raise error
    try:
        found = solver().solve(path)
    except STUMBLES as stumble:
        raise FileError(f"{path} cannot be read to be solved ({stumble}); copy it again") from stumble
    if isinstance(found, Refusal):
        raise FileError(f"{error}; it could not be solved here: {found.reason}") from error
    return FoundSolution(found.solution, found.stars.words)
