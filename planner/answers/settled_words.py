"""What there is to say about settled panels where the request has changed since, in sentences."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from planner.geometry import wrapped_deg
from planner.mosaic.mosaic import Mosaic
from planner.request.request import Request
from planner.rig.turn import LEAST_TURN_DEG
from planner.words import counted

__all__ = ["change_words", "other_angle_deg", "unlike_asked"]

def change_words(request: Request, short: Sequence[str], *, cures: bool = True) -> str:
    """Say which tables changed since a request's panels were settled, what they fall short of, and what to do.

    Parameters
    ----------
    request : Request
        With tables that changed.
    short : sequence of str
        What they fall short of.
    cures : bool
        Whether the ways on of the command line are named; a face may offer its own.
    """
    assert request.settled is not None
    tables = " and ".join(_named(name, shares=request.shares) for name in request.changed_tables)
    lacks = "; ".join(short) or "they still give what is asked"
    words = f"{tables} changed since the panels were settled ({request.settled.words}): {lacks}"
    return f"{words}; {_cures(request)}" if cures else words


def _named(table: str, *, shares: bool) -> str:
    """Name a table; an instrument of several may have its own camera angle beside it."""
    return "[mosaic] or its own position_angle_deg" if shares and table == "mosaic" else f"[{table}]"


def _cures(request: Request) -> str:
    grow = "" if request.shares else "keep those with good frames and add others (plan --keep), "
    return (
        f"{grow}let all go to plan anew (plan --unsettle), or settle them again as they are (plan --settle)"
    )


def unlike_asked(request: Request, mosaic: Mosaic) -> tuple[str, ...]:
    """Return what a request asks of camera angles and counts, and its settled panels have otherwise.

    Parameters
    ----------
    request : Request
        What is asked.
    mosaic : Mosaic
        Panels that the plan file keeps.
    """
    return (*_angles_unlike(request, mosaic), *_grid_unlike(request, mosaic))


def _angles_unlike(request: Request, mosaic: Mosaic) -> Iterator[str]:
    asked, angles = request.mosaic, _angles_deg(mosaic)
    if (asked.angles == "per_panel") != (mosaic.axes is not None):
        yield (
            "each panel is to be square with the picture"
            if mosaic.axes is None
            else "these panels turn with the picture"
        )
        return
    if isinstance(asked.angles, int) and len(angles) > asked.angles:
        yield f"{counted(asked.angles, 'camera angle')} asked for, they have {len(angles)}"
        return
    if len(angles) == 1 and asked.position_angle_deg is not None:
        if (theirs := other_angle_deg(request, mosaic)) is not None:
            yield f"camera angle {asked.position_angle_deg:.2f} is asked for, theirs is {theirs:.2f}"
    elif asked.position_angle_range_deg is not None:
        out = [one for one in angles if not asked.allows_angle(one, mosaic.field.period_deg)]
        if out:
            low, high = asked.position_angle_range_deg
            yield f"a camera angle from {low:g} to {high:g} is asked for, theirs is {out[0]:.2f}"


def other_angle_deg(request: Request, mosaic: Mosaic) -> float | None:
    """Return the one camera angle of panels where a request pins another one for them; else None.

    Parameters
    ----------
    request : Request
    mosaic : Mosaic
        Panels that the plan file keeps.
    """
    asked, angles = request.mosaic, _angles_deg(mosaic)
    pinned = asked.position_angle_deg
    if pinned is None or len(angles) != 1 or (asked.angles == "per_panel") != (mosaic.axes is not None):
        return None
    far = abs(wrapped_deg(angles[0] - pinned, mosaic.field.period_deg)) >= LEAST_TURN_DEG
    return float(angles[0]) if far else None


def _angles_deg(mosaic: Mosaic) -> list[float]:
    """Camera angles of a mosaic, each once; of its axes where every panel is square with the picture."""
    if mosaic.axes is not None:
        return [mosaic.axes.position_angle_deg]
    period, found = mosaic.field.period_deg, list[float]()
    for panel in mosaic.panels:  # others' ground tells nothing, kept ones hold their own angles
        angle, own = panel.position_angle_deg, panel.field is None and not panel.kept
        if own and all(abs(wrapped_deg(angle - one, period)) >= LEAST_TURN_DEG for one in found):
            found.append(angle)
    return found


def _grid_unlike(request: Request, mosaic: Mosaic) -> Iterator[str]:
    asked, count = request.mosaic, len(mosaic.panels)
    if asked.columns is not None and asked.rows is not None and asked.columns * asked.rows != count:
        yield f"{asked.columns} x {asked.rows} panels are asked for, these are {count}"
