"""The turn to make: from the reading where the device stands to a position angle."""

from __future__ import annotations

from dataclasses import dataclass

from planner.errors import InputError

from .angle_device import GREATEST_READING_DEG, AngleDevice

__all__ = ["LEAST_TURN_DEG", "Turn", "check_reading", "least_turn_deg", "off_words", "smallest_turn"]

LEAST_TURN_DEG = 0.005
"""Smaller turns are none to the decimals that are told: angles that are alike so far are one setting."""
GREATEST_LEAST_DEG = 0.5
"""Half of what a good frame may be turned by where nothing else is asked: such a turn is told on any scale."""


@dataclass(frozen=True)
class Turn:
    """A change of the angle device.

    Parameters
    ----------
    from_reading_deg, to_reading_deg : float
        Readings before and after.
    reading_deg : float
        Signed change of the reading.
    position_angle_deg : float
        Signed change of position angle, east of north positive.
    target_position_angle_deg : float
        That is wanted, degrees east of north; the turn ends at it or at one that covers the same ground.
    off_deg : float
        What the end of the turn is off by, 0 where the angle can be reached.
    """

    from_reading_deg: float
    to_reading_deg: float
    reading_deg: float
    position_angle_deg: float
    target_position_angle_deg: float
    off_deg: float = 0.0


def least_turn_deg(device: AngleDevice | None) -> float:
    """Return the smallest turn worth making, degrees: on a scale read by eye a tenth of a division.

    That a tenth is as fine as lines are read between is common practice, no source.

    Parameters
    ----------
    device : AngleDevice or None

    >>> least_turn_deg(AngleDevice("adjuster")), least_turn_deg(AngleDevice("rotator"))
    (0.1, 0.005)
    """
    if device is None or device.kind != "adjuster":
        return LEAST_TURN_DEG
    return max(LEAST_TURN_DEG, min(GREATEST_LEAST_DEG, device.division_deg / 10.0))


def off_words(turn_deg: float) -> str:
    """Say what an angle is off by that needs no turn; nothing where that is none to the decimals that are told.

    >>> off_words(-0.013), off_words(0.001)
    ('off by 0.01 degrees', '')
    """
    return f"off by {abs(turn_deg):.2f} degrees" if abs(turn_deg) >= LEAST_TURN_DEG else ""


def check_reading(device: AngleDevice | None, reading_deg: float) -> None:
    """Refuse a reading at which the device cannot stand, NaN included."""
    if device is not None and device.kind == "fixed" and reading_deg != 0.0:
        raise InputError(
            f"a fixed camera has no scale to read, got the reading {reading_deg:g}; leave it out, or set "
            "kind in [angle_device] to what turns the camera"
        )
    low, high = device.travel_deg if device else (-GREATEST_READING_DEG, GREATEST_READING_DEG)
    if not (device.holds(reading_deg) if device else low <= reading_deg <= high):
        raise InputError(
            f"the reading must lie within the travel [{low:g}, {high:g}], got {reading_deg:g}; "
            "correct the reading, or range_deg in [angle_device]"
        )


def smallest_turn(
    device: AngleDevice, from_reading_deg: float, position_angle_deg: float, *, period_deg: float
) -> Turn:
    """Return the smallest turn, within the travel, to a position angle modulo a period.

    Parameters
    ----------
    device : AngleDevice
    from_reading_deg : float
    position_angle_deg : float
        Degrees east of north. Where it cannot be reached, the turn goes to the nearest angle that can.
    period_deg : float
        180 for a rectangle, 90 for a square sensor.

    Raises
    ------
    InputError
        If the device cannot stand at that reading.

    >>> turn = smallest_turn(AngleDevice("adjuster", 112.4), 350.0, 130.0, period_deg=180.0)
    >>> round(turn.to_reading_deg, 9), round(turn.reading_deg, 9), round(turn.position_angle_deg, 9)
    (197.6, -152.4, -152.4)
    """
    check_reading(device, from_reading_deg)
    nearest, off = device.nearest_reading(position_angle_deg, period_deg=period_deg)
    ends = device.readings_for(position_angle_deg + off, period_deg=period_deg) or (nearest,)
    end = min(ends, key=lambda reading: abs(reading - from_reading_deg))
    change = end - from_reading_deg
    return Turn(from_reading_deg, end, change, device.sense * change, position_angle_deg % 360.0, off)
