"""Geometry on the sphere: vectors, tangent planes, footprints, exact coverage. Knows no files and no screen."""

from . import steady
from .distinct import distinct
from .footprint import footprint_area_sr, footprint_vectors
from .plane import (
    basis_position_angle_deg,
    plane_change,
    plane_to_vector,
    seen_through,
    sky_basis,
    turned_basis,
    vector_to_plane,
)
from .sphere import (
    east_north,
    east_north_at,
    position_angle_deg,
    separation_rad,
    sky_to_vector,
    triangle_area_sr,
    vector_to_sky,
    wrapped_deg,
)

__all__ = [
    "distinct",
    "east_north",
    "east_north_at",
    "footprint_area_sr",
    "footprint_vectors",
    "basis_position_angle_deg",
    "plane_change",
    "plane_to_vector",
    "position_angle_deg",
    "seen_through",
    "separation_rad",
    "sky_basis",
    "sky_to_vector",
    "steady",
    "triangle_area_sr",
    "turned_basis",
    "vector_to_plane",
    "vector_to_sky",
    "wrapped_deg",
]
