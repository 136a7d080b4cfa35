"""Whether a frame's pixels and its field are those of the plan's camera, however it is binned."""

from __future__ import annotations

from planner.rig.camera import Camera
from planner.rig.plate_solution import PlateSolution

from .limits import Limits

__all__ = ["scale_fault"]

HIGHEST_BINNING = 8
SAME_SIDE = 0.05
"""A binned frame has a whole number of times fewer pixels, within this part."""


def scale_fault(solution: PlateSolution, camera: Camera, limits: Limits) -> str | None:
    """Say in one phrase what is wrong with a frame's scale or field; None if nothing is.

    A frame binned otherwise than the plan is allowed for, by its header or by its number of pixels. A frame
    that misses more of the plan's field on a side than the limit of the offset shows too little.
    """
    unbinned = camera.scale_arcsec_px / camera.binning
    told = solution.binning or (camera.binning, camera.binning)
    others = ((n, n) for n in range(1, HIGHEST_BINNING + 1) if _has_binned_size(solution, camera, n))
    off = min(_off_percent(solution, unbinned, binning) for binning in (told, *others))
    if off > limits.scale_percent:
        return (
            f"{solution.scale_arcsec_px:.3f} arc seconds a pixel, "
            f"within {limits.scale_percent:g} per cent of {unbinned * told[0]:.3f} wanted"
        )
    return _field_fault(solution, camera, limits)


def _off_percent(solution: PlateSolution, unbinned: float, binning: tuple[int, int]) -> float:
    """Largest difference of scale on either axis."""
    across, down = solution.scale_x_arcsec_px / binning[0], solution.scale_y_arcsec_px / binning[1]
    return 100.0 * max(abs(across / unbinned - 1), abs(down / unbinned - 1))


def _has_binned_size(solution: PlateSolution, camera: Camera, binning: int) -> bool:
    sides = zip(solution.size_px, camera.sensor_px, strict=True)
    return all(abs(count * binning / full - 1) <= SAME_SIDE for count, full in sides)


def _field_fault(solution: PlateSolution, camera: Camera, limits: Limits) -> str | None:
    shown, plan = solution.field_deg, camera.field
    wanted = plan.width_deg / camera.usable[0], plan.height_deg / camera.usable[1]
    missing_arcmin = max(30.0 * (whole - part) for whole, part in zip(wanted, shown, strict=True))
    if missing_arcmin <= limits.offset_arcmin:
        return None
    sizes = [f"{width:.2f} x {height:.2f}" for width, height in (shown, wanted)]
    return f"shows {sizes[0]} degrees, less than the camera's {sizes[1]}"
