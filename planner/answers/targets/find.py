"""What a setup can frame in a season: every nebula looked at, those that fit and rise in the dark listed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from planner.errors import InputError
from planner.geometry import sky_to_vector, wrapped_deg
from planner.night.many import SeasonHours, season_hours
from planner.night.settings import Nights
from planner.night.unseen import greatest_altitude_deg
from planner.progress import Progress
from planner.request.request import Request, Setup
from planner.rig.mount import flip_after_s

from .frames import Framing, frames_of
from .groups import find_all_groups
from .listed import Candidate, listed
from .narrow import narrowed
from .needs import panels_of
from .rank import ranked
from .sky import all_things
from .target import Cuts, TargetList
from .wish import TargetWish

__all__ = ["check_setup", "find_targets", "present_angle_deg"]

MOST_EVENINGS = 731
"""Two years."""
ALIKE_DEG = 0.01


def find_targets(
    setup: Setup,
    nights: Nights | None = None,
    wish: TargetWish | None = None,
    *,
    done: Sequence[Request] = (),
    progress: Progress | None = None,
) -> TargetList:
    """Return the nebulae that a setup's field can frame and its site can see in the dark of a season.

    Parameters
    ----------
    setup : Setup
        With a camera and a site; angle device, mount and filters count too.
    nights : Nights, optional
        The season; the setup's own where left out.
    wish : TargetWish, optional
        Which targets, at which angle and margin, ranked by what.
    done : sequence of Request
        Plans that exist: their targets are marked.
    progress : callable, optional

    Raises
    ------
    InputError
        If the setup has no camera or no site, there is no season or a longer one than two years, a kind,
        constellation, catalogue or name is unknown, or targets are to be ranked by a cost that there is none of.

    Notes
    -----
    Hours are those that `plan_nights` adds up for a panel at the frame's centre, to the second. Margins and angles
    are those of `fit_setups`; best margins may fall short of the best possible by some hundredths of an arc minute.
    """
    wish = wish or TargetWish()
    given = setup
    setup, nights = check_setup(setup, nights, wish)
    assert setup.camera is not None
    now_deg = present_angle_deg(setup, wish)
    framing = Framing(setup.camera.field, wish.margin, now_deg, setup.angle_device)
    things = narrowed(all_things(), wish)
    frames = frames_of([one.shape for one in things], framing, progress=progress)
    needs = panels_of(setup, wish, framing, [(one,) for one in things], frames, progress=progress)
    held = [k for k, (panels, _) in enumerate(needs) if panels is not None and panels <= wish.panels]
    nebulae = [Candidate((things[k],), frames[k], needs[k]) for k in held]
    groups, note = _groups(setup, wish, framing, nebulae, progress)
    hours = _hours(setup, nights, [*nebulae, *groups], progress)
    seen = np.asarray(hours.any_s.any(axis=1))
    targets = listed(setup, nights, [*nebulae, *groups], hours, done)
    low = int((~hours.in_reach[: len(nebulae)]).sum())
    return TargetList(
        setup=given,
        nights=nights,
        wish=wish,
        targets=ranked(targets, wish),
        cuts=Cuts(
            known=len(all_things()),
            narrowed=len(all_things()) - len(things),
            too_large=len(things) - len(nebulae),
            low=low,
            by_day=len(nebulae) - low - int(seen[: len(nebulae)].sum()),
        ),
        now_deg=now_deg,
        margin_asked_arcmin=framing.margin_asked_arcmin,
        arcs_deg=framing.arcs_deg,
        groups_note=note,
    )


def _groups(
    setup: Setup, wish: TargetWish, framing: Framing, nebulae: Sequence[Candidate], progress: Progress | None
) -> tuple[list[Candidate], str]:
    """Groups of nebulae that fit one frame and could rise above the lowest altitude."""
    if not wish.groups:
        return [], ""
    reach = framing.field.width_deg + framing.field.height_deg
    some = [
        one.things[0]
        for one in nebulae
        if one.framed.fits and _could_rise(setup, one.things[0].nebula.dec_deg, reach)
    ]
    found, note = find_all_groups(some, framing, progress=progress)
    needs = panels_of(
        setup, wish, framing, [one.members for one in found], [one.framed for one in found], progress=progress
    )
    return [Candidate(one.members, one.framed, need) for one, need in zip(found, needs, strict=True)], note


def _could_rise(setup: Setup, dec_deg: float, spare_deg: float) -> bool:
    return any(
        greatest_altitude_deg(one, dec_deg) + spare_deg >= one.lowest_altitude_deg for one in setup.sites
    )


def check_setup(setup: Setup, nights: Nights | None, wish: TargetWish) -> tuple[Setup, Nights]:
    """Return the setup and its season; see `find_targets` for what is refused."""
    name = setup.path.name if setup.path else "the setup"
    if setup.camera is None:
        raise InputError(f"targets need a camera, got none; add [camera] to {name}")
    if not setup.sites:
        raise InputError(f"targets need a site, got none; add [site] to {name}")
    nights = nights or setup.nights
    if nights is None:
        raise InputError(
            f"targets need a season, got none; give its first and last evening, or add [nights] to {name}"
        )
    if len(nights.evenings) > MOST_EVENINGS:
        raise InputError(
            f"a season of targets must be at most two years ({MOST_EVENINGS} evenings), got {len(nights.evenings)}; "
            "give an earlier last evening"
        )
    if wish.by == "cost" and not (setup.filters and len(setup.sites) == 1 and setup.sites[0].hour_price):
        raise InputError(
            f"ranking by cost needs filters and one site with hour_price, got none in {name}; "
            "add them, or rank by something else"
        )
    return replace(setup, nights=nights), nights


def present_angle_deg(setup: Setup, wish: TargetWish) -> float | None:
    """Return the camera's present angle: the one asked for, or that of a fixed camera; modulo the field's period."""
    assert setup.camera is not None
    device = setup.angle_device
    angle = wish.angle_deg
    period_deg = setup.camera.field.period_deg
    if device is not None and device.kind == "fixed":
        fixed = device.position_angle_of(0.0)
        if angle is not None and abs(wrapped_deg(angle - fixed, period_deg)) > ALIKE_DEG:
            raise InputError(
                f"the camera is fixed at position angle {fixed:g}, got {angle:g} for the present one; leave it out"
            )
        angle = fixed
    return None if angle is None else angle % period_deg


def _hours(
    setup: Setup, nights: Nights, candidates: Sequence[Candidate], progress: Progress | None
) -> SeasonHours:
    centers = np.array([one.framed.placement.center_deg for one in candidates], dtype=float).reshape(-1, 2)
    return season_hours(
        sky_to_vector(centers[:, 0], centers[:, 1]),
        setup.sites,
        nights,
        setup.filters,
        flip_after_s=flip_after_s(setup.mount),
        progress=progress,
    )
