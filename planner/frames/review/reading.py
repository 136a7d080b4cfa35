"""One frame file read: its plate solution, or why there is none."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Literal, Protocol

from planner.errors import FileError, PlannerError
from planner.frames.header.cards import ImageHeader, calibration_kind
from planner.frames.header.fits_blocks import read_image_header
from planner.frames.header.made_up import is_made_up
from planner.frames.solve.any_solver import AnySolver
from planner.frames.solve.found_solution import BESIDE
from planner.frames.solve.frame_solver import FrameSolver, SolvedFrame
from planner.frames.solve.pointing_hint import pointing_hint
from planner.frames.solve.solution_cards import read_solution_beside, solution_of_header
from planner.frames.solve.solve import RefusalKind
from planner.rig.plate_solution import PlateSolution

from .flats import told_angle_deg

__all__ = ["AnyReader", "FrameReader", "ReadFrame"]

FAULTS = (PlannerError, OSError, EOFError, ArithmeticError, ValueError, LookupError, MemoryError)
"""What a damaged file may raise, whatever its decoding stumbles over."""
PIXEL_KINDS = (8, 16, 32, 64, -32, -64)
"""Values of BITPIX that the FITS Standard 4.0, 4.4.1, knows."""


@dataclass(frozen=True)
class ReadFrame:
    """What one file gave.

    Parameters
    ----------
    path : Path
    solution : PlateSolution or None
    fault : {'unsolved', 'unreadable'} or None
        None with a solution.
    reason : str
        Why there is no solution, or where it came from if not from the frame's own header.
    filter : str or None
    exposure_s : float or None
    date_obs : str or None
        The start of the exposure, as its header has it.
    made_up : bool
        Whether its header says that a rehearsal made it up.
    flat : bool
        Whether it is a flat, which is counted apart; it has neither solution nor fault then.
    angle_deg : float or None
        Of a flat: the camera's position angle, degrees east of north in [0, 360), where its header tells it.
    stars : {'trailed', 'few_stars', 'other'} or None
        What the stars of a frame that could not be solved are like; None where nobody looked.
    aim : (float, float, float) or None
        Of a frame without solution: unit vector of where its header says that it was pointed.
    """

    path: Path
    solution: PlateSolution | None = None
    fault: Literal["unsolved", "unreadable"] | None = None
    reason: str = ""
    filter: str | None = None
    exposure_s: float | None = None
    date_obs: str | None = None
    made_up: bool = False
    flat: bool = False
    angle_deg: float | None = None
    stars: RefusalKind | None = None
    aim: tuple[float, float, float] | None = None

    @property
    def solved_here(self) -> bool:
        """Whether the solution was found in the frame's stars."""
        return self.solution is not None and self.reason not in ("", BESIDE)


class AnyReader(Protocol):
    """Whatever reads frames."""

    def read(self, path: Path) -> ReadFrame:
        """Read one frame; whatever is wrong with it is told, not raised."""


@dataclass
class FrameReader:
    """Reads frames, and solves those whose headers hold no solution.

    Parameters
    ----------
    solver : FrameSolver or AnySolver, optional
        Left out, such frames stay unsolved unless a solution lies beside them.
    on_solved : callable, optional
        Called with the path and the solution of each frame solved here.
    """

    solver: FrameSolver | AnySolver | None = None
    on_solved: Callable[[Path, SolvedFrame], None] = field(default=lambda path, solved: None)

    @property
    def way(self) -> str:
        """What decides besides the file itself whether a frame stays unsolved: a short key."""
        return "as it is" if self.solver is None else self.solver.key

    def read(self, path: Path) -> ReadFrame:
        """Read one frame; whatever is wrong with it is told, not raised."""
        try:
            header = read_image_header(path)
            _check_pixels(header)
        except FAULTS as error:
            return ReadFrame(path, fault="unreadable", reason=_reason(path, error))
        frame = self._read_header(header)
        return replace(frame, made_up=True) if is_made_up(header) else frame

    def _read_header(self, header: ImageHeader) -> ReadFrame:
        path = header.path
        if calibration_kind(header) == "flat":
            name, seconds, *_ = _facts(header)
            return ReadFrame(
                path, filter=name, exposure_s=seconds, flat=True, angle_deg=told_angle_deg(header)
            )
        try:
            solution = solution_of_header(header)
        except FAULTS as error:
            return self._read_unsolved(header, _reason(path, error))
        return _read(path, solution, "")

    def _read_unsolved(self, header: ImageHeader, why: str) -> ReadFrame:
        """Look for a solution beside the frame, then in its stars."""
        path = header.path
        fault: Literal["unsolved", "unreadable"] = "unsolved"
        stars: RefusalKind | None = None
        try:
            beside = read_solution_beside(header)
            if beside is not None:
                return _read(path, solution_of_header(beside), BESIDE)
            if self.solver is not None:
                found = self.solver.solve(path)
                if isinstance(found, SolvedFrame):
                    self.on_solved(path, found)
                    return _read(path, found.solution, found.stars.words)
                why, stars = f"it could not be solved: {found.reason}", found.kind
        except FAULTS as error:
            fault, why = "unreadable", _reason(path, error)
        return ReadFrame(path, None, fault, why, *_facts(header), stars=stars, aim=_aim(header))


def _read(path: Path, solution: PlateSolution, reason: str) -> ReadFrame:
    facts = solution.filter, solution.exposure_s, solution.date_obs
    return ReadFrame(path, solution, None, reason, *facts)


def _check_pixels(header: ImageHeader) -> None:
    kind = header.number("BITPIX", 16)
    if kind not in PIXEL_KINDS:
        raise FileError(f"{header.path}: BITPIX must be one of {PIXEL_KINDS}, got {kind:g}; copy it again")


def _facts(header: ImageHeader) -> tuple[str | None, float | None, str | None]:
    """Filter, exposure and date of a frame without solution, as far as its header makes sense."""
    seconds = None
    for key in ("EXPTIME", "EXPOSURE"):
        if seconds is None and key in header.values:
            try:
                seconds = header.number(key, 0.0)
            except FileError:
                continue
    return header.string("FILTER"), seconds, header.string("DATE-OBS")


def _aim(header: ImageHeader) -> tuple[float, float, float] | None:
    """Where the frame was pointed, as its header says; no frame of the sky is aimed otherwise."""
    hint = None if calibration_kind(header) else pointing_hint(header)
    return None if hint is None else (float(hint[0]), float(hint[1]), float(hint[2]))


def _reason(path: Path, error: Exception) -> str:
    """Text of an error without the name of the file."""
    if not path.exists():
        return "it has vanished since the folder was read"
    text = " ".join(str(error).split()) or type(error).__name__
    text = text.removeprefix(str(path)).lstrip(": ").replace(str(path), path.name)
    if "truncated" in text:
        text = text.replace("copy it again", "it may still be written; else copy it again")
    return text
