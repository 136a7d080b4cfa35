"""What turns the field across a mosaic or during an exposure although nobody turns the camera."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.geometry import wrapped_deg
from planner.mosaic.panel import Field, Panel
from planner.words import listed

from .camera import Camera
from .convergence import PolarError, polar_error, turns_against_deg
from .field_rotation import corner_blur_px, longest_exposure_s, worst_altaz_rotation_deg_per_h

__all__ = ["AltazEffect", "Effects", "OwnAngle", "altaz_effect", "effects", "effects_words"]

USUAL_POLAR_ERROR_ARCMIN = 5.0
"""A polar axis set with care; common practice, no source."""
TELLING_TURN_DEG = 0.05
NAMED = 5


@dataclass(frozen=True)
class AltazEffect:
    """Field rotation on an alt-azimuth mount whose camera does not follow it.

    Parameters
    ----------
    rate_deg_per_h : float
        Fastest, while any panel stands above the lowest altitude; infinite through the zenith.
    longest_exposure_s : float
        That keeps the corners' blur below a pixel at that rate.
    blur_px : float or None
        Of the longest exposure planned; None where none is.
    """

    rate_deg_per_h: float
    longest_exposure_s: float
    blur_px: float | None


@dataclass(frozen=True)
class OwnAngle:
    """Panels whose position angle is not the picture's, so that not only meridians turn them against it.

    Parameters
    ----------
    names : tuple of str
    every : bool
        Whether these are all panels.
    position_angle_deg, picture_deg : float
        Theirs and the picture's, degrees east of north.
    against_picture_deg : float
        Their largest turn against the picture's up at their own centres.
    """

    names: tuple[str, ...]
    every: bool
    position_angle_deg: float
    picture_deg: float
    against_picture_deg: float


@dataclass(frozen=True)
class Effects:
    """Differential effects of a plan.

    Parameters
    ----------
    against_picture_deg : float
        Largest turn against the picture's up at its own centre, from converging meridians, of a panel that has the
        picture's position angle or follows its up; 0 without such panels.
    polar_error_arcmin : float
        Assumed for what follows.
    polar : PolarError
    polar_blur_px : float or None
        At the corners of a guided frame, in the longest exposure planned; None where none is.
    altaz : AltazEffect or None
        None where the mount is equatorial or the site is not known.
    """

    against_picture_deg: float
    polar_error_arcmin: float
    polar: PolarError
    polar_blur_px: float | None
    altaz: AltazEffect | None = None
    own: tuple[OwnAngle, ...] = ()


def effects(
    panels: Sequence[Panel],
    field: Field,
    camera: Camera,
    *,
    picture: tuple[float, float, float],
    exposure_s: float | None = None,
    altaz: AltazEffect | None = None,
) -> Effects:
    """Work out what turns the field across a mosaic.

    Parameters
    ----------
    panels : sequence of Panel
    field : Field
    camera : Camera
    picture : (float, float, float)
        Right ascension and declination of its centre and the position angle of its up, degrees.
    exposure_s : float, optional
        Longest exposure planned.
    altaz : AltazEffect, optional
    """
    period = field.period_deg
    turns = np.abs(wrapped_deg(turns_against_deg(panels, *picture), period))
    angles = np.array([panel.position_angle_deg for panel in panels])
    apart = np.abs(wrapped_deg(angles - picture[2], period))
    own = (turns >= TELLING_TURN_DEG) & (apart >= TELLING_TURN_DEG)
    against = float(turns[~own].max(initial=0.0))
    polar = polar_error(panels, USUAL_POLAR_ERROR_ARCMIN)
    blur = None
    if exposure_s is not None:
        blur = corner_blur_px(polar.rate_deg_per_h * exposure_s / 3600.0, camera.binned_px)
    found = _own_angles([panel for panel, is_own in zip(panels, own, strict=True) if is_own], turns[own])
    told = tuple(_own_angle(rows, picture[2], period, every=len(rows) == len(panels)) for rows in found)
    return Effects(against, USUAL_POLAR_ERROR_ARCMIN, polar, blur, altaz, told)


def _own_angles(panels: Sequence[Panel], turns_deg: NDArray[np.float64]) -> list[list[tuple[Panel, float]]]:
    """Panels with their turns, those of one position angle together."""
    groups: dict[float, list[tuple[Panel, float]]] = {}
    for panel, turn in zip(panels, turns_deg.tolist(), strict=True):
        groups.setdefault(round(panel.position_angle_deg, 2), []).append((panel, turn))
    return list(groups.values())


def _own_angle(
    rows: Sequence[tuple[Panel, float]], picture_deg: float, period_deg: float, *, every: bool
) -> OwnAngle:
    names = tuple(panel.name for panel, _ in rows)
    angle = rows[0][0].position_angle_deg % period_deg
    return OwnAngle(names, every, angle, picture_deg % period_deg, max(turn for _, turn in rows))


def altaz_effect(
    panels: Sequence[Panel],
    camera: Camera,
    *,
    latitude_deg: float,
    lowest_altitude_deg: float,
    exposure_s: float | None = None,
) -> AltazEffect:
    """Work out the field rotation of an alt-azimuth mount at its worst over all panels.

    Parameters
    ----------
    panels : sequence of Panel
    camera : Camera
    latitude_deg, lowest_altitude_deg : float
        Of the site.
    exposure_s : float, optional
        Longest exposure planned.
    """
    decs = {panel.dec_deg for panel in panels}
    rate = max(worst_altaz_rotation_deg_per_h(latitude_deg, dec, lowest_altitude_deg) for dec in decs)
    longest = longest_exposure_s(rate, camera.binned_px)
    blur = None
    if exposure_s is not None:
        turn_deg = min(180.0, rate * exposure_s / 3600.0)
        blur = corner_blur_px(turn_deg, camera.binned_px)
    return AltazEffect(rate, longest, blur)


def effects_words(found: Effects, *, mount_kind: str, device_kind: str | None) -> tuple[str, ...]:
    """Put the effects into sentences; nothing is said of what is too small to matter.

    Parameters
    ----------
    found : Effects
    mount_kind : {'german', 'fork', 'altaz'}
    device_kind : {'rotator', 'adjuster', 'fixed'} or None
    """
    lines = []
    if found.against_picture_deg >= TELLING_TURN_DEG:
        lines.append(
            f"Meridians converge: panels stand up to {found.against_picture_deg:.1f}° askew against the "
            "picture; the plan allows for it."
        )
    lines += [_own_words(one) for one in found.own]
    if mount_kind == "altaz":
        lines.append(_altaz_words(found.altaz, device_kind))
    elif found.polar.spread_deg >= TELLING_TURN_DEG or (found.polar_blur_px or 0.0) >= 0.5:
        lines.append(_polar_words(found))
    return tuple(lines)


def _own_words(found: OwnAngle) -> str:
    angle = f"{found.position_angle_deg:.1f}°"
    who = f"Panel {found.names[0]} stands at a position angle of its own, {angle}"
    if found.every:
        who = f"All panels stand at position angle {angle}"
    elif len(found.names) > 1:
        who = f"Panels {listed(found.names, NAMED)} stand at a position angle of their own, {angle}"
    return (
        f"{who}, the picture at {found.picture_deg:.1f}°: up to {found.against_picture_deg:.1f}° askew against it, "
        "converging meridians included; the plan allows for it."
    )


def _polar_words(found: Effects) -> str:
    blur = found.polar_blur_px
    during = "" if blur is None else f" and smears the corners by up to {blur:.1f} pixels in one exposure"
    return (
        f"A polar axis off by {found.polar_error_arcmin:g} arc minutes turns panels against each other by up to "
        f"{found.polar.spread_deg:.2f}°{during}."
    )


def _altaz_words(found: AltazEffect | None, device_kind: str | None) -> str:
    need = "the rotator must follow the field (derotate)"
    if device_kind != "rotator":
        need = "only a rotator that follows the field (derotates) allows longer ones"
    if found is None:
        return (
            f"An alt-azimuth mount turns the field; give [site] for how fast. Beyond short exposures {need}."
        )
    blur = "" if found.blur_px is None else f" (the longest planned: {found.blur_px:.0f} pixels)"
    return (
        f"The alt-azimuth mount turns the field by up to {found.rate_deg_per_h:.1f}° an hour: exposures over "
        f"{found.longest_exposure_s:.1f} s smear the corners by more than a pixel{blur}; {need}."
    )
