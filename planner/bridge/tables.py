"""Answers as tables with units: the rows of their machine forms, times as astropy times."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from astropy.table import QTable

    from planner.answers.compare import SetupAnswer
    from planner.answers.fit import SetupFit
    from planner.answers.how_many_angles import AnglesRow
    from planner.answers.nights import NightsPlan
    from planner.answers.progress import MosaicProgress
    from planner.answers.season import SeasonPlan
    from planner.answers.targets.target import TargetList
    from planner.answers.which_angle.curve import AngleCurve
    from planner.frames.review.review import Review

__all__ = [
    "compare_table",
    "fit_table",
    "how_many_angles_table",
    "nights_table",
    "progress_table",
    "review_table",
    "season_table",
    "targets_table",
    "timetable",
    "which_angle_table",
]

UNITS = {
    "deg": "deg",
    "arcmin": "arcmin",
    "hours": "h",
    "seconds": "s",
    "cm": "cm",
    "mm": "mm",
    "arcsec_px": "arcsec",
}
"""Endings of keys and their units."""
TIMES = ("from", "to", "dark_from", "dark_to")


def nights_table(nights: NightsPlan) -> QTable:
    """Return one row an evening: when it is dark, how the Moon is lit, how long panels can be shot."""
    from planner.files.documents.nights import nights_document

    rows = nights_document(nights)["nights"]
    keys = ("evening", "dark_from", "dark_to", "moon_illumination")
    return _table(
        [
            {key: row.get(key) for key in keys}
            | {"panel_hours": sum(panel["hours"] for panel in row["panels"].values())}
            for row in rows
        ]
    )


def timetable(nights: NightsPlan) -> QTable:
    """Return one row a block of work: evening, from, to, panel, filter, exposures, and where the telescope looks."""
    from planner.files.documents.nights import nights_document

    return _table(nights_document(nights).get("timetable", []))


def season_table(season: SeasonPlan) -> QTable:
    """Return one row a target: panels at the season's angle and at its own best angle."""
    from planner.files.documents.season import season_document

    return _table(season_document(season)["targets"])


def compare_table(answers: Sequence[SetupAnswer]) -> QTable:
    """Return one row a setup: panels, scale, hours, cost, width of the print."""
    from planner.files.documents.compare import compare_document

    return _table(compare_document(answers)["setups"])


def fit_table(fits: Sequence[SetupFit]) -> QTable:
    """Return one row a setup: whether everything fits its one frame, margin, best angle, longest focal length."""
    from planner.files.documents.fit import fit_document

    keys = ("setup", "fits", "margin_arcmin", "position_angle_deg", "longest_focal_length_mm", "panels")
    return _table([{key: row[key] for key in keys if key in row} for row in fit_document(fits)["setups"]])


def targets_table(found: TargetList) -> QTable:
    """Return one row a target: centre, margin and angle of its best frame, hours through each filter."""
    from planner.files.documents.targets import target_rows

    return _table(
        [
            {key: value for key, value in row.items() if key not in ("center_deg", "fits_at_deg", "hours")}
            | {"ra_deg": row["center_deg"][0], "dec_deg": row["center_deg"][1]}
            | {f"{name}_hours": hours for name, hours in row["hours"].items()}
            for row in target_rows(found)
        ]
    )


def which_angle_table(curve: AngleCurve) -> QTable:
    """Return one row an angle: panels, and the overlap of those that are planned."""
    from planner.files.documents.which_angle import which_angle_document

    return _table(which_angle_document(curve)["angles"])


def how_many_angles_table(rows: Sequence[AnglesRow]) -> QTable:
    """Return one row a number of camera angles: panels, overlap, and how few there can be."""
    from planner.files.documents.how_many_angles import how_many_angles_document

    document = how_many_angles_document("", rows)
    return _table(next(value for value in document.values() if isinstance(value, list)))


def review_table(review: Review) -> QTable:
    """Return one row a panel and filter: good exposures, those wanted, seconds."""
    from planner.files.documents.review import review_document

    return _table(review_document(review)["panels"])


def progress_table(standing: MosaicProgress) -> QTable:
    """Return one row a panel and filter: good exposures and seconds, those wanted, nights left."""
    from planner.files.documents.progress import progress_document

    return _table(progress_document(standing)["panels"])


def _table(rows: Sequence[Mapping[str, Any]]) -> QTable:
    """Return a table of rows of plain values; what a row lacks is masked, lists of values stay texts."""
    from astropy.table import MaskedColumn, QTable

    names = list(dict.fromkeys(name for row in rows for name in row))
    table = QTable()
    for name in names:
        values = [row.get(name) for row in rows]
        mask = [value is None for value in values]
        known = next((value for value in values if value is not None), "")
        kept = [_cell(known if value is None else value) for value in values]
        table[name] = _column(name, kept) if not any(mask) else MaskedColumn(kept, mask=mask)
    return table


def _cell(value: Any) -> Any:
    return ", ".join(map(str, value)) if isinstance(value, list) else value


def _column(name: str, values: list[Any]) -> Any:
    from astropy.time import Time
    from astropy.units import Quantity

    if name in TIMES and all(isinstance(value, str) and value.endswith("Z") for value in values):
        return Time([value.removesuffix("Z") for value in values], scale="utc", format="isot")
    unit = next(
        (unit for ending, unit in UNITS.items() if name == ending or name.endswith(f"_{ending}")), None
    )
    numbers = all(isinstance(value, int | float) for value in values)
    return Quantity(values, unit) if unit and numbers else values
