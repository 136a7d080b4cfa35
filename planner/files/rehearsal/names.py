"""What the files of a rehearsal are called."""

from __future__ import annotations

from planner.answers.rehearsal.frame_maker import MadeUpFrame
from planner.answers.rehearsal.rehearsal import Rehearsal
from planner.files.exchange.plain_names import file_stems

__all__ = ["frame_names"]


def frame_names(rehearsal: Rehearsal) -> list[str]:
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
