"""Deep-sky objects, offline, from the database that the package pyongc ships.

Data: OpenNGC (licence CC BY-SA 4.0): the NGC and IC catalogues, Messier objects and a few more. Positions are
ICRS (radians in the database, degrees here), sizes are arc minutes, position angles of the longer axis are
degrees east of north. Many wide nebulae have no size, or one that is far too small: give your own then.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator
from contextlib import closing
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from numpy.typing import ArrayLike

from planner.errors import FileError, InputError, UnknownObjectError, nearest_names
from planner.geometry import separation_rad, sky_to_vector, vector_to_sky

from .names import common_name_key, identifier_of, pretty_name
from .packages import shipped_file

if TYPE_CHECKING:
    import sqlite3

__all__ = ["INSTEAD", "OBJECTS_LICENCE", "CatalogueObject", "common_names", "find_object", "objects_within"]

INSTEAD = "check the name, or give the center and the size of the region"
"""What a plan file may say where it cannot name its object."""

OBJECTS_LICENCE = "Objects: OpenNGC (CC BY-SA 4.0)"

KINDS = {
    "*": "star",
    "**": "double star",
    "*Ass": "association of stars",
    "OCl": "open cluster",
    "GCl": "globular cluster",
    "Cl+N": "cluster with nebula",
    "G": "galaxy",
    "GPair": "pair of galaxies",
    "GTrpl": "triplet of galaxies",
    "GGroup": "group of galaxies",
    "PN": "planetary nebula",
    "HII": "ionised region",
    "DrkN": "dark nebula",
    "EmN": "emission nebula",
    "Neb": "nebula",
    "RfN": "reflection nebula",
    "SNR": "supernova remnant",
    "Nova": "nova",
    "Other": "other or unknown",
}
"""The catalogue's codes of kinds, in words; its other codes (duplicates, non-existent) are not objects."""

NO_OBJECTS = ("*", "**", "Nova", "Other", "Dup", "NonEx")
"""Codes that a chart leaves out."""

COLUMNS = "name, type, ra, dec, majax, minax, pa, messier, ngc, ic, commonnames, identifiers"


@dataclass(frozen=True)
class CatalogueObject:
    """One object of the catalogue.

    Parameters
    ----------
    name : str
        Such as ``NGC 224``.
    other_names : tuple of str
        Messier number first, then common names, then other catalogues.
    kind : str
    ra_deg, dec_deg : float
        ICRS degrees.
    major_arcmin, minor_arcmin : float or None
        Whole lengths of the axes. Where the catalogue gives one, both are it.
    position_angle_deg : float or None
        Of the major axis, degrees east of north, [0, 180).
    """

    name: str
    other_names: tuple[str, ...]
    kind: str
    ra_deg: float
    dec_deg: float
    major_arcmin: float | None
    minor_arcmin: float | None
    position_angle_deg: float | None

    @property
    def label(self) -> str:
        """The name for a chart: the Messier number, else NGC or IC, else a name in words if there is one."""
        if self.other_names and self.other_names[0].startswith("M "):
            return self.other_names[0]
        if self.name.startswith(("NGC", "IC")) or not self.other_names or identifier_of(self.other_names[0]):
            return self.name
        return self.other_names[0]


def find_object(name: str) -> CatalogueObject:
    """Look an object up by a catalogue's name or a name in words, however spaced and in any case.

    A duplicate leads to the entry it repeats. A name in words that several entries share means the largest.

    Raises
    ------
    InputError
        If there is no such object, or the catalogue says that it does not exist; with near names.

    >>> find_object("ngc0224").label, find_object("andromeda galaxy").name
    ('M 31', 'NGC 224')
    """
    with closing(_database()) as database:
        row = _row_of(database, name)
        if row is None:
            raise UnknownObjectError(_unknown(database, name), INSTEAD)
        if row["type"] == "Dup":
            row = _row_of(database, _original(row)) or row
    if row["type"] not in KINDS:
        raise InputError(
            f"{pretty_name(row['name'])} does not exist on the sky, says the catalogue; "
            "give the center and the size of the region instead"
        )
    return _object_from(row)


def objects_within(
    center: ArrayLike, radius_rad: float, *, smallest_arcmin: float = 0.0
) -> tuple[CatalogueObject, ...]:
    """Objects that reach into a circle on the sky, largest first; no stars, no duplicates.

    Parameters
    ----------
    center : array_like, shape (3,)
        Unit vector.
    radius_rad : float
    smallest_arcmin : float
        Leaves out objects with a shorter major axis; above 0 also those without a size.
    """
    marks = ", ".join("?" * len(NO_OBJECTS))
    query = (
        f"SELECT {COLUMNS} FROM objects WHERE type NOT IN ({marks}) AND coalesce(majax, 0) >= ? "
        "AND abs(dec - ?) <= ? + coalesce(majax, 0) * ?"
    )
    half_arcmin = math.radians(1 / 120)
    dec = math.radians(float(vector_to_sky(center)[1]))
    with closing(_database()) as database:
        rows = database.execute(query, (*NO_OBJECTS, smallest_arcmin, dec, radius_rad + 1e-9, half_arcmin))
        near = [_object_from(row) for row in rows if _reaches(row, center, radius_rad)]
    return tuple(sorted(near, key=lambda item: (-(item.major_arcmin or 0.0), item.name)))


def _reaches(row: sqlite3.Row, center: ArrayLike, radius_rad: float) -> bool:
    vector = sky_to_vector(math.degrees(row["ra"]), math.degrees(row["dec"]))
    return bool(separation_rad(vector, center) <= radius_rad + math.radians((row["majax"] or 0.0) / 120))


def _database() -> sqlite3.Connection:
    """Open the database, read only; the file inside the package is never touched."""
    import sqlite3

    path = shipped_file("pyongc", "ongc.db")
    try:
        database = sqlite3.connect(f"{path.as_uri()}?mode=ro&immutable=1", uri=True)
        database.row_factory = sqlite3.Row
        database.execute("SELECT name FROM objects LIMIT 1")
    except sqlite3.Error as error:
        raise FileError(
            f"the object catalogue {path.name} is damaged ({error}); install pyongc again"
        ) from error
    return database


def _row_of(database: sqlite3.Connection, name: str) -> sqlite3.Row | None:
    """Entry of a name, or None."""
    identifier = identifier_of(name)
    if identifier and identifier[0] == "M" and (number := identifier[1:]).isdigit():
        row = database.execute(
            f"SELECT {COLUMNS} FROM objects WHERE messier = ? AND type != 'Dup'", (number,)
        ).fetchone()
        if row:
            return row  # type: ignore[no-any-return]
    row = database.execute(
        f"SELECT {COLUMNS} FROM objects WHERE name = (SELECT name FROM objIdentifiers WHERE identifier = ?)",
        (identifier,),
    ).fetchone()
    return row or _row_of_words(database, name)


def _row_of_words(database: sqlite3.Connection, name: str) -> sqlite3.Row | None:
    """Largest entry that has this common name."""
    key = common_name_key(name)
    rows = database.execute(
        f"SELECT {COLUMNS} FROM objects WHERE commonnames != '' AND type != 'Dup' ORDER BY majax DESC, name"
    )
    matches = (row for row in rows if key in map(common_name_key, _parts(row["commonnames"])))
    return next(matches, None)


def _original(row: sqlite3.Row) -> str:
    """Name of the entry that a duplicate repeats."""
    for prefix, column in (("M", "messier"), ("NGC", "ngc"), ("IC", "ic")):
        if row[column]:
            return f"{prefix}{_parts(row[column])[0]}"
    return ""


def _object_from(row: sqlite3.Row) -> CatalogueObject:
    major, minor, angle = row["majax"], row["minax"], row["pa"]
    return CatalogueObject(
        name=pretty_name(row["name"]),
        other_names=tuple(_other_names(row)),
        kind=KINDS[row["type"]],
        ra_deg=math.degrees(row["ra"]) % 360.0,
        dec_deg=math.degrees(row["dec"]),
        major_arcmin=major,
        minor_arcmin=major if minor is None else minor,
        position_angle_deg=None if angle is None else float(angle % 180),
    )


def _other_names(row: sqlite3.Row) -> Iterator[str]:
    yield from (pretty_name(f"M{text}") for text in _parts(row["messier"]))
    yield from _parts(row["commonnames"])
    for prefix, column in (("NGC", "ngc"), ("IC", "ic"), ("", "identifiers")):
        yield from (pretty_name(f"{prefix}{text}") for text in _parts(row[column]))


def _parts(text: Any) -> list[str]:
    return [part.strip() for part in str(text or "").split(",") if part.strip()]


def _unknown(database: sqlite3.Connection, name: str) -> str:
    shown = name if len(name) <= 60 else f"{name[:57]}..."
    spelt = pretty_name(identifier_of(name) or name.strip().title())
    return f"the catalogue has no object {shown!r}{nearest_names(spelt, _known_names(database, name))}"


def _known_names(database: sqlite3.Connection, name: str) -> Iterable[str]:
    """Names that a mistyped one may have meant: numbers of the same catalogue, or all names in words."""
    match = re.match(r"([A-Z]+)\d{1,7}(?!\d)", identifier_of(name) or "")
    if match:
        pattern = f"{match[1]}[0-9]*"
        query = "SELECT identifier FROM objIdentifiers WHERE identifier GLOB ?"
        if match[1] == "M":
            query = "SELECT 'M' || messier FROM objects WHERE messier != '' AND 'M' || messier GLOB ?"
        return [pretty_name(row[0]) for row in database.execute(query, (pattern,))]
    return _common_names(database)


def common_names() -> list[str]:
    """Every name in words that the catalogue has, sorted."""
    with closing(_database()) as database:
        return _common_names(database)


def _common_names(database: sqlite3.Connection) -> list[str]:
    rows = database.execute("SELECT commonnames FROM objects WHERE commonnames != ''")
    return sorted({part for row in rows for part in _parts(row[0])})
