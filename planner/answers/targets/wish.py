"""What is asked of a list of targets: which of them, at which angle and margin, ranked by what."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, get_args

from planner.checks import check_position_angle, check_within, require
from planner.errors import nearest_names

__all__ = ["RANKS", "Rank", "TargetWish"]

Rank = Literal["area", "margin", "time", "cost"]
RANKS: tuple[Rank, ...] = get_args(Rank)
"""By which targets are ranked: the largest area, margin or time, or the least cost first."""
MARGIN = 0.05
MOST_PANELS = 100


@dataclass(frozen=True)
class TargetWish:
    """What is asked of a list of targets.

    Parameters
    ----------
    margin : float
        At all sides of the frame, share of its short side, in [0, 0.45].
    angle_deg : float, optional
        The camera's present position angle, degrees east of north.
    by : {'area', 'margin', 'time', 'cost'}
        How they are ranked.
    panels : int
        At most so many panels, in [1, 100].
    kinds : tuple of str
        Only these kinds of nebulae; all where empty.
    constellations : tuple of str
        Only these: Latin names or abbreviations of three letters.
    catalogues : tuple of str
        Only nebulae with a name in one of these catalogues, such as ``Sh2`` or ``LDN``.
    size_arcmin : (float, float), optional
        Only nebulae whose diameter (of the circle about them) lies between these.
    dec_deg : (float, float), optional
        Only nebulae whose middle lies between these declinations, ICRS.
    names : tuple of str
        Only these nebulae.
    groups : bool
        Whether groups of nebulae are looked for too.

    Raises
    ------
    InputError
        If a value is out of range.
    """

    margin: float = MARGIN
    angle_deg: float | None = None
    by: Rank = "area"
    panels: int = 1
    kinds: tuple[str, ...] = ()
    constellations: tuple[str, ...] = ()
    catalogues: tuple[str, ...] = ()
    size_arcmin: tuple[float, float] | None = None
    dec_deg: tuple[float, float] | None = None
    names: tuple[str, ...] = ()
    groups: bool = True

    def __post_init__(self) -> None:
        check_within("the margin", self.margin, 0.0, 0.45, "give a share of the short side, not per cent")
        check_position_angle("the camera's angle", self.angle_deg)
        require(
            self.by in RANKS,
            f"targets are ranked by {', '.join(RANKS)}, got {self.by!r}" + nearest_names(str(self.by), RANKS),
        )
        check_within("the number of panels", self.panels, 1, MOST_PANELS, "give a whole number")
        self._check_span("the size", self.size_arcmin, 0.0, 7200.0, "give arc minutes")
        self._check_span("the declination", self.dec_deg, -90.0, 90.0, "give degrees")

    @staticmethod
    def _check_span(name: str, span: tuple[float, float] | None, low: float, high: float, cure: str) -> None:
        if span is None:
            return
        for end in span:
            check_within(name, end, low, high, cure)
        require(
            span[0] <= span[1],
            f"{name} must go from the smaller to the larger, got {span[0]:g} and {span[1]:g}; exchange them",
        )
