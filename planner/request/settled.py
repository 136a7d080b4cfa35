"""Settled panels: kept in the plan file, so that no search changes them, with marks of the request they answered."""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, fields, is_dataclass
from pathlib import Path
from typing import Any

from planner.checks import check_position, check_position_angle, check_within, require
from planner.mosaic.panel import Panel
from planner.words import counted

from .panels import PanelRequest

__all__ = ["MARKED", "SettledRequest", "check_settled", "panels_mark", "table_mark"]

MARKED = ("region", "camera", "mosaic")
"""Tables of a plan file on which the panels depend."""
LEFT_OUT = ("aperture_mm", "outline_file", "print_width_cm", "print_ppi")
"""Keys that change no panel, or whose content stands in another key."""
LETTERS = 16
"""Of a digest that are kept: 64 bits."""
DIGEST = re.compile(f"[0-9a-f]{{{LETTERS}}}")
LONGEST_WORDS = 200
ANEW = "it was changed by hand: let the panels go and settle anew, or take [settled] out to list panels of your own"


@dataclass(frozen=True)
class SettledRequest:
    """What a plan file says of the panels that it keeps.

    Parameters
    ----------
    words : str
        Panels and overlap when they were settled, for the reader.
    region, camera, mosaic : str
        Digests of those tables then.
    panels : str
        Digest of the panels' names, order, centres and angles.
    panel_count_bound : int
        No plan for that request can have fewer panels.
    axes_deg : (float, float, float), optional
        Right ascension, declination and position angle of the system that panels of `per_panel` are square with.
    picture : str, optional
        Digest of that table, where it asks for a filled picture: then the panels depend on it.
    """

    words: str
    region: str
    camera: str
    mosaic: str
    panels: str
    panel_count_bound: int
    axes_deg: tuple[float, float, float] | None = None
    picture: str | None = None

    def __post_init__(self) -> None:
        one_line = self.words.isprintable() and 0 < len(self.words) <= LONGEST_WORDS
        require(
            one_line,
            f"settled.words must be one line of at most {LONGEST_WORDS} letters, got {self.words[:40]!r}; {ANEW}",
        )
        for name in (*MARKED, "panels", "picture"):
            mark = getattr(self, name)
            require(
                mark is None or bool(DIGEST.fullmatch(mark)),
                f"settled.{name} must be a digest, {LETTERS} of 0 to 9 and a to f, got {str(mark)[:40]!r}; {ANEW}",
            )
        check_within("settled.panel_count_bound", self.panel_count_bound, 1, 20_000, "settle the panels anew")
        if self.axes_deg is not None:
            check_position("settled.axes_deg", self.axes_deg[:2])
            check_position_angle("settled.axes_deg", self.axes_deg[2])


def check_settled(settled: SettledRequest | None, panels: Sequence[PanelRequest]) -> None:
    """Refuse a [settled] table whose panels have been changed by another hand."""
    require(
        settled is None or settled.panels == panels_mark(panels),
        f"[settled] must belong to the [[panels]] beside it, got {counted(len(panels), 'panel')} that were changed "
        "by hand; let them go and settle anew, or take [settled] out to list panels of your own",
    )
    require(
        settled is None or settled.panel_count_bound <= len(panels),
        f"settled.panel_count_bound must be at most the number of [[panels]], {len(panels)}, "
        f"got {settled.panel_count_bound if settled else 0}; it was changed by hand: settle the panels anew",
    )


def table_mark(table: Any) -> str:
    """Return the digest of a table's values."""
    return _digest(table)


def panels_mark(panels: Iterable[PanelRequest | Panel]) -> str:
    """Return the digest of panels: names, order, centres, angles, and fields of their own."""
    return _digest(
        [
            [one.name, one.order, one.ra_deg, one.dec_deg, one.position_angle_deg]
            + ([[one.field.width_deg, one.field.height_deg]] if one.field else [])
            for one in panels
        ]
    )


def _digest(value: Any) -> str:
    text = json.dumps(_plain(value), sort_keys=True, ensure_ascii=True, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()[:LETTERS]


def _plain(value: Any) -> Any:
    """Return a value as JSON has it: 4 and 4.0 the same way, keys that are left out not at all.

    So a key that a later version adds changes no digest of a file that does not use it.
    """
    if is_dataclass(value):
        given = {one.name: getattr(value, one.name) for one in fields(value)}
        usual = {one.name: one.default for one in fields(value)}
        return {
            name: _plain(part) for name, part in given.items() if name not in LEFT_OUT and part != usual[name]
        }
    if isinstance(value, list | tuple):
        return [_plain(part) for part in value]
    if isinstance(value, Path):
        return value.name
    return float(value) if isinstance(value, int) and not isinstance(value, bool) else value
