"""`angle` of a mosaic that several instruments share."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from planner.cli._show import print_json, print_line, progress_shown, write_out
from planner.cli.angle.run import (
    AngleOptions,
    angle_shortfalls,
    exit_code,
    print_angle,
    run_angle,
    sheet_bytes,
)
from planner.cli.plan_answer import say_changed
from planner.errors import InputError

if TYPE_CHECKING:
    from planner.answers.camera_angle import CameraAngle
    from planner.answers.plan import Plan
    from planner.answers.shared.shared_plan import SharedPlan
    from planner.progress import Progress
    from planner.request.request import Request
    from planner.request.shared import Instrument, SharedRequest

__all__ = ["shared_angle"]


def shared_angle(asked: AngleOptions) -> int:
    """Tell what to set on each instrument, or on the one that is named; returns the exit code."""
    from planner.files.plan_file.shared import read_shared_file

    request = read_shared_file(asked.file)
    if asked.instrument is not None:
        return _one(asked, request, request.named(asked.instrument))
    _refuse_what_is_of_one(asked, request)
    return _all(asked, request)


def _refuse_what_is_of_one(asked: AngleOptions, request: SharedRequest) -> None:
    """Refuse options about one camera where it is not said which."""
    given = {
        "--frame": bool(asked.frames),
        "--reading": bool(asked.readings),
        "--match": asked.match is not None,
        "--sheet": asked.sheet is not None,
    }
    for flag, is_given in given.items():
        if is_given:
            names = ", ".join(one.name for one in request.instruments)
            raise InputError(f"{flag} is about one instrument; name it with --instrument: {names}")


def _one(asked: AngleOptions, request: SharedRequest, instrument: Instrument) -> int:
    """The angle of one instrument: everything that a plan file of its own has, from the shared one."""
    from planner.answers.shared.shared_plan import make_instrument_plan

    def make(wanted: Request, progress: Progress) -> Plan:
        changed = replace(instrument, request=wanted)
        among = tuple(changed if one is instrument else one for one in request.instruments)
        shared = replace(request, instruments=among)
        return make_instrument_plan(shared, changed.name, effort=asked.effort, progress=progress).plan

    return run_angle(asked, instrument.request, make)


def _all(asked: AngleOptions, request: SharedRequest) -> int:
    from planner.answers.camera_angle import camera_angle
    from planner.answers.shared.shared_plan import make_shared_plan
    from planner.files.documents.json_text import json_bytes
    from planner.files.documents.shared_camera_angle import shared_camera_angle_document

    with progress_shown() as progress:
        shared = make_shared_plan(request, effort=asked.effort, progress=progress)
    answers = [camera_angle(one.plan) for one in shared.instruments]
    document = shared_camera_angle_document(shared, [one.report for one in answers])
    if asked.out is not None:
        write_out(asked.out, {"camera-angle.json": json_bytes(document), **_sheets(shared, answers)})
    if asked.as_json:
        print_json(document)
    else:
        _print(shared, answers)
    code = exit_code([*shared.shortfalls, *_shortfalls(shared, answers)])
    return max(code, say_changed(*shared.wholes))


def _sheets(shared: SharedPlan, answers: list[CameraAngle]) -> dict[str, bytes]:
    """A page for the helper at each instrument that has an angle device, in its own folder."""
    pages = [sheet_bytes(answer) for answer in answers]
    each = zip(shared.folders, pages, strict=True)
    return {f"{folder}/camera-angle.pdf": page for folder, page in each if page}


def _print(shared: SharedPlan, answers: list[CameraAngle]) -> None:
    for number, (one, answer) in enumerate(zip(shared.instruments, answers, strict=True)):
        if number:
            print_line()
        print_angle(answer, one.plan.request)


def _shortfalls(shared: SharedPlan, answers: list[CameraAngle]) -> list[str]:
    return [
        f"{one.name}: {text}"
        for one, answer in zip(shared.instruments, answers, strict=True)
        for text in angle_shortfalls(answer)
    ]
