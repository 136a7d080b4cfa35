"""A solved frame against the plan: focal length, scale, squareness, and the panel it lies nearest to."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from planner.geometry import position_angle_deg, separation_rad, sky_to_vector
from planner.mosaic.panel import Panel, panel_centers

from .camera import ARCSEC_PER_RAD, Camera
from .plate_solution import PlateSolution

__all__ = ["FrameCheck", "NearestPanel", "check_frame", "frame_binning", "nearest_panel"]

SIZE_SLACK = 0.05
"""A file whose sides are within this part of sensor / binning counts as the whole sensor."""


@dataclass(frozen=True)
class NearestPanel:
    """The panel whose centre lies nearest to a frame's centre.

    Parameters
    ----------
    name : str
    offset_arcmin : float
        Between the centres.
    direction_deg : float
        Position angle of the frame's centre seen from the panel's, degrees east of north.
    """

    name: str
    offset_arcmin: float
    direction_deg: float


@dataclass(frozen=True)
class FrameCheck:
    """What a solved frame says of the optics.

    Parameters
    ----------
    binning : (int, int)
        Columns and rows that make one pixel of the file.
    binning_stated : bool
        Whether the file says so; else it was told from its size, or taken from the plan.
    focal_length_mm : float
        Mean of both axes, geometric.
    focal_length_ratio : float
        To the plan's.
    whole_sensor : bool
        Whether the file's size is the plan's sensor, binned so.
    nearest : NearestPanel or None
    """

    binning: tuple[int, int]
    binning_stated: bool
    focal_length_mm: float
    focal_length_ratio: float
    whole_sensor: bool
    nearest: NearestPanel | None


def check_frame(solution: PlateSolution, camera: Camera, panels: Sequence[Panel] = ()) -> FrameCheck:
    """Compare a solved frame with the plan's camera and panels.

    focal length = pixel pitch * binning / scale; each axis by its own binning and scale.
    """
    binning = frame_binning(solution, camera)
    pitch_mm = camera.pixel_um * 1e-3
    scales = (solution.scale_x_arcsec_px, solution.scale_y_arcsec_px)
    each = [ARCSEC_PER_RAD * pitch_mm * b / scale for b, scale in zip(binning, scales, strict=True)]
    cosine = math.cos(math.radians(solution.axis_skew_deg))
    focal = math.sqrt(each[0] * each[1] / cosine)
    return FrameCheck(
        binning=binning,
        binning_stated=solution.binning is not None,
        focal_length_mm=focal,
        focal_length_ratio=focal / camera.focal_length_mm,
        whole_sensor=_is_whole(solution, camera, binning),
        nearest=nearest_panel(solution, panels),
    )


def frame_binning(solution: PlateSolution, camera: Camera) -> tuple[int, int]:
    """Return the binning of a frame: as its header says, else as its size tells, else as the plan has it."""
    if solution.binning is not None:
        return solution.binning
    usual = (camera.binning, camera.binning)
    if _is_whole(solution, camera, usual):
        return usual
    across = round(camera.sensor_px[0] / solution.size_px[0])
    if across >= 1 and _is_whole(solution, camera, (across, across)):
        return across, across
    return usual


def _is_whole(solution: PlateSolution, camera: Camera, binning: tuple[int, int]) -> bool:
    wanted = (side / b for side, b in zip(camera.sensor_px, binning, strict=True))
    return all(
        abs(side - want) <= SIZE_SLACK * want for side, want in zip(solution.size_px, wanted, strict=True)
    )


def nearest_panel(solution: PlateSolution, panels: Sequence[Panel]) -> NearestPanel | None:
    """Return the panel nearest to a frame's centre; None if there are no panels."""
    if not panels:
        return None
    here = sky_to_vector(solution.ra_deg, solution.dec_deg)
    apart = separation_rad(panel_centers(panels), here)
    index = int(np.argmin(apart))
    panel = panels[index]
    direction = position_angle_deg(panel.ra_deg, panel.dec_deg, solution.ra_deg, solution.dec_deg)
    return NearestPanel(panel.name, math.degrees(apart[index]) * 60.0, float(direction))
