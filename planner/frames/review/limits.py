"""How far a frame may be off and still count as good."""

from __future__ import annotations

from dataclasses import dataclass

from planner.checks import check_positive
from planner.request.request import Request

__all__ = ["ANGLE_DEG", "OFFSET_SHARE", "Limits"]

OFFSET_SHARE = 0.05
"""Of the field's short side."""
ANGLE_DEG = 1.0
SCALE_PERCENT = 2.0


@dataclass(frozen=True)
class Limits:
    """Limits of a good frame.

    Parameters
    ----------
    offset_arcmin : float
        Distance of the frame's centre from its panel's.
    angle_deg : float
        Turn against the panel on the sky, modulo 180 degrees (90 for a square sensor).
    scale_percent : float
        Difference from the plan's image scale.

    Raises
    ------
    InputError
        If a limit is not above 0.
    """

    offset_arcmin: float
    angle_deg: float
    scale_percent: float = SCALE_PERCENT

    def __post_init__(self) -> None:
        check_positive("the limit of the offset", self.offset_arcmin, 10_800.0, "give arc minutes")
        check_positive("the limit of the angle", self.angle_deg, 90.0, "give degrees")
        check_positive("the limit of the scale", self.scale_percent, 50.0, "give per cent")

    @classmethod
    def of_plan(
        cls,
        request: Request,
        *,
        offset_arcmin: float | None = None,
        angle_deg: float | None = None,
        scale_percent: float | None = None,
    ) -> Limits:
        """Limits of a plan: the usual ones, or what the errors that it allows for come to if that is more.

        Limits given here are taken as they are.
        """
        errors, field = request.mosaic, request.camera.field
        short_arcmin = 60.0 * min(field.width_deg, field.height_deg)
        usual_arcmin = max(OFFSET_SHARE * short_arcmin, errors.pointing_error_arcmin + errors.dither_arcmin)
        return cls(
            usual_arcmin if offset_arcmin is None else offset_arcmin,
            max(ANGLE_DEG, errors.angle_error_deg) if angle_deg is None else angle_deg,
            SCALE_PERCENT if scale_percent is None else scale_percent,
        )
