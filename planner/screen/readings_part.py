"""What to set on the angle device: instruction, readings, calibration, cautions."""

from __future__ import annotations

from typing import TYPE_CHECKING

import streamlit as st

from planner.errors import PlannerError
from planner.guide.entries import word_entries
from planner.rig.cautions import MADE_UP_CAUTION
from planner.rig.readings import EQUAL_DEG

from .canvas.drawing import mount_drawing
from .cautions_part import cautions_part
from .frames_part import Given, read_given
from .state import guarded, kept, session, show_fault, tab
from .table_view import show_table

if TYPE_CHECKING:
    from planner.answers.camera_angle import CameraAngle
    from planner.answers.plan import Plan
    from planner.rig.angle_device import AngleDevice
    from planner.rig.angle_report import AngleReport
    from planner.rig.angle_words import FaceWords

__all__ = ["calibration_part", "instruction_part", "readings_part", "report_of"]

HEADINGS = {
    "adjuster": "Set the scale to {}",
    "rotator": "Send the rotator to {}",
    "fixed": "The camera is fixed",
}
"""What is to be done, by the kind of angle device, with the reading."""
DIVISION = "Nearest division (deg)"
FIRST_PX = {"Panel": 56, "Reading (deg)": 98, DIVISION: 152}
PLAIN_PX = {"Panel": 54, "Reading (deg)": 98, "Position angle (deg)": 140, "Reachable": 76}
"""Columns that matter, with and without divisions."""


def report_of(plan: Plan, given: Given) -> CameraAngle | None:
    """Return the report on the camera angle, computed anew only for another plan or other frames."""
    try:
        found: CameraAngle = kept("camera_angle", (plan, given), lambda: _report(plan, given))
    except PlannerError as error:
        st.error(tab().uploads.named(str(error)))
        return None
    return found


def _report(plan: Plan, given: Given) -> CameraAngle:
    from planner.answers.camera_angle import camera_angle, match_of, solved_frames
    from planner.rig.mount import flips

    request = plan.request
    sides = given.looking if flips(request.mount) else ()
    frames = solved_frames(
        given.paths,
        given.readings_deg,
        request.angle_device,
        looking=sides,
        mount=request.mount,
        read=read_given,
    )
    match = match_of(request, given.match) if given.match else None
    return camera_angle(plan, frames=frames, match=match)


def instruction_part(found: CameraAngle) -> None:
    """Show the reading to set, the way there, and the cautions."""
    from planner.rig.angle_words import unreachable_words
    from planner.rig.instruction import instruction

    report = found.report
    if report.made_up_frames:
        st.warning(MADE_UP_CAUTION)
    if report.device is None:
        st.info(
            "There is no angle device: add [angle_device] to the plan file (under As file) to get readings."
        )
    else:
        order = instruction(report)
        words, drawing = st.columns([3, 2], vertical_alignment="center")
        with words:
            now = f"It shows {order.present} now. " if order.present else ""
            heading = HEADINGS[report.device.kind].format(order.target)
            st.markdown(f"### {heading}", help=word_entries("reading", "angle device"))
            st.markdown(now + order.tolerance)
        with drawing:
            mount_drawing(key="dial", data={"svg": _dial(report, report.device)}, height=250)
        st.markdown("\n".join(f"{number}. {step}" for number, step in enumerate(order.steps, start=1)))
        st.markdown(order.after_flip)
    if report.unreachable is not None:
        st.warning(unreachable_words(report.unreachable))
    cautions_part(found.plan.request)


def _dial(report: AngleReport, device: AngleDevice) -> str:
    from .dial import dial_svg

    turn = report.turn
    target = turn.to_reading_deg if turn else report.readings[0].reading_deg
    return dial_svg(
        target,
        present_deg=turn.from_reading_deg if turn else None,
        travel_deg=device.range_deg,
        direction=device.sense * (-1 if report.is_mirrored else 1),
    )


def readings_part(found: CameraAngle) -> None:
    """Show the reading of every panel."""
    report, divided = found.report, _divided(found.report)
    if report.device is None:
        rows = [
            {"Panel": panel.name, "Position angle (deg)": round(panel.position_angle_deg, 2)}
            for panel in report.panels
        ]
    else:
        rows = [
            {
                "Panel": one.name,
                "Position angle (deg)": round(one.position_angle_deg, 2),
                "Reading (deg)": round(one.reading_deg, 2),
                "Reachable": "yes" if one.reachable else "no",
                **({DIVISION: report.device.nearest_division(one.reading_deg)} if divided else {}),
            }
            for one in report.readings
        ]
    decimals = {"Position angle (deg)": 2, "Reading (deg)": 2}
    if report.device is not None and divided:
        decimals[DIVISION] = _decimals(report.device.division_deg)
    first_px = FIRST_PX if divided else PLAIN_PX
    show_table(rows, empty="The plan has no panels.", decimals=decimals, first_px=first_px)


def _divided(report: AngleReport) -> bool:
    """Whether readings lie between the divisions of a scale that somebody sets by hand."""
    device = report.device
    if device is None or device.kind != "adjuster":
        return False
    readings = [one.reading_deg for one in report.readings]
    return any(abs(device.nearest_division(one) - one) >= EQUAL_DEG for one in readings)


def _decimals(step_deg: float) -> int:
    """Return how many decimals the divisions of a scale have.

    >>> _decimals(1.0), _decimals(0.25)
    (0, 2)
    """
    return len(f"{step_deg:.6f}".rstrip("0").partition(".")[2])


def calibration_part(found: CameraAngle) -> None:
    """Show what the frames tell, take it into the plan file, and offer the sheet."""
    from planner.rig.angle_words import report_lines

    report = found.report
    if report.calibration is not None:
        fit = report.calibration
        st.markdown(
            f"The scale's zero stands at position angle **{fit.zero_deg:.2f}°**, its sense is "
            f"**{fit.sense:+d}**"
            + (" (told by the frames)." if fit.sense_known else " (as the setup has it).")
        )
        if fit.contradictory:
            st.error("The frames contradict each other: check the readings and take the frames again.")
        if report.made_up_frames:
            st.warning(_made_up_words(report))
        elif not fit.contradictory:
            st.button("Save this zero in the plan", on_click=_take_calibration, args=(report,))
        show_fault("calibration")
    with st.expander("The whole report", expanded=bool(report.frames)):
        old = session().request.angle_device
        st.text("\n".join(report_lines(report, found.effects, old=old, words=_screen_words())))
    if report.device is not None and not report.made_up_frames:
        st.download_button(
            "Sheet for the helper on site (PDF)",
            lambda: _sheet(report),
            "camera-angle.pdf",
            "application/pdf",
            on_click="ignore",
            key="angle_sheet",
        )


def _made_up_words(report: AngleReport) -> str:
    """Say why nothing that made-up frames tell can be saved or printed."""
    return (
        f"Made up, to practise with: {', '.join(report.made_up_frames)}. Nobody has taken it, so it tells nothing of "
        "the real camera: its zero is not saved, and there is no sheet. Forget the frames and give those of the "
        "camera alone."
    )


def _screen_words() -> FaceWords:
    from planner.rig.angle_words import FaceWords

    return FaceWords(
        every_setting="the table of readings has them all",
        take_focal_length="type it on the page Compose under Camera to plan with it",
        looking="to which side the telescope looked",
    )


def _sheet(report: AngleReport) -> bytes:
    from planner.draw.paper.angle_sheet import angle_sheet

    return angle_sheet(report)


@guarded
def _take_calibration(report: AngleReport) -> None:
    try:
        device = report.calibrated_device()
    except PlannerError as error:
        session().faults["calibration"] = str(error)
        return
    session().edit(
        "calibration",
        {"angle_device.zero_deg": round(device.zero_deg, 6), "angle_device.sense": device.sense},
        "The zero and sense are now in the plan file.",
    )
