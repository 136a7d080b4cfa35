"""The re-shoot file: a plan file with exactly the panels and exposures that a review found missing."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from planner.answers.progress.so_far import evening_of
from planner.errors import InputError
from planner.files.text_file import parse_toml, read_text
from planner.frames.review.shots import Shots
from planner.frames.review.tally import Reshoot
from planner.mosaic.mosaic import Mosaic
from planner.request.request import Request

from .made_up_mark import marked_made_up
from .request_text import moved_names
from .write import update_document

__all__ = ["OVER", "LAYOUT_KEYS", "evenings_left", "is_reshoot_file", "reshoot_text"]

HEAD = (
    "# To shoot again. Written by the mosaic planner from a review; another review may replace this file.\n"
)
OVER = "# Its [nights] are over: frames were taken on their last evening or later. Give later dates.\n"
DECIMALS = 8
LAYOUT_KEYS = ("columns", "rows", "position_angle_range_deg")
"""Keys that ask for a layout; the panels are listed instead."""


def reshoot_text(
    request: Request,
    mosaic: Mosaic,
    missing: Iterable[Reshoot],
    folder: Path,
    *,
    made_up: bool = False,
    shots: Shots | None = None,
) -> str:
    """Return the plan file's text with the panels listed that are to be shot again.

    Panels keep their names, centres and angles; each lists the exposures that remain. Equipment, site, nights
    and filters stay as they are in the plan file, comments included; but the nights of the file itself begin after
    the last frame, or a comment says that they are over.

    Parameters
    ----------
    request : Request
        As read from a plan file.
    mosaic : Mosaic
    missing : iterable of Reshoot
    folder : Path
        Where the new file will stand: names of other files are given relative to it.
    made_up : bool, optional
        Whether frames of the review are made up; a comment says so.
    shots : Shots, optional
        When frames were taken.

    Raises
    ------
    InputError
        If the request did not come from a file.
    """
    if request.path is None:
        raise InputError(
            "a re-shoot file is made from a plan file, got a plan without one; save the plan first"
        )
    text = read_text(request.path, "plan file")
    changes: dict[str, Any] = {"title": f"{request.title.removesuffix(', to shoot again')}, to shoot again"}
    changes |= moved_names(request, folder)
    if request.mosaic != type(request.mosaic)():
        changes["mosaic"] = dict.fromkeys(LAYOUT_KEYS)
    changes |= {"panels": panel_tables(mosaic, missing), "settled": None}
    first, over = evenings_left(request, shots)
    if first is not None and "nights" in parse_toml(text, request.path, "plan file"):
        changes["nights"] = {"first": first}
    new = over + update_document(text.removeprefix(HEAD).replace(OVER, "", 1), changes)
    return HEAD + (marked_made_up(new) if made_up else new)


def evenings_left(request: Request, shots: Shots | None) -> tuple[dt.date | None, str]:
    """Return the evening at which nights begin anew, after the last frame, and the comment that they are over.

    None where they begin as they did, or are over.
    """
    if request.nights is None or not request.sites or shots is None or not len(shots):
        return None, ""
    after = evening_of(float(shots.start_s[-1]), request.sites[0].zone) + dt.timedelta(days=1)
    if after > request.nights.last:
        return None, OVER
    return (after if after > request.nights.first else None), ""


def panel_tables(mosaic: Mosaic, missing: Iterable[Reshoot]) -> list[dict[str, Any]]:
    """One table for each panel, in shooting order."""
    exposures: dict[str, dict[str, int]] = {}
    for row in missing:
        counts = exposures.setdefault(row.panel, {})
        if row.filter is not None and row.exposures is not None:
            counts[row.filter] = counts.get(row.filter, 0) + row.exposures
    panels = sorted((panel for panel in mosaic.panels if panel.name in exposures), key=lambda one: one.order)
    return [
        {
            "name": panel.name,
            "ra_deg": round(panel.ra_deg, DECIMALS),
            "dec_deg": round(panel.dec_deg, DECIMALS),
            "position_angle_deg": round(panel.position_angle_deg, DECIMALS),
            **({"exposures": exposures[panel.name]} if exposures[panel.name] else {}),
        }
        for panel in panels
    ]


def is_reshoot_file(path: Path) -> bool:
    """Whether a file is the re-shoot file of an earlier review, so that it may be replaced."""
    if not path.is_file() or path.is_symlink():
        return False
    try:
        with path.open("rb") as stream:
            return stream.read(len(HEAD)) == HEAD.encode()
    except OSError:
        return False
