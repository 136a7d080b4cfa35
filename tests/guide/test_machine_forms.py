"""The page on machine forms and the code say the same: every schema, key and column, both ways."""

import ast
import json
import re

import pytest

from planner.answers.plan import make_plan
from planner.files.exchange.obsplan_columns import OBSPLAN_COLUMNS, OWN_COLUMNS
from planner.files.exchange.panel_tables import panels_ecsv_bytes
from planner.files.plan_file.read import request_from_document
from planner.guide.entries import tables_of
from planner.guide.pages import guide_page
from tests.guide.examples import ROOT

PAGE = guide_page("machine-forms").text
TABLES = {table.heading.strip("`"): table for table in tables_of(PAGE)}
SCHEMAS = {name: table for name, table in TABLES.items() if re.fullmatch(r"[a-z-]+ \d+", name)}
CAPITALS = re.compile(r"[A-Z]+")
DOCUMENTS = ROOT / "planner" / "files" / "documents"


def plain(cell):
    return cell.strip("`")


def documented(schema):
    return {plain(cells[0]) for cells in SCHEMAS[schema].rows}


def sources():
    """Schema -> the module that writes it, as a syntax tree."""
    found = {}
    for path in [*DOCUMENTS.glob("*.py"), ROOT / "planner" / "cli" / "handover_verb.py"]:
        text = path.read_text(encoding="utf-8")
        stated = re.search(r'^SCHEMA = "(.+)"|"schema": "(.+?)"', text, re.MULTILINE)
        if stated and path.name != "json_text.py":
            found[stated[1] or stated[2]] = ast.parse(text)
    return found


SOURCES = sources()


def names_in(tree, *, only_keys):
    """Names that a module writes: keys of displays and of keyword calls; or all texts that could be one."""
    found = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Dict):
            found |= {key.value for key in node.keys if isinstance(key, ast.Constant)}
        elif isinstance(node, ast.Call) and getattr(node.func, "id", "") == "_without_none":
            found |= {keyword.arg for keyword in node.keywords}
        elif not only_keys and isinstance(node, ast.Constant) and isinstance(node.value, str):
            found |= set(re.findall(r"\w+", node.value))
    return {name for name in found if isinstance(name, str)}


def parts_of(path):
    return [part.removesuffix("[]") for part in path.split(".")]


def test_every_schema_is_documented_and_no_other():
    assert set(SCHEMAS) == set(SOURCES)
    listed = {
        plain(cells[-1]) for table in tables_of(PAGE) for cells in table.rows if "schema" in table.columns
    }
    assert listed == set(SCHEMAS)
    marks = re.findall(
        r'"schema": "(.+?)"', (ROOT / "planner" / "files" / "output.py").read_text(encoding="utf-8")
    )
    assert set(marks) == set(SCHEMAS)


@pytest.mark.parametrize("schema", SCHEMAS)
def test_every_key_written_is_documented_and_no_other_is(schema):
    names = {name for path in documented(schema) for name in parts_of(path) if not CAPITALS.fullmatch(name)}
    assert names <= names_in(SOURCES[schema], only_keys=False)
    assert names_in(SOURCES[schema], only_keys=True) - names <= NOT_KEYS.get(schema, set())


NOT_KEYS: dict[str, set[str]] = {}
"""Keys of displays that go into no document."""


def paths_in(value, path=""):
    """Paths of all keys in a document, entries of lists as `[]`."""
    if isinstance(value, dict):
        for key, part in value.items():
            yield from paths_in(part, f"{path}.{key}" if path else key)
        if value:
            return
    elif isinstance(value, list) and any(isinstance(part, dict) for part in value):
        for part in value:
            yield from paths_in(part, path + "[]")
        return
    yield path


def undocumented(document):
    """Paths in a document that the page does not have; names of the plan's own match capitals."""
    patterns = []
    for path in documented(document["schema"]):
        pattern = CAPITALS.sub("[^.]+", re.escape(path.removesuffix("[]")))
        patterns.append(re.compile(pattern + r"(\[\])?"))
    containers = {path.rpartition("[]")[0] for path in documented(document["schema"]) if "[]" in path}
    found = set(paths_in(document))
    return {path for path in found - containers if not any(one.fullmatch(path) for one in patterns)}


def test_what_is_not_documented_is_seen():
    document = {"schema": "season 1", "angles": [{"position_angle_deg": 1, "plans": ["x"]}], "targets": []}
    assert undocumented(document) == set()
    assert undocumented(document | {"angles": [{"extra": 1}], "more": {"a": 2}}) == {
        "angles[].extra",
        "more.a",
    }


def test_columns_of_the_panel_table():
    request = request_from_document(
        {
            "camera": {"focal_length_mm": 380, "sensor_px": [6000, 4000], "pixel_um": 3.9},
            "region": {"center": [128.5, -45.8], "radius_deg": 0.5},
            "mosaic": {"position_angle_deg": 0, "layout": "grid"},
            "angle_device": {"kind": "rotator"},
            "panels": [
                {"name": "A1", "ra_deg": 128.5, "dec_deg": -45.8, "position_angle_deg": 0, "keep": True}
            ],
        }
    )
    any_plan = make_plan(request)
    head = [line[2:] for line in panels_ecsv_bytes(any_plan).decode().split("\n") if line.startswith("# - {")]
    columns = [json.loads(line[2:]) for line in head]
    table = next(table for name, table in TABLES.items() if name.startswith("Columns of panels"))
    told = {plain(name): cells[2] for cells in table.rows for name in cells[0].split(", ")}
    assert told == {column["name"]: column.get("unit", "") for column in columns}
    assert list(told) == [column["name"] for column in columns]


def test_columns_of_planned_observations():
    table = next(table for name, table in TABLES.items() if name.startswith("Columns of observations"))
    told = {plain(name): cells[2] for cells in table.rows for name in cells[0].split(", ")}
    assert told == {column.name: column.unit for column in (*OBSPLAN_COLUMNS, *OWN_COLUMNS)}
