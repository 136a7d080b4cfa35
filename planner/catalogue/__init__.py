"""Objects and stars that ship in packages: everything offline."""

from .objects import OBJECTS_LICENCE, CatalogueObject, find_object, objects_within
from .outlines import ellipse_vectors, no_size_error, object_outline_vectors, outline_note, turned_axes
from .stars import FAINTEST_MAG, STARS_LICENCE, Stars, count_in_polygons, stars_in_polygons, stars_within

__all__ = [
    "FAINTEST_MAG",
    "OBJECTS_LICENCE",
    "STARS_LICENCE",
    "CatalogueObject",
    "Stars",
    "count_in_polygons",
    "ellipse_vectors",
    "find_object",
    "no_size_error",
    "object_outline_vectors",
    "objects_within",
    "outline_note",
    "stars_in_polygons",
    "stars_within",
    "turned_axes",
]
