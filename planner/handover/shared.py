"""The hand-over of a mosaic that several instruments share: each one's files in a folder of its own, one index."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from planner.answers.shared.shared_plan import part_of
from planner.progress import Progress
from planner.request.shared import SharedRequest
from planner.rig.cautions import cautions_for

from .handover import HANDOVER_KINDS, check_kinds, handover_files
from .index import INDEX_NAME, HandoverFile, handover_index

if TYPE_CHECKING:
    from planner.answers.shared.shared_plan import SharedPlan
    from planner.night.timetable import Goal
    from planner.request.request import Request

__all__ = ["check_shared_kinds", "kinds_for", "shared_handover_files"]


MOST_NAMED = 8
"""Of so many panels the names are told."""


def kinds_for(request: Request, only: Sequence[str]) -> list[str] | None:
    """Kinds asked for that one instrument gives ground for; None where nothing is left of what was asked."""
    kinds = [name for name in only if name not in HANDOVER_KINDS or HANDOVER_KINDS[name].has_ground(request)]
    return None if only and not kinds else kinds


def check_shared_kinds(request: SharedRequest, only: Sequence[str]) -> None:
    """Refuse, before any long work, kinds that are unknown or for which no instrument gives ground.

    Raises
    ------
    InputError
        In one sentence.
    """
    for name in only:
        able = [one for one in request.instruments if kinds_for(one.request, [name])]
        check_kinds((able or request.instruments)[0].request, [name])
    for one in request.instruments:
        kinds = kinds_for(one.request, only)
        if kinds is not None:
            check_kinds(one.request, kinds)


def shared_handover_files(
    shared: SharedPlan,
    *,
    only: Sequence[str] = (),
    planned_on: dt.date | None = None,
    goal: Goal = "soonest",
    progress: Progress | None = None,
) -> list[HandoverFile]:
    """Return all files of the hand-over, the index of all first.

    Parameters and errors as for `handover_files`; a kind that some instruments give no ground for is left out there.
    """
    files: list[HandoverFile] = []
    count = len(shared.instruments)
    if not only or "json" in only:
        files.append(_plan_json(shared))
    for number, (one, folder) in enumerate(zip(shared.instruments, shared.folders, strict=True)):
        kinds = kinds_for(one.plan.request, only)
        if kinds is not None:
            tell = part_of(progress, one.name, number, count)
            own = handover_files(one.plan, only=kinds, planned_on=planned_on, goal=goal, progress=tell)
            files += [replace(file, path=f"{folder}/{file.path}") for file in own]
    index = handover_index(shared.title, list(_facts(shared)), files, _cautions(shared))
    return [HandoverFile(INDEX_NAME, "index", "plain text, UTF-8", index), *files]


def _plan_json(shared: SharedPlan) -> HandoverFile:
    from planner.files.documents.json_text import json_bytes
    from planner.files.documents.shared_plan import SCHEMA, shared_plan_document

    content = json_bytes(shared_plan_document(shared))
    return HandoverFile("plan.json", "json", f"JSON (RFC 8259), schema {SCHEMA}", content)


def _facts(shared: SharedPlan) -> Iterator[str]:
    """Return what a reader must know before using any of the files."""
    yield f"{len(shared.instruments)} instruments share this mosaic; each has a folder with an index of its own:"
    for one, folder in zip(shared.instruments, shared.folders, strict=True):
        count = len(one.panels)
        panels = f"panels {', '.join(one.panels)}" if count <= MOST_NAMED else f"{count} panels"
        yield f"{folder}/: {one.name}, {panels}{one.through}."
    for shortfall in shared.shortfalls:
        yield f"Mind: {shortfall}."


def _cautions(shared: SharedPlan) -> tuple[str, ...]:
    """Cautions of all instruments, each once."""
    requests = [one.plan.request for one in shared.instruments]
    found = [cautions_for(one.angle_device, one.mount, follows=True) for one in requests]
    return tuple(dict.fromkeys(text for texts in found for text in texts))
