"""rehearsal.json: what was put into made-up frames."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from .json_text import json_text

if TYPE_CHECKING:
    from planner.answers.rehearsal.frame_maker import MadeUpFrame
    from planner.answers.rehearsal.rehearsal import Rehearsal
    from planner.answers.shared.shared_rehearsal import SharedRehearsal

__all__ = ["SCHEMA", "rehearsal_document", "rehearsal_json_bytes", "shared_rehearsal_json_bytes"]

SCHEMA = "rehearsal 1"


def rehearsal_json_bytes(rehearsal: Rehearsal, names: Sequence[str]) -> bytes:
    """Return the content of rehearsal.json; `names` are the frames' files."""
    return json_text(rehearsal_document(rehearsal, names)).encode()


def shared_rehearsal_json_bytes(shared: SharedRehearsal, names: Sequence[Sequence[str]]) -> bytes:
    """Return the content of rehearsal.json of several instruments: each frame names its own.

    Parameters
    ----------
    shared : SharedRehearsal
    names : sequence of sequence of str
        Files of the frames of each instrument.
    """
    frames = [
        {"instrument": instrument, **row}
        for (instrument, part), own in zip(shared.named, names, strict=True)
        for row in rehearsal_document(part, own)["frames"]
    ]
    return json_text({"schema": SCHEMA, "frames": frames, "seed": shared.seed}).encode()


def rehearsal_document(rehearsal: Rehearsal, names: Sequence[str]) -> dict[str, Any]:
    """Return a rehearsal as a document of plain lists, numbers and texts.

    Place, angle and filter are those of the frame as it was taken, a flip included. A frame that is missing
    has no file.
    """
    frames = [_frame(frame, name) for frame, name in zip(rehearsal.frames, names, strict=True)]
    return {"schema": SCHEMA, "frames": frames, "seed": rehearsal.seed}


def _frame(frame: MadeUpFrame, name: str) -> dict[str, Any]:
    return {
        **({"file": name} if frame.came_back else {}),
        "panel": frame.panel,
        "filter": frame.filter,
        "exposure_s": float(frame.exposure_s),
        "center_deg": [frame.aim.ra_deg, frame.aim.dec_deg],
        "position_angle_deg": frame.aim.position_angle_deg,
        "faults": list(frame.faults),
    }
