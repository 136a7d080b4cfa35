"""The solution of a frame that was solved here, as a FITS header of its own beside the frame."""

from __future__ import annotations

import io
from pathlib import Path

from planner.frames.header.made_up import MADE_UP, MADE_UP_WHY
from planner.frames.solve.frame_solver import SolvedFrame
from planner.frames.solve.solution_cards import solution_path

from .output import PROGRAM, write_files

__all__ = ["solution_bytes", "write_solution"]


def solution_bytes(frame: Path, solved: SolvedFrame) -> bytes:
    """Return a FITS file without pixels that holds the world coordinates of a frame."""
    from astropy.io import fits

    header = fits.Header()
    header["CREATOR"] = (PROGRAM, "program that wrote this file")
    header["FRAME1"], header["FRAME2"] = solved.solution.size_px
    header.comments["FRAME1"], header.comments["FRAME2"] = "columns of the frame", "rows of the frame"
    if solved.solution.binning is not None:
        header["XBINNING"], header["YBINNING"] = solved.solution.binning
    if solved.made_up:
        header[MADE_UP] = (True, MADE_UP_WHY)
    header.update(solved.cards)
    header["MATCHED"] = (solved.stars.matches, "stars of the catalogue found")
    header["RESIDUAL"] = (round(solved.stars.residual_arcsec, 3), "arcsec, root mean square")
    header.add_comment(
        f"Solution of {frame.name.encode('ascii', 'replace').decode()}; the frame itself is unchanged."
    )
    stream = io.BytesIO()
    fits.PrimaryHDU(header=header).writeto(stream)
    return stream.getvalue()


def write_solution(frame: Path, solved: SolvedFrame) -> Path:
    """Write the solution beside its frame, whole; an earlier one of ours is replaced.

    Raises
    ------
    FileError
        If the folder cannot be written or another file is in the way.
    """
    path = solution_path(frame)
    write_files(path.parent, {path.name: solution_bytes(frame, solved)})
    return path
