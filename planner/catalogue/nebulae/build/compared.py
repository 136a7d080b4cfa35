"""The page of the guide that lists where OpenNGC and the tables disagree, and what was taken."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from pathlib import Path

from planner.geometry import separation_rad

from ..nebula import Nebula
from .entries import Entry, read_entries, second_positions

__all__ = ["compared_page", "write_page"]

PAGE_FILE = Path(__file__).parents[3] / "guide" / "nebulae-compared.md"
QUARTER = 0.25
LEAST_OFFSET_ARCMIN = 5.0

HEAD = """# Nebulae: where the catalogues disagree

OpenNGC (as shipped by `pyongc`) beside the published tables: every entry of both whose centres lie more than 5 arc
minutes and a quarter of the size apart, or whose longer axes differ by more than a quarter of the larger. Neither is
always right: tables of the 1960s measured on small-scale plates, OpenNGC often has the bright knot alone. "Taken" is
what `object = ...` covers with neither `size_arcmin` nor `level`; page `nebulae` tells the rules. "Two objects" means
that place and size disagree so far that both stand by themselves: their own numbers lead to each.

| entry | OpenNGC | centres apart (arc minutes) | sizes (arc minutes): table, OpenNGC | taken |
|---|---|---|---|---|
"""


def write_page(nebulae: list[Nebula], members: dict[str, int]) -> None:
    """Write the page of the guide."""
    PAGE_FILE.write_text(compared_page(nebulae, members), encoding="utf-8")


def compared_page(nebulae: list[Nebula], members: dict[str, int]) -> str:
    """Return the page as Markdown.

    Parameters
    ----------
    nebulae : list of Nebula
    members : dict
        To which nebula each entry belongs.
    """
    entries = read_entries()
    rows = []
    for table, other in sorted(_pairs(entries, members), key=_order):
        if row := _row(table, other, nebulae, members):
            rows.append(row)
    return HEAD + "\n".join(rows) + "\n"


def _order(pair: tuple[Entry, Entry]) -> tuple[str, tuple[int, str], tuple[int, str]]:
    table, other = pair
    return table.catalogue, _rank(table.name), _rank(other.name)


def _rank(name: str) -> tuple[int, str]:
    number = re.search(r"\d+(?=[a-z]?$)", name)
    return int(number[0]) if number else 0, name


def _pairs(entries: dict[str, Entry], members: dict[str, int]) -> Iterator[tuple[Entry, Entry]]:
    """Entries of a table with what OpenNGC has under the same name or in the same object."""
    by_nebula: dict[int, list[Entry]] = {}
    for name, index in members.items():
        if name in entries:
            by_nebula.setdefault(index, []).append(entries[name])
    pairs = {
        (one.name, other.name)
        for group in by_nebula.values()
        for one in group
        for other in group
        if one.catalogue != "OpenNGC" and other.catalogue == "OpenNGC"
    }
    for row in second_positions():
        name = f"Sh2-{row['number']}" if row["catalogue"] == "Sh2" else f"{row['catalogue']} {row['number']}"
        if row["source"].startswith("OpenNGC: "):
            pairs.add((name.replace("Barnard ", "B "), row["source"].removeprefix("OpenNGC: ")))
    for one, other in pairs:
        if one in entries and other in entries:
            yield entries[one], entries[other]


def _row(table: Entry, other: Entry, nebulae: list[Nebula], members: dict[str, int]) -> str:
    """One row of the page, or nothing where both agree."""
    apart = math.degrees(float(separation_rad(table.vector, other.vector))) * 60
    sizes = [item.major_arcmin for item in (table, other) if item.major_arcmin]
    far = apart > max(LEAST_OFFSET_ARCMIN, QUARTER * (table.major_arcmin or 0.0))
    unlike = len(sizes) == 2 and max(sizes) - min(sizes) > QUARTER * max(sizes)
    if not (far or unlike):
        return ""
    texts = [f"{item.major_arcmin:.3g}" if item.major_arcmin else "none" for item in (table, other)]
    number = other.name.removeprefix("OpenNGC ")
    taken = _taken(table, other, nebulae, members)
    return f"| {table.name} | {number} | {apart:.1f} | {texts[0]}, {texts[1]} | {taken} |"


def _taken(table: Entry, other: Entry, nebulae: list[Nebula], members: dict[str, int]) -> str:
    if members[table.name] != members.get(other.name):
        return "two objects"
    nebula = nebulae[members[table.name]]
    if nebula.levels and not nebula.shows_core:
        return "outline"
    return nebula.size.source if nebula.size else "no size: refused"
