"""How much Moon a filter bears."""

from __future__ import annotations

from dataclasses import dataclass

from .settings import Filter

__all__ = ["DEFAULT_RULES", "MoonRule", "moon_rule"]


@dataclass(frozen=True)
class MoonRule:
    """Limits that hold while the Moon is up.

    Parameters
    ----------
    separation_deg : float
        The Moon is at least this far from the panel's centre.
    illumination : float
        Its illumination on that evening is at most this.
    """

    separation_deg: float = 0.0
    illumination: float = 1.0


DEFAULT_RULES = {
    "broad": MoonRule(separation_deg=60.0, illumination=0.25),
    "narrow": MoonRule(separation_deg=30.0, illumination=1.0),
}
"""Where the user gives no limit: common practice, no source."""


def moon_rule(chosen: Filter) -> MoonRule:
    """Give the limits of a filter: its own where it has any, else those of its band.

    >>> moon_rule(Filter("Ha", "narrow", 600, 10, moon_separation_deg=45))
    MoonRule(separation_deg=45, illumination=1.0)
    >>> [moon_rule(Filter("any", band, 600, 10)).separation_deg for band in ("broad", "narrow")]
    [60.0, 30.0]
    """
    if chosen.moon_separation_deg is None and chosen.moon_illumination is None:
        return DEFAULT_RULES[chosen.band]
    separation = 0.0 if chosen.moon_separation_deg is None else chosen.moon_separation_deg
    illumination = 1.0 if chosen.moon_illumination is None else chosen.moon_illumination
    return MoonRule(separation, illumination)
