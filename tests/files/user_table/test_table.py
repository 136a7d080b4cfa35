import copy
import tomllib

import pytest

from planner.errors import InputError
from planner.files.user_table.example import example_table
from planner.files.user_table.fields import FIELDS, OPTIONS
from planner.files.user_table.table import read_tables

GOOD = {
    "file": "list.csv",
    "columns": [
        {"name": "RA", "field": "ra", "unit": "hours", "form": "sexagesimal", "separators": ["h", "m", "s"]},
        {"name": "PA", "field": "position_angle", "range_deg": [0, 180]},
    ],
}


def changed(column=None, **keys):
    table = copy.deepcopy(GOOD)
    table["columns"][0].update(column or {})
    table.update(keys)
    return table


def test_defaults():
    (table,) = read_tables([GOOD])
    assert (table.rows, table.delimiter, table.header, table.quote) == ("panel", ",", True, "where needed")
    assert (table.encoding, table.line_end, table.decimal_mark) == ("utf-8", "lf", ".")
    assert table.guard_formulas
    assert table.columns[1].range_deg == (0.0, 180.0)


@pytest.mark.parametrize(
    ("raw", "sentence"),
    [
        (changed(fil="x"), r"\[\[tables\]\] 1 has the unknown key 'fil'; did you mean 'file'\?"),
        (changed(file="../list.csv"), "file must be a plain file name without folders, got '../list.csv'"),
        (changed(file="a/b.csv"), "plain file name"),
        (changed(file="c:list.csv"), "plain file name"),
        (changed(file=""), "plain file name"),
        (changed(file=".."), "plain file name"),
        (changed(file="nul.txt"), "plain file name"),
        (changed(file="a\nb"), "plain file name"),
        (changed(file=3), "1: file: Expected str, got int"),
        (
            changed(rows="panels"),
            "rows: Invalid enum value 'panels'; it may be 'panel' or 'panel and filter'",
        ),
        (changed(delimiter=";;"), "delimiter must be one character"),
        (changed(delimiter="5"), "delimiter must be one character"),
        (changed(delimiter=",", decimal_mark=",", quote="never"), "delimiter and decimal_mark are both ','"),
        (changed(encoding="utf8"), "encoding: Invalid enum value 'utf8'; it may be 'utf-8' or"),
        (changed(encoding="utf-16", byte_order_mark=True), "byte_order_mark goes with encoding = 'utf-8'"),
        (changed(first_lines=["a\nb"]), "first_lines must hold one line each"),
        (changed(columns=[]), "columns must be 1 to 200"),
        (changed(columns={}), "columns must be a list of tables"),
        (changed(columns=["ra"]), "column 1 must be a table such as"),
        (changed({"field": "raa"}), "column 1: there is no field 'raa'; did you mean 'ra'"),
        (changed({"field": "brightness"}), "there is no field 'brightness'; the fields are number, title"),
        (changed({"decimal": 1}), "column 1 has the unknown key 'decimal'; did you mean 'decimals'"),
        (changed({"decimals": "2"}), "column 1: decimals: Expected int"),
        (changed({"decimals": 12}), r"column 1: decimals must be in \[0, 9\], got 12"),
        (changed({"unit": "degree"}), "unit of 'ra' must be degrees or hours, got 'degree'"),
        (changed({"range_deg": [0, 180]}), r"range_deg of 'ra' must be \[0, 360\] or \[-180, 180\]"),
        (changed({"separators": ["1", "m", "s"]}), "separators must not hold digits"),
        (changed({"form": "decimal"}), "separators go with form = 'sexagesimal'"),
        (changed({"text": "x"}), "'text' does not go with field 'ra', which has date, decimals"),
        (
            changed({"equator": "of date"}),
            "equator: Invalid enum value 'of date'; it may be 'ICRS' or 'mean of",
        ),
        (changed(columns=[{"name": "T", "field": "text"}]), "field 'text' and text = '...' go together"),
        (changed(columns=[{"name": "T", "field": "title", "text": "x"}]), "go together"),
        (
            changed(columns=[{"name": "F", "field": "filter"}]),
            "field 'filter' needs rows = 'panel and filter'",
        ),
        (changed(columns=[{"name": "D", "field": "dec", "range_deg": [0, 360]}]), "must be left out"),
        (
            changed(columns=[{"name": "R", "field": "reading", "equator": "ICRS"}]),
            "does not go with field 'reading'",
        ),
        (changed(columns=[{"field": "ra"}]), "column 1: name is missing"),
        ({"columns": GOOD["columns"]}, "1: file is missing"),
    ],
)
def test_faults_are_named_with_their_place(raw, sentence):
    with pytest.raises(InputError, match=sentence):
        read_tables([raw])


def test_second_table_is_named_and_names_must_differ():
    with pytest.raises(InputError, match=r"\[\[tables\]\] 2: file is missing"):
        read_tables([GOOD, {"columns": GOOD["columns"]}])
    with pytest.raises(InputError, match=r"two tables have the file name 'LIST.csv'"):
        read_tables([GOOD, changed(file="LIST.csv")])


def test_example_can_be_read_and_explains_every_field_and_option():
    text = example_table()
    (table,) = read_tables(tomllib.loads(text)["tables"])
    assert len(table.columns) == 7
    for word in {*FIELDS, *(option for options in OPTIONS.values() for option in options)}:
        assert word in text
    assert "mosaic planner" in text
