"""`plan --angles`: panels and guaranteed overlap against camera angle instead of one plan."""

from __future__ import annotations

from itertools import groupby
from pathlib import Path
from typing import TYPE_CHECKING

from . import DONE, FALLS_SHORT
from ._show import print_json, print_line, print_table, progress_shown, say, write_all
from .plan_extras import Output

if TYPE_CHECKING:
    from planner.angle_curve import AngleCount, AngleCurve
    from planner.files.output import Content
    from planner.request import Request

__all__ = ["run"]


def run(request: Request, value: object, output: Output) -> int:
    """Compare the camera angles that a request allows; with a folder, write angles.json and angles.png.

    Exit code 1 means that no plan at any of the angles gives what was asked.
    """
    from planner.angle_curve import angle_curve

    with progress_shown() as progress:
        curve = angle_curve(request, effort=output.effort, progress=progress)
    _write(curve, output)
    _show(curve, output)
    if curve.best.falls_short:
        say("the plans fall short of what was asked at every angle that was planned")
        return FALLS_SHORT
    return DONE


def _write(curve: AngleCurve, output: Output) -> None:
    from planner.files.angles_json import angles_json_bytes

    contents: dict[Path, Content] = dict(output.also)
    if output.folder is not None:
        contents[output.folder / "angles.json"] = angles_json_bytes(curve)
        if output.chart:
            from planner.draw.angle_curve import angles_png

            contents[output.folder / "angles.png"] = angles_png(curve, dark=output.dark)
    write_all(contents)
    for path in output.also:
        say(f"wrote the plan file {path}")


def _show(curve: AngleCurve, output: Output) -> None:
    if output.as_json:
        from planner.files.angles_json import angles_json_bytes

        print_json(angles_json_bytes(curve).decode())
        return
    print_table(
        ["angle", ">panels", ">more", "overlap", ">planned", ""],
        [_row(alike, curve.best) for alike in _runs(curve)],
        title=curve.title,
    )
    print_line()
    print_line(f"Best angle: {_sentence(curve.best)}.")
    if curve.asked is not None:
        more = curve.asked.panels - curve.best.panels
        print_line(f"Asked for: {_sentence(curve.asked)}, {more} more than the best.")
    if not all(one.proven for one in curve.angles):
        print_line(
            "Angles without overlap were counted in rows, an estimate; a greater --effort plans more of them."
        )


def _runs(curve: AngleCurve) -> list[list[AngleCount]]:
    """Neighbouring angles with equal counts, apart from those whose plans fall short."""
    return [list(alike) for _, alike in groupby(curve.angles, lambda one: (one.panels, one.falls_short))]


def _row(alike: list[AngleCount], best: AngleCount) -> list[str]:
    first, last = alike[0], alike[-1]
    angle = f"{first.position_angle_deg:g}"
    if len(alike) > 1:
        angle += f" to {last.position_angle_deg:g}"
    overlaps = [one.overlap_found for one in alike if one.overlap_found is not None]
    more, planned = first.panels - best.panels, f"{len(overlaps)} of {len(alike)}"
    remark = (
        "falls short" if first.falls_short else f"best: {best.position_angle_deg:g}" if best in alike else ""
    )
    return [angle, str(first.panels), f"{more:+d}" if more else "", _overlap(overlaps), planned, remark]


def _overlap(found: list[float]) -> str:
    if not found:
        return ""
    low, high = (f"{100 * share:.1f} %" for share in (min(found), max(found)))
    return low if low == high else f"{low} to {high}"


def _sentence(one: AngleCount) -> str:
    overlap = f" with {100 * (one.overlap_found or 0.0):.1f} % overlap" if one.proven else " in rows"
    return f"{one.position_angle_deg:g} degrees, {one.panels} panels{overlap}"
