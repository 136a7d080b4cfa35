"""Whether a frame's pixels and its field are those of the plan's camera, however it is binned."""

from __future__ import annotations

from planner.rig.camera import Camera
from planner.rig.plate_solution import PlateSolution

from .limits import Limits

__all__ = ["ScaleCheck"]

HIGHEST_BINNING = 8
SAME_SIDE = 0.05
"""A binned frame has a whole number of times fewer pixels, within this part."""


class ScaleCheck:
    """Judges scale and field of frames.

    A frame binned otherwise than the plan is allowed for, by its header or by its number of pixels. A frame
    that misses more of the plan's field on a side than the limit of the offset shows too little.

    Parameters
    ----------
    camera : Camera
    limits : Limits
    """

    def __init__(self, camera: Camera, limits: Limits) -> None:
        self.limits, self.sensor_px, self.binning = limits, camera.sensor_px, camera.binning
        self.unbinned_arcsec_px = camera.scale_arcsec_px / camera.binning
        self.focal_length_mm = camera.focal_length_mm
        field, usable = camera.field, camera.usable
        self.field_deg = field.width_deg / usable[0], field.height_deg / usable[1]

    def other_scale(self, solution: PlateSolution) -> str | None:
        """Say that a frame has not the scale of the plan's camera, and why that may be; None if it has."""
        told = self._told(solution)
        off = self._off_percent(solution, told)
        if off > self.limits.scale_percent:
            others = [(n, n) for n in range(1, HIGHEST_BINNING + 1) if self._has_binned_size(solution, n)]
            off = min([off, *(self._off_percent(solution, binning) for binning in others)])
        return self._scale_text(solution, told) if off > self.limits.scale_percent else None

    def is_other_camera(self, solution: PlateSolution) -> bool:
        """Whether no binning explains a frame's scale by the plan's camera."""
        return self.other_scale(solution) is not None and self._fitting_binning(solution) is None

    def _fitting_binning(self, solution: PlateSolution) -> int | None:
        off = {n: self._off_percent(solution, (n, n)) for n in range(1, HIGHEST_BINNING + 1)}
        return next((n for n, percent in off.items() if percent <= self.limits.scale_percent), None)

    def fault(self, solution: PlateSolution) -> str | None:
        """Say in one phrase what is wrong; None if nothing is."""
        return self.other_scale(solution) or self._field_fault(solution)

    def _told(self, solution: PlateSolution) -> tuple[int, int]:
        return solution.binning or (self.binning, self.binning)

    def _scale_text(self, solution: PlateSolution, told: tuple[int, int]) -> str:
        """What scale there is, what there would have to be, and what explains it."""
        source = "by its header" if solution.binning else "as the plan has it"
        seen, wanted = solution.scale_arcsec_px, self.unbinned_arcsec_px * told[0]
        text = (
            f"{seen:.3f} arc seconds a pixel, where the plan's camera gives {wanted:.3f} "
            f"at a binning of {told[0]} x {told[1]}, {source}; "
        )
        fitting = self._fitting_binning(solution)
        if fitting:
            return text + (
                f"a binning of {fitting} x {fitting} would explain it, "
                "but then it has not the sensor's number of pixels: cut, or its header tells another binning"
            )
        length_mm = self.focal_length_mm * wanted / seen
        return text + (
            f"with the camera's pixels the focal length would be {length_mm:.0f} mm, not {self.focal_length_mm:g}: "
            "another camera, telescope or reducer, a frame of another plan, or a wrong binning in its header"
        )

    def _off_percent(self, solution: PlateSolution, binning: tuple[int, int]) -> float:
        """Largest difference of scale on either axis."""
        across = solution.scale_x_arcsec_px / (binning[0] * self.unbinned_arcsec_px)
        down = solution.scale_y_arcsec_px / (binning[1] * self.unbinned_arcsec_px)
        return 100.0 * max(abs(across - 1), abs(down - 1))

    def _has_binned_size(self, solution: PlateSolution, binning: int) -> bool:
        sides = zip(solution.size_px, self.sensor_px, strict=True)
        return all(abs(count * binning / full - 1) <= SAME_SIDE for count, full in sides)

    def _field_fault(self, solution: PlateSolution) -> str | None:
        (width, height), (wanted_width, wanted_height) = solution.field_deg, self.field_deg
        missing_arcmin = 30.0 * max(wanted_width - width, wanted_height - height)
        if missing_arcmin <= self.limits.offset_arcmin:
            return None
        return (
            f"shows {width:.2f} x {height:.2f} degrees, "
            f"less than the camera's {wanted_width:.2f} x {wanted_height:.2f}"
        )
