"""The relaxation over one lattice of points, without rounds."""

from planner.mosaic.bound.interval_view import lattices, view_of
from planner.mosaic.bound.relaxation import Packing


def relax(task, middle_deg, half_deg, parts):
    """Relaxation for panels within half a width of a middle angle; so many points along a side of a core."""
    view = view_of(task, middle_deg, half_deg)
    return Packing([view], lattices(view, parts), tuple).relaxation(middle_deg, half_deg)
