"""Options that stand for a plan file: each is a key of one of its tables."""

from __future__ import annotations

import os
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import click

from planner.cli._show import Command
from planner.cli.given.kinds import not_swallowed

__all__ = [
    "REQUEST_OPTIONS",
    "as_typed",
    "document_from_options",
    "given_flags",
    "moved_document",
    "request_options",
]

FILE_KEYS = (("", "setup"), ("region", "earlier_picture"), ("region", "outline_file"))
"""Keys that name files."""
SIZES = ("radius_deg", "width_deg", "height_deg")
"""Keys of the size of a region about its centre."""


@dataclass(frozen=True)
class RequestOption:
    """One option: its flag, the table and key that it stands for, how it is read."""

    flag: str
    table: str
    key: str
    about: str
    kind: click.ParamType[Any] = click.FLOAT
    count: int = 1
    metavar: str | None = None

    @property
    def parameter(self) -> str:
        """The name under which click hands the value over."""
        return f"{self.table}__{self.key}"


TITLE = RequestOption("--title", "", "title", "Name of the plan, to 200 characters.", click.STRING)
REQUEST_OPTIONS = (
    TITLE,
    RequestOption(
        "--setup",
        "",
        "setup",
        "Setup file: equipment and site that plan files share.",
        click.STRING,
        1,
        "FILE",
    ),
    RequestOption(
        "--object",
        "region",
        "object",
        "Cover this object of the catalogue, by any of its names.",
        click.STRING,
        1,
        "NAME",
    ),
    RequestOption(
        "--size-arcmin",
        "region",
        "size_arcmin",
        "Diameter in arc minutes, above 0 to 4200, instead of the catalogue's.",
    ),
    RequestOption(
        "--level",
        "region",
        "level",
        "Level of its outline: faint, middle or bright.",
        click.STRING,
        1,
        "LEVEL",
    ),
    RequestOption(
        "--center",
        "region",
        "center",
        "Centre of a circle or rectangle: right ascension, declination.",
        click.STRING,
        2,
        "RA DEC",
    ),
    RequestOption("--radius-deg", "region", "radius_deg", "Radius of the circle, degrees, above 0 to 35."),
    RequestOption("--width-deg", "region", "width_deg", "Width of the rectangle, degrees, above 0 to 70."),
    RequestOption("--height-deg", "region", "height_deg", "Height of the rectangle, degrees, above 0 to 70."),
    RequestOption(
        "--region-angle-deg",
        "region",
        "position_angle_deg",
        "Position angle of the rectangle's height, degrees, -360 to 360 (default 0).",
    ),
    RequestOption(
        "--outline-file",
        "region",
        "outline_file",
        "Cover an outline: CSV file, columns ra and dec in degrees.",
        click.STRING,
        1,
        "FILE",
    ),
    RequestOption(
        "--earlier-picture",
        "region",
        "earlier_picture",
        "Cover what an earlier, plate-solved picture shows.",
        click.STRING,
        1,
        "FILE",
    ),
    RequestOption(
        "--margin-arcmin",
        "region",
        "margin_arcmin",
        "Grow the region on all sides, arc minutes, 0 to 1800 (default 0).",
    ),
    RequestOption(
        "--focal-length-mm",
        "camera",
        "focal_length_mm",
        "Focal length as it works, with reducer or flattener, millimetres, 1 to 100,000.",
    ),
    RequestOption(
        "--aperture-mm", "camera", "aperture_mm", "Aperture, millimetres, above 0 to 100,000, for the record."
    ),
    RequestOption(
        "--sensor-px",
        "camera",
        "sensor_px",
        "Columns and rows of the sensor, pixels, 1 to 100,000 each.",
        click.INT,
        2,
        "COLUMNS ROWS",
    ),
    RequestOption("--pixel-um", "camera", "pixel_um", "Size of a pixel, micrometres, 0.1 to 1000."),
    RequestOption(
        "--binning", "camera", "binning", "Pixels binned each way, 1 to 64 (default 1).", click.INT
    ),
    RequestOption(
        "--overlap", "mosaic", "overlap", "Overlap, a fraction of each side, above 0 to 0.9 (default 0.15)."
    ),
    RequestOption(
        "--overlap-arcmin",
        "mosaic",
        "overlap_arcmin",
        "Overlap as the side of a square, arc minutes, above 0 to 6000, instead.",
    ),
    RequestOption(
        "--angles",
        "mosaic",
        "angles",
        "How many camera angles, 1 to 1000, each set once (default 1), or per_panel.",
        click.STRING,
        1,
        "NUMBER",
    ),
    RequestOption(
        "--position-angle-deg",
        "mosaic",
        "position_angle_deg",
        "Position angle of the panels, degrees, -360 to 360; left out: the one with the fewest panels.",
    ),
    RequestOption(
        "--position-angle-range-deg",
        "mosaic",
        "position_angle_range_deg",
        "Search the position angle only from the first to the second, degrees, -360 to 360.",
        click.FLOAT,
        2,
        "FROM TO",
    ),
    RequestOption(
        "--layout",
        "mosaic",
        "layout",
        "free: panels anywhere (default); sliding: rows that shift freely; grid: equal columns and rows.",
        click.STRING,
        1,
        "LAYOUT",
    ),
    RequestOption(
        "--columns",
        "mosaic",
        "columns",
        "Exactly so many columns of panels, 1 to 20,000, with --rows.",
        click.INT,
    ),
    RequestOption(
        "--rows", "mosaic", "rows", "Exactly so many rows of panels, 1 to 20,000, with --columns.", click.INT
    ),
    RequestOption(
        "--pointing-error-arcmin",
        "mosaic",
        "pointing_error_arcmin",
        "How far the mount may be off, arc minutes, 0 to 600 (default 0).",
    ),
    RequestOption(
        "--angle-error-deg",
        "mosaic",
        "angle_error_deg",
        "How far the camera angle may be off, degrees, 0 to 45 (default 0).",
    ),
    RequestOption(
        "--dither-arcmin", "mosaic", "dither_arcmin", "Greatest dither, arc minutes, 0 to 600 (default 0)."
    ),
    RequestOption(
        "--least-overlap-arcmin",
        "mosaic",
        "least_overlap_arcmin",
        "Overlap to keep despite these errors, arc minutes, 0 to 600 (default 0).",
    ),
)


def request_options(command: Command) -> Command:
    """Add all options that stand for keys of a plan file."""
    for one in reversed(REQUEST_OPTIONS):
        add = click.option(
            one.flag,
            one.parameter,
            type=one.kind,
            nargs=one.count,
            metavar=one.metavar,
            help=one.about,
            callback=not_swallowed,
        )
        command = add(command)
    return command


def given_flags(values: Mapping[str, Any]) -> list[str]:
    """Return the flags that were given."""
    return [one.flag for one in REQUEST_OPTIONS if values.get(one.parameter) is not None]


def as_typed(sentence: str, flags: Sequence[str]) -> str:
    """Return a sentence on keys of a plan file that names the options that were typed for them.

    >>> as_typed("[mosaic] overlap must be in (0, 0.9], got 15", ["--overlap"])
    '--overlap must be in (0, 0.9], got 15'
    """
    for one in REQUEST_OPTIONS:
        if one.flag in flags and one.table:
            sentence = re.sub(rf"\[{one.table}\] {one.key}\b(?!_)", one.flag, sentence)
    if "--setup" in flags and sentence.startswith("setup "):
        sentence = f"--{sentence}"
    if flags and sentence.startswith("--center needs"):
        for one in REQUEST_OPTIONS:
            if one.table == "region" and one.key in SIZES:
                sentence = re.sub(rf"(?<![\w-]){one.key}\b", one.flag, sentence)
    return sentence


def document_from_options(values: Mapping[str, Any]) -> dict[str, Any]:
    """Tables of the plan file that the options stand for.

    >>> document_from_options({"region__object": "NGC 3372", "mosaic__angles": "2"})
    {'region': {'object': 'NGC 3372'}, 'mosaic': {'angles': 2}}
    """
    document: dict[str, Any] = {}
    for one in REQUEST_OPTIONS:
        value = values.get(one.parameter)
        if value is not None:
            table = document.setdefault(one.table, {}) if one.table else document
            table[one.key] = _plain(one, value)
    return document


def _plain(option: RequestOption, value: Any) -> Any:
    """Value as the file would have it: lists, and numbers where the text is one."""
    if option.key == "angles":
        return int(value) if value.isdecimal() else value
    if option.key == "center":
        return [_number(text) for text in value]
    return list(value) if isinstance(value, tuple) else value


def _number(text: str) -> float | str:
    try:
        return float(text)
    except ValueError:
        return text


def moved_document(document: Mapping[str, Any], folder: Path) -> dict[str, Any]:
    """Return the document with relative file names relative to a folder instead of the working folder."""
    moved = {name: dict(table) if isinstance(table, Mapping) else table for name, table in document.items()}
    for table_name, key in FILE_KEYS:
        table: dict[str, Any] = moved.get(table_name, {}) if table_name else moved
        if key in table and not Path(table[key]).is_absolute():
            table[key] = os.path.relpath(str(table[key]), str(folder))
    return moved
