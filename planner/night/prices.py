"""What hours at the sites cost."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from .settings import Site

__all__ = ["cost_of_hours", "price_at"]


def price_at(site: Site, moon_illumination: float) -> float:
    """Price of an hour at a site on an evening of this moon illumination, in the site's currency.

    >>> price_at(Site(0, 0, hour_price=((0.0, 900.0), (0.5, 600.0))), 0.5)
    600.0
    """
    return next((price for start, price in reversed(site.hour_price) if moon_illumination >= start), 0.0)


def cost_of_hours(sites: Sequence[Site], spent: Iterable[tuple[Site, float, float]]) -> dict[str, float]:
    """Return currency to cost, for the sites that charge.

    Parameters
    ----------
    sites : sequence of Site
        Those that charge have their currency in the answer, whether hours are spent there or not.
    spent : iterable of (Site, float, float)
        Hours at a site on an evening, and how far the Moon is lit then, in [0, 1].

    >>> here = Site(0, 0, hour_price=((0.0, 900.0),), currency="EUR")
    >>> cost_of_hours([here], [(here, 2.0, 0.1), (here, 0.5, 0.9)])
    {'EUR': 2250.0}
    """
    cost = {site.currency: 0.0 for site in sites if site.hour_price}
    for site, hours, moon_illumination in spent:
        if site.hour_price:
            cost[site.currency] += hours * price_at(site, moon_illumination)
    return cost
