"""Ground that frames have shown: frames of one place, angle and size, and the rectangle that all of them hold."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.frames.review.limits import ANGLE_DEG, OFFSET_SHARE
from planner.frames.review.match import nearest_turn_deg, turn_on_sky_deg
from planner.geometry import footprint_vectors, sky_basis, steady, vector_to_plane
from planner.mosaic.panel import Field, Panel
from planner.rig.camera import Camera
from planner.rig.plate_solution import PlateSolution

__all__ = ["TakenGround", "taken_grounds"]

Array = NDArray[np.float64]
SIZE_SHARE = 0.02
"""Sizes of frames of one place differ by at most this part; centres and angles as a review allows by default."""
ROUNDS = 20
CLOSE = 1e-12
"""A corner may lie outside a frame by this (radians), which is rounding."""


@dataclass(frozen=True)
class TakenGround:
    """A place that frames have shown.

    Parameters
    ----------
    panel : Panel
        Its centre and angle, and as its field what all of the frames hold.
    frames : tuple of int
        Numbers of the frames.
    """

    panel: Panel
    frames: tuple[int, ...]

    @property
    def field_deg(self) -> tuple[float, float]:
        """Width and height of what all of the frames hold, degrees."""
        assert self.panel.field is not None
        return self.panel.field.width_deg, self.panel.field.height_deg


def taken_grounds(solutions: Sequence[PlateSolution], camera: Camera) -> list[TakenGround]:
    """Return the ground of solved frames, in the order of the first frame of each place.

    Of frames as large as the camera's only the usable part counts.

    Parameters
    ----------
    solutions : sequence of PlateSolution
    camera : Camera
        Of the plan.
    """
    if not solutions:
        return []
    places = np.array([(one.ra_deg, one.dec_deg, one.position_angle_deg) for one in solutions])
    bases = sky_basis(places[:, 0], places[:, 1], places[:, 2])
    half = np.array([_half_size(one, camera) for one in solutions])
    return [_ground(solutions, bases, half, group) for group in _groups(bases, half)]


def _half_size(solution: PlateSolution, camera: Camera) -> tuple[float, float]:
    """Half sizes of a frame in its tangent plane."""
    whole = [steady.tan(math.radians(degrees) / 2) for degrees in solution.field_deg]
    plan = (camera.field.half_width, camera.field.half_height)
    usable = [size * part for size, part in zip(whole, camera.usable, strict=True)]
    own = all(math.isclose(*pair, rel_tol=SIZE_SHARE) for pair in zip(usable, plan, strict=True))
    width, height = usable if own else whole
    return width, height


def _groups(bases: Array, half: Array) -> list[NDArray[np.intp]]:
    """Numbers of frames of one place, angle and size; every frame is like the first of its group."""
    left, groups = np.arange(len(bases)), []
    while len(left):
        like = _alike(bases[left], half[left], bases[left[0]], half[left[0]])
        groups.append(left[like])
        left = left[~like]
    return groups


def _alike(bases: Array, half: Array, basis: Array, size: Array) -> NDArray[np.bool_]:
    apart = np.sqrt(np.square(bases[:, 2] - basis[2]).sum(axis=1))
    near = apart <= OFFSET_SHARE * 2 * size.min()
    alike = np.asarray(near & (np.abs(half - size) <= SIZE_SHARE * size).all(axis=1))
    turns = turn_on_sky_deg(bases[alike], np.broadcast_to(basis, bases[alike].shape))
    alike[alike] = np.abs(nearest_turn_deg(turns, 180.0)) <= ANGLE_DEG
    return alike


def _ground(
    solutions: Sequence[PlateSolution], bases: Array, half: Array, group: NDArray[np.intp]
) -> TakenGround:
    middle = bases[group, 2].mean(axis=0)
    chosen = int(group[np.argmax(steady.dot(bases[group, 2], middle))])
    size = _held_by_all(bases[chosen], half[chosen], bases[group], half[group])
    width_deg, height_deg = (2 * math.degrees(steady.arctan(value)) for value in size)
    one, field = solutions[chosen], Field(width_deg, height_deg)
    place = one.ra_deg, one.dec_deg, one.position_angle_deg
    return TakenGround(Panel("", 1, 1, 1, *place, kept=True, field=field), tuple(group.tolist()))


def _held_by_all(basis: Array, size: Array, bases: Array, half: Array) -> Array:
    """Half sizes of a rectangle about one frame's centre, square with that, which all frames hold."""
    held = size.copy()
    for _ in range(ROUNDS):
        corners = footprint_vectors(basis, held[0], held[1])
        beyond = (np.abs(vector_to_plane(corners, bases[:, None])) - half[:, None]).max(axis=(0, 1))
        if (beyond <= CLOSE).all():
            break
        held = held - np.maximum(beyond, 0.0)
    return np.asarray(held)
