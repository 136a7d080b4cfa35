"""Folders in which the own files of the instruments stand that share a mosaic."""

from __future__ import annotations

from typing import TYPE_CHECKING

from .plain_names import file_stems

if TYPE_CHECKING:
    from planner.answers.shared.shared_plan import SharedPlan

__all__ = ["instrument_folders"]


def instrument_folders(shared: SharedPlan) -> list[str]:
    """Return names of folders, all different, in the order of the instruments."""
    return [name.lower() for name in file_stems([one.name for one in shared.instruments])]
