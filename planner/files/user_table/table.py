"""The user's own table: what `[[tables]]` in a plan or setup file says of a file for the capture session."""

from __future__ import annotations

import csv
import dataclasses
import datetime as dt
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal, get_args, get_origin, get_type_hints

from planner.checks import require
from planner.errors import InputError, nearest_names

from .angle_form import MOST_DECIMALS, AngleForm
from .fields import FIELDS, OPTIONS, TableField

__all__ = ["QUOTING", "Column", "UserTable", "read_tables"]

RANGES = ((0.0, 360.0), (-180.0, 180.0), (0.0, 180.0), (-90.0, 90.0))
UNSAFE_IN_NAMES = re.compile(r'[\x00-\x1f\x7f/\\:*?"<>|]')
RESERVED_NAMES = re.compile(r"(con|prn|aux|nul|com\d|lpt\d)(\..*)?", re.IGNORECASE)
MOST_COLUMNS = 200
QUOTING: dict[str, Any] = {"where needed": csv.QUOTE_MINIMAL, "all": csv.QUOTE_ALL, "never": csv.QUOTE_NONE}
"""The csv module's name for each way to quote."""


@dataclass(frozen=True)
class Column:
    """One column: a name and a field of the fixed list, with its unit and form; None means the default.

    Parameters
    ----------
    name, field : str
    unit : str
        One of the field's units; the default is the first in `FIELDS`.
    form : {'decimal', 'sexagesimal'}
    decimals : int
        Decimals of the number, or of the seconds, in [0, 9].
    separators : str or (str, str, str)
        One text between the parts, or three: after degrees or hours, after minutes, after seconds.
    sign : {'negative', 'always'}
    digits : int
        Whole degrees or hours get zeros in front up to so many digits.
    range_deg : (float, float)
        [0, 360] or [-180, 180]; for position angles also [0, 180] and [-90, 90], which write an angle of a
        rectangle modulo 180. The upper end itself is written as the lower one. Readings without a range stay
        as they are on the scale.
    direction : {'east', 'west'}
        Of positive angles, from north.
    equator : {'ICRS', 'mean of date', 'true of date'}
        Mean: precession; true: nutation too. Aberration is left to the mount.
    date : date
        For an equator of date.
    text : str
        For the field `text`.
    spaces : str
        What replaces spaces in a text.
    """

    name: str
    field: str
    unit: str | None = None
    form: Literal["decimal", "sexagesimal"] = "decimal"
    decimals: int | None = None
    separators: str | tuple[str, str, str] = ":"
    sign: Literal["negative", "always"] | None = None
    digits: int | None = None
    range_deg: tuple[float, float] | None = None
    direction: Literal["east", "west"] = "east"
    equator: Literal["ICRS", "mean of date", "true of date"] = "ICRS"
    date: dt.date | None = None
    text: str | None = None
    spaces: str | None = None

    def __post_init__(self) -> None:
        if self.field not in FIELDS:
            hint = nearest_names(self.field, FIELDS) or f"; the fields are {', '.join(FIELDS)}"
            raise InputError(f"there is no field {self.field!r}{hint}")
        units = self.about.units
        require(
            self.unit is None or self.unit in units,
            f"unit of {self.field!r} must be {' or '.join(units) or 'left out'}, got {self.unit!r}",
        )
        places = (("decimals", self.decimals, MOST_DECIMALS), ("digits", self.digits, 6))
        for name, value, most in places:
            require(value is None or 0 <= value <= most, f"{name} must be in [0, {most}], got {value}")
        self._check_angle()
        given = self.text is not None
        require((self.field == "text") == given, "field 'text' and text = '...' go together")

    def _check_angle(self) -> None:
        count = {"dec": 0, "position_angle": len(RANGES)}.get(self.field, 2)
        ranges = RANGES[:count]
        offered = " or ".join(f"[{low:g}, {high:g}]" for low, high in ranges) or "left out"
        require(
            self.range_deg is None or self.range_deg in ranges,
            f"range_deg of {self.field!r} must be {offered}, got {list(self.range_deg or ())}",
        )
        require(self.equator != "ICRS" or self.date is None, "date goes with equator = '... of date'")
        marks = (self.separators,) if isinstance(self.separators, str) else self.separators
        require(
            not any(re.search(r"[0-9+.,-]", mark) for mark in marks),
            f"separators must not hold digits, signs or decimal marks, got {self.separators!r}",
        )

    @property
    def about(self) -> TableField:
        """The field's entry in the fixed list."""
        return FIELDS[self.field]

    @property
    def unit_used(self) -> str:
        """The unit, given or default."""
        return self.unit or self.about.units[0]

    @property
    def decimals_used(self) -> int:
        """The decimals, given or default: as fine in hours and in seconds as in decimal degrees."""
        if self.decimals is not None:
            return self.decimals
        if self.about.is_angle:
            coarser = 3 if self.form == "sexagesimal" else 0
            return max(0, self.about.decimals - coarser + (self.unit_used == "hours"))
        return self.about.decimals

    def angle_form(self, decimal_mark: str = ".") -> AngleForm:
        """How this column writes its angle."""
        sexagesimal = self.form == "sexagesimal"
        whole = 2 if self.unit_used == "hours" or self.field == "dec" else 3
        one = self.separators
        as_it_is = self.range_deg is None and self.field not in {"ra", "position_angle"}
        first, last = self.range_deg or (0.0, 360.0)
        return AngleForm(
            unit="hours" if self.unit_used == "hours" else "degrees",
            form=self.form,
            decimals=self.decimals_used,
            separators=(one, one, "") if isinstance(one, str) else one,
            sign=self.sign or ("always" if self.field == "dec" and sexagesimal else "negative"),
            digits=self.digits if self.digits is not None else whole if sexagesimal else 1,
            first_deg=None if as_it_is else first,
            span_deg=round(last - first),
            decimal_mark=decimal_mark,
        )


@dataclass(frozen=True)
class UserTable:
    """One file of the user's own form.

    Parameters
    ----------
    file : str
        A plain file name.
    columns : tuple of Column
    rows : {'panel', 'panel and filter', 'filter and panel'}
        One row per panel, or per panel and filter; the first named changes slowest.
    delimiter : str
        One character.
    header : bool
        Whether the first row holds the columns' names.
    first_lines : tuple of str
        Lines before everything else, as they are.
    quote : {'where needed', 'all', 'never'}
        Which cells stand in double quotes.
    decimal_mark : {'.', ','}
    encoding : str
    byte_order_mark : bool
        For utf-8: whether the file begins with one. utf-16 always does.
    line_end : {'lf', 'crlf'}
    guard_formulas : bool
        Whether a text cell that a spreadsheet would take for a formula gets an apostrophe in front.
    """

    file: str
    columns: tuple[Column, ...]
    rows: Literal["panel", "panel and filter", "filter and panel"] = "panel"
    delimiter: str = ","
    header: bool = True
    first_lines: tuple[str, ...] = ()
    quote: Literal["where needed", "all", "never"] = "where needed"
    decimal_mark: Literal[".", ","] = "."
    encoding: Literal["utf-8", "utf-16", "us-ascii", "iso-8859-1", "iso-8859-15"] = "utf-8"
    byte_order_mark: bool = False
    line_end: Literal["lf", "crlf"] = "lf"
    guard_formulas: bool = True

    def __post_init__(self) -> None:
        _check_file_name(self.file)
        require(0 < len(self.columns) <= MOST_COLUMNS, f"columns must be 1 to {MOST_COLUMNS} tables")
        single = len(self.delimiter) == 1 and not self.delimiter.isalnum()
        single = single and self.delimiter not in '"\r\n+-.'
        require(single, f'delimiter must be one character such as "," or "\\t", got {self.delimiter!r}')
        for column in self.columns:
            require(
                self.rows != "panel" or not column.about.by_filter,
                f"column {column.name!r}: field {column.field!r} needs rows = 'panel and filter'",
            )
        require(
            self.quote != "never" or self.delimiter != self.decimal_mark,
            f"delimiter and decimal_mark are both {self.delimiter!r}; quote the cells or choose another",
        )
        require(
            not any("\n" in line or "\r" in line for line in self.first_lines),
            "first_lines must hold one line each; give several texts for several lines",
        )
        require(
            not self.byte_order_mark or self.encoding == "utf-8",
            f"byte_order_mark goes with encoding = 'utf-8', got {self.encoding!r}",
        )


def _check_file_name(name: str) -> None:
    plain = 0 < len(name.encode()) <= 150 and not UNSAFE_IN_NAMES.search(name)
    plain = plain and name == name.strip() and not name.startswith(".") and not name.endswith(".")
    require(
        plain and not RESERVED_NAMES.fullmatch(name),
        f"file must be a plain file name without folders, got {name!r}; give one such as 'capture_list.csv'",
    )


def read_tables(raw: Sequence[Mapping[str, Any]]) -> tuple[UserTable, ...]:
    """Read what `[[tables]]` says.

    Parameters
    ----------
    raw : sequence of mapping
        As TOML gives them.

    Raises
    ------
    InputError
        Naming the table, the column and the fault.
    """
    tables = tuple(_read_table(entry, f"[[tables]] {index}") for index, entry in enumerate(raw, start=1))
    names = [table.file.casefold() for table in tables]
    for index, name in enumerate(names):
        fresh = name not in names[:index]
        require(fresh, f"two tables have the file name {tables[index].file!r}; rename one")
    return tables


def _read_table(raw: Mapping[str, Any], place: str) -> UserTable:
    import msgspec

    require(isinstance(raw, Mapping), f"{place} must be a table, got {raw!r}")
    _check_keys(raw, [item.name for item in dataclasses.fields(UserTable)], place)
    columns = raw.get("columns")
    require(isinstance(columns, list | tuple), f"{place}.columns must be a list of tables, got {columns!r}")
    for index, column in enumerate(columns or (), start=1):
        _check_column_keys(column, f"{place}, column {index}")
    try:
        return msgspec.convert(raw, UserTable)
    except msgspec.ValidationError as error:
        raise InputError(_clear(str(error), place)) from error


def _check_keys(raw: Mapping[str, Any], known: Sequence[str], place: str) -> None:
    for key in raw:
        hint = nearest_names(str(key), known) or f"; it may have {', '.join(known)}"
        require(key in known, f"{place} has the unknown key {key!r}{hint}")


def _check_column_keys(raw: Mapping[str, Any], place: str) -> None:
    fits = isinstance(raw, Mapping)
    require(fits, f"{place} must be a table such as {{name = ..., field = ...}}, got {raw!r}")
    _check_keys(raw, [item.name for item in dataclasses.fields(Column)], place)
    field = raw.get("field")
    if isinstance(field, str) and field in FIELDS:
        options = OPTIONS[FIELDS[field].kind]
        for key in raw:
            offered = ", ".join(sorted(options)) or "no options"
            require(
                key in {"name", "field"} | options,
                f"{place}: {key!r} does not go with field {field!r}, which has {offered}",
            )
    require(
        "separators" not in raw or raw.get("form") == "sexagesimal",
        f"{place}: separators go with form = 'sexagesimal'",
    )


def _clear(text: str, place: str) -> str:
    """Put a converter's message, such as `... - at `$.columns[0].decimals``, in our own words."""
    match = re.fullmatch(r"(.*) - at `\$(?:\.columns\[(\d+)\])?\.?(.*)`", text, re.DOTALL)
    fault, column, key = match.groups() if match else (text, None, "")
    fault = re.sub(r"Object missing required field `(.*)`", r"\1 is missing", fault).replace("`", "")
    where = place if column is None else f"{place}, column {int(column) + 1}"
    return f"{where}: {key + ': ' if key else ''}{fault}{_choices(Column if column else UserTable, key)}"


def _choices(kind: type, key: str) -> str:
    choices = get_args(get_type_hints(kind).get(key))
    choices = next((get_args(choice) for choice in choices if get_origin(choice) is Literal), choices)
    words = all(isinstance(choice, str) for choice in choices)
    return f"; it may be {' or '.join(map(repr, choices))}" if choices and words else ""
