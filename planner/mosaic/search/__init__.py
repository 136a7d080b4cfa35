"""The search for the fewest panels at the best camera angle, with a proven lower bound.

From quick guides to exact plans: `rows` counts sliding rows at all angles, `hints` picks angles from them; `points`
stand for the region, `ground` knows from where a panel serves each, `pierce` moves panels until all are served,
`attempt` repeats that with the gaps that the proof still finds; `relaxation` (with `enclosure` and `cliques`)
bounds the count from below, `bounds` over all angles; `fewest` plays both against each other, `several_angles` does
so for several angles in one mosaic, `widen` makes the overlap larger at an equal count.
"""

from planner.mosaic.angle_range import AngleRange
from planner.mosaic.bound.angle_bounds import AngleBounds
from planner.mosaic.layout.flat_rows import count_rows
from planner.mosaic.task import Task

from .effort import EFFORTS, Effort
from .fewest import Found, bound_for, search_fewest
from .hints import hint_angles, row_counts
from .several_angles import any_angle_bound, search_several_angles
from .wider_overlap import guaranteed_box, widened

__all__ = [
    "EFFORTS",
    "AngleBounds",
    "AngleRange",
    "Effort",
    "Found",
    "Task",
    "any_angle_bound",
    "bound_for",
    "count_rows",
    "guaranteed_box",
    "hint_angles",
    "row_counts",
    "search_fewest",
    "search_several_angles",
    "widened",
]
