"""The search for the fewest panels at the best camera angle, with a proven lower bound.

From quick guides to exact plans: `hints` counts sliding rows at all angles and picks some; `first_panels` lays
panels on a ground (`served/`), `moves` shifts them until all points are served, `attempt` repeats that with the gaps
that the proof still finds (`gap_points`); `fewest` plays attempts and lower bounds against each other,
`several_angles` does so for several angles in one mosaic, `wider_overlap` widens the overlap at an equal count.
"""

from .effort import EFFORTS, Effort
from .fewest import Found, bound_for, bounds_for, search_fewest
from .hints import hint_angles, row_counts
from .several_angles import any_angle_bound, search_several_angles
from .wider_overlap import widened

__all__ = [
    "EFFORTS",
    "Effort",
    "Found",
    "any_angle_bound",
    "bound_for",
    "bounds_for",
    "hint_angles",
    "row_counts",
    "search_fewest",
    "search_several_angles",
    "widened",
]
