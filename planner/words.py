"""Numbers and lists as words, the same on screen, on paper and in messages."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

__all__ = [
    "angle_words",
    "counted",
    "floored",
    "listed",
    "money",
    "overlap_words",
    "place_text",
    "plain_markdown",
    "rounded_down",
    "shortened",
]


def angle_words(angle_deg: float) -> str:
    """Return a camera angle, degrees, with the decimals that it has, at most two.

    >>> angle_words(78.0), angle_words(70.0531759)
    ('78', '70.05')
    """
    return f"{angle_deg:.2f}".rstrip("0").rstrip(".")


def counted(number: int, noun: str) -> str:
    """Return a number with its noun.

    >>> counted(1, "panel"), counted(12, "panel")
    ('1 panel', '12 panels')
    """
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"


def listed(names: Sequence[str], most: int) -> str:
    """Return names with commas between, and how many more there are than are told.

    >>> listed(["A1", "A2", "B1"], 2), listed(["A1"], 2)
    ('A1, A2 and 1 more', 'A1')
    """
    more = f" and {len(names) - most} more" if len(names) > most else ""
    return f"{', '.join(names[:most])}{more}"


def floored(value: float, decimals: int, *, slack: float = 0.0) -> float:
    """Return a number rounded down to decimals, for files: no more is told than is there or has been proven.

    Parameters
    ----------
    value : float
    decimals : int
    slack : float, optional
        By how much of the last decimal the number may fall short of it by rounding errors alone.

    >>> floored(0.15099, 4), floored(0.3 - 0.1, 1), floored(0.3 - 0.1, 1, slack=1e-6)
    (0.1509, 0.1, 0.2)
    """
    scale: int = 10**decimals
    return math.floor(value * scale + slack) / scale


def rounded_down(value: float, decimals: int, *, slack: float = 1e-9) -> str:
    """Return a number rounded down: what is shown never exceeds what is there or has been proven.

    Parameters
    ----------
    value : float
        A number.
    decimals : int
        How many are shown.
    slack : float, optional
        By how much of the last decimal the number may fall short of it by rounding errors alone.

    >>> rounded_down(16.99, 1), rounded_down(-52.02, 1), rounded_down(0.3 - 0.1, 1)
    ('16.9', '-52.1', '0.2')
    """
    return f"{floored(value, decimals, slack=slack):.{decimals}f}"


def overlap_words(found: float, told: str = "{}") -> str:
    """Return a proven overlap, a fraction of a side rounded down to a tenth of a per cent, as `told` says it.

    Where all that belongs together lies whole in one panel nothing overlaps, and nothing needs to.

    >>> overlap_words(0.15099), overlap_words(0.2, "{} overlap"), overlap_words(1.0, "{} overlap")
    ('15.0 %', '20.0 % overlap', 'no seams')
    """
    return "no seams" if found >= 1.0 else told.format(f"{rounded_down(100.0 * found, 1)} %")


def money(cost: Mapping[str, float]) -> str:
    """Return what something costs, in each currency (a currency without a name has none).

    >>> money({"EUR": 1234.6, "": 5.0})
    '1,235 EUR and 5'
    """
    return " and ".join(f"{value:,.0f} {currency}".rstrip() for currency, value in cost.items())


def place_text(ra_deg: float, dec_deg: float) -> str:
    """Return a place on the sky for the eye: right ascension to the second, declination to the minute of arc.

    >>> place_text(128.458333, -45.866667), place_text(359.99999, 4.5)
    ('8h33m50s -45d52m', '0h00m00s +4d30m')
    """
    seconds, minutes = round(ra_deg % 360.0 * 240.0) % 86_400, round(abs(dec_deg) * 60.0)
    ra = f"{seconds // 3600}h{seconds // 60 % 60:02d}m{seconds % 60:02d}s"
    return f"{ra} {'-' if dec_deg < 0 else '+'}{minutes // 60}d{minutes % 60:02d}m"


def plain_markdown(text: str) -> str:
    r"""Return a text as Markdown that shows it as it is.

    >>> print(plain_markdown("A1_Ha_*.fits"))
    A1\_Ha\_\*.fits
    """
    return "".join(f"\\{sign}" if sign in "\\`*_{}[]<>#$~|" else sign for sign in text)


def shortened(text: str, longest: int) -> str:
    """Return a text cut to so many letters, the last of them dots where something is missing.

    >>> shortened("Carina complex", 8), shortened("Vela", 8)
    ('Carina \N{HORIZONTAL ELLIPSIS}', 'Vela')
    """
    return text if len(text) <= longest else text[: longest - 1] + "\N{HORIZONTAL ELLIPSIS}"
