"""The usual cautions, word for word the same on every sheet and page.

Common practice, no source; the rules of the site, of its operator and of the local codes stand above them.
"""

from __future__ import annotations

__all__ = ["CAMERA_CAUTIONS", "REMOTE_CAUTIONS", "SUN_CAUTION"]

CAMERA_CAUTIONS: tuple[str, ...] = (
    "Park the mount and stop its tracking before anyone touches the camera.",
    "Check by hand that the cables have slack through the whole travel before the first powered turn.",
    "Hold the camera while its clamp is loose; tighten the clamp before the mount moves again.",
)
"""Before the camera is turned, by hand or by motor."""

REMOTE_CAUTIONS: tuple[str, ...] = (
    "Move anything from afar only when the pier camera or the site's operator confirms that it is clear.",
    "The site's rules and its operator come first; work on mains power is for licensed people.",
)
"""Before a mount, roof or rotator moves with nobody beside it."""

SUN_CAUTION: str = (
    "Never let the telescope sweep near the Sun: it blinds and burns at once; "
    "by day keep it capped and parked."
)
