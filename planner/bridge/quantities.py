"""Values with units at the door: quantities and sky positions become the plain numbers that the keys name.

A key's ending says its unit. Plain numbers pass as they are. astropy is not imported: whoever brings a quantity
has loaded it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np

from planner.errors import InputError
from planner.files.plan_file.typed_table import POSITIONS

__all__ = ["plain_table", "plain_value", "sky_pairs"]

UNITS = {
    "deg": ("deg", "an angle"),
    "arcmin": ("arcmin", "an angle"),
    "mm": ("mm", "a length"),
    "cm": ("cm", "a length"),
    "um": ("um", "a length"),
    "m": ("m", "a length"),
    "s": ("s", "a time"),
    "min": ("min", "a time"),
}
"""Endings of keys, their unit and what it measures."""


def plain_table(table: str, given: Mapping[str, Any]) -> dict[str, Any]:
    """Return a table of a request with plain numbers; keys that are None are left out.

    Raises
    ------
    InputError
        If a quantity has another unit than its key measures, is not one finite value, or a position is not one.
    """
    return {
        name: plain_value(f"{table}.{name}" if table else name, value)
        for name, value in given.items()
        if value is not None
    }


def plain_value(key: str, value: Any) -> Any:
    """Return one value as the plan file has it, its key's last word telling the unit."""
    name = key.rpartition(".")[2]
    if name in POSITIONS:
        return _position(key, value)
    if hasattr(value, "to_value"):
        return _number(key, value)
    if isinstance(value, Mapping):
        return plain_table(key, value)
    if isinstance(value, np.ndarray | np.generic):
        return value.tolist()
    if isinstance(value, tuple | list):
        return [plain_value(key, part) for part in value]
    return str(value) if isinstance(value, Path) else value


def sky_pairs(key: str, value: Any) -> list[list[float]]:
    """Return right ascensions and declinations, ICRS degrees, of a `SkyCoord` in any system.

    Raises
    ------
    InputError
        If it cannot be converted to ICRS.
    """
    try:
        icrs = value.icrs
    except Exception as error:
        raise InputError(
            f"{key} must be a position that converts to ICRS, got one that does not ({error})"
        ) from error
    pairs = np.stack([np.atleast_1d(icrs.ra.deg), np.atleast_1d(icrs.dec.deg)], axis=-1)
    if not np.isfinite(pairs).all():
        raise InputError(
            f"{key} must be finite, got {pairs[~np.isfinite(pairs).all(axis=-1)][0].tolist()}; give degrees"
        )
    return pairs.tolist()  # type: ignore[no-any-return]


def _position(key: str, value: Any) -> Any:
    if not hasattr(value, "transform_to"):
        return (
            [plain_value(f"{key}_deg", part) for part in value] if isinstance(value, tuple | list) else value
        )
    pairs = sky_pairs(key, value)
    if key.endswith("outline"):
        return pairs
    if not value.isscalar:
        raise InputError(f"{key} must be one position, got {len(pairs)}; give one")
    return pairs[0]


def _number(key: str, value: Any) -> Any:
    ending = key.rpartition("_")[2]
    unit, kind = UNITS.get(ending, ("", "a plain number"))
    try:
        plain = np.asarray(value.to_value(unit), dtype=float)
    except Exception as error:
        cure = f"give a quantity in {unit} or the like, or a number in {unit}" if unit else "give a number"
        raise InputError(f"{key} must be {kind}, got {value}; {cure}") from error
    if not np.isfinite(plain).all():
        raise InputError(f"{key} must be finite, got {value}; give a number")
    if plain.ndim and not _may_be_several(key, plain):
        raise InputError(f"{key} must be one value, got {len(plain)}; give one")
    return plain.tolist()


def _may_be_several(key: str, values: np.ndarray[Any, Any]) -> bool:
    """Whether a key takes a pair or a list of numbers."""
    name = key.rpartition(".")[2]
    several: Sequence[str] = ("size_arcmin", "position_angle_range_deg", "range_deg", "horizon_deg")
    return name in several and len(values) > 0
