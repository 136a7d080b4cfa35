"""`planner angle`: what to set on the angle device, before and after a solved frame."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from planner.errors import InputError

from . import DONE, FALLS_SHORT
from ._show import json_option, out_option, print_json, progress_shown, say, write_out

if TYPE_CHECKING:
    from planner.camera_angle import CameraAngle
    from planner.request import Request
    from planner.rig.angle_report import AngleReport, SolvedFrame

__all__ = ["angle_verb"]

FITS = click.Path(path_type=Path)


@click.command("angle")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--frame", "frames", type=FITS, multiple=True, metavar="FITS", help="Plate-solved frame.")
@click.option("--reading", "readings", type=float, multiple=True, help="Reading that it was taken at.")
@click.option("--through-pole", is_flag=True, help="The frames were taken beyond the pole (after the flip).")
@click.option("--match", type=FITS, metavar="FITS", help="Lie on this earlier, plate-solved picture.")
@click.option("--measured-focal-length", is_flag=True, help="Plan with the focal length of the last frame.")
@click.option("--save", is_flag=True, help="Store the calibration in the setup file.")
@click.option("--sheet", type=FITS, metavar="PDF", help="Write the one-page sheet for the helper on site.")
@out_option
@json_option
def angle_verb(
    *,
    file: Path,
    frames: tuple[Path, ...],
    readings: tuple[float, ...],
    through_pole: bool,
    match: Path | None,
    measured_focal_length: bool,
    save: bool,
    sheet: Path | None,
    out: Path | None,
    as_json: bool,
) -> int:
    r"""Tell what to set on the angle device for the plan FILE.

    A solved frame and the reading it was taken at calibrate the scale: one gives its zero, two its sense,
    more show the scatter. Examples:

    \b
    python -m planner angle sample_targets/vela_shell.toml
    python -m planner angle plan.toml --frame test.fits --reading 17.5 --sheet turn.pdf
    """
    from planner.files.plan_file import read_plan_file

    request = read_plan_file(file)
    asked = _Asked(
        request,
        frames,
        readings,
        through_pole=through_pole,
        match=match,
        measured_focal_length=measured_focal_length,
    )
    answer = asked.answer()
    report = answer.report
    _refuse(report, save=save, sheet=sheet)
    _write(answer, sheet, out)
    saved = _save(asked, report) if save else ()
    _show(answer, request, as_json=as_json)
    for line in saved:
        say(line)
    return _exit_code(answer)


def _show(answer: CameraAngle, request: Request, *, as_json: bool) -> None:
    if as_json:
        from planner.files.camera_angle_json import camera_angle_json

        print_json(camera_angle_json(answer.report))
        return
    from planner.rig.angle_words import report_lines

    for line in report_lines(answer.report, answer.effects, old=request.angle_device):
        print(line)


class _Asked:
    """What was asked on the command line."""

    def __init__(
        self,
        request: Request,
        frames: tuple[Path, ...],
        readings: tuple[float, ...],
        *,
        through_pole: bool,
        match: Path | None,
        measured_focal_length: bool,
    ) -> None:
        from planner.camera_angle import match_of, solved_frames, with_measured_focal_length

        self.frames: tuple[SolvedFrame, ...] = solved_frames(frames, readings, request.angle_device)
        if through_pole and not frames:
            raise InputError("--through-pole says how frames were taken; give --frame and --reading with it")
        if measured_focal_length:
            if not frames:
                raise InputError("--measured-focal-length needs a solved frame; give --frame and --reading")
            request = with_measured_focal_length(request, self.frames[-1])
        self.request, self.through_pole, self.measured = request, through_pole, measured_focal_length
        self.match = match_of(request, match) if match else None

    def answer(self) -> CameraAngle:
        """Make the plan and work out its camera angle."""
        from planner.camera_angle import camera_angle
        from planner.plan import make_plan

        with progress_shown() as progress:
            plan = make_plan(self.request, progress=progress)
        return camera_angle(plan, frames=self.frames, through_pole=self.through_pole, match=self.match)


def _refuse(report: AngleReport, *, save: bool, sheet: Path | None) -> None:
    """Refuse what cannot be done before anything is written."""
    if sheet is not None:
        if report.device is None:
            raise InputError(
                "a sheet needs an angle device; add [angle_device] to the plan or its setup file"
            )
        if sheet.suffix.lower() != ".pdf":
            raise InputError(f"--sheet must name a .pdf file, got {sheet.name!r}; change its ending")
    if save:
        if report.calibration is None:
            raise InputError("--save stores a calibration; give --frame and --reading with it")
        if report.calibration.contradictory:
            raise InputError(
                "the frames contradict each other, nothing is saved; check the readings and take them again"
            )


def _write(answer: CameraAngle, sheet: Path | None, out: Path | None) -> None:
    from planner.files.camera_angle_json import camera_angle_json

    drawn = _sheet_bytes(answer) if answer.report.device is not None and (sheet or out) else b""
    if out is not None:
        contents = {"camera-angle.json": camera_angle_json(answer.report).encode()}
        if drawn:
            contents["camera-angle.pdf"] = drawn
        write_out(out, contents)
    if sheet is not None:
        write_out(sheet.parent, {sheet.name: drawn})


def _sheet_bytes(answer: CameraAngle) -> bytes:
    from planner.draw.angle_sheet import angle_sheet

    return angle_sheet(answer.report)


def _save(asked: _Asked, report: AngleReport) -> tuple[str, ...]:
    """Store the calibration where the angle device stands; return what was changed, in words."""
    from planner.files.calibration_file import save_calibration

    device = report.device
    assert device is not None
    focal_mm = asked.request.camera.focal_length_mm if asked.measured else None
    return save_calibration(asked.request, device, focal_length_mm=focal_mm)


def _exit_code(answer: CameraAngle) -> int:
    """Return 1, with a line on standard error, where the plan, the device or the frames fall short."""
    report = answer.report
    short: list[str] = list(answer.plan.shortfalls)
    if report.unreachable is not None:
        short.append("the angle device cannot reach the plan's angle")
    if report.match_reading is not None and not report.match_reading.reachable:
        short.append("the angle device cannot reach the earlier picture's angle")
    if report.calibration is not None and report.calibration.contradictory:
        short.append("the frames contradict each other, check the readings")
    if short:
        say(f"this falls short: {'; '.join(short)}")
    return FALLS_SHORT if short else DONE
