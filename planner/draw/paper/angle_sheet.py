"""The sheet for the helper at the telescope: one page on how to turn the camera, with the scale drawn."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from planner.rig.aim import aim_deg
from planner.rig.angle_report import AngleReport, refuse_made_up
from planner.rig.cautions import cautions_for, first_caution
from planner.rig.instruction import Instruction, Setting, degrees, instruction, names, settings

from .ink_page import BLACK, GREY, InkPage
from .scale_drawing import Marks, draw_dial, draw_travel

__all__ = ["angle_sheet"]

LEFT, WIDTH = 0.65, 6.97
TOP = 11.69
COLUMNS, ROW = 4, 0.19
"""Columns of the list of settings, and the distance of its rows in inches."""


@dataclass(frozen=True)
class _Sizes:
    """Of the dial, inches, and of the type of steps and of what follows them, points."""

    dial_in: float
    step_pt: float
    after_pt: float


COMPACT = _Sizes(2.75, 9.5, 10.0)
ALL_SIZES = (_Sizes(3.5, 11.5, 11.5), _Sizes(3.2, 10.5, 10.5), COMPACT)
"""The largest that fit are used; compact above a list of settings."""


def angle_sheet(report: AngleReport) -> bytes:
    """Draw the sheet as PDF; the same report gives the same bytes.

    Parameters
    ----------
    report : AngleReport
        With an angle device.

    Raises
    ------
    InputError
        If a frame is made up: nobody is sent to the camera by it.
    """
    refuse_made_up(report.frames, report.match)
    order = instruction(report)
    for sizes in (COMPACT,) if _listed(report) else ALL_SIZES:
        page, room = _drawn(report, order, sizes)
        if room >= 0:
            break
    return page.pdf()


def _drawn(report: AngleReport, order: Instruction, sizes: _Sizes) -> tuple[InkPage, float]:
    """Draw the page with some sizes; return it, and the room left above the cautions, inches."""
    page = InkPage(f"Camera angle: {report.title}")
    _heading(page, report, order)
    _first_caution(page, report)
    y = _drawing(page, report, order, sizes)
    y = _after(page, order, y, sizes.after_pt)
    floor = _cautions(page, report) + 0.08
    _settings(page, report, y, floor)
    return page, y + 0.2 - floor


def _listed(report: AngleReport) -> tuple[Setting, ...]:
    """Return the settings that follow the first; none where one is all."""
    groups = settings(report)
    return () if report.match is not None or len(groups) < 2 else groups


def _heading(page: InkPage, report: AngleReport, order: Instruction) -> None:
    fixed = report.device is not None and report.device.kind == "fixed"
    head = "The camera stays as it is" if fixed else "Turn the camera"
    page.text(LEFT, TOP - 0.62, head, size=20, weight="bold")
    title = page.fitted(order.title, size=12, width=WIDTH - 2.6)
    page.text(LEFT + WIDTH, TOP - 0.62, title, size=12, ha="right")


def _first_caution(page: InkPage, report: AngleReport) -> None:
    page.box(LEFT, TOP - 1.3, WIDTH, 0.54, facecolor=BLACK)
    lines = list(
        page.wrapped(f"FIRST: {first_caution(report.device)}", size=11.5, width=WIDTH - 0.3, weight="bold")
    )
    y = TOP - 1.3 + 0.27 - 0.055 + 0.1 * (len(lines) - 1)
    for line in lines:
        page.text(LEFT + 0.14, y, line, size=11.5, color="white", weight="bold")
        y -= 0.2


def _readings(page: InkPage, report: AngleReport, order: Instruction) -> None:
    """Write the two numbers, large enough to be read at arm's length."""
    y = TOP - 2.25
    page.text(LEFT, y + 0.62, "The scale shows now", size=11)
    page.text(LEFT, y, order.present or "read it", size=34 if order.present else 22)
    page.text(LEFT + 2.0, y + 0.02, "→", size=34)
    page.text(LEFT + 2.75, y + 0.62, "Set it to", size=11)
    page.text(LEFT + 2.75, y - 0.04, order.target, size=46, weight="bold")
    if report.turn is not None and abs(report.turn.reading_deg) >= 0.05:
        page.text(LEFT + 5.7, y + 0.62, "a change of", size=11)
        page.text(LEFT + 5.7, y + 0.16, degrees(report.turn.reading_deg, sign=True), size=18)


def _drawing(page: InkPage, report: AngleReport, order: Instruction, sizes: _Sizes) -> float:
    """Dial at the left, steps at the right, the travel below; return where the next part begins."""
    marks, top, dial = _marks(report), TOP - 2.62, sizes.dial_in
    if marks is None:
        return _steps(page, order.steps, LEFT, TOP - 1.75, sizes.step_pt)
    _readings(page, report, order)
    draw_dial(page.axes(LEFT - 0.15, top - dial, dial, dial), marks)
    captioned = _dial_caption(page, top - dial - 0.12, dial - 0.15, known=bool(report.frames))
    stepped = _steps(page, order.steps, LEFT + dial + 0.05, top - 0.28, sizes.step_pt)
    bottom = min(captioned, stepped) - 0.08
    about = "The whole travel of the scale (white: now, black: to set)"
    page.text(LEFT, bottom, about, size=9, color=GREY)
    draw_travel(page.axes(LEFT, bottom - 0.65, WIDTH, 0.6), marks)
    return bottom - 0.88


def _marks(report: AngleReport) -> Marks | None:
    device = report.device
    if device is None or device.kind == "fixed":
        return None
    turn = report.turn
    target = turn.to_reading_deg if turn else instruction_target(report)
    return Marks(
        device, target, turn.from_reading_deg if turn else None, aim_deg(report), mirrored=report.is_mirrored
    )


def instruction_target(report: AngleReport) -> float:
    """Return the reading that is set first."""
    if report.match_reading is not None:
        return report.match_reading.reading_deg
    return settings(report)[0].reading_deg


def _dial_caption(page: InkPage, y: float, width: float, *, known: bool) -> float:
    text = (
        "Seen from behind the camera, towards the sky, with a scale that stands still and a mark that turns."
    )
    text += " If the scale turns instead, its numbers run the other way round: go by the numbers."
    if not known:
        text += " Drawn for frames that are not mirrored."
    return page.paragraph(LEFT, y, text, size=8.5, width=width, color=GREY)


def _steps(page: InkPage, steps: Sequence[str], x: float, y: float, size: float) -> float:
    width = LEFT + WIDTH - x - 0.32
    for number, step in enumerate(steps, start=1):
        page.box(x, y - 0.03, 0.15, 0.15)
        y = page.paragraph(x + 0.32, y, f"{number}. {step}", size=size, width=width) - 0.1
    return y


def _after(page: InkPage, order: Instruction, y: float, size: float) -> float:
    page.line(LEFT, y, LEFT + WIDTH, y, linewidth=0.8, color=GREY)
    y -= 0.24
    for head, text in (("How exact", order.tolerance), ("Later", order.after_flip)):
        page.text(LEFT, y, head, size=size, weight="bold")
        y = page.paragraph(LEFT + 1.25, y, text, size=size, width=WIDTH - 1.1) - 0.06
    y -= 0.1
    for x, words, length in ((0.0, "Reading after", 1.1), (2.45, "Time", 1.0), (4.1, "Name", 2.3)):
        page.text(LEFT + x, y, words, size=10)
        start = LEFT + x + page.text_width(words, size=10) + 0.08
        page.line(start, y - 0.03, start + length, y - 0.03, linewidth=0.8)
    return y - 0.3


def _settings(page: InkPage, report: AngleReport, y: float, floor: float) -> None:
    """List the readings of all panels, where there is more than one, as far as the page goes."""
    groups = _listed(report)
    if not groups:
        return
    page.text(LEFT, y, "All settings, in this order", size=11, weight="bold")
    rows = max(1, int((y - 0.16 - floor) / ROW))
    shown = groups[: COLUMNS * rows]
    if len(groups) > len(shown):
        rest = f"the first {len(shown)} of {len(groups)}; all are in camera-angle.json"
        page.text(LEFT + 2.5, y, rest, size=9, color=GREY)
    for index, one in enumerate(shown):
        column, row = divmod(index, rows)
        _setting(page, one, LEFT + column * WIDTH / COLUMNS, y - 0.22 - ROW * row)


def _setting(page: InkPage, one: Setting, x: float, y: float) -> None:
    missed = "" if one.reachable else " (nearest)"
    page.text(x, y, f"{degrees(one.reading_deg)}{missed}", size=9.5, weight="bold")
    panels = page.fitted(names(one.panels, most=4), size=9.5, width=WIDTH / COLUMNS - 0.85)
    page.text(x + (0.72 if one.reachable else 1.3), y, panels, size=9.5)


def _cautions(page: InkPage, report: AngleReport) -> float:
    """Put the other cautions in a box at the foot of the page; return where it begins."""
    lines = [
        line for line in cautions_for(report.device, report.mount) if line != first_caution(report.device)
    ]
    wrapped = [list(page.wrapped(line, size=9.5, width=WIDTH - 0.45)) for line in lines]
    height = 0.16 + sum(0.175 * len(part) for part in wrapped)
    bottom = 0.5
    page.box(LEFT, bottom, WIDTH, height, linewidth=1.8)
    y = bottom + height - 0.2
    for part in wrapped:
        page.text(LEFT + 0.12, y, "•", size=9.5)
        for line in part:
            page.text(LEFT + 0.3, y, line, size=9.5)
            y -= 0.175
    return bottom + height
