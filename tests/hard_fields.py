"""Troublesome places on the sky that every geometry test visits."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class HardField:
    """A field of view at a difficult place; angles in degrees."""

    name: str
    ra_deg: float
    dec_deg: float
    position_angle_deg: float
    width_deg: float = 3.3
    height_deg: float = 2.2

    def __str__(self) -> str:
        return self.name


HARD_FIELDS = [
    HardField("plain", 128.5, -45.8, 20.0),
    HardField("equator", 83.8, 0.0, 90.0),
    HardField("zero_hour", 0.0, 25.0, 45.0),
    HardField("just_before_zero_hour", 359.999, -10.0, 200.0),
    HardField("north_pole_inside", 45.0, 89.5, 10.0),
    HardField("on_north_pole", 70.0, 90.0, 30.0),
    HardField("on_south_pole", 250.0, -90.0, 130.0),
    HardField("near_south_pole", 310.0, -89.0, 75.0),
    HardField("high_declination", 100.0, 75.0, 0.0),
    HardField("tiny", 210.0, 33.0, 15.0, 0.02, 0.013),
    HardField("wide", 300.0, 40.0, 60.0, 36.0, 25.0),
    HardField("wide_over_pole", 10.0, -80.0, 340.0, 34.0, 30.0),
    HardField("square", 180.0, -60.0, 44.0, 2.0, 2.0),
]
"""Poles, right ascension 0, fields over a pole, tiny and wide ones."""
