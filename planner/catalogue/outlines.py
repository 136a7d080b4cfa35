"""The ellipse of a catalogue object as a polygon on the sky."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from planner.errors import InputError
from planner.geometry import plane_to_vector, sky_basis, steady

from .objects import CatalogueObject

__all__ = ["ellipse_vectors", "no_size_error", "object_outline_vectors", "outline_note", "turned_axes"]

ELLIPSE_CORNERS = 64
"""The polygon about an ellipse has this many corners: area 0.08 per cent larger."""
LARGEST_ARCMIN = 7200.0


def object_outline_vectors(
    sky_object: CatalogueObject,
    *,
    size_arcmin: tuple[float, float] | None = None,
    position_angle_deg: float | None = None,
) -> NDArray[np.float64]:
    """Polygon that encloses an object's ellipse.

    Where the catalogue gives two axes but no position angle, and none is given here, the polygon encloses the
    circle over the longer axis: the object lies in it, however it is turned.

    Parameters
    ----------
    sky_object : CatalogueObject
    size_arcmin : (float, float), optional
        Major and minor axis, instead of the catalogue's.
    position_angle_deg : float, optional
        Of the major axis, degrees east of north, instead of the catalogue's; 0 if left out
        beside `size_arcmin`.

    Returns
    -------
    ndarray, shape (64, 3)
        Corner vectors, counter-clockwise from inside the sphere.

    Raises
    ------
    InputError
        If neither the catalogue nor the caller gives a size.
    """
    major, minor, angle = _axes(sky_object, size_arcmin, position_angle_deg)
    return ellipse_vectors((sky_object.ra_deg, sky_object.dec_deg), major, minor, angle)


def turned_axes(
    major_arcmin: float, minor_arcmin: float, position_angle_deg: float | None
) -> tuple[float, float, bool]:
    """Minor axis, position angle of an ellipse as it is drawn, and whether it is known how it is turned.

    Where it is not, the circle over the longer axis stands for it: on charts, on the app's sky and as a region.

    >>> turned_axes(30.0, 7.0, None), turned_axes(30.0, 7.0, 20.0), turned_axes(5.0, 5.0, None)
    ((30.0, 0.0, False), (7.0, 20.0, True), (5.0, 0.0, True))
    """
    known = position_angle_deg is not None or minor_arcmin == major_arcmin
    return minor_arcmin if known else major_arcmin, position_angle_deg or 0.0, known


def outline_note(sky_object: CatalogueObject) -> str | None:
    """Say what the user should know where the catalogue's own size is taken; None if there is nothing."""
    if sky_object.major_arcmin is None or sky_object.position_angle_deg is not None:
        return None
    if sky_object.major_arcmin == sky_object.minor_arcmin:
        return None
    return (
        f"the catalogue does not say how the ellipse of {sky_object.label} is turned: "
        f"the circle over its longer axis ({sky_object.major_arcmin:g} arcmin) is taken; "
        "give size_arcmin and position_angle_deg to narrow it"
    )


def ellipse_vectors(
    center_deg: tuple[float, float],
    major_arcmin: float,
    minor_arcmin: float,
    position_angle_deg: float,
    *,
    corners: int = ELLIPSE_CORNERS,
) -> NDArray[np.float64]:
    """Polygon about the ellipse with half axes tan(major / 2), tan(minor / 2) in its centre's tangent plane.

    Its edges touch the ellipse, so the polygon encloses it.

    Parameters
    ----------
    center_deg : (float, float)
        ICRS right ascension and declination, degrees.
    major_arcmin, minor_arcmin : float
        Whole lengths of the axes.
    position_angle_deg : float
        Of the major axis, degrees east of north.

    Returns
    -------
    ndarray, shape (corners, 3)
        Counter-clockwise from inside the sphere.
    """
    half = steady.tan(np.radians(np.array([minor_arcmin, major_arcmin]) / 120.0)) / steady.cos(
        math.pi / corners
    )
    angle = 2.0 * np.pi * (np.arange(corners) + 0.5) / corners
    xy = half * np.stack([-steady.sin(angle), steady.cos(angle)], axis=-1)
    return plane_to_vector(xy[::-1], sky_basis(*center_deg, position_angle_deg))


def _axes(
    sky_object: CatalogueObject, size_arcmin: tuple[float, float] | None, position_angle_deg: float | None
) -> tuple[float, float, float]:
    if size_arcmin is not None:
        return *_checked(size_arcmin), position_angle_deg or 0.0
    major, minor = sky_object.major_arcmin, sky_object.minor_arcmin
    if not major or not minor:
        raise no_size_error(sky_object)
    angle = sky_object.position_angle_deg if position_angle_deg is None else position_angle_deg
    return (major, major, 0.0) if angle is None else (major, minor, angle)


def no_size_error(sky_object: CatalogueObject, cure: str = "give region.size_arcmin") -> InputError:
    """Return the error that the catalogue does not tell how large an object is, and what to do."""
    return InputError(f"the catalogue has no size of {sky_object.label} ({sky_object.kind}); {cure}")


def _checked(size_arcmin: tuple[float, float]) -> tuple[float, float]:
    if not all(0.0 < size <= LARGEST_ARCMIN for size in size_arcmin):
        raise InputError(
            f"region.size_arcmin must be in (0, {LARGEST_ARCMIN:g}], got {list(size_arcmin)}; "
            "give the diameters in arc minutes"
        )
    return size_arcmin
