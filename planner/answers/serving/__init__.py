"""One camera angle for many targets: how many of them every angle serves, and which angles serve most."""

from .angle_service import AngleService, serve_most
from .best_angles import BestAngles
from .changes import Change, changes_beside
from .fitting_angles import FittingAngles
from .served_curve import ServedCurve
from .turn_evening import TurnEvening, best_turn_evening
from .words import amount_text, angle_text, service_words

__all__ = [
    "AngleService",
    "BestAngles",
    "Change",
    "FittingAngles",
    "ServedCurve",
    "TurnEvening",
    "amount_text",
    "angle_text",
    "best_turn_evening",
    "changes_beside",
    "serve_most",
    "service_words",
]
