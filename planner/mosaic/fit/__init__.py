"""One field over all that it should hold: the best placement, the angles that do, and proof that none is better."""

from .angles import RoomCurve, angles_with_room, room_curve
from .best import Placement, best_placement, evened, placement_at
from .many import placements_at
from .opening import Opening
from .proof import room_bound
from .shape import Shape

__all__ = [
    "Opening",
    "Placement",
    "RoomCurve",
    "Shape",
    "angles_with_room",
    "best_placement",
    "evened",
    "placement_at",
    "placements_at",
    "room_bound",
    "room_curve",
]
