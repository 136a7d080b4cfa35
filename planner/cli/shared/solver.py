"""What solves frames of several instruments that share a mosaic."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from planner.answers.shared.shared_plan import SharedPlan
    from planner.frames.solve.any_solver import AnySolver

__all__ = ["solver_of_all"]


def solver_of_all(shared: SharedPlan) -> AnySolver:
    """Return what solves a frame of any of the instruments."""
    from planner.frames.solve.any_solver import AnySolver
    from planner.frames.solve.frame_solver import FrameSolver

    plans = [one.plan for one in shared.instruments]
    return AnySolver(tuple(FrameSolver(plan.request.camera, plan.mosaic.panels) for plan in plans))
