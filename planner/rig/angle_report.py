"""Everything about a plan's camera angle in one value: readings, calibration, turn, tolerance, effects."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from planner.errors import InputError
from planner.geometry.looking import Looking
from planner.mosaic.mosaic import Mosaic
from planner.mosaic.panel import Panel
from planner.rig.mount import Mount

from .angle_device import AngleDevice
from .calibration import Calibration, ReadFrame, calibrate
from .camera import Camera
from .frame_check import FrameCheck, check_frame
from .matching import Match
from .plan_tolerances import Tolerances
from .plate_solution import PlateSolution
from .readings import PanelReading, panel_readings
from .tolerance import gap_at_turn_deg2
from .turn import Turn, smallest_turn

__all__ = [
    "AngleReport",
    "Replanned",
    "SolvedFrame",
    "Tolerances",
    "Unreachable",
    "angle_report",
    "refuse_made_up",
]


@dataclass(frozen=True)
class SolvedFrame:
    """A solved frame that was given, with its reading.

    Parameters
    ----------
    name : str
    solution : PlateSolution
    reading_deg : float
    looking : {'west', 'east'}
        To which side the telescope looked; west for a mount that does not flip.
    origin : str
        Where the solution came from, in words; empty for the frame's own header.
    made_up : bool
        Whether the frame was made up to practise with, so that it tells nothing of the real camera.
    """

    name: str
    solution: PlateSolution
    reading_deg: float
    looking: Looking = "west"
    origin: str = ""
    made_up: bool = False


def made_up_names(frames: Sequence[SolvedFrame], match: Match | None = None) -> tuple[str, ...]:
    """Name the frames that nobody has taken, and the picture to match where it is one."""
    found = [frame.name for frame in frames if frame.made_up]
    return (*found, "the picture to match") if match is not None and match.made_up else (*found,)


def refuse_made_up(frames: Sequence[SolvedFrame], match: Match | None = None) -> None:
    """Raise where a frame is made up: no zero of it is saved, no sheet drawn that sends somebody to the camera.

    Raises
    ------
    InputError
        If a frame or the picture to match is made up.
    """
    if names := made_up_names(frames, match):
        raise InputError(
            f"{', '.join(names)}: made up, to practise with, which tells nothing of the real camera: no zero is "
            "saved and no sheet drawn; give frames of the camera alone"
        )


@dataclass(frozen=True)
class Replanned:
    """The plan at another angle: how many panels it takes and whether they cover."""

    panels: int
    covered: bool
    overlap_found: float


@dataclass(frozen=True)
class Unreachable:
    """What an angle costs that the device cannot reach.

    Parameters
    ----------
    position_angle_deg : float
        Nearest that it can reach.
    off_deg : float
    reading_deg : float
    gap_area_deg2 : float
        Left uncovered with the panels where they are; 0 where they still cover.
    replanned : Replanned or None
        A plan made anew for the angle that can be reached.
    """

    position_angle_deg: float
    off_deg: float
    reading_deg: float
    gap_area_deg2: float
    replanned: Replanned | None = None


@dataclass(frozen=True)
class AngleReport:
    """What to set, and why it can be trusted; see the parts.

    `frame_limit_deg` is how far a frame may be turned and still count as good when it comes back, degrees.
    """

    title: str
    panels: tuple[Panel, ...]
    period_deg: float
    device: AngleDevice | None
    readings: tuple[PanelReading, ...]
    tolerances: Tolerances
    frame_limit_deg: float
    frames: tuple[SolvedFrame, ...] = ()
    checks: tuple[FrameCheck, ...] = ()
    calibration: Calibration | None = None
    turn: Turn | None = None
    unreachable: Unreachable | None = None
    match: Match | None = None
    match_reading: PanelReading | None = None
    mount: Mount | None = None
    notes: tuple[str, ...] = ()

    @property
    def made_up_frames(self) -> tuple[str, ...]:
        """Names of the frames given that nobody has taken."""
        return made_up_names(self.frames, self.match)

    def calibrated_device(self) -> AngleDevice:
        """Return the angle device with the zero and sense that the frames give, to be kept in a file.

        Raises
        ------
        InputError
            If a frame is made up, the frames contradict each other, or none was given.
        """
        refuse_made_up(self.frames, self.match)
        if self.device is None or self.calibration is None:
            raise InputError("there is no calibration to save; give a solved frame and its reading")
        if self.calibration.contradictory:
            raise InputError("the frames contradict each other, nothing is saved; check readings and frames")
        return self.device

    @property
    def first_panel(self) -> Panel:
        """The panel that is shot first."""
        return min(self.panels, key=lambda panel: panel.order)

    @property
    def target_position_angle_deg(self) -> float:
        """The angle to set first: the earlier picture's where there is one, else the first panel's."""
        return self.match.position_angle_deg if self.match else self.first_panel.position_angle_deg

    @property
    def is_mirrored(self) -> bool:
        """Whether the last frame shows the sky mirrored."""
        return bool(self.frames) and self.frames[-1].solution.parity == "mirrored"

    @property
    def tolerance_deg(self) -> float | None:
        """How far the angle may be off with no gap: all panels alike if they share an angle, else each."""
        gap = self.tolerances.gap
        if gap is None:
            return None
        angles = {round(panel.position_angle_deg, 6) for panel in self.panels}
        return gap.together_deg if len(angles) == 1 else gap.singly_deg


def angle_report(
    title: str,
    mosaic: Mosaic,
    *,
    camera: Camera,
    device: AngleDevice | None,
    tolerances: Tolerances,
    frame_limit_deg: float,
    frames: Sequence[SolvedFrame] = (),
    match: Match | None = None,
    mount: Mount | None = None,
    replan: Callable[[float], Replanned | None] | None = None,
    panels: Sequence[Panel] | None = None,
    notes: Sequence[str] = (),
) -> AngleReport:
    """Put together what is known of a plan's camera angle.

    Parameters
    ----------
    title : str
    mosaic : Mosaic
    camera : Camera
    device : AngleDevice or None
        As the setup has it; frames with readings give it a new zero and, from two on, a new sense.
    tolerances : Tolerances
    frame_limit_deg : float
        How far a frame may be turned against its panel and still count as good.
    frames : sequence of SolvedFrame
        In the order in which they were taken; the device stands where the last one was.
    match : Match, optional
        An earlier picture to match.
    mount : Mount, optional
    replan : callable, optional
        Makes the plan anew at a position angle; asked only when the plan's angle cannot be reached.
    panels : sequence of Panel, optional
        Those that are still to be shot; left out, all of them.
    notes : sequence of str
        What the plan does not allow for, one sentence each.

    Raises
    ------
    InputError
        If a reading lies outside the travel or there is no panel.
    """
    if not mosaic.panels:
        raise InputError("the plan has no panel; make the region larger")
    calibration = _calibration(frames, device)
    device = _calibrated(device, calibration)
    report = AngleReport(
        title=title,
        panels=mosaic.panels if panels is None else tuple(panels),
        period_deg=mosaic.field.period_deg,
        device=device,
        readings=(),
        tolerances=tolerances,
        frame_limit_deg=frame_limit_deg,
        frames=tuple(frames),
        checks=tuple(check_frame(frame.solution, camera, mosaic.panels) for frame in frames),
        calibration=calibration,
        match=match,
        mount=mount,
        notes=tuple(notes),
    )
    return report if device is None else _with_readings(report, mosaic, device, replan)


def _with_readings(
    report: AngleReport,
    mosaic: Mosaic,
    device: AngleDevice,
    replan: Callable[[float], Replanned | None] | None,
) -> AngleReport:
    turn = None
    if report.frames:
        here, target = report.frames[-1].reading_deg, report.target_position_angle_deg
        turn = smallest_turn(device, here, target, period_deg=report.period_deg)
    start = turn.from_reading_deg if turn else None
    readings = panel_readings(report.panels, mosaic.field, device, start_deg=start)
    return replace(
        report,
        readings=readings,
        turn=turn,
        unreachable=_unreachable(mosaic, readings, replan),
        match_reading=_match_reading(report, device, turn),
    )


def _match_reading(report: AngleReport, device: AngleDevice, turn: Turn | None) -> PanelReading | None:
    """Return what to set so that frames lie on the earlier picture."""
    if report.match is None:
        return None
    angle = report.match.position_angle_deg
    reading, off = device.nearest_reading(angle, period_deg=report.period_deg)
    if turn is not None:
        reading = turn.to_reading_deg
    return PanelReading("match", angle, reading, off)


def _calibration(frames: Sequence[SolvedFrame], device: AngleDevice | None) -> Calibration | None:
    if not frames:
        return None
    read = [
        ReadFrame(frame.name, frame.solution.position_angle_deg, frame.reading_deg, frame.looking)
        for frame in frames
    ]
    return calibrate(read, sense=device.sense if device else 1)


def _calibrated(device: AngleDevice | None, calibration: Calibration | None) -> AngleDevice | None:
    if calibration is None:
        return device
    found = device or AngleDevice("adjuster")
    return replace(found, zero_deg=calibration.zero_deg, sense=calibration.sense)


def _unreachable(
    mosaic: Mosaic, readings: Sequence[PanelReading], replan: Callable[[float], Replanned | None] | None
) -> Unreachable | None:
    """Cost of the angle that is missed by most; None where all are reached."""
    worst = max(readings, key=lambda reading: abs(reading.off_deg))
    if worst.reachable:
        return None
    angle = worst.nearest_position_angle_deg
    reached = {reading.name: reading.nearest_position_angle_deg for reading in readings}
    moved = tuple(
        replace(panel, position_angle_deg=reached.get(panel.name, panel.position_angle_deg))
        for panel in mosaic.panels
    )
    gap = gap_at_turn_deg2(replace(mosaic, panels=moved), 0.0)
    return Unreachable(angle, worst.off_deg, worst.reading_deg, gap, replan(angle) if replan else None)
