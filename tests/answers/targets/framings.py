"""How the sample pier frames."""

from planner.answers.targets.frames import Framing
from planner.rig.camera import Camera

__all__ = ["karoo_framing"]


def karoo_framing() -> Framing:
    """The sample camera's field, every angle in reach."""
    return Framing(Camera(380.0, (6000, 4000), 3.9).field, 0.05, 20.0, None)
