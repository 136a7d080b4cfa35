"""Settled panels: from a plan to what its file keeps, and what to know where the request has changed since."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from planner.mosaic.mosaic import Axes
from planner.request.panels import PanelRequest
from planner.request.request import Request
from planner.request.settled import panels_mark
from planner.words import counted, listed, rounded_down

from .plan import Plan
from .settled_words import change_words

__all__ = ["changed_words", "kept_tables", "settled_tables", "unsettled_tables", "unsettled_words"]

DECIMALS = 10
NAMED = 6


def settled_tables(plan: Plan) -> dict[str, Any]:
    """Return the tables that keep a plan's panels: ``panels`` and ``settled``, as a plan file has them.

    Exposures that the plan file lists for a panel stay with it, and so does that it is kept in any case; names of
    panels that were let go are kept as ``names_used``. A key of ``settled`` that is None stands there no more.
    """
    mosaic, listed = plan.mosaic, {one.name: one for one in plan.request.panels}
    panels = [
        PanelRequest(
            panel.name,
            round(panel.ra_deg, DECIMALS) % 360.0,
            round(panel.dec_deg, DECIMALS),
            round(panel.position_angle_deg, DECIMALS) % 360.0,
            panel.order,
            listed[panel.name].exposures if panel.name in listed else None,
            panel.kept,
            listed[panel.name].taken if panel.name in listed else None,
            None if panel.field is None else (panel.field.width_deg, panel.field.height_deg),
        )
        for panel in mosaic.panels
    ]
    settled: dict[str, Any] = {
        "picture": None,
        "axes_deg": None,
        "words": _words(len(panels), mosaic.overlap_found),
        **plan.request.marks,
        "panels": panels_mark(panels),
        "panel_count_bound": mosaic.panel_count_bound,
    }
    if mosaic.axes is not None:
        settled["axes_deg"] = [*_rounded(mosaic.axes)]
    used = _names_used(plan.request, {one.name for one in panels})
    return {"names_used": used or None, "panels": [_table(one) for one in panels], "settled": settled}


def _words(panels: int, overlap_found: float) -> str:
    """Tell panels and overlap; a proven overlap is rounded down, as everywhere."""
    return f"{counted(panels, 'panel')}, overlap {rounded_down(100 * overlap_found, 1)} per cent"


def unsettled_words(kept: Sequence[str]) -> str:
    """Say what panels a plan file has left once its settled ones were let go.

    >>> unsettled_words([])
    'keeps no panels any more'
    >>> unsettled_words(["A1", "B2"])
    'lets its settled panels go but for A1, B2: they say keep = true, which holds them until you take it out'
    """
    if not kept:
        return "keeps no panels any more"
    return (
        f"lets its settled panels go but for {listed(kept, NAMED)}: they say keep = true, which holds them until "
        "you take it out"
    )


def kept_tables(request: Request) -> dict[str, Any]:
    """Return the change of a plan file that keeps only a request's kept panels, to which a search adds others."""
    kept = [one for one in request.panels if one.keep]
    used = _names_used(request, {one.name for one in kept})
    return {"names_used": used or None, "panels": [_table(one) for one in kept], "settled": None}


def unsettled_tables(document: Mapping[str, Any]) -> dict[str, Any]:
    """Return the change of a plan file that lets its settled panels go, but for those that stay in any case.

    Parameters
    ----------
    document : mapping
        What the file says; it may have been changed by hand.
    """
    panels = [dict(one) for one in document.get("panels", ()) if isinstance(one, Mapping)]
    kept = [one for one in panels if one.get("keep") is True]
    if not kept:
        return {"names_used": None, "panels": None, "settled": None}
    for number, one in enumerate(sorted(kept, key=lambda one: one.get("order", len(kept))), start=1):
        one["order"] = number
    stays = {one.get("name") for one in kept}
    names = dict.fromkeys((*document.get("names_used", ()), *(one.get("name") for one in panels)))
    used = [name for name in names if name not in stays]
    return {"names_used": used or None, "panels": kept, "settled": None}


def _names_used(request: Request, present: set[str]) -> list[str]:
    """Names of panels that were let go, without those that are present."""
    names = dict.fromkeys((*request.names_used, *(one.name for one in request.panels)))
    return [name for name in names if name not in present] if any(one.keep for one in request.panels) else []


def _rounded(axes: Axes) -> Iterator[float]:
    yield from (round(value, DECIMALS) for value in (axes.ra_deg, axes.dec_deg, axes.position_angle_deg))


def _table(panel: PanelRequest) -> dict[str, Any]:
    more = {
        "exposures": None if panel.exposures is None else dict(panel.exposures),
        "keep": panel.keep or None,
        "taken": dict(panel.taken) if panel.taken else None,
        "field_deg": None if panel.field_deg is None else list(panel.field_deg),
    }
    return {
        "name": panel.name,
        "order": panel.order,
        "ra_deg": panel.ra_deg,
        "dec_deg": panel.dec_deg,
        "position_angle_deg": panel.position_angle_deg,
        **{key: value for key, value in more.items() if value is not None},
    }


def changed_words(plan: Plan, *, cures: bool = True) -> str | None:
    """Say what changed since a plan's panels were settled, what they now fall short of, and what to do.

    None where nothing has changed, or nothing is settled: every verb and page tells it.

    Parameters
    ----------
    plan : Plan
    cures : bool
        Whether the ways on of the command line are named; a face may offer its own.
    """
    if not plan.request.changed_tables:
        return None
    return change_words(plan.request, plan.shortfalls, cures=cures)
