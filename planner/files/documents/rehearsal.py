"""rehearsal.json: what was put into made-up frames."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from planner.answers.rehearsal.frame_maker import MadeUpFrame
    from planner.answers.rehearsal.rehearsal import Rehearsal
    from planner.answers.shared.shared_rehearsal import SharedRehearsal

__all__ = ["SCHEMA", "rehearsal_document"]

SCHEMA = "rehearsal 1"


def rehearsal_document(
    rehearsal: Rehearsal | SharedRehearsal, names: Sequence[Sequence[str]]
) -> dict[str, Any]:
    """Return a rehearsal as a document of plain lists, numbers and texts.

    Place, angle and filter are those of the frame as it was taken, a flip included. A frame that is missing
    has no file; where there are several instruments each frame names its own.

    Parameters
    ----------
    rehearsal : Rehearsal or SharedRehearsal
    names : sequence of sequence of str
        Files of the frames of each instrument.
    """
    frames = [
        {**({"instrument": instrument} if instrument else {}), **_frame(frame, name)}
        for (instrument, part), own in zip(rehearsal.named, names, strict=True)
        for frame, name in zip(part.frames, own, strict=True)
    ]
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
