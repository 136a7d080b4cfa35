"""The packed file: everything that the planner reads, as a few arrays and three texts."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np

from planner.geometry import separation_rad, sky_to_vector

from ..data import TENTH_ARCSEC
from ..nebula import KINDS, LEVELS, Nebula, NebulaSize
from .assemble import complex_entries, name_index, nebulae_of, outline_hints, outline_polygons
from .compared import write_page
from .entries import Entry, read_entries
from .merge import merged

__all__ = ["build", "gathered", "packed"]

DATA_FILE = Path(__file__).parents[1] / "data" / "nebulae.npz"


def build(path: Path = DATA_FILE) -> int:
    """Write the packed file and the guide's page of disagreements; returns the number of nebulae."""
    nebulae, members, entries = gathered()
    arrays = packed(nebulae, members, entries)
    path.parent.mkdir(exist_ok=True)
    with path.open("wb") as stream:
        np.savez(stream, **arrays)
    write_page(nebulae, members)
    return len(nebulae)


def gathered() -> tuple[list[Nebula], dict[str, int], dict[str, Entry]]:
    """Nebulae, to which of them each entry belongs, and the entries by name."""
    entries = read_entries()
    entries.update({entry.name: entry for entry in complex_entries()})
    groups = merged(entries, outline_hints(entries))
    nebulae, members = nebulae_of(groups, entries)
    return nebulae, members, entries


def packed(nebulae: list[Nebula], members: dict[str, int], entries: dict[str, Entry]) -> dict[str, Any]:
    """Arrays of the packed file by name; see `planner.catalogue.nebulae.data`."""
    keys = name_index(nebulae, members, entries)
    texts = {
        "records": "\n".join(map(_record, nebulae)),
        "keys": "\n" + "".join(f"{key}\t{_who(who, together)}\n" for key, (who, together) in keys.items()),
    }
    arrays = {name: np.frombuffer(text.encode(), np.uint8) for name, text in texts.items()}
    center = np.array([(nebula.ra_deg, nebula.dec_deg) for nebula in nebulae])
    return {
        **arrays,
        "center": np.rint(center * TENTH_ARCSEC).astype(np.int32),
        "major_arcmin": np.array([nebula.major_arcmin or 0.0 for nebula in nebulae], np.float32),
        "kind": np.array([KINDS.index(nebula.kind) for nebula in nebulae], np.uint8),
        **_outline_arrays(nebulae),
    }


def _who(who: tuple[int, ...], together: bool) -> str:
    return ("+" if together else "") + ",".join(map(str, who))


def _record(nebula: Nebula) -> str:
    """One line: name, names, near names, kind, outline's name, levels with areas, sizes; fields by tabs."""
    levels = ";".join(f"{name}:{area:g}" for name, area in zip(nebula.levels, nebula.areas_deg2, strict=True))
    fields = [
        nebula.name,
        ";".join(nebula.names),
        ";".join(nebula.near),
        nebula.outline_name,
        levels,
        ";".join(map(_size_text, nebula.sizes)),
    ]
    assert not any(mark in field for field in fields for mark in "\n\t"), nebula
    return "\t".join(fields)


def _size_text(size: NebulaSize) -> str:
    values = (size.ra_deg, size.dec_deg, size.major_arcmin, size.minor_arcmin, size.position_angle_deg)
    numbers = ["" if value is None else f"{value:.5f}".rstrip("0").rstrip(".") for value in values]
    return "|".join([size.source, *numbers, "wrong" if size.wrong else "", size.doubt.replace(";", ",")])


def _outline_arrays(nebulae: list[Nebula]) -> dict[str, Any]:
    """Rings of all outlines, one after the other: whose, which level, where each begins, and circles about them."""
    owner, level, rings = [], [], []
    for nebula in nebulae:
        for name, parts in outline_polygons(nebula.outline_name).items() if nebula.outline_name else ():
            owner += [nebula.index] * len(parts)
            level += [LEVELS.index(name)] * len(parts)
            rings += parts
    caps = []
    for ring in rings:
        vectors = sky_to_vector(ring[:, 0], ring[:, 1])
        middle = vectors.mean(axis=0)
        middle /= np.linalg.norm(middle)
        caps.append([*middle, float(separation_rad(vectors, middle).max()) + 1e-6])
    return {
        "ring_nebula": np.array(owner, np.int16),
        "ring_level": np.array(level, np.uint8),
        "ring_start": np.cumsum([0, *map(len, rings)]).astype(np.int32),
        "ring_cap": np.array(caps, np.float32),
        "points": np.rint(np.concatenate(rings) * TENTH_ARCSEC).astype(np.int32),
    }
