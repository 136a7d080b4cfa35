"""The net of right ascension and declination on a chart: lines, steps and labels.

Works alike at the poles and across right ascension 0. Lines are plane polylines; nothing here draws.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from planner.geometry import sky_to_vector

from .window import Window

__all__ = ["GraticuleLabel", "GraticuleLine", "graticule_labels", "graticule_lines"]

Axis = Literal["ra", "dec"]
Side = Literal["left", "right", "bottom", "top", "inside"]

RA_STEPS_S = (1, 2, 5, 10, 20, 30, 60, 120, 300, 600, 1200, 1800, 3600, 7200, 10800, 21600)
"""Steps in right ascension, seconds of time; all divide 24 h."""
DEC_STEPS_ARCSEC = (5, 10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200, 18000, 36000, 54000, 108000)
"""Steps in declination, arc seconds."""
LINES_ACROSS = 7.5
"""About so many steps cross the window."""
WIDEST_PART = 0.8
"""Steps in right ascension suit this part of their width where it is widest in the window."""
LEAST_GAP = 0.04
"""Right ascension lines end where they come closer than this fraction of the window's width."""
POINTS = 181
DAY_S = 86400


@dataclass(frozen=True)
class GraticuleLine:
    """A line of constant right ascension or declination.

    Parameters
    ----------
    axis : {'ra', 'dec'}
        Which coordinate is constant.
    value_deg : float
        That coordinate, degrees.
    text : str
        Label, in h m s or degrees.
    xy : ndarray, shape (N, 2)
        Plane coordinates; NaN where there is no image.
    """

    axis: Axis
    value_deg: float
    text: str
    xy: NDArray[np.float64]


@dataclass(frozen=True)
class GraticuleLabel:
    """Where a line is named: a point on the rim (or inside, for a circle that never meets the rim)."""

    text: str
    axis: Axis
    side: Side
    x: float
    y: float


def graticule_lines(window: Window) -> list[GraticuleLine]:
    """Lines that cross a window, with steps that suit its size and declination.

    Near a pole right ascension lines thin out: fewer and fewer go on, those of 0, 6, 12 and 18 h to the pole.
    """
    low, high, south, north = window.sky_range()
    step_s, step_arcsec = _steps(window, south, north)
    whole = high - low >= 360.0
    parallels = [
        _parallel(window, number * step_arcsec, step_arcsec, low, high)
        for number in _numbers(south * 3600, north * 3600, step_arcsec)
        if abs(number * step_arcsec) < 90 * 3600
    ]
    first = window.center_deg[0] * 240
    numbers = range(DAY_S // step_s) if whole else _numbers(first + low * 240, first + high * 240, step_s)
    meridians = [
        _meridian(window, number * step_s, step_s, step_arcsec, (south, north)) for number in numbers
    ]
    return [*parallels, *(line for line in meridians if line is not None)]


def graticule_labels(
    lines: Sequence[GraticuleLine],
    window: Window,
    *,
    label_width: float,
    label_height: float,
    blocked: Sequence[tuple[float, float, float, float]] = (),
) -> list[GraticuleLabel]:
    """Labels at the window's rim, none upon another.

    Right ascension is named at bottom and top, declination at left and right; a line that meets only other
    sides is named there, a circle left without a name inside.

    Parameters
    ----------
    label_width, label_height : float
        Room that a label takes, in plane units.
    blocked : sequence of (float, float, float, float)
        Boxes (least x, least y, greatest x, greatest y) where no label may stand inside the window.
    """
    chosen: list[GraticuleLabel] = []
    homes: dict[Axis, tuple[Side, ...]] = {"ra": ("bottom", "top"), "dec": ("left", "right")}
    labels = {id(line): _rim_labels(line, window) for line in lines}
    room = {"bottom": label_width, "top": label_width, "left": label_height, "right": label_height}
    for at_home in (True, False):
        for line in lines:
            named = any(label.text == line.text and label.axis == line.axis for label in chosen)
            for label in labels[id(line)]:
                if (label.side in homes[line.axis]) is at_home and (at_home or not named):
                    _add_if_free(label, chosen, room)
    named_dec = {label.text for label in chosen if label.axis == "dec"}
    unnamed = [line for line in lines if line.axis == "dec" and line.text not in named_dec]
    clear = _Clear(window, lines, label_width, label_height, blocked)
    return [*chosen, *filter(None, (clear.label(line) for line in unnamed))]


def _steps(window: Window, south: float, north: float) -> tuple[int, int]:
    """Choose steps in right ascension (seconds of time) and declination (arc seconds)."""
    reach = (window.width + window.height) / 2
    across = 2 * math.atan(reach / 2) / LINES_ACROSS
    step_arcsec = next(
        (s for s in DEC_STEPS_ARCSEC if s >= math.degrees(across) * 3600), DEC_STEPS_ARCSEC[-1]
    )
    nearest_equator = 0.0 if south < 0.0 < north else min(abs(south), abs(north))
    wanted_s = math.degrees(across) * 240 / max(WIDEST_PART * math.cos(math.radians(nearest_equator)), 1e-9)
    return next((s for s in RA_STEPS_S if s >= wanted_s), RA_STEPS_S[-1]), step_arcsec


def _numbers(low: float, high: float, step: float) -> range:
    return range(math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9) + 1)


def _parallel(window: Window, arcsec: int, step_arcsec: int, low: float, high: float) -> GraticuleLine:
    count = POINTS if high - low < 360.0 else 2 * POINTS - 1
    ra_deg = window.center_deg[0] + np.linspace(low, high, count)
    xy = window.project(sky_to_vector(ra_deg, arcsec / 3600))
    return GraticuleLine("dec", arcsec / 3600, _dec_text(arcsec, step_arcsec), xy)


def _meridian(
    window: Window, seconds: int, step_s: int, step_arcsec: int, reach_deg: tuple[float, float]
) -> GraticuleLine | None:
    end_deg = _end_deg(seconds, step_s, step_arcsec, LEAST_GAP * window.width)
    south, north = max(reach_deg[0], -end_deg), min(reach_deg[1], end_deg)
    if south >= north:
        return None
    xy = window.project(sky_to_vector(seconds / 240, np.linspace(south, north, POINTS)))
    return GraticuleLine("ra", seconds / 240 % 360.0, _ra_text(seconds % DAY_S, step_s), xy)


def _end_deg(seconds: int, step_s: int, step_arcsec: int, gap: float) -> float:
    """Declination, of either sign, where a right ascension line ends: a parallel with room beside it."""
    if seconds % RA_STEPS_S[-1] == 0:
        return 90.0
    coarse = step_s
    for step in RA_STEPS_S[RA_STEPS_S.index(step_s) + 1 :]:
        if step % coarse == 0 and seconds % step == 0:
            coarse = step
    cos_dec = gap / math.radians(coarse / 240)
    end_arcsec = math.degrees(math.acos(min(cos_dec, 1.0))) * 3600
    return math.floor(end_arcsec / step_arcsec) * step_arcsec / 3600


def _ra_text(seconds: int, step_s: int) -> str:
    """Label in hours, minutes and seconds, as fine as the step.

    >>> _ra_text(30600, 600), _ra_text(7200, 3600), _ra_text(65, 5)
    ('8ʰ30ᵐ', '2ʰ', '0ʰ01ᵐ05ˢ')
    """
    text = f"{seconds // 3600}ʰ"
    if step_s % 3600:
        text += f"{seconds // 60 % 60:02d}ᵐ"
    return text + (f"{seconds % 60:02d}ˢ" if step_s % 60 else "")


def _dec_text(arcsec: int, step_arcsec: int) -> str:
    """Label in degrees, minutes and seconds, as fine as the step.

    >>> _dec_text(-163800, 1800), _dec_text(3600, 3600), _dec_text(0, 3600)
    ('−45°30′', '+1°', '0°')
    """
    sign, size = ("−" if arcsec < 0 else "+" if arcsec else ""), abs(arcsec)
    text = f"{sign}{size // 3600}°"
    if step_arcsec % 3600:
        text += f"{size // 60 % 60:02d}′"
    return text + (f"{size % 60:02d}″" if step_arcsec % 60 else "")


def _rim_labels(line: GraticuleLine, window: Window) -> list[GraticuleLabel]:
    """Labels at all places where a line crosses the rim."""
    ends = np.stack([line.xy[:-1], line.xy[1:]], axis=1)
    inside = window.holds(ends)
    labels = []
    for (start, stop), (start_in, _) in zip(
        ends[inside[:, 0] != inside[:, 1]], inside[inside[:, 0] != inside[:, 1]], strict=True
    ):
        inner, outer = (start, stop) if start_in else (stop, start)
        if np.isfinite(outer).all():
            side, x, y = _crossing(inner, outer, window)
            labels.append(GraticuleLabel(line.text, line.axis, side, x, y))
    return labels


def _crossing(
    inner: NDArray[np.float64], outer: NDArray[np.float64], window: Window
) -> tuple[Side, float, float]:
    """Side and point where the way from an inner to an outer point leaves the window."""
    step = outer - inner
    ways: list[tuple[float, Side]] = []
    for side, axis, limit in (
        ("left", 0, window.left),
        ("right", 0, window.right),
        ("bottom", 1, window.bottom),
        ("top", 1, window.top),
    ):
        part = (limit - inner[axis]) / step[axis] if step[axis] else -1.0
        if 0.0 <= part <= 1.0 and window.holds(_onto(inner + part * step, window)):
            ways.append((float(part), side))  # type: ignore[arg-type]
    part, side = min(ways)
    x, y = inner + part * step
    return side, float(x), float(y)


def _onto(xy: NDArray[np.float64], window: Window) -> NDArray[np.float64]:
    """Pull a point that misses the window by rounding onto its rim."""
    slack = 1e-9 * (window.width + window.height)
    pulled = np.clip(xy, [window.right, window.bottom], [window.left, window.top])
    return pulled if np.abs(pulled - xy).max() <= slack else xy


def _add_if_free(label: GraticuleLabel, chosen: list[GraticuleLabel], room: dict[str, float]) -> None:
    along = "x" if label.side in ("bottom", "top") else "y"
    for other in chosen:
        if other.side == label.side and abs(getattr(other, along) - getattr(label, along)) < room[label.side]:
            return
    chosen.append(label)


class _Clear:
    """Where a label inside the window stands clear of rim, blocked boxes and right ascension lines."""

    def __init__(
        self,
        window: Window,
        lines: Sequence[GraticuleLine],
        label_width: float,
        label_height: float,
        blocked: Sequence[tuple[float, float, float, float]],
    ) -> None:
        rim = (window.right, window.bottom, window.left, window.top)
        pad = np.array([label_width / 2, label_height / 2])
        self.inner = np.array(rim) + [*pad, *-pad]
        self.blocked = [np.array(box) + [*-pad, *pad] for box in blocked]
        meridians = [line.xy[window.holds(line.xy)] for line in lines if line.axis == "ra"]
        self.meridians = np.concatenate([xy for xy in meridians if len(xy)] or [np.full((1, 2), np.inf)])

    def label(self, line: GraticuleLine) -> GraticuleLabel | None:
        """Label of a circle of declination, low on it; None if there is no room."""
        free = _within(line.xy, self.inner)
        for box in self.blocked:
            free &= ~_within(line.xy, box)
        places = line.xy[free]
        if not len(places):
            return None
        low = places[places[:, 1] <= np.quantile(places[:, 1], 0.4)]
        distance = np.linalg.norm(low[:, None] - self.meridians[None], axis=-1).min(axis=1)
        x, y = low[np.argmax(distance)]
        return GraticuleLabel(line.text, line.axis, "inside", float(x), float(y))


def _within(xy: NDArray[np.float64], box: NDArray[np.float64]) -> NDArray[np.bool_]:
    return np.asarray(np.all((xy >= box[:2]) & (xy <= box[2:]), axis=-1))
