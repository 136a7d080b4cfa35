"""The page on the plan file and the reader say the same: every key, its unit, range and default, both ways."""

import dataclasses
import datetime as dt
import re
import tomllib
from pathlib import Path
from typing import Literal, get_args, get_origin, get_type_hints

import pytest

from planner.errors import InputError
from planner.files.plan_file.faults import Faults
from planner.files.plan_file.read import SEVERAL, SHARED, SINGLE, request_from_document
from planner.files.plan_file.read import tables_of as read_tables
from planner.files.plan_file.shared import shared_from_text
from planner.guide.entries import key_entry, tables_of
from planner.guide.pages import guide_page
from planner.request.region import RegionRequest
from planner.request.request import SeasonRequest
from planner.request.shared import SetupFile
from tests.guide.examples import PAPERS, ROOT, fenced

KINDS = SINGLE | {name: kind for name, (_, kind) in SEVERAL.items()} | {SHARED: SetupFile}
PAGE = guide_page("plan-file").text
TABLES = {
    re.search(r"\[(\w+)\]", table.heading)[1]: table for table in tables_of(PAGE) if "[" in table.heading
}
ROWS = [(name, *cells) for name, table in TABLES.items() for cells in table.rows]
NUMBERS = re.compile(r"(above )?(-?[\d,.]*\d) to (-?[\d,.]*\d)")
BASE = {
    "setup_files": {"file": Path("pier.toml")},
    "settled": dict.fromkeys(("words", "region", "camera", "mosaic", "panels"), "0" * 16),
    "camera": {"focal_length_mm": 380.0, "sensor_px": (6000, 4000), "pixel_um": 3.9},
    "region": {"center": (120.0, 20.0)},
    "angle_device": {"kind": "rotator"},
    "site": {"latitude_deg": 0.0, "longitude_deg": 0.0},
    "nights": {"first": dt.date(2027, 1, 1), "last": dt.date(2027, 1, 2)},
    "filters": {"name": "Ha", "band": "narrow", "exposure_s": 60.0, "exposures": 1},
    "panels": {"name": "A1", "ra_deg": 0.0, "dec_deg": 0.0, "position_angle_deg": 0.0},
}
"""What each table needs besides the key that is tried."""
OTHER_SHAPE = {
    "camera.sensor_px": lambda value: {"sensor_px": (int(value), int(value))},
    "camera.usable": lambda value: {"usable": (value, 1.0)},
    "region.size_arcmin": lambda value: {"size_arcmin": (value, value), "object": "M 42", "center": None},
    "region.width_deg": lambda value: {"width_deg": value, "height_deg": 1.0},
    "region.height_deg": lambda value: {"width_deg": 1.0, "height_deg": value},
    "region.radius_deg": lambda value: {"radius_deg": value},
    "region.position_angle_deg": lambda v: {"position_angle_deg": v, "width_deg": 1.0, "height_deg": 1.0},
    "region.margin_arcmin": lambda value: {"margin_arcmin": value, "radius_deg": 1.0},
    "region.outline": lambda count: {
        "outline": tuple((360.0 * place / count, 0.0) for place in range(int(count))),
        "center": None,
    },
    "region.objects": lambda count: {
        "objects": tuple(f"NGC {number}" for number in range(1, int(count) + 1)),
        "center": None,
    },
    "region.parts": lambda count: {
        "parts": tuple(RegionRequest(object=f"NGC {number}") for number in range(1, int(count) + 1)),
        "center": None,
    },
    "picture.aspect": lambda value: {"aspect": (value, 1.0)},
    "mosaic.position_angle_range_deg": lambda value: {"position_angle_range_deg": (value, 1.0)},
    "mosaic.columns": lambda value: {"columns": int(value), "rows": 1},
    "mosaic.rows": lambda value: {"columns": 1, "rows": int(value)},
    "angle_device.range_deg": lambda value: {"range_deg": (value, 0.0) if value < 0 else (0.0, value)},
    "site.horizon_deg": lambda value: {"horizon_deg": ((0.0, value),)},
    "site.hour_price": lambda value: {"hour_price": ((0.0, value),)},
    "panels.exposures": lambda value: {"exposures": {"Ha": int(value)}},
    "panels.taken": lambda value: {"taken": {"Ha": int(value)}, "keep": True},
    "panels.field_deg": lambda value: {"field_deg": (value, 1.0), "keep": True},
}
"""How a value goes into a key that takes more than one number, or not alone."""
WHOLE = {
    "mosaic.angles",
    "mosaic.columns",
    "mosaic.rows",
    "camera.sensor_px",
    "region.objects",
    "region.outline",
    "region.parts",
    "panels.exposures",
    "panels.taken",
}


def plain(cell):
    return cell.strip("`")


def test_every_key_is_documented_and_no_other():
    assert set(TABLES) == set(KINDS)
    for name, kind in KINDS.items():
        keys = [plain(cells[0]) for cells in TABLES[name].rows]
        assert len(keys) == len(set(keys))
        assert set(keys) == {field.name for field in dataclasses.fields(kind)}, name


def test_keys_outside_tables_are_documented_and_no_other():
    top, season = (
        {plain(cells[0]) for cells in table.rows}
        for table in tables_of(PAGE)
        if table.columns[0] == "key" and "[" not in table.heading
    )
    faults = Faults(None)
    read_tables(dict.fromkeys(top, "text"), ("title", "setup", "names_used"), None, faults)
    assert top == {"title", "setup", "names_used"}
    assert not faults.found
    assert season == {field.name.replace("requests", "plans") for field in dataclasses.fields(SeasonRequest)}


def test_every_sample_uses_keys_that_are_documented():
    known = {(name, plain(key)) for name, key, *_ in ROWS} | {("tables", key) for key in ("file", "rows")}
    for path in (ROOT / "sample_targets").glob("*.toml"):
        for name, table in tomllib.loads(path.read_text(encoding="utf-8")).items():
            for part in table if isinstance(table, list) else [table]:
                if isinstance(part, dict) and name != "tables":
                    assert {(name, key) for key in part} <= known, path


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row[0]}.{plain(row[1])}")
def test_default_and_choices_are_those_of_the_code(row):
    table, key, says, unit, default = row
    field = next(one for one in dataclasses.fields(KINDS[table]) if one.name == plain(key))
    if field.default is dataclasses.MISSING:
        assert default.startswith("needed")
    elif field.default is None:
        assert default.startswith("none")
    else:
        written = tomllib.loads(f"x = {re.match('`(.*?)`', default)[1]}")["x"]
        assert (tuple(written) if isinstance(written, list) else written) == field.default
        assert type(written) is type(field.default) or isinstance(written, list)
    hint = get_type_hints(KINDS[table])[field.name]
    literals = [part for part in (hint, *get_args(hint)) if get_origin(part) is Literal]
    if literals:
        assert set(re.findall(r'"(\w+)"', says + unit)) == {str(one) for one in get_args(literals[0])}
    assert says and unit


@pytest.mark.parametrize(
    ("table", "key", "unit"),
    [
        pytest.param(row[0], plain(row[1]), row[3], id=f"{row[0]}.{plain(row[1])}")
        for row in ROWS
        if NUMBERS.search(row[3])
    ],
)
def test_the_range_told_is_the_range_taken(table, key, unit):
    above, low, high = NUMBERS.search(unit).groups()
    low, high = float(low.replace(",", "")), float(high.replace(",", ""))
    place = f"{table}.{key}"

    whole = place in WHOLE or get_type_hints(KINDS[table])[key] in (int, int | None)

    def build(value):
        shape = OTHER_SHAPE.get(place, lambda one: {key: int(one) if whole else one})
        return KINDS[table](**BASE.get(table, {}) | shape(value))

    step = 1.0 if whole else 1e-6 * max(1.0, abs(high))
    for value in (low + (step if above else 0.0), high):
        build(value)
    for value in (low - (0.0 if above else step), high + step):
        with pytest.raises(InputError):
            build(value)


@pytest.mark.parametrize("paper", PAPERS, ids=lambda path: path.name)
def test_toml_shown_can_be_read(paper):
    for start, lines in fenced(paper, "toml"):
        document = tomllib.loads("\n".join(lines))
        if "plans" in document:
            assert set(document) <= {"title", "plans", "turns_allowed"}, start
            continue
        if SHARED in document:
            shared_from_text("\n".join(lines), path=ROOT / "sample_targets" / "shown.toml")
            continue
        document.pop("setup", None)
        whole = {"camera": BASE["camera"], "region": {"object": "M 42"}} | document
        request_from_document(whole, path=ROOT / "sample_targets" / "shown.toml")


def test_an_input_of_the_app_shows_what_the_page_says():
    for name, key, *_ in ROWS:
        assert plain(key) in key_entry(f"{name}.{plain(key)}")
    assert key_entry("mosaic.overlap") == (
        "Guaranteed overlap, fraction of each side of a panel: above 0 to 0.9. Default: `0.15`. "
        "Plan file: `[mosaic] overlap`"
    )
    assert key_entry("mosaic.nothing") is None
