"""The mount: whether it flips at the meridian, and when."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from planner.checks import check_within, require

__all__ = ["Mount", "flip_after_s", "flips"]


@dataclass(frozen=True)
class Mount:
    """The mount: what happens at the meridian.

    Parameters
    ----------
    kind : {'german', 'fork', 'altaz'}
    flip_after_transit_min : float
        In [0, 720].

    Raises
    ------
    InputError
        If a value is out of range.
    """

    kind: Literal["german", "fork", "altaz"] = "german"
    flip_after_transit_min: float = 0.0

    def __post_init__(self) -> None:
        require(
            self.kind in ("german", "fork", "altaz"),
            f"mount.kind must be 'german', 'fork' or 'altaz', got {self.kind!r}",
        )
        check_within("mount.flip_after_transit_min", self.flip_after_transit_min, 0.0, 720.0, "give minutes")


def flips(mount: Mount | None) -> bool:
    """Whether a mount flips at the meridian: a German mount does; so does one of which nothing is said."""
    return mount is None or mount.kind == "german"


def flip_after_s(mount: Mount | None) -> float | None:
    """How long after a transit the mount flips, seconds; None if it never does.

    A plan without a mount is planned for a German mount that flips at the transit, which suits any.
    """
    mount = mount or Mount()
    return 60.0 * mount.flip_after_transit_min if mount.kind == "german" else None
