"""What the guide says of tables of the user's own is what can be asked of them, both ways."""

import dataclasses
import re
import tomllib
from typing import Literal, get_args, get_origin, get_type_hints

from planner.files.user_table.fields import FIELDS, OPTIONS
from planner.files.user_table.table import Column, UserTable
from planner.guide.entries import tables_of
from planner.guide.pages import guide_page

TABLES = {table.columns[0]: table for table in tables_of(guide_page("handover").text)}
KEYS, LISTED, CHOICES = TABLES["key of a table"], TABLES["field"], TABLES["option"]


def plain(cell):
    return cell.strip("`")


def literals(kind, name):
    hint = get_type_hints(kind)[name]
    found = [part for part in (hint, *get_args(hint)) if get_origin(part) is Literal]
    return set(get_args(found[0])) if found else set()


def test_keys_of_a_table():
    fields = {field.name: field for field in dataclasses.fields(UserTable)}
    assert {plain(cells[0]) for cells in KEYS.rows} == set(fields)
    for key, values, default in KEYS.rows:
        field = fields[plain(key)]
        if field.default is dataclasses.MISSING:
            assert default == "needed"
        else:
            written = tomllib.loads(f"x = {plain(default)}")["x"]
            assert (tuple(written) if isinstance(written, list) else written) == field.default
        assert literals(UserTable, field.name) <= set(re.findall(r'`"(.*?)"`', values))


def test_fields_of_a_column():
    told = {plain(cells[0]): cells[1:] for cells in LISTED.rows}
    assert list(told) == list(FIELDS)
    for name, (what, kind, units, decimals) in told.items():
        assert what
        assert kind == FIELDS[name].kind
        assert tuple(re.findall(r"`(.*?)`", units)) == FIELDS[name].units
        assert decimals == (str(FIELDS[name].decimals) if FIELDS[name].units else "")


def test_options_of_a_column():
    told = {plain(cells[0]): cells[1:] for cells in CHOICES.rows}
    assert set(told) == {field.name for field in dataclasses.fields(Column)} - {"name", "field"}
    for name, (kinds, values, default) in told.items():
        assert set(kinds.split(", ")) == {kind for kind, options in OPTIONS.items() if name in options}
        assert literals(Column, name) <= set(re.findall(r'`"(.*?)"`', values))
        stated = next(field.default for field in dataclasses.fields(Column) if field.name == name)
        assert default.startswith(f'`"{stated}"`') if stated is not None else default
