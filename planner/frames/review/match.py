"""Frames against panels: which panel a frame shows, and how far it is off.

Everything is computed for a batch of frames at once.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from planner.geometry import sky_basis
from planner.mosaic.panel import Panel, panel_bases
from planner.rig.camera import Camera
from planner.rig.plate_solution import PlateSolution

from .limits import Limits
from .scale_check import ScaleCheck

__all__ = ["VERDICT_WORDS", "Match", "PanelMatcher", "Verdict", "nearest_turn_deg", "turn_on_sky_deg"]

Verdict = Literal["good", "off_target", "turned", "wrong_scale", "unsolved", "unreadable"]
VERDICT_WORDS: dict[str, str] = {
    "good": "good",
    "off_target": "off target",
    "turned": "turned",
    "wrong_scale": "wrong scale",
    "unsolved": "unsolved",
    "unreadable": "unreadable",
}
"""What verdicts are called, the best first."""
Vectors = NDArray[np.float64]
ANGLES_DIFFER_DEG = 0.2
"""From here on a reason says that position angle and turn on the sky differ, as they do near a pole."""


@dataclass(frozen=True)
class Match:
    """One solved frame against the plan.

    Parameters
    ----------
    panel : int or None
        Index of the nearest panel; None where the frame shows another part of the sky.
    offset_arcmin : float
        Of the frame's centre from that panel's centre.
    angle_off_deg : float
        Position angle of the frame less that of the panel, modulo 180 (90 for a square sensor), upright or
        upside down: in (-90, 90], degrees, east of north is positive.
    turn_deg : float
        The same as a turn on the sky: the panel is moved along a great circle onto the frame's centre first.
        Only near a pole the two differ; this one decides.
    upside_down : bool
        Whether the frame's up is nearer to the panel's down.
    verdict : str
    reason : str
        One phrase for each fault; empty for a good frame.
    other_camera : bool
        Whether no binning explains the frame's scale by the plan's camera.
    """

    panel: int | None
    offset_arcmin: float
    angle_off_deg: float
    turn_deg: float
    upside_down: bool
    verdict: Verdict
    reason: str
    other_camera: bool = False

    @property
    def foreign(self) -> bool:
        """Whether the frame is none of this plan: it shows another part of the sky, or is of another camera."""
        return self.panel is None or self.other_camera


class _Place(NamedTuple):
    """Where a frame lies on its nearest panel; names as in `Match`."""

    panel: int
    offset_arcmin: float
    angle_off_deg: float
    turn_deg: float
    upside_down: bool


def nearest_turn_deg(angle_deg: float | Vectors, period_deg: float) -> Vectors:
    """Fold an angle into (-period / 2, period / 2], degrees.

    >>> [float(nearest_turn_deg(angle, 180.0)) for angle in (179.0, -90.0, 90.0, 271.0)]
    [-1.0, 90.0, 90.0, -89.0]
    """
    half = period_deg / 2
    return np.asarray(half - (half - np.asarray(angle_deg)) % period_deg)


def turn_on_sky_deg(frames: Vectors, panels: Vectors) -> Vectors:
    """Turn from panels to frames about the line of sight, degrees east of north, (-180, 180].

    Parameters
    ----------
    frames, panels : ndarray, shape (N, 3, 3)
        Tangent plane bases (left, up, out). The panel's directions are carried along the great circle to the
        frame's centre: a direction u becomes u - (u.f) / (1 + p.f) (p + f).
    """
    to, start = frames[:, 2], panels[:, 2]
    middle = (to + start) / (1.0 + np.sum(to * start, axis=1))[:, None]
    left, up = (panels[:, axis] - np.sum(panels[:, axis] * to, axis=1)[:, None] * middle for axis in (0, 1))
    sine, cosine = np.sum(frames[:, 1] * left, axis=1), np.sum(frames[:, 1] * up, axis=1)
    return np.asarray(np.degrees(np.arctan2(sine, cosine)))


class PanelMatcher:
    """Judges frames against the panels of a plan.

    Parameters
    ----------
    panels : sequence of Panel
    camera : Camera
    limits : Limits
    """

    def __init__(self, panels: Sequence[Panel], camera: Camera, limits: Limits) -> None:
        from scipy.spatial import cKDTree

        self.panels, self.camera, self.limits = panels, camera, limits
        self.bases = panel_bases(panels)
        self.angles_deg = np.array([panel.position_angle_deg for panel in panels])
        self.period_deg = camera.field.period_deg
        self.diagonal_arcmin = 60.0 * float(np.hypot(camera.field.width_deg, camera.field.height_deg))
        own = np.flatnonzero([panel.field is None for panel in panels])
        self._numbers = (
            own if len(own) else np.arange(len(panels))
        )  # ground of other frames is no panel to shoot
        self._tree = cKDTree(self.bases[self._numbers, 2])
        self._scale = ScaleCheck(camera, limits)

    def match(self, solutions: Sequence[PlateSolution]) -> list[Match]:
        """Judge a batch of solved frames."""
        places = self._places(solutions) if solutions else []
        return [self._judge(solution, place) for solution, place in zip(solutions, places, strict=True)]

    def aimed_at(self, aim: tuple[float, float, float]) -> int | None:
        """Return the panel nearest to where a frame was pointed, by number; None where no panel is near.

        Parameters
        ----------
        aim : (float, float, float)
            Unit vector.
        """
        chord, place = self._tree.query(np.array(aim))
        far_arcmin = float(np.degrees(2 * np.arcsin(min(1.0, float(chord) / 2)))) * 60.0
        return int(self._numbers[place]) if far_arcmin <= self.diagonal_arcmin / 2 else None

    def _places(self, solutions: Sequence[PlateSolution]) -> list[_Place]:
        """Nearest panels, and how the frames lie on them."""
        ra, dec, angle = np.array([(s.ra_deg, s.dec_deg, s.position_angle_deg) for s in solutions]).T
        bases = sky_basis(ra, dec, angle)
        chord, place = self._tree.query(bases[:, 2])
        nearest = self._numbers[place]
        offset = np.degrees(2 * np.arcsin(np.clip(chord / 2, 0, 1))) * 60.0
        turn = turn_on_sky_deg(bases, self.bases[nearest])
        angle_off = nearest_turn_deg(angle - self.angles_deg[nearest], self.period_deg)
        folded = nearest_turn_deg(turn, self.period_deg)
        columns = nearest, offset, angle_off, folded, np.abs(turn) > 90.0
        return [_Place(*row) for row in zip(*(column.tolist() for column in columns), strict=True)]

    def _judge(self, solution: PlateSolution, place: _Place) -> Match:
        """Name every fault of one frame; the first gives the verdict."""
        elsewhere = place.offset_arcmin > self.diagonal_arcmin
        faults: list[tuple[Verdict, str]] = []
        if elsewhere:
            far = place.offset_arcmin / 60
            faults.append(("off_target", f"shows another part of the sky, {far:.1f} degrees from any panel"))
        elif place.offset_arcmin > self.limits.offset_arcmin:
            faults.append(("off_target", self._offset_text(place)))
        if not elsewhere and abs(place.turn_deg) > self.limits.angle_deg:
            faults.append(("turned", self._turn_text(place)))
        if fault := self._scale.fault(solution):
            faults.append(("wrong_scale", fault))
        return Match(
            None if elsewhere else place.panel,
            *place[1:],
            verdict=faults[0][0] if faults else "good",
            reason="; ".join(text for _, text in faults),
            other_camera=self._scale.is_other_camera(solution),
        )

    def _offset_text(self, place: _Place) -> str:
        name, limit = self.panels[place.panel].name, self.limits.offset_arcmin
        return f"{place.offset_arcmin:.1f} arc minutes off the centre of {name}, at most {limit:.1f} wanted"

    def _turn_text(self, place: _Place) -> str:
        text = f"turned by {place.turn_deg:+.1f} degrees, at most {self.limits.angle_deg:.1f} wanted"
        if abs(place.turn_deg - place.angle_off_deg) > ANGLES_DIFFER_DEG:
            text += f" (position angles differ by {place.angle_off_deg:+.1f}: the pole is near)"
        return text
