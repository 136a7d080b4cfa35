"""What there is to frame in a season, as one call with plain options or astropy's types."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from planner.answers.targets import find
from planner.answers.targets.target import TargetList
from planner.answers.targets.wish import TargetWish
from planner.errors import InputError
from planner.night.settings import Nights
from planner.progress import Progress
from planner.request.request import Request, Setup

from .plain import checked_date
from .quantities import plain_table

__all__ = ["find_targets"]


def find_targets(
    setup: Setup,
    *,
    first: dt.date | None = None,
    last: dt.date | None = None,
    done: Sequence[Request] = (),
    progress: Progress | None = None,
    **wish: Any,
) -> TargetList:
    """List what a setup can frame in a season.

    Parameters
    ----------
    setup : Setup
        As `read_setup_file` gives it.
    first, last : datetime.date, optional
        Evenings; the setup's own season where both are left out.
    done : sequence of Request
        Plans that exist: what they cover is marked.
    progress : callable, optional
    **wish
        ``margin`` (share of the short side), ``angle_deg`` (the camera's present one), ``by``, ``panels``, ``kinds``,
        ``constellations``, ``catalogues``, ``size_arcmin``, ``dec_deg``, ``names``, ``groups``: numbers, or
        quantities.

    Raises
    ------
    InputError
        If an option is unknown or out of range, or the setup has no camera, site or season.
    """
    if not isinstance(setup, Setup):
        raise InputError(f"setup must be a setup, got {setup!r}; give what read_setup_file returns")
    known = TargetWish.__dataclass_fields__
    strange = [name for name in wish if name not in known]
    if strange:
        raise InputError(f"find_targets has no option {strange[0]!r}; its options are {', '.join(known)}")
    plain: dict[str, Any] = {
        name: tuple(value) if isinstance(value, list) else value
        for name, value in plain_table("", wish).items()
    }
    return find.find_targets(
        setup, _nights(setup, first, last), TargetWish(**plain), done=done, progress=progress
    )


def _nights(setup: Setup, first: dt.date | None, last: dt.date | None) -> Nights | None:
    usual, first, last = setup.nights, checked_date("first", first), checked_date("last", last)
    if first is None and last is None:
        return usual
    if usual is not None:
        first, last = first or usual.first, last or usual.last
    if first is None or last is None:
        raise InputError("the season needs both ends, got one; give first and last")
    return replace(usual, first=first, last=last) if usual else Nights(first, last)
