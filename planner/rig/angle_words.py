"""The report on a camera angle as lines of text."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from planner.geometry import wrapped_deg
from planner.rig.mount import flips
from planner.words import overlap_words, rounded_down

from .angle_device import AngleDevice
from .angle_report import AngleReport, SolvedFrame, Unreachable
from .calibration import Calibration
from .cautions import MADE_UP_CAUTION, cautions_for
from .effects import Effects, effects_words
from .frame_check import FrameCheck
from .instruction import Instruction, degrees, instruction, names, settings
from .plan_tolerances import Tolerances
from .plate_solution import PlateSolution
from .readings import EQUAL_DEG, total_travel_deg
from .tolerance import CAP_DEG, AngleTolerance

__all__ = ["COMMAND_LINE", "FaceWords", "report_lines", "unreachable_words"]

TELLING_FOCAL_RATIO = 0.002
TELLING_SKEW_DEG = 0.05
TELLING_SCALES = 0.001
OTHER_SIDE_DEG = 20.0
"""So near to 180 degrees from the zero before, the other side of the mount is likelier than another scale."""
MOST_SETTINGS = 60


@dataclass(frozen=True)
class FaceWords:
    """What a face calls the things that a report speaks of.

    Parameters
    ----------
    every_setting : str
        Where all settings are.
    take_focal_length : str
        How to plan with the focal length that was measured.
    looking : str
        What says to which side the telescope looked.
    """

    every_setting: str
    take_focal_length: str
    looking: str


COMMAND_LINE = FaceWords("--json or --out has them all", "plan with it: --measured-focal-length", "--looking")


def report_lines(
    report: AngleReport, found: Effects, *, old: AngleDevice | None = None, words: FaceWords = COMMAND_LINE
) -> list[str]:
    """Return the whole report, line by line, blank lines between its parts.

    Parameters
    ----------
    report : AngleReport
    found : Effects
    old : AngleDevice, optional
        As it was before the calibration.
    words : FaceWords
        Of the face that shows the report.
    """
    parts = [
        [f"Camera angle: {report.title}", *_device_lines(report.device)],
        list(_setting_lines(report, words)),
        list(_frame_lines(report, words)),
        list(_calibration_lines(report, old, words)),
        list(_match_lines(report)),
        [unreachable_words(report.unreachable)] if report.unreachable else [],
        _instruction_lines(report),
        [*_tolerance_lines(report.tolerances), *_note_lines(report), *_effect_lines(report, found)],
        _caution_lines(report),
    ]
    return [line for part in parts if part for line in (*part, "")][:-1]


def _device_lines(device: AngleDevice | None) -> list[str]:
    if device is None:
        return ["No angle device: add [angle_device] to the plan or its setup file to get readings."]
    if device.kind == "fixed":
        return [f"Fixed camera at position angle {degrees(device.zero_deg)}."]
    low, high = device.range_deg
    trend = "grows" if device.sense == 1 else "falls"
    lines = "steps" if device.kind == "rotator" else "divisions"
    return [
        f"{device.kind.capitalize()}: position angle {degrees(device.zero_deg)} at reading 0; the reading "
        f"{trend} with position angle; travel {low:g} to {high:g}; {lines} of {device.division_deg:g}°."
    ]


def _setting_lines(report: AngleReport, words: FaceWords) -> Iterator[str]:
    """Tell what to set, panels in shooting order; the same looking east and west."""
    if report.device is None:
        for panel in sorted(report.panels, key=lambda one: one.order)[:MOST_SETTINGS]:
            yield f"{panel.name}: position angle {degrees(panel.position_angle_deg % 360.0)}"
        return
    groups = settings(report)
    for one in groups[:MOST_SETTINGS]:
        line = report.device.nearest_division(one.reading_deg)
        missed = "" if one.reachable else "  (the nearest that can be reached)"
        yield (
            f"{names(one.panels)}: position angle {degrees(one.position_angle_deg % 360.0)}, "
            f"reading {degrees(one.reading_deg)}{_division(report.device, line, one.reading_deg)}{missed}"
        )
    if len(groups) > MOST_SETTINGS:
        yield f"... and {len(groups) - MOST_SETTINGS} more settings; {words.every_setting}."
    yield from _side_lines(report)
    if len(groups) > 1:
        start = report.turn.from_reading_deg if report.turn else None
        total = total_travel_deg([one.reading_deg for one in groups], start_deg=start)
        yield f"Turning in all: {total:.0f}°, the least possible within the travel."


def _division(device: AngleDevice, line: float, reading_deg: float) -> str:
    """Name the nearest division, or the motor's nearest step, unless it is the reading itself."""
    if device.kind == "fixed" or abs(line - reading_deg) < EQUAL_DEG:
        return ""
    return f", nearest {'step' if device.kind == 'rotator' else 'division'} {line:g}"


def _side_lines(report: AngleReport) -> Iterator[str]:
    if flips(report.mount):
        yield "The same readings serve looking east (before the mount's flip) and looking west (after it)."


def _frame_lines(report: AngleReport, words: FaceWords) -> Iterator[str]:
    for frame, check in zip(report.frames, report.checks, strict=True):
        solution = frame.solution
        yield (
            f"{frame.name} at reading {degrees(frame.reading_deg)}{_side_words(report, frame)}: position angle "
            f"{solution.position_angle_deg:.2f}°, {_scale_words(solution)}, {_parity_words(solution)}."
        )
        if frame.made_up:
            yield "  Made up, to practise with: it tells nothing of the real camera, and nothing of it is saved."
        if frame.origin:
            yield f"  {frame.origin[0].upper()}{frame.origin[1:]}."
        yield f"  {_focal_words(check, words)}{_skew_words(solution)}"
        yield from (f"  {line}" for line in _frame_notes(solution, check))


def _side_words(report: AngleReport, frame: SolvedFrame) -> str:
    return f", looking {frame.looking}" if flips(report.mount) else ""


def _scale_words(solution: PlateSolution) -> str:
    x, y = solution.scale_x_arcsec_px, solution.scale_y_arcsec_px
    if abs(x / y - 1.0) < TELLING_SCALES:
        return f"{solution.scale_arcsec_px:.4f} arc seconds a pixel"
    return f"{x:.4f} arc seconds a pixel along rows and {y:.4f} along columns"


def _parity_words(solution: PlateSolution) -> str:
    return "parity as on the sky" if solution.parity == "sky" else "mirrored"


def _focal_words(check: FrameCheck, words: FaceWords) -> str:
    percent = 100.0 * (check.focal_length_ratio - 1.0)
    text = f"Focal length {check.focal_length_mm:.1f} mm, {percent:+.2f} % of the plan's"
    if abs(check.focal_length_ratio - 1.0) > TELLING_FOCAL_RATIO:
        text += f" ({words.take_focal_length})"
    return text


def _skew_words(solution: PlateSolution) -> str:
    skew = abs(solution.axis_skew_deg)
    if skew < TELLING_SKEW_DEG:
        return "; axes square."
    return f"; axes out of square by {skew:.2f}°."


def _frame_notes(solution: PlateSolution, check: FrameCheck) -> Iterator[str]:
    if solution.distortion != "none" or solution.distortion_corner_arcsec >= 1.0:
        kind = "" if solution.distortion == "none" else f" ({solution.distortion})"
        yield f"Distortion at the corners{kind}: {solution.distortion_corner_arcsec:.1f} arc seconds."
    if solution.system != "ICRS":
        yield f"Converted to ICRS from {solution.system}."
    if not check.binning_stated and check.binning != (1, 1):
        yield f"XBINNING is not stated; taken as {check.binning[0]}."
    if not check.whole_sensor:
        nx, ny = solution.size_px
        yield f"The file has {nx} x {ny} pixels, not the plan's sensor: cropped, or another camera?"
    if check.nearest is not None:
        near = check.nearest
        yield (
            f"Its centre lies {near.offset_arcmin:.1f} arc minutes from panel {near.name}'s "
            f"(towards position angle {near.direction_deg:.0f}°)."
        )


def _calibration_lines(report: AngleReport, old: AngleDevice | None, words: FaceWords) -> Iterator[str]:
    fit, device = report.calibration, report.device
    if fit is None or device is None:
        return
    before = f" (was {degrees(old.zero_deg)})" if old is not None else ""
    source = (
        "told by the frames" if fit.sense_known else "as before; take a frame at another reading to confirm"
    )
    yield f"Zero: position angle {fit.zero_deg:.2f}°{before}. Sense: {fit.sense:+d} ({source})."
    if old is not None and _other_side(report, fit, old):
        yield (
            "That is 180° from the setup's zero: most likely the telescope looked to the other side "
            f"({words.looking}) than was taken; check before you use or keep it."
        )
    if old is not None and fit.sense_known and old.sense != fit.sense:
        yield f"The sense differs from the setup's {old.sense:+d}."
    if fit.scatter_deg is not None:
        yield f"Scatter of the frames about the fit: {fit.scatter_deg:.2f}°."
    yield from _residual_lines(report, fit, words)
    if report.frames[-1].solution.parity == "mirrored":
        yield "The frames are mirrored: an odd number of mirrors, or rows stored the other way round."


def _other_side(report: AngleReport, fit: Calibration, old: AngleDevice) -> bool:
    """Whether a German mount's zero is opposite to the one before; a zero that nobody has set yet tells nothing."""
    known = flips(report.mount) and old.zero_deg != AngleDevice(old.kind).zero_deg
    off_deg = float(wrapped_deg(fit.zero_deg - old.zero_deg - 180.0))
    return known and abs(off_deg) < OTHER_SIDE_DEG


def _residual_lines(report: AngleReport, fit: Calibration, words: FaceWords) -> Iterator[str]:
    for frame, residual in zip(report.frames, fit.residuals_deg, strict=True):
        if frame.name in fit.outliers:
            shown = degrees(frame.reading_deg)
            yield f"Left out: {frame.name} at reading {shown} is off by {residual:+.2f}°."
    if fit.contradictory:
        yield f"The frames contradict each other: check the readings, and {words.looking}, and take them again."


def _match_lines(report: AngleReport) -> Iterator[str]:
    match = report.match
    if match is None:
        return
    across = " (turned by 90° against it, which covers more)" if match.quarter_turned else ""
    yield (
        f"To match the earlier picture ({match.picture_deg[0]:.2f}° x {match.picture_deg[1]:.2f}°): centre "
        f"{match.ra_deg:.5f}, {match.dec_deg:+.5f} (ICRS), position angle "
        f"{match.position_angle_deg:.2f}°{across}."
    )
    if match.made_up:
        yield "That picture is made up, to practise with."
    yield f"One panel covers {_share(match.covered_share)} of it."
    if report.match_reading is not None:
        reading = report.match_reading
        missed = (
            "" if reading.reachable else f", off by {degrees(abs(reading.off_deg))}: it cannot be reached"
        )
        yield f"Reading for it: {degrees(reading.reading_deg)}{missed}."


def _share(share: float) -> str:
    return "all" if share > 0.99995 else f"{100.0 * share:.1f} %"


def unreachable_words(cost: Unreachable) -> str:
    """Say what an angle costs that cannot be reached."""
    text = (
        f"The plan's angle cannot be reached. Nearest: position angle {degrees(cost.position_angle_deg)} at "
        f"reading {degrees(cost.reading_deg)}, off by {degrees(abs(cost.off_deg))}. "
    )
    if cost.gap_area_deg2 == 0.0:
        text += "With the panels where they are it still covers the region."
    else:
        text += f"With the panels where they are {cost.gap_area_deg2:.3g} square degrees stay uncovered."
    if cost.replanned is None:
        return text
    found = cost.replanned
    proof = (
        f"covers with {overlap_words(found.overlap_found, '{} overlap')}"
        if found.covered
        else "still leaves a gap"
    )
    noun = "panel" if found.panels == 1 else "panels"
    return f"{text} Planned anew for that angle it takes {found.panels} {noun} and {proof}."


def _instruction_lines(report: AngleReport) -> list[str]:
    if report.device is None:
        return []
    order: Instruction = instruction(report)
    steps = [f"  {number}. {step}" for number, step in enumerate(order.steps, start=1)]
    return ["What to do:", *steps, order.after_flip, *_next_setting(report)]


def _next_setting(report: AngleReport) -> list[str]:
    count = len(settings(report))
    if report.match is not None or count < 2:
        return []
    return [f"The panels need {count} settings, one after the other as listed above."]


def _tolerance_lines(found: Tolerances) -> list[str]:
    if not found.measured:
        return []
    overlap = f"the overlap of {100.0 * found.overlap_asked:.0f} % is"
    gap, others = (", even with pointing errors", ", pointed exactly") if found.shift_arcmin else ("", "")
    rows: Sequence[tuple[AngleTolerance | None, str, str]] = (
        (found.gap, f"no gap opens{gap}", "a gap is left even at the exact angle"),
        (found.overlap, f"{overlap} kept{others}", f"{overlap} not kept even at the exact angle"),
        (found.picture, f"the picture stays filled{others}", "the picture has empty parts even at the exact angle"),
    )
    exactly = "" if found.shift_arcmin else ", pointed exactly"
    lines = [f"Angle errors that the plan forgives{exactly} (all panels alike / each on its own):"]
    lines += [f"  {kept}: {_both(part)}" if part else f"  {lost}" for part, kept, lost in rows]
    return lines


def _note_lines(report: AngleReport) -> Iterator[str]:
    for note in report.notes:
        yield f"{note[0].upper()}{note[1:]}."


def _both(part: AngleTolerance) -> str:
    return f"{_up_to(part.together_deg)} / {_up_to(part.singly_deg)}"


def _up_to(value_deg: float) -> str:
    if value_deg >= CAP_DEG:
        return f"{CAP_DEG:.0f}° or more"
    if value_deg < 0.01:
        return "less than 0.01 degrees"
    return f"{rounded_down(value_deg, 2, slack=0.0)}°"


def _effect_lines(report: AngleReport, found: Effects) -> list[str]:
    mount = report.mount.kind if report.mount else "german"
    device = report.device.kind if report.device else None
    return list(effects_words(found, mount_kind=mount, device_kind=device))


def _caution_lines(report: AngleReport) -> list[str]:
    told = (MADE_UP_CAUTION,) if report.made_up_frames else ()
    return ["Cautions:", *(f"  - {line}" for line in (*told, *cautions_for(report.device, report.mount)))]
