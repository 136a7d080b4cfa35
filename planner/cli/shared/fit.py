"""`fit` of a region that several instruments share."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from planner.cli._show import progress_shown

if TYPE_CHECKING:
    from planner.answers.fit import SetupFit
    from planner.progress import Effort

__all__ = ["shared_fits"]


def shared_fits(file: Path, setups: Sequence[Path], effort: Effort) -> tuple[SetupFit, ...]:
    """Tell how well the region fits one frame of each instrument, then of each setup; an entry each, in this order.

    Raises
    ------
    PlannerError
        If the file has faults, or a setup has no camera.
    """
    from planner.answers.fit import fit_setups
    from planner.answers.shared.shared_plan import part_of
    from planner.files.plan_file.read import read_setup_file
    from planner.files.plan_file.shared import read_shared_file, request_of

    shared = read_shared_file(file)
    values, count = [read_setup_file(path) for path in setups], len(shared.instruments)
    found: list[SetupFit] = []
    with progress_shown() as progress:
        for number, one in enumerate(shared.instruments):
            tell = part_of(progress, one.name, number, count)
            request = replace(request_of(shared, one), panels=(), settled=None)
            found += (
                replace(fit, name=one.name) for fit in fit_setups(request, effort=effort, progress=tell)
            )
        if values:
            found += fit_setups(request, values, effort=effort, progress=progress)
    return tuple(found)
