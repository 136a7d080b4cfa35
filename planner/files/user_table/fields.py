"""The fields that a column of a user's own table can hold: a plain fixed list, no formulas."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

__all__ = ["FIELDS", "OPTIONS", "TableField"]

Kind = Literal["sky angle", "position angle", "reading", "size", "time", "count", "text"]

ANGLE_OPTIONS = frozenset({"unit", "form", "decimals", "separators", "sign", "digits", "range_deg"})
OPTIONS: dict[Kind, frozenset[str]] = {
    "sky angle": ANGLE_OPTIONS | {"equator", "date"},
    "position angle": ANGLE_OPTIONS | {"equator", "date", "direction"},
    "reading": ANGLE_OPTIONS | {"direction"},
    "size": frozenset({"unit", "decimals"}),
    "time": frozenset({"unit", "decimals"}),
    "count": frozenset(),
    "text": frozenset({"text", "spaces"}),
}
"""What a column may say beside `name` and `field`, by the kind of its field."""


@dataclass(frozen=True)
class TableField:
    """One field.

    Parameters
    ----------
    meaning : str
        For help and for the example.
    kind : str
        Decides which options a column may have.
    units : tuple of str
        The units on offer, the default first.
    decimals : int
        The default.
    by_filter : bool
        Whether the field differs from filter to filter, so that the rows must too.
    """

    meaning: str
    kind: Kind
    units: tuple[str, ...] = ()
    decimals: int = 0
    by_filter: bool = False

    @property
    def is_angle(self) -> bool:
        """Whether the field is written by an angle's rules."""
        return self.kind in {"sky angle", "position angle", "reading"}


DEGREES, TIMES = ("degrees",), ("seconds", "minutes", "hours")
FIELDS: dict[str, TableField] = {
    "number": TableField("number of the row, from 1", "count"),
    "title": TableField("title of the plan", "text"),
    "panel": TableField("name of the panel", "text"),
    "target": TableField("title and name of the panel, with a space between", "text"),
    "order": TableField("place of the panel in the shooting order, from 1", "count"),
    "row": TableField("row of the panel, from 1 at the top", "count"),
    "column": TableField("column of the panel, from 1 at the left", "count"),
    "ra": TableField("right ascension of the panel's centre", "sky angle", ("degrees", "hours"), 6),
    "dec": TableField("declination of the panel's centre", "sky angle", DEGREES, 6),
    "position_angle": TableField("of the frame's up, at the panel's centre", "position angle", DEGREES, 3),
    "reading": TableField("of the angle device", "reading", DEGREES, 2),
    "field_width": TableField("usable field of view along the rows", "size", ("degrees", "arcmin"), 4),
    "field_height": TableField("usable field of view along the columns", "size", ("degrees", "arcmin"), 4),
    "scale": TableField("image scale at the centre, per binned pixel", "size", ("arcsec",), 4),
    "binning": TableField("binning of the camera", "count"),
    "filter": TableField("name of the filter", "text", by_filter=True),
    "exposure": TableField("length of one exposure", "time", TIMES, by_filter=True),
    "exposures": TableField("number of exposures of the panel through the filter", "count", by_filter=True),
    "exposure_total": TableField("length of all these exposures together", "time", TIMES, by_filter=True),
    "text": TableField("the same text in every row, given as text = '...'", "text"),
}
"""Every field, by name."""
