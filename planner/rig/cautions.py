"""The usual cautions, word for word the same on every sheet and page, and which of them belong to an output.

Common practice, no source; the rules of the site, of its operator and of the local codes stand above them.
"""

from __future__ import annotations

from planner.rig.mount import Mount, flips

from .angle_device import AngleDevice

__all__ = [
    "CAMERA_CAUTIONS",
    "MADE_UP_CAUTION",
    "REMOTE_CAUTIONS",
    "SIDE_CAUTION",
    "SUN_CAUTION",
    "cautions_for",
    "first_caution",
]

CAMERA_CAUTIONS: tuple[str, ...] = (
    "Park the mount and stop its tracking before anyone touches the camera.",
    "Check by hand that the cables have slack through the whole travel before the camera is turned.",
    "Hold the camera while its clamp is loose; tighten the clamp before the mount moves again.",
)
"""Before the camera is turned: parking, cables, clamp."""

REMOTE_CAUTIONS: tuple[str, ...] = (
    "Move anything from afar only when the pier camera or the site's operator confirms that it is clear.",
    "The site's rules and its operator come first; work on mains power is for licensed people.",
)
"""Before a mount, roof or rotator moves with nobody beside it."""

SIDE_CAUTION: str = (
    "Before the first flip, check at the site that telescope and cables pass the pier on both sides."
)
"""Where a mount follows its targets through the flip."""

MADE_UP_CAUTION: str = "Frames are made up: turn nothing and shoot nothing on their word."
"""First of all where frames are of a rehearsal."""

SUN_CAUTION: str = (
    "Never let the telescope sweep near the Sun: it blinds and burns at once; "
    "by day keep it capped and parked."
)


def cautions_for(
    device: AngleDevice | None, mount: Mount | None = None, *, turns: bool = True, follows: bool = False
) -> tuple[str, ...]:
    """Return the cautions that belong to an output, in the order in which they are needed.

    Every output with cautions has the mount move, be it for one frame to verify the angle: the pier must be
    clear, the site's operator decides, the Sun is kept away from.

    Parameters
    ----------
    device : AngleDevice or None
        None: how the camera is turned is not known, so it is taken to be by hand. A fixed camera is never turned.
    mount : Mount or None
        None: one that flips.
    turns : bool
        Whether the output asks for a camera angle to be set.
    follows : bool
        Whether it has the mount follow targets through a night.
    """
    hand, (clear, site) = CAMERA_CAUTIONS, REMOTE_CAUTIONS
    if device is not None and device.kind == "rotator":
        hand = CAMERA_CAUTIONS[:2]  # no clamp to hold
    elif device is not None and device.kind == "fixed":
        hand = ()
    pier = (SIDE_CAUTION,) if follows and flips(mount) else ()
    return (*(hand if turns else ()), *pier, clear, site, SUN_CAUTION)


def first_caution(device: AngleDevice | None) -> str:
    """Return the caution that comes before everything else: by hand parking, by motor or not at all a clear pier."""
    by_motor = device is not None and device.kind != "adjuster"
    return REMOTE_CAUTIONS[0] if by_motor else CAMERA_CAUTIONS[0]
