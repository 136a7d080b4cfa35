"""What the files of a rehearsal are called."""

from __future__ import annotations

from planner.answers.rehearsal.frame_maker import MadeUpFrame
from planner.answers.rehearsal.rehearsal import Rehearsal
from planner.answers.shared.shared_rehearsal import SharedRehearsal
from planner.plain_names import file_stems

__all__ = ["AnyRehearsal", "names_of_parts"]

AnyRehearsal = Rehearsal | SharedRehearsal
"""Of one instrument, or of several."""


def names_of_parts(rehearsal: AnyRehearsal) -> list[list[str]]:
    """Return the names of frames of each part; those of several instruments begin with the instrument."""
    if not isinstance(rehearsal, SharedRehearsal):
        return [_frame_names(rehearsal)]
    firsts = rehearsal.shared.folders
    return [
        [name.replace("/", f"/{first}_") for name in _frame_names(part)]
        for first, part in zip(firsts, rehearsal.parts, strict=True)
    ]


def _frame_names(rehearsal: Rehearsal) -> list[str]:
    """Return a name for each frame, missing ones too, relative to the folder: evening, panel, filter, number."""
    filters = [one.name for one in rehearsal.plan.request.filters]
    panels = [panel.name for panel in rehearsal.plan.mosaic.panels]
    stems = (
        dict(zip(filters, file_stems(filters), strict=True)),
        dict(zip(panels, file_stems(panels), strict=True)),
    )
    return [_name(frame, *stems) for frame in rehearsal.frames]


def _name(frame: MadeUpFrame, filters: dict[str, str], panels: dict[str, str]) -> str:
    exposure, kind = frame.exposure, "_stack" if frame.stacked > 1 else ""
    stem = f"{panels[frame.panel]}_{filters[frame.filter]}_{exposure.number:03}{kind}"
    return f"{exposure.evening.isoformat()}/{stem}.fits"
