"""The report and its words: readings after a calibration, unreachable angles, instructions."""

from dataclasses import replace

import pytest

from planner.errors import InputError
from planner.mosaic.panel import Field
from planner.rig.aim import aim_deg
from planner.rig.angle_device import AngleDevice
from planner.rig.angle_report import Replanned, SolvedFrame, angle_report
from planner.rig.angle_words import report_lines
from planner.rig.cautions import CAMERA_CAUTIONS, cautions_for
from planner.rig.effects import effects
from planner.rig.instruction import CLEAR, instruction, settings
from planner.rig.matching import match_picture
from planner.rig.mount import Mount
from planner.rig.plan_tolerances import measure_tolerances
from planner.rig.tolerance import AngleTolerance

from .hand_made import CAMERA, FIELD, grid_mosaic, solution_at

MOSAIC = grid_mosaic(2, 2, angle=130.0)
TOLERANCES = measure_tolerances(MOSAIC)
ADJUSTER = AngleDevice("adjuster", 112.4)


def frame(angle, reading, name="test.fits", *, looking="west", **more):
    return SolvedFrame(name, solution_at(angle, **more), reading, looking)


def report_of(device=ADJUSTER, frames=(), mosaic=MOSAIC, tolerances=TOLERANCES, **more):
    return angle_report(
        "Shell",
        mosaic,
        camera=CAMERA,
        device=device,
        tolerances=tolerances,
        frames=frames,
        **{"frame_limit_deg": 1.0, **more},
    )


def text_of(report, old=None):
    found = effects(report.panels, FIELD, CAMERA, picture=(128.0, -20.0, 130.0), exposure_s=600.0)
    return "\n".join(report_lines(report, found, old=old))


def test_readings_without_a_frame():
    report = report_of()
    assert {round(one.reading_deg, 9) for one in report.readings} == {17.6}
    assert report.turn is None and report.calibration is None
    assert settings(report)[0].panels == ("A1", "A2", "B1", "B2")


def test_a_frame_moves_the_zero_and_everything_follows():
    report = report_of(frames=[frame(150.0, 40.0)])
    assert report.device.zero_deg == pytest.approx(110.0)
    assert report.turn.position_angle_deg == pytest.approx(-20.0)
    assert report.turn.to_reading_deg == pytest.approx(20.0)
    assert report.readings[0].reading_deg == pytest.approx(20.0)
    assert report.checks[0].focal_length_mm == pytest.approx(380.0)


def test_frames_of_both_sides():
    """Two frames half a turn apart, one looking east and one west, agree on one zero."""
    east, west = frame(330.0, 40.0, looking="east"), frame(130.0, 20.0, looking="west")
    for frames in ([east], [west], [east, west]):
        report = report_of(frames=frames)
        assert report.device.zero_deg == pytest.approx(110.0)
        assert report.turn.to_reading_deg == pytest.approx(20.0)
        assert report.readings[0].reading_deg == pytest.approx(20.0)


def test_total_turning_is_told():
    turned = tuple(replace(p, position_angle_deg=130.0 + 10.0 * p.order) for p in MOSAIC.panels)
    told = text_of(report_of(mosaic=replace(MOSAIC, panels=turned)))
    assert "Turning in all: 30°" in told and "The panels need 4 settings" in told


def test_falling_scale():
    report = report_of(replace(ADJUSTER, sense=-1), [frame(150.0, 40.0)])
    assert report.device.zero_deg == pytest.approx(190.0)
    assert report.turn.reading_deg == pytest.approx(20.0)
    assert report.turn.position_angle_deg == pytest.approx(-20.0)


def test_two_frames_correct_a_wrong_sense():
    report = report_of(ADJUSTER, [frame(150.0, 40.0, "a"), frame(120.0, 70.0, "b")])
    assert (report.device.sense, report.device.zero_deg) == (-1, pytest.approx(190.0))
    assert "The sense differs from the setup's +1." in text_of(report, ADJUSTER)


def test_no_device_but_a_frame_makes_one():
    report = report_of(None, [frame(150.0, 40.0)])
    assert report.device.kind == "adjuster"
    assert report_of(None).readings == ()
    assert "No angle device" in text_of(report_of(None))


def test_unreachable_angle_is_replanned():
    asked = []

    def replan(angle_deg):
        asked.append(angle_deg)
        return Replanned(7, True, 0.151)

    short = AngleDevice("adjuster", 0.0, 1, (0.0, 100.0))
    report = report_of(short, replan=replan)
    cost = report.unreachable
    assert asked == [cost.position_angle_deg]
    assert cost.off_deg == pytest.approx(-30.0) and cost.reading_deg == 100.0
    assert cost.position_angle_deg == pytest.approx(100.0)
    assert cost.gap_area_deg2 > 0.0
    assert "7 panels and covers with 15.1 % overlap" in text_of(report)
    assert report_of(ADJUSTER, replan=replan).unreachable is None and len(asked) == 1


def test_fixed_camera_at_its_own_angle_and_elsewhere():
    here = report_of(AngleDevice("fixed", 310.0))
    assert here.unreachable is None
    assert "nobody turns it" in " ".join(instruction(here).steps)
    away = report_of(AngleDevice("fixed", 128.0))
    assert (
        "must be 128.0° or 308.0°" in instruction(away).steps[-1]
    )  # what it can show, not what the plan wants
    assert away.unreachable.off_deg == pytest.approx(-2.0)
    assert away.unreachable.gap_area_deg2 == 0.0
    assert "it still covers the region" in text_of(away)


def test_instruction_by_hand():
    report = report_of(frames=[frame(150.0, 40.0)])
    order = instruction(report)
    assert (order.present, order.target) == ("40.0°", "20.0°")
    assert order.steps[0] == CAMERA_CAUTIONS[0]
    turning = order.steps[2]
    assert "20.0° clockwise" in turning and "the reading falls" in turning
    assert "130.0° or 310.0°" in order.steps[-1] and "with one more frame" in order.steps[-1]
    assert "with a frame: take it" in instruction(report_of()).steps[-1]
    assert "nobody turns the camera" in order.after_flip
    assert "no gap opens" in order.tolerance


def test_one_limit_for_overlap_and_gap_is_told_once():
    kept = replace(TOLERANCES, overlap=TOLERANCES.gap, overlap_asked=0.15)
    words = instruction(report_of(tolerances=kept, frame_limit_deg=9.0)).tolerance
    assert words == (
        "Panels overlap by 15 % or more as long as the angle is within 8.6°; beyond that gaps may open."
    )


@pytest.mark.parametrize(
    ("parity", "sense", "words", "trend"),
    [
        ("sky", 1, "clockwise", "falls"),
        ("sky", -1, "clockwise", "rises"),
        ("mirrored", 1, "counter-clockwise", "falls"),
        ("mirrored", -1, "counter-clockwise", "rises"),
    ],
)
def test_direction_seen_from_behind_the_camera(parity, sense, words, trend):
    """The angle must fall by 20 degrees: on the sky it grows counter-clockwise; a mirror reverses it."""
    report = report_of(replace(ADJUSTER, sense=sense), [frame(150.0, 40.0, parity=parity)])
    step = instruction(report).steps[2]
    assert f"20.0° {words}, seen from behind" in step and f"the reading {trend}" in step


def test_instruction_by_motor_and_when_nothing_is_to_do():
    rotator = AngleDevice("rotator", 112.4, 1, (-200.0, 200.0), 0.01)
    order = instruction(report_of(rotator))
    assert order.steps[0] == CLEAR and CLEAR not in cautions_for(rotator)
    assert "own reading 17.6°" in order.steps[1]
    done = instruction(report_of(frames=[frame(130.0, 17.6)]))
    assert any("already shows the right reading" in step for step in done.steps)


def test_other_mounts_say_what_becomes_of_the_flip():
    assert "does not flip" in instruction(report_of(mount=Mount("fork"))).after_flip
    assert "rotator follows" in instruction(report_of(mount=Mount("altaz"))).after_flip


def test_square_field_names_all_four_angles():
    square = Field(2.5, 2.5)
    mosaic = grid_mosaic(2, 2, angle=130.0, field=square)
    report = report_of(mosaic=mosaic, tolerances=measure_tolerances(mosaic))
    assert "40.0°, 130.0°, 220.0° or 310.0°" in instruction(report).steps[-1]


def test_matching_an_earlier_picture():
    match = match_picture(solution_at(60.0), FIELD)
    report = report_of(frames=[frame(150.0, 40.0)], match=match)
    assert report.turn.to_reading_deg == pytest.approx(130.0)
    assert report.match_reading.reading_deg == pytest.approx(130.0)
    assert "One panel covers all of it." in text_of(report)
    assert "60.0° or 240.0°" in instruction(report).steps[-1]
    alone = report_of(match=match)
    assert instruction(alone).target == "307.6°" or instruction(alone).target == "127.6°"


def test_promises_are_rounded_down():
    report = report_of()
    gap = report.tolerances.gap.together_deg
    told = float(instruction(report).tolerance.split("is within ")[-1].split("°")[0])
    assert told <= gap < told + 0.1
    assert report.tolerances.overlap is None  # rows drift apart towards the pole: less than was asked for
    assert aim_deg(report) == 1.0  # one division
    roomy = replace(report, tolerances=replace(report.tolerances, overlap=AngleTolerance(2.5, 1.0)))
    assert aim_deg(replace(roomy, frame_limit_deg=3.0)) == 2.5
    assert instruction(roomy).steps[-1].endswith(", within 1.0°.")
    narrow = replace(report, tolerances=replace(report.tolerances, overlap=AngleTolerance(0.69, 0.6)))
    assert instruction(narrow).steps[-1].endswith(", within 1.0° (within 0.6° no overlap is lost).")
    tight = replace(report, tolerances=replace(report.tolerances, gap=AngleTolerance(0.3, 0.2)))
    assert aim_deg(tight) == 0.3 and "finer than the scale's division" in instruction(tight).tolerance


def test_nobody_is_told_more_than_a_good_frame_may_be_off():
    wide = AngleTolerance(6.6, 6.6)
    report = report_of(tolerances=replace(TOLERANCES, gap=wide, overlap=wide))
    order = instruction(report)
    assert aim_deg(report) == 1.0 and order.steps[-1].endswith(", within 1.0°.")
    assert order.tolerance.endswith(" Frames turned by more than 1.0° do not count as good.")
    assert "finer" not in order.tolerance
    loose = replace(report, frame_limit_deg=2.3)
    assert aim_deg(loose) == 2.3 and instruction(loose).steps[-1].endswith(", within 2.3°.")
    whole = replace(report, frame_limit_deg=9.0)
    assert aim_deg(whole) == 6.6 and "do not count" not in instruction(whole).tolerance


def test_a_coarse_scale_is_told_to_be_coarser_than_good_frames_need():
    wide = AngleTolerance(6.6, 6.6)
    coarse = replace(ADJUSTER, division_deg=5.0)
    report = report_of(coarse, tolerances=replace(TOLERANCES, gap=wide, overlap=wide))
    assert aim_deg(report) == 1.0
    assert instruction(report).tolerance.endswith(
        "do not count as good. That is finer than the scale's division of 5°: verify with a frame."
    )


def test_gap_in_the_plan_is_told():
    mosaic = grid_mosaic(2, 2, fill=1.05)
    report = report_of(mosaic=mosaic, tolerances=measure_tolerances(mosaic))
    assert "forgives nothing" in instruction(report).tolerance
    assert "a gap is left even at the exact angle" in text_of(report)


def test_text_tells_all_of_a_frame():
    frames = [frame(150.0, 40.0, "a.fits"), frame(170.3, 60.0, "b.fits"), frame(100.0, 80.0, "c.fits")]
    told = text_of(report_of(frames=frames), ADJUSTER)
    for words in (
        "a.fits at reading 40.0°",
        "parity as on the sky",
        "axes square",
        "(was 112.4°)",
        "Scatter",
    ):
        assert words in told
    assert "contradict each other" in told or "Left out: c.fits" in told
    odd = solution_at(
        150.0,
        axis_skew_deg=0.3,
        distortion="SIP",
        distortion_corner_arcsec=12.0,
        system="FK5, equinox 1975",
        size_px=(3000, 3000),
        scale_x_arcsec_px=1.9,
    )
    told = text_of(report_of(frames=[SolvedFrame("odd.fits", odd, 40.0)]))
    for words in (
        "out of square by 0.30°",
        "corners (SIP): 12.0 arc seconds",
        "from FK5, equinox 1975",
        "cropped",
    ):
        assert words in told
    assert "--measured-focal-length" in told


@pytest.mark.parametrize(("zero_deg", "told"), [(292.4, True), (300.0, True), (112.4, False), (202.4, False)])
def test_a_zero_from_the_other_side_of_the_mount_is_told(zero_deg, told):
    text = text_of(report_of(frames=[frame(zero_deg + 40.0, 40.0)]), ADJUSTER)
    assert ("most likely the telescope looked to the other side (--looking)" in text) == told
    unset = replace(ADJUSTER, zero_deg=0.0)
    assert "other side" not in text_of(report_of(frames=[frame(220.0, 40.0)]), unset)


def test_reading_outside_the_travel_is_refused():
    with pytest.raises(InputError, match="within the travel"):
        report_of(AngleDevice("adjuster", 0.0, 1, (0.0, 90.0)), [frame(150.0, 140.0)])
