"""Entries of the published tables and of OpenNGC, as they stand there."""

from __future__ import annotations

import csv
import json
import math
import re
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from planner.catalogue.names import pretty_name
from planner.catalogue.packages import shipped_file
from planner.geometry import sky_to_vector

from .known import BAD_SIZES, EXPANDED, KINDS, MORE_NAMES, WRONG_NAMES

__all__ = ["Entry", "outlines", "read_entries", "second_positions"]

SOURCE = Path(__file__).parents[1] / "source"

KIND_OF = {
    "HII": "emission",
    "EmN": "emission",
    "Neb": "nebula",
    "RfN": "reflection",
    "SNR": "supernova remnant",
    "DrkN": "dark",
    "Cl+N": "nebula",
    "PN": "planetary nebula",
    "OCl": "star cluster",
    "*Ass": "star cluster",
    "G": "galaxy",
}
NEBULAE = ("HII", "EmN", "Neb", "RfN", "SNR", "DrkN", "Cl+N")

BARE = re.compile(r"(NGC|IC|M|B|C|LBN|LDN|RCW|Gum|Ced|vdB|vdBH)[ -]?0*(\d+)([a-zA-Z]?)")


@dataclass(frozen=True)
class Entry:
    """One row of one table.

    Parameters
    ----------
    name : str
        Catalogue and number, such as ``Sh2-131`` or ``NGC 281``.
    catalogue : str
        ``OpenNGC`` for what comes from there, ``outline`` for what only an outline shows.
    vector : ndarray, shape (3,)
    ra_deg, dec_deg : float
    major_arcmin, minor_arcmin : float or None
    kind : str
    names, near : tuple of str
    position_angle_deg : float or None
        Of the longer axis, where OpenNGC tells.
    """

    name: str
    catalogue: str
    vector: NDArray[np.float64]
    ra_deg: float
    dec_deg: float
    major_arcmin: float | None
    minor_arcmin: float | None
    kind: str
    names: tuple[str, ...]
    near: tuple[str, ...]
    position_angle_deg: float | None = None

    @property
    def usable_arcmin(self) -> float | None:
        """Longer axis, where it may be used."""
        return None if self.name in BAD_SIZES else self.major_arcmin


def read_entries() -> dict[str, Entry]:
    """Every entry by name: the tables', OpenNGC's nebulae and what tables or outlines call by its numbers."""
    entries = {entry.name: entry for entry in _table_entries()}
    wanted = {name for entry in entries.values() for name in entry.names}
    wanted |= {item["label"] for item in outlines().values()} | {"Mel 22", "ESO 56-115"}
    for entry in _opengc_entries(wanted):
        if entry.name not in entries:
            entries[entry.name] = entry
        else:
            entries[f"OpenNGC {entry.name}"] = replace(entry, name=f"OpenNGC {entry.name}")
    return entries


@cache
def outlines() -> dict[str, Any]:
    """Outlines by their keys, as the source has them."""
    document = json.loads((SOURCE / "outlines.json").read_text(encoding="utf-8"))
    return dict(document["nebulae"])


def second_positions() -> list[dict[str, str]]:
    """Objects for which another source has a centre far away."""
    with (SOURCE / "second_positions.csv").open(encoding="utf-8", newline="") as stream:
        return list(csv.DictReader(stream))


def _table_entries() -> Iterator[Entry]:
    with (SOURCE / "nebulae.csv").open(encoding="utf-8", newline="") as stream:
        for row in csv.DictReader(stream):
            name = _entry_name(row["catalogue"], row["number"])
            major = float(row["major_arcmin"]) if row["major_arcmin"] else None
            minor = float(row["minor_arcmin"]) if row["minor_arcmin"] else major
            yield _entry(
                name,
                row["catalogue"],
                (float(row["ra_deg"]), float(row["dec_deg"])),
                (major, minor),
                KINDS.get(name, row["kind"]),
                _parts(row["names"], "; "),
                _parts(row["near"], "; "),
            )


def _entry_name(catalogue: str, number: str) -> str:
    """Spell an entry as everything else spells it."""
    short = {"Barnard": "B"}.get(catalogue, catalogue)
    return f"Sh2-{number}" if catalogue == "Sh2" else f"{short} {number}"


def _entry(
    name: str,
    catalogue: str,
    center: tuple[float, float],
    size: tuple[float | None, float | None],
    kind: str,
    names: list[str],
    near: list[str],
    position_angle_deg: float | None = None,
) -> Entry:
    spelt = [EXPANDED.get(text[:7], "") + text[7:] if text[:7] in EXPANDED else text for text in names]
    spelt = [text for text in (*spelt, *MORE_NAMES.get(name, ())) if text not in WRONG_NAMES.get(name, ())]
    return Entry(
        name,
        catalogue,
        sky_to_vector(*center),
        *center,
        *size,
        kind,
        tuple(dict.fromkeys(text.removeprefix("the ") for text in spelt)),
        tuple(near),
        position_angle_deg,
    )


def _parts(text: Any, mark: str) -> list[str]:
    """Names of a list, with and without remarks in brackets, spelt alike."""
    found = []
    for part in (part.strip().rstrip("?") for part in str(text or "").split(mark)):
        if part and "(background)" not in part:
            found += [part, re.sub(r"\s*\((?!T\)).*\)$", "", part)]
    return [_spelt(part) for part in dict.fromkeys(found)]


def _spelt(name: str) -> str:
    """Bring one catalogue name to its usual spelling."""
    name = re.sub(r"^(?:SH|Sharpless) ?2-", "Sh2-", name)
    name = re.sub(r"^Barnard(?= \d)", "B", name)
    name = re.sub(r"^Caldwell(?= \d)", "C", name)
    match = BARE.fullmatch(name)
    return f"{match[1]} {match[2]}{match[3]}" if match else name


def _opengc_entries(wanted: set[str]) -> Iterator[Entry]:
    path = shipped_file("pyongc", "ongc.db")
    with closing(sqlite3.connect(f"{path.as_uri()}?mode=ro&immutable=1", uri=True)) as database:
        database.row_factory = sqlite3.Row
        for row in database.execute("SELECT * FROM objects WHERE ra IS NOT NULL ORDER BY name"):
            if row["type"] not in KIND_OF:
                continue
            numbers = _numbers(row)
            if row["type"] in NEBULAE or wanted & {pretty_name(row["name"]), *numbers}:
                yield _opengc_entry(row, numbers)


def _opengc_entry(row: sqlite3.Row, numbers: list[str]) -> Entry:
    center = (math.degrees(row["ra"]) % 360.0, math.degrees(row["dec"]))
    angle = None if row["pa"] is None else float(row["pa"] % 180)
    size = (row["majax"], row["majax"] if row["minax"] is None else row["minax"])
    words = _parts(row["commonnames"], ",")
    names = [*numbers, *words]
    return _entry(pretty_name(row["name"]), "OpenNGC", center, size, KIND_OF[row["type"]], names, [], angle)


def _numbers(row: sqlite3.Row) -> list[str]:
    """Other numbers of an OpenNGC object: Messier, NGC, IC, Caldwell, Lynds, Sharpless."""
    found = [f"M {int(row['messier'])}"] if row["messier"] else []
    for prefix, column in (("NGC", "ngc"), ("IC", "ic")):
        found += [_spelt(f"{prefix} {text}") for text in _parts(row[column], ",")]
    others = [part.strip() for part in str(row["identifiers"] or "").split(",")]
    return found + [_spelt(text) for text in others if re.match(r"(C|LBN) ?\d|SH 2-", text)]
