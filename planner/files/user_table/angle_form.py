"""Angles as text in any common form, and text as angles again.

An angle is rounded once, to a whole number of units in its last place, and everything after that (the wrap at
the end of the range, the carry from 59.99 seconds to the next minute, the sign of -00:30:00) is done in whole
numbers.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from planner.errors import InputError

__all__ = ["DEC_FORM", "MOST_DECIMALS", "RA_FORM", "AngleForm", "position_text"]

MOST_DECIMALS = 9
"""The most decimals: keeps a full turn in units of the last place exact in 64 bits."""
PER_TURN = {"degrees": 360, "hours": 24}


@dataclass(frozen=True)
class AngleForm:
    """How an angle is written.

    Parameters
    ----------
    unit : {'degrees', 'hours'}
    form : {'decimal', 'sexagesimal'}
        Sexagesimal: whole degrees or hours, minutes, seconds with decimals.
    decimals : int
        Decimals of the number, or of its seconds, in [0, 9].
    separators : (str, str, str)
        What stands after degrees or hours, after minutes and after seconds.
    sign : {'negative', 'always'}
        Whether positive angles get a plus.
    digits : int
        Whole degrees or hours get zeros in front up to this many digits.
    first_deg, span_deg : float or None, int
        Angles are brought into [first, first + span) after rounding; None leaves them as they are. A span of
        180 writes an angle of a rectangle, which a half turn leaves as it is.
    decimal_mark : {'.', ','}

    >>> AngleForm("hours", "sexagesimal", 1, first_deg=0.0).write([359.9999999, 128.5])
    ['00:00:00.0', '08:34:00.0']
    """

    unit: Literal["degrees", "hours"] = "degrees"
    form: Literal["decimal", "sexagesimal"] = "decimal"
    decimals: int = 6
    separators: tuple[str, str, str] = (":", ":", "")
    sign: Literal["negative", "always"] = "negative"
    digits: int = 2
    first_deg: float | None = None
    span_deg: int = 360
    decimal_mark: str = "."

    def __post_init__(self) -> None:
        if not 0 <= self.decimals <= MOST_DECIMALS:
            raise InputError(f"decimals must be in [0, {MOST_DECIMALS}], got {self.decimals}")

    @property
    def ticks_per_turn(self) -> int:
        """Units of the last place in a turn."""
        seconds = 3600 if self.form == "sexagesimal" else 1
        return int(PER_TURN[self.unit] * seconds * 10**self.decimals)

    @property
    def tick_deg(self) -> float:
        """One unit of the last place, degrees."""
        return 360.0 / self.ticks_per_turn

    def ticks(self, angle_deg: ArrayLike) -> NDArray[np.int64]:
        """Angles, degrees, in whole units of the last place, brought into the range."""
        ticks = np.rint(np.asarray(angle_deg, dtype=float) * (self.ticks_per_turn / 360)).astype(np.int64)
        if self.first_deg is None:
            return ticks
        first = round(self.first_deg * self.ticks_per_turn / 360)
        return np.asarray((ticks - first) % (self.span_deg * self.ticks_per_turn // 360) + first)

    def rounded_deg(self, angle_deg: ArrayLike) -> NDArray[np.float64]:
        """Return the angles, degrees, that the text stands for."""
        return np.asarray(self.ticks(angle_deg) * (360.0 / self.ticks_per_turn))

    def write(self, angle_deg: ArrayLike) -> list[str]:
        """Texts of angles, degrees; inverse of `read`."""
        return [self._text(tick) for tick in np.atleast_1d(self.ticks(angle_deg)).tolist()]

    def _text(self, tick: int) -> str:
        sign = "-" if tick < 0 else "+" if self.sign == "always" else ""
        whole, rest = divmod(abs(tick), 10**self.decimals)
        fraction = f"{self.decimal_mark}{rest:0{self.decimals}d}" if self.decimals else ""
        if self.form == "decimal":
            return f"{sign}{whole:0{self.digits}d}{fraction}"
        minutes, seconds = divmod(whole, 60)
        degrees, minutes = divmod(minutes, 60)
        one, two, three = self.separators
        return f"{sign}{degrees:0{self.digits}d}{one}{minutes:02d}{two}{seconds:02d}{fraction}{three}"

    @cached_property
    def _pattern(self) -> re.Pattern[str]:
        number = rf"\d+(?:{re.escape(self.decimal_mark)}\d*)?"
        if self.form == "decimal":
            return re.compile(rf"\s*([+-]?)({number})\s*")
        one, two, three = (re.escape(text.strip()) or (r"\s+" if text else "") for text in self.separators)
        minutes = r"\d{2}" if not one or not two else r"\d{1,2}"
        whole = rf"\d{{{self.digits}}}" if not one else r"\d{1,3}"
        gap = r"\s*"
        parts = (rf"({whole})", one, rf"({minutes})", two, rf"({number})", three)
        return re.compile(gap + r"([+-]?)" + gap + gap.join(parts) + gap)

    def read(self, text: str) -> float:
        """Angle, degrees, of a text of this form, not brought into the range; inverse of `write`.

        Raises
        ------
        ValueError
            If the text has another form.
        """
        match = self._pattern.fullmatch(text)
        if match is None:
            raise ValueError(f"{text!r} is not {self.example}")
        sign, *parts = match.groups()
        numbers = [float(part.replace(self.decimal_mark, ".")) for part in parts]
        if any(number >= 60 for number in numbers[1:]):
            raise ValueError(f"{text!r} has 60 or more minutes or seconds")
        value = math.fsum(number / 60.0**power for power, number in enumerate(numbers))
        return (-value if sign == "-" else value) * 360 / PER_TURN[self.unit]

    @property
    def example(self) -> str:
        """What a text of this form looks like, for messages."""
        return f"{self.form} {self.unit} such as {self.write([128.5])[0]}"


RA_FORM = AngleForm("hours", "sexagesimal", 1, ("h", "m", "s"), first_deg=0.0)
DEC_FORM = AngleForm("degrees", "sexagesimal", 0, ("d", "m", "s"), sign="always")
"""How positions are written on screen."""


def position_text(position_deg: tuple[float, float]) -> str:
    """Return a position, degrees, as it is written on screen.

    >>> position_text((128.5, -45.75))
    '08h34m00.0s -45d45m00s'
    """
    ra_deg, dec_deg = position_deg
    return f"{RA_FORM.write(ra_deg)[0]} {DEC_FORM.write(dec_deg)[0]}"
