"""Matching an earlier picture with new frames: centre, angle, and how much of it they cover."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from planner.geometry import footprint_vectors, plane_to_vector, sky_basis, triangle_area_sr, vector_to_plane
from planner.mosaic.panel import Field

from .plate_solution import PlateSolution

__all__ = ["Match", "match_picture"]


@dataclass(frozen=True)
class Match:
    """One panel laid on an earlier picture.

    Parameters
    ----------
    ra_deg, dec_deg : float
        Centre of both, ICRS.
    position_angle_deg : float
        Of the new frames' up direction, degrees east of north, [0, 360).
    covered_share : float
        Part of the earlier picture's area that the panel covers, [0, 1].
    quarter_turned : bool
        Whether a panel square across the picture covers more of it than one along it, so that the angle here
        is the picture's plus 90 degrees.
    picture_deg : (float, float)
        Width and height of the earlier picture.
    made_up : bool
        Whether that picture was made up to practise with.
    """

    ra_deg: float
    dec_deg: float
    position_angle_deg: float
    covered_share: float
    quarter_turned: bool
    picture_deg: tuple[float, float]
    made_up: bool = False


def match_picture(earlier: PlateSolution, field: Field) -> Match:
    """Angle and centre at which one panel of a field covers most of an earlier picture.

    Parameters
    ----------
    earlier : PlateSolution
    field : Field
        Of the camera in use now.
    """
    shares = [_covered_share(earlier, field, quarter) for quarter in (0.0, 90.0)]
    turned = shares[1] > shares[0] + 1e-9
    return Match(
        earlier.ra_deg,
        earlier.dec_deg,
        (earlier.position_angle_deg + 90.0 * turned) % 360.0,
        shares[turned],
        turned,
        earlier.field_deg,
    )


def _covered_share(earlier: PlateSolution, field: Field, quarter_deg: float) -> float:
    """Share of the picture's solid angle that the panel covers; great circles are straight in the plane."""
    basis = sky_basis(earlier.ra_deg, earlier.dec_deg, earlier.position_angle_deg + quarter_deg)
    picture = shapely.Polygon(vector_to_plane(earlier.corner_vectors, basis))
    corners = footprint_vectors(basis, field.half_width, field.half_height)
    panel = shapely.Polygon(vector_to_plane(corners, basis))
    common = shapely.intersection(picture, panel)
    return min(1.0, _solid_angle(common, basis) / _solid_angle(picture, basis))


def _solid_angle(shape: shapely.Geometry, basis: NDArray[np.float64]) -> float:
    """Solid angle of a convex polygon about the centre of a tangent plane, steradians."""
    corners = plane_to_vector(np.asarray(shape.exterior.coords), basis)
    return abs(float(triangle_area_sr(basis[2], corners[:-1], corners[1:]).sum()))
