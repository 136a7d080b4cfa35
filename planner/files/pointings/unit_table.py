"""A table that carries its own units: ECSV or VOTable."""

from __future__ import annotations

import io
import warnings
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from planner.errors import FileError

from .columns import COLUMN_NAMES, angle_without_column, find_column, required_column
from .pointings import Pointing, Pointings

if TYPE_CHECKING:
    from planner.request.request import Request

__all__ = ["read_unit_table"]

UCDS = {
    "ra": ("pos.eq.ra;meta.main", "pos.eq.ra"),
    "dec": ("pos.eq.dec;meta.main", "pos.eq.dec"),
    "position_angle": ("pos.posang",),
}
"""By which a VOTable's columns are found where their names are unknown (IVOA UCD1+)."""
FORMS = {"ascii.ecsv": "ECSV", "votable": "VOTable"}
ICRS_WORDS = {"icrs", "eq_fk5"}
"""Names of coordinate systems that are ICRS to 0.03 arc seconds (FK5 at J2000)."""


def read_unit_table(content: bytes, form: str, source: str, request: Request) -> Pointings:
    """Read a table with astropy.

    Parameters
    ----------
    content : bytes
    form : {'ascii.ecsv', 'votable'}
    source : str
        Name of the file.
    request : Request

    Raises
    ------
    FileError
        If it cannot be read, lacks a column, or is not in ICRS.
    """
    table = _table(content, form, source)
    return Pointings.from_rows(_rows(table, source, request), source)


def _table(content: bytes, form: str, source: str) -> Any:
    from astropy.io import votable
    from astropy.table import Table

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            if form == "ascii.ecsv":
                return Table.read(content.decode("utf-8-sig"), format=form)
            document = votable.parse(io.BytesIO(content))
            _refuse_other_systems(document, source)
            return _with_known_names(document.get_first_table())
    except FileError:
        raise
    except Exception as error:  # a parser's errors are of many kinds: all mean that the file is broken
        reason = " ".join(str(error).split())[:200]
        if "yaml" in reason:
            raise FileError(f"{source} is cut off or broken in its {FORMS[form]} header; write it anew") from error
        raise FileError(f"{source} cannot be read as {FORMS[form]}: {reason}; mend the file") from error


def _refuse_other_systems(document: Any, source: str) -> None:
    for system in document.iter_coosys():
        if (system.system or "").lower() not in ICRS_WORDS or str(system.equinox or "J2000") != "J2000":
            name = f"{system.system} {system.equinox or ''}".strip()
            raise FileError(f"{source} has positions in the system {name}; give them in ICRS")


def _with_known_names(table: Any) -> Any:
    """Table whose columns are renamed where only their UCD tells what they are."""
    found = table.to_table(use_names_over_ids=True)
    for quantity, ucds in UCDS.items():
        if find_column(found.colnames, quantity) is None:
            fields = [field for ucd in ucds for field in table.fields if (field.ucd or "").lower() == ucd]
            if fields:
                found.rename_column(fields[0].name, COLUMN_NAMES[quantity][0])
    return found


def _rows(table: Any, source: str, request: Request) -> Iterator[tuple[str, Pointing]]:
    ra_deg, dec_deg = (
        _degrees(table, required_column(table.colnames, name, source), source) for name in ("ra", "dec")
    )
    column = find_column(table.colnames, "position_angle")
    angle_deg = (
        _degrees(table, column, source)
        if column
        else np.full(len(table), angle_without_column(request, source))
    )
    name = find_column(table.colnames, "name")
    names = [str(text) for text in table[name]] if name else [""] * len(table)
    values: list[list[float]] = np.stack([ra_deg, dec_deg, angle_deg], axis=-1).tolist()
    rows = zip(names, values, _orders(table), strict=True)
    for number, (text, (ra, dec, angle), order) in enumerate(rows, start=1):
        yield f"row {number}", Pointing(text, ra, dec, angle, order)


def _orders(table: Any) -> list[float] | list[None]:
    """Shooting order of the rows, where a column of plain numbers states it."""
    name = find_column(table.colnames, "order")
    if name is None or table[name].dtype.kind not in "iu" or np.any(getattr(table[name], "mask", False)):
        return [None] * len(table)
    return [float(value) for value in table[name]]


def _degrees(table: Any, name: str, source: str) -> NDArray[np.float64]:
    """Column in degrees: by its unit, or as it is where it has none; missing cells become NaN."""
    from astropy import units

    column = table[name]
    try:
        factor = units.Unit(column.unit).to(units.deg) if column.unit else 1.0
        filled: NDArray[np.float64] = np.ma.filled(np.ma.asarray(column, dtype=float), np.nan)
        return np.asarray(filled * factor, dtype=float)
    except (units.UnitsError, ValueError, TypeError) as error:
        raise FileError(
            f"{source}: column {name} must hold angles, got unit {column.unit or 'none'} "
            f"and type {column.dtype}; give degrees"
        ) from error
