"""Edits of a plan file that several instruments share: what is about one of them goes into its own table."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from planner.files.plan_file.other_kind import SHARED
from planner.files.text_file import parse_toml
from planner.request.shared import Instrument, SharedRequest

__all__ = ["own_edits"]

ANGLE, FILTERS = "mosaic.position_angle_deg", "filters"


def own_edits(text: str, edits: Mapping[str, Any], shared: SharedRequest, one: Instrument) -> dict[str, Any]:
    """Return edits with what is an instrument's own put into its table: its camera angle, the filters that it takes.

    An angle that is taken out goes from there; where the instrument has none of its own, from what is for all.
    Filters of the others stay as they are.

    Parameters
    ----------
    text : str
        Of the plan file.
    edits : mapping
        Dotted keys to new values, see `edited_text`.
    shared : SharedRequest
        What the text says.
    one : Instrument
        Whose the edits are.
    """
    found = dict(edits)
    if ANGLE not in found and FILTERS not in found:
        return found
    document = parse_toml(text, None, "plan file")
    tables = [dict(table) for table in document[SHARED]]
    own = tables[shared.instruments.index(one)]
    if ANGLE in found and (found[ANGLE] is not None or "position_angle_deg" in own):
        own["position_angle_deg"] = found.pop(ANGLE)
    if FILTERS in found:
        rows = found[FILTERS] or ()
        found[FILTERS] = _with_others(document.get(FILTERS, ()), rows, one) or None
        if FILTERS in own:
            own[FILTERS] = [row["name"] for row in rows] or None
    changed = [{key: value for key, value in table.items() if value is not None} for table in tables]
    return found if changed == document[SHARED] else {**found, SHARED: changed}


def _with_others(
    present: Sequence[Mapping[str, Any]], rows: Sequence[Mapping[str, Any]], one: Instrument
) -> list[Mapping[str, Any]]:
    """The filters of all: each of the instrument's own in its place, what is new for it after them."""
    left = {str(row["name"]): row for row in rows}
    found: list[Mapping[str, Any]] = []
    for row in present:
        name = str(row.get("name"))
        if name not in one.filters:
            found.append(row)
        elif name in left:
            found.append(left.pop(name))
    return [*found, *left.values()]
