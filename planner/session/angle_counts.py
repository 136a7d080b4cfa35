"""Panel count against camera angle: what another angle would cost, by sliding rows at every degree."""

from __future__ import annotations

from dataclasses import dataclass

from planner.request import Request

__all__ = ["AngleCounts", "angle_counts"]

WHOLE_TURN = 180.0


@dataclass(frozen=True)
class AngleCounts:
    """Counts of panels in sliding rows at camera angles.

    Parameters
    ----------
    angles_deg : tuple of float
        In equal steps from the start of the range.
    counts : tuple of int
    best_deg : float
        Middle of the widest run of angles with the fewest panels.
    span_deg : float
        What the angles cover: half a turn, a quarter for a square field, or the range asked for.
    """

    angles_deg: tuple[float, ...]
    counts: tuple[int, ...]
    best_deg: float
    span_deg: float


def angle_counts(request: Request) -> AngleCounts:
    """Count the panels in sliding rows at every camera angle that the request allows; a pinned angle is let go.

    Raises
    ------
    InputError
        If the region cannot be found or planned.
    """
    from planner.mosaic.build import orientation_for
    from planner.mosaic.search.hints import hint_angles, row_counts
    from planner.mosaic.search.task import AngleRange, Task
    from planner.plan import terms_of
    from planner.regions import find_region

    region, terms, turns = find_region(request.region).region, terms_of(request), request.mosaic.turns
    task = Task(
        region,
        terms.demands,
        lambda angle: orientation_for(region, turns, angle),
        AngleRange(*_range(request)),
    )
    angles, counts = row_counts(task)
    best = hint_angles(task, angles, counts)[0]
    return AngleCounts(tuple(angles.tolist()), tuple(counts.tolist()), best, task.angles.span_deg)


def _range(request: Request) -> tuple[float, float, float]:
    """Start, span and period of the angles."""
    period = 90.0 if request.camera.field.is_square else WHOLE_TURN
    asked = request.mosaic.position_angle_range_deg
    if asked is None:
        return 0.0, period, period
    start, end = asked
    return start, min(period, end - start if end - start >= period else (end - start) % period), period
