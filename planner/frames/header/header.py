"""FITS headers of frames: what they say, and the plate solution they hold.

Only header blocks are read, never pixels. Ordinary solutions (a tangent plane, with or without SIP
distortion) take some tens of microseconds; every other form that the standard knows goes through astropy.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from planner.errors import FileError, InputError
from planner.rig.plate_solution import PlateSolution

from .cards import ImageHeader, Value, all_values, card_values, refuse_contradictions
from .fits_blocks import read_image_header
from .tangent_wcs import tangent_solution

__all__ = ["footprint_region", "read_header", "read_solution", "solution_of_text"]


def read_header(path: Path | str) -> dict[str, Value]:
    """Return keywords and values of a FITS file's image.

    The image is the first one with sky coordinates, or the first one. A compressed image appears as the image
    that it holds (NAXIS1 is its columns). Keywords of the primary header serve where the image has none of
    that name; structure and coordinates are not inherited. A value without content is None.

    Raises
    ------
    FileError
        If the file is missing, truncated or no FITS file, or holds no image.
    """
    return all_values(read_image_header(Path(path)))


def read_solution(path: Path | str) -> PlateSolution:
    """Return the plate solution of a FITS file's image (the same image as `read_header` takes).

    Raises
    ------
    FileError
        If the file cannot be read or holds no plate solution that can be understood.
    """
    return _checked_solution(read_image_header(path if isinstance(path, Path) else Path(path)))


def solution_of_text(text: str, *, name: str) -> PlateSolution:
    """Return the plate solution of a header's cards, 80 characters each; `name` stands in sentences about it.

    Raises
    ------
    FileError
        If it holds no plate solution that can be understood.
    """
    values, repeats = card_values(text)
    return _checked_solution(ImageHeader(Path(name), values, text, 0, repeats))


def _checked_solution(header: ImageHeader) -> PlateSolution:
    refuse_contradictions(header)
    try:
        return _solution(header)
    except FileError:
        raise
    except (InputError, ArithmeticError, ValueError) as error:
        raise FileError(
            f"{header.path}: its plate solution makes no sense ({error}); solve the frame again"
        ) from error


def _solution(header: ImageHeader) -> PlateSolution:
    solution = tangent_solution(header)
    if solution is not None:
        return solution
    from .general_wcs import general_solution

    return general_solution(header)


def footprint_region(path: Path | str) -> tuple[NDArray[np.float64], float]:
    """Outline of an earlier, plate-solved picture and its angle, for a region that lies under it.

    Returns
    -------
    corners : ndarray, shape (4, 3)
        ICRS unit vectors, counter-clockwise from inside the sphere.
    position_angle_deg : float
        Of its up direction at its centre, degrees east of north, [0, 360).
    """
    solution = read_solution(path)
    return solution.corner_vectors, solution.position_angle_deg
