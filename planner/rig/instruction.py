"""The instruction: what a helper at the telescope does, in words that need no plan beside them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from planner.words import rounded_down

from .aim import aim_deg
from .angle_device import AngleDevice
from .angle_report import AngleReport
from .cautions import first_caution
from .turn import Turn

__all__ = [
    "CLEAR",
    "Instruction",
    "Setting",
    "degrees",
    "instruction",
    "names",
    "settings",
    "tolerance_words",
    "turning_words",
]


@dataclass(frozen=True)
class Setting:
    """Panels in a row that share a reading.

    Parameters
    ----------
    panels : tuple of str
    reading_deg : float
    position_angle_deg : float
        As the first of the panels asks for.
    reachable : bool
    """

    panels: tuple[str, ...]
    reading_deg: float
    position_angle_deg: float
    reachable: bool


@dataclass(frozen=True)
class Instruction:
    """One turn of the camera, in words.

    Parameters
    ----------
    title : str
    present, target : str
        Readings; `present` is empty where it is not known.
    steps : tuple of str
        In order.
    tolerance : str
        How exact the setting must be.
    after_flip : str
    """

    title: str
    present: str
    target: str
    steps: tuple[str, ...]
    tolerance: str
    after_flip: str


LEAST_TOLD_DEG = 0.05
"""Smaller tolerances are of no use at a scale."""
CLEAR = "See on the pier camera, or have the site's operator say, that nothing and nobody is in the way."
"""What is done before a motor moves anything; why, the cautions tell."""
AFTER_FLIP = {
    "german": "After the meridian flip, looking west, frames come turned by 180° and cover the same sky: "
    "nobody turns the camera.",
    "fork": "This mount does not flip at the meridian: the camera stays as it is.",
    "altaz": "On an alt-azimuth mount a reading holds only while the rotator follows the turning field; "
    "there is no meridian flip.",
}


def degrees(value: float, *, sign: bool = False) -> str:
    """Write an angle with one decimal and the sign of degrees, never as minus zero.

    >>> degrees(-0.04), degrees(17.64), degrees(3.0, sign=True)
    ('0.0°', '17.6°', '+3.0°')
    """
    rounded = round(value, 1) + 0.0
    return f"{rounded:+.1f}°" if sign else f"{rounded:.1f}°"


def settings(report: AngleReport) -> tuple[Setting, ...]:
    """Group the readings in shooting order: panels that follow each other with one reading."""
    groups: list[Setting] = []
    order = sorted(zip(report.panels, report.readings, strict=True), key=lambda pair: pair[0].order)
    for panel, reading in order:
        if groups and abs(groups[-1].reading_deg - reading.reading_deg) < 0.005:
            last = groups.pop()
            groups.append(
                Setting((*last.panels, panel.name), last.reading_deg, last.position_angle_deg, last.reachable)
            )
        else:
            groups.append(
                Setting((panel.name,), reading.reading_deg, panel.position_angle_deg, reading.reachable)
            )
    return tuple(groups)


def turning_words(position_angle_change_deg: float, *, mirrored: bool | None) -> str:
    """Direction of a turn as seen from behind the camera, looking along it towards the sky.

    Position angle grows counter-clockwise on the sky; an even number of mirrors keeps that for the camera, an
    odd number, whose frames are mirrored, reverses it.

    Parameters
    ----------
    position_angle_change_deg : float
    mirrored : bool or None
        Parity of a solved frame; None where there is none.

    >>> turning_words(12.0, mirrored=False), turning_words(12.0, mirrored=True)
    ('counter-clockwise', 'clockwise')
    """
    return "counter-clockwise" if (position_angle_change_deg > 0) != bool(mirrored) else "clockwise"


def instruction(report: AngleReport) -> Instruction:
    """Put the first setting of a plan into words.

    Parameters
    ----------
    report : AngleReport
        With an angle device.
    """
    device = report.device
    if device is None:
        raise ValueError("an instruction needs an angle device")
    target = _target_reading(report)
    steps = _fixed_steps(report) if device.kind == "fixed" else _steps(report, device, target)
    return Instruction(
        title=report.title,
        present=degrees(report.turn.from_reading_deg) if report.turn else "",
        target=degrees(target),
        steps=tuple(steps),
        tolerance=tolerance_words(report),
        after_flip=AFTER_FLIP[report.mount.kind if report.mount else "german"],
    )


def _target_reading(report: AngleReport) -> float:
    if report.turn:
        return report.turn.to_reading_deg
    if report.match_reading:
        return report.match_reading.reading_deg
    return next(
        reading.reading_deg
        for panel, reading in zip(report.panels, report.readings, strict=True)
        if panel is report.first_panel
    )


def _aimed_position_angle_deg(report: AngleReport) -> float:
    """Position angle at the reading that is set: the nearest in reach where the target is not."""
    if report.match_reading is not None:
        return report.match_reading.nearest_position_angle_deg
    first = report.first_panel.name
    return next(one.nearest_position_angle_deg for one in report.readings if one.name == first)


def _fixed_steps(report: AngleReport) -> list[str]:
    return ["The camera is fixed: nobody turns it.", CLEAR, _verify(report, "Check")]


def _steps(report: AngleReport, device: AngleDevice, target: float) -> list[str]:
    first = CLEAR if device.kind == "rotator" else first_caution(device)
    steps = [first, *_present_steps(report.turn), *_turn_steps(report, device, target)]
    return [*steps, _verify(report, "Verify")]


def _present_steps(turn: Turn | None) -> list[str]:
    if turn is None:
        return []
    return [
        f"Read the scale: it should show {degrees(turn.from_reading_deg)}. "
        "If it does not, stop, note what it shows and ask."
    ]


def _turn_steps(report: AngleReport, device: AngleDevice, target: float) -> list[str]:
    line = device.nearest_division(target)
    between = abs(line - target) > 0.05
    nearest = f" (nearest line: {line:g}; set it between the lines if you can)" if between else ""
    if device.kind == "rotator":
        return [_motor_step(report.turn, target)]
    goal = f"Set the scale to {degrees(target)}{nearest}, then tighten the clamp."
    turn = report.turn
    if turn is None:
        return [goal]
    if abs(turn.reading_deg) < 0.05:
        return ["Nothing needs to be turned: the scale already shows the right reading."]
    return [f"Loosen the clamp, hold the camera and turn it {_way(report, turn)}.", goal]


def _motor_step(turn: Turn | None, target: float) -> str:
    by = f", a turn of {degrees(turn.reading_deg, sign=True)} on its scale" if turn else ""
    return (
        f"Send the rotator to its own reading {degrees(target)}{by}; watch the cables until it has stopped."
    )


def _way(report: AngleReport, turn: Turn) -> str:
    solution = report.frames[-1].solution
    words = turning_words(turn.position_angle_deg, mirrored=solution.parity == "mirrored")
    trend = "rises" if turn.reading_deg > 0 else "falls"
    return (
        f"by {degrees(abs(turn.reading_deg))} {words}, seen from behind the camera towards the sky: "
        f"the reading {trend} (if it does not, go by the scale)"
    )


def _verify(report: AngleReport, verb: str) -> str:
    period = report.period_deg
    first = _aimed_position_angle_deg(report) % period
    alike = [degrees(first + step * period) for step in range(round(360.0 / period))]
    end = f"{', '.join(alike[:-1])} or {alike[-1]}"
    limit = aim_deg(report)
    within = "" if limit is None else f", within {_below(limit)}{_whole_words(report, limit)}"
    frame = "one more frame" if report.frames else "a frame"
    return (
        f"{verb} with {frame}: take it, have it solved; the position angle of its up direction, "
        f"east of north, must be {end}{within}."
    )


def _whole_words(report: AngleReport, aim: float) -> str:
    """Say within what the overlap stays whole, where that is less than what is asked for."""
    kept = report.tolerances.overlap
    if kept is None or not LEAST_TOLD_DEG <= kept.together_deg < aim:
        return ""
    words = _below(kept.together_deg)
    return "" if words == _below(aim) else f" (within {words} no overlap is lost)"


def tolerance_words(report: AngleReport) -> str:
    """How exact the setting must be, in a sentence or two."""
    limit, shift = report.tolerance_deg, report.tolerances.shift_arcmin
    if not report.tolerances.measured:
        return (
            "How much the plan forgives was not worked out for so many panels: set it as exactly as you can."
        )
    if limit is None:
        return "The plan leaves a gap even at the exact angle; it forgives nothing."
    kept, overlap = _kept_words(report), report.tolerances.overlap
    if kept and overlap and not shift and _below(overlap.together_deg) == _below(limit):
        words = f"{kept.removesuffix('. ')}; beyond that gaps may open."
    elif shift:
        off = f"With the pointing off by {shift:g} arc minute{'' if shift == 1 else 's'}{' too' if kept else ''}"
        words = f"{kept}{off}, no gap opens as long as the angle is within {_below(limit)}."
    else:
        words = f"{kept}As long as the angle is within {_below(limit)}, no gap opens."
    return f"{words}{_frame_words(report, limit)}{_division_words(report, limit)}"


def _frame_words(report: AngleReport, limit_deg: float) -> str:
    """Say how far a frame may be turned, where the plan itself forgives more."""
    most = _below(report.frame_limit_deg)
    if report.match is not None or report.frame_limit_deg >= limit_deg or most == _below(limit_deg):
        return ""
    return f" Frames turned by more than {most} do not count as good."


def _division_words(report: AngleReport, limit_deg: float) -> str:
    """Say so where the angle must be finer than the scale can be set."""
    device, most = report.device, min(limit_deg, report.frame_limit_deg)
    if device is None or device.kind != "adjuster" or device.division_deg / 2 <= most:
        return ""
    return f" That is finer than the scale's division of {device.division_deg:g}°: verify with a frame."


def _kept_words(report: AngleReport) -> str:
    """Say how exact the angle must be for the overlap asked for: proven for exact pointing, unlike the gap."""
    kept = report.tolerances.overlap
    if kept is None or kept.together_deg < LEAST_TOLD_DEG:
        return ""
    asked = 100.0 * report.tolerances.overlap_asked
    exact = "Pointed exactly, panels" if report.tolerances.shift_arcmin else "Panels"
    return f"{exact} overlap by {asked:.4g} % or more as long as the angle is within {_below(kept.together_deg)}. "


def _below(limit_deg: float) -> str:
    """Round a limit down, so that the words never promise more than was proven."""
    tenths = rounded_down(limit_deg, 1)
    return f"{tenths}°" if tenths != "0.0" else f"{rounded_down(limit_deg, 2, slack=0.0)}°"


def names(panels: Sequence[str], *, most: int = 6) -> str:
    """Panel names in a row, the middle left out where there are many."""
    if len(panels) <= most:
        return ", ".join(panels)
    return f"{panels[0]}, {panels[1]} ... {panels[-1]} ({len(panels)} panels)"
