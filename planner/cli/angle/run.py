"""The camera angle of one plan: what was asked on the command line, and what comes of it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache, partial
from pathlib import Path
from typing import TYPE_CHECKING

from planner.cli._show import print_json, print_line, progress_shown, say, write_all
from planner.cli.plan_answer import say_changed
from planner.errors import InputError
from planner.exit_codes import DONE, FALLS_SHORT

if TYPE_CHECKING:
    from planner.answers.camera_angle import CameraAngle
    from planner.answers.plan import Plan
    from planner.frames.solve.found_solution import FoundSolution
    from planner.geometry.looking import Looking
    from planner.progress import Effort, Progress
    from planner.request.request import Request

    MakePlan = Callable[[Request, Progress], Plan]

__all__ = ["AngleOptions", "angle_shortfalls", "exit_code", "print_angle", "run_angle", "sheet_bytes"]


@dataclass(frozen=True)
class AngleOptions:
    """What was asked on the command line."""

    file: Path
    frames: tuple[Path, ...]
    readings: tuple[float, ...]
    looking: tuple[Looking, ...]
    solve: bool
    match: Path | None
    measured_focal_length: bool
    save: bool
    sheet: Path | None
    effort: Effort
    out: Path | None
    as_json: bool
    instrument: str | None = None

    def check(self) -> None:
        """Refuse options that lack another, before any work is done."""
        needy = {
            "--looking": bool(self.looking),
            "--measured-focal-length": self.measured_focal_length,
            "--save": self.save,
        }
        for flag, given in needy.items():
            if given and not self.frames:
                raise InputError(f"{flag} needs a solved frame; give --frame and --reading with it")
        if self.sheet is not None and self.sheet.suffix.lower() != ".pdf":
            raise InputError(f"--sheet must name a .pdf file, got {self.sheet.name!r}; change its ending")


def run_angle(asked: AngleOptions, request: Request, make: MakePlan) -> int:
    """Work out the camera angle of a request's plan, write, keep and show it; returns the exit code.

    Parameters
    ----------
    asked : AngleOptions
    request : Request
        As it was read.
    make : callable
        Makes the plan of that request, or of the same with another focal length.
    """
    answer = _answer(asked, request, make)
    _write(answer, asked)
    saved = _save(answer, asked) if asked.save else ()
    _show(answer, request, as_json=asked.as_json)
    for line in saved:
        say(line)
    code = exit_code([*answer.plan.shortfalls, *angle_shortfalls(answer)])
    return max(code, say_changed(answer.plan))


def _answer(asked: AngleOptions, request: Request, make: MakePlan) -> CameraAngle:
    """Read the frames, make the plan and work out its camera angle."""
    from planner.answers.camera_angle import camera_angle, match_of, solved_frames, with_measured_focal_length
    from planner.rig.angle_report import refuse_made_up

    if asked.sheet and request.angle_device is None and not asked.frames:
        raise InputError("a sheet needs an angle device; add [angle_device] to the plan or its setup file")
    with progress_shown() as progress:
        planned = cache(lambda: make(request, progress))
        frames = solved_frames(
            asked.frames,
            asked.readings,
            request.angle_device,
            looking=asked.looking,
            mount=request.mount,
            read=_reading(asked, planned),
        )
        match = match_of(request, asked.match) if asked.match else None
        if asked.save or asked.sheet:
            refuse_made_up(frames, match)
        if asked.measured_focal_length:
            plan = make(with_measured_focal_length(request, frames[-1]), progress)
        else:
            plan = planned()
    answer = camera_angle(plan, frames=frames, match=match)
    if asked.save:
        answer.report.calibrated_device()
    return answer


def _reading(asked: AngleOptions, planned: Callable[[], Plan]) -> Callable[[Path], FoundSolution]:
    """How frames are read: those without a solution are solved over the plan's panels, if that is wanted."""
    from planner.frames.solve.found_solution import found_solution

    solver = cache(lambda: planned().solver())
    return partial(found_solution, solver=solver if asked.solve else None)


def _write(answer: CameraAngle, asked: AngleOptions) -> None:
    from planner.files.documents.camera_angle import camera_angle_document
    from planner.files.documents.json_text import json_bytes

    if asked.out is None and asked.sheet is None:
        return
    made_up = bool(answer.report.made_up_frames) and asked.sheet is None
    if made_up:
        say("no camera-angle.pdf: frames are made up, and nobody is sent to the camera by them")
    drawn = b"" if made_up else sheet_bytes(answer)
    contents: dict[Path, bytes] = {}
    if asked.out is not None:
        contents[asked.out / "camera-angle.json"] = json_bytes(camera_angle_document(answer.report))
        if drawn:
            contents[asked.out / "camera-angle.pdf"] = drawn
    if asked.sheet is not None:
        contents[asked.sheet] = drawn
    write_all(contents)


def sheet_bytes(answer: CameraAngle) -> bytes:
    """Draw the sheet; empty where there is no angle device."""
    if answer.report.device is None:
        return b""
    from planner.draw.paper.angle_sheet import angle_sheet

    return angle_sheet(answer.report)


def _save(answer: CameraAngle, asked: AngleOptions) -> tuple[str, ...]:
    """Store the calibration where the angle device stands; return what was changed, in words."""
    from planner.files.plan_file.calibration import save_calibration

    device, request = answer.report.calibrated_device(), answer.plan.request
    focal_mm = request.camera.focal_length_mm if asked.measured_focal_length else None
    return save_calibration(request, device, focal_length_mm=focal_mm)


def _show(answer: CameraAngle, request: Request, *, as_json: bool) -> None:
    if as_json:
        from planner.files.documents.camera_angle import camera_angle_document

        print_json(camera_angle_document(answer.report))
        return
    print_angle(answer, request)


def print_angle(answer: CameraAngle, request: Request) -> None:
    """Print the report; `request` has the angle device as it was before a calibration."""
    from planner.rig.angle_words import report_lines

    for line in report_lines(answer.report, answer.effects, old=request.angle_device):
        print_line(line, indent=5 if line.startswith(" ") else 0)


def angle_shortfalls(answer: CameraAngle) -> list[str]:
    """What the device or the frames fall short of, one sentence each."""
    report, short = answer.report, []
    if report.unreachable is not None:
        short.append("the angle device cannot reach the plan's angle")
    if report.match_reading is not None and not report.match_reading.reachable:
        short.append("the angle device cannot reach the earlier picture's angle")
    if report.calibration is not None and report.calibration.contradictory:
        short.append("the frames contradict each other, check the readings")
    return short


def exit_code(short: Sequence[str]) -> int:
    """Return 1, with a line on standard error, where the plan, the device or the frames fall short."""
    if short:
        say(f"this falls short: {'; '.join(short)}")
    return FALLS_SHORT if short else DONE
