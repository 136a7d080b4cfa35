"""Edits of a plan file that several instruments share: what is about one of them goes into its own table."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from planner.files.plan_file.other_kind import SHARED
from planner.files.text_file import parse_toml
from planner.request.shared import Instrument, SharedRequest

__all__ = ["own_edits"]

ANGLE = "mosaic.position_angle_deg"


def own_edits(text: str, edits: Mapping[str, Any], shared: SharedRequest, one: Instrument) -> dict[str, Any]:
    """Return edits with a camera angle put where it is the instrument's alone.

    An angle that is taken out goes from there; where the instrument has none of its own, from what is for all.

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
    if ANGLE not in found:
        return found
    tables = [dict(table) for table in parse_toml(text, None, "plan file")[SHARED]]
    own, key = tables[shared.instruments.index(one)], "position_angle_deg"
    if found[ANGLE] is None and key not in own:
        return found
    angle = found.pop(ANGLE)
    if angle is None:
        del own[key]
    else:
        own[key] = angle
    return {**found, SHARED: tables}
