"""progress.json: where a mosaic stands, as one document."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from planner.night.clock import utc_text

from .json_text import without_none

if TYPE_CHECKING:
    from planner.answers.progress import MosaicProgress, PanelProgress, TonightWork

__all__ = ["SCHEMA", "progress_document"]

SCHEMA = "progress 1"


def progress_document(standing: MosaicProgress) -> dict[str, Any]:
    """Return where a mosaic stands as a document of plain lists, numbers and texts.

    Times are UTC in whole seconds. Keys without ground are absent.
    """
    document = {
        "schema": SCHEMA,
        "panels": [_panel(row) for row in standing.rows],
        "filters": [{"name": name, "share": share} for name, share in standing.shares.items()],
        "evening": standing.evening.isoformat() if standing.evening else None,
        "tonight": _tonight(standing),
        "clear_fraction_met": _clear_fraction(standing),
        **_hours(standing),
        "finished": standing.finished,
        "evening_of_last": standing.last_evening.isoformat() if standing.last_evening else None,
        **_costs(standing),
        "missing": _missing(standing),
    }
    return without_none(document)


def _panel(row: PanelProgress) -> dict[str, Any]:
    values = {
        "name": row.name,
        "filter": row.filter,
        "exposures": row.exposures,
        "worth": row.worth,
        "stacks": row.stacks if row.stacks else None,
        "wanted": row.wanted,
        "seconds": round(row.seconds, 3),
        "wanted_seconds": None if row.wanted_seconds is None else round(row.wanted_seconds, 3),
        "dark_sky_seconds": None if row.dark_sky_seconds is None else round(row.dark_sky_seconds, 3),
        "nights_left": row.nights_left,
    }
    return without_none(values)


def _tonight(standing: MosaicProgress) -> list[dict[str, Any]] | None:
    """Work of the coming evening; empty where all is done, None where the plan has no nights."""
    if not standing.has_nights and not standing.finished:
        return None
    return [_work(standing, one) for one in standing.tonight]


def _work(standing: MosaicProgress, one: TonightWork) -> dict[str, Any]:
    sites = standing.plan.request.sites
    values = {
        "panel": one.panel,
        "filter": one.filter,
        "exposures": one.exposures,
        "from": utc_text(one.start_s),
        "to": utc_text(one.end_s),
        "site": sites[one.site].name if len(sites) > 1 else None,
        "looking": one.looking,
        "reason": one.reason,
    }
    return without_none(values)


def _clear_fraction(standing: MosaicProgress) -> float | None:
    met = None if standing.so_far is None else standing.so_far.clear_fraction_met
    return None if met is None else round(met, 6)


def _hours(standing: MosaicProgress) -> dict[str, float]:
    done, timetable = standing.so_far, standing.timetable
    if done is None:
        return {}
    found = {"hours_so_far": round(done.hours, 6), "waiting_hours": round(done.waiting_hours, 6)}
    return found if timetable is None else {**found, "hours_to_come": round(timetable.hours_used, 6)}


def _costs(standing: MosaicProgress) -> dict[str, Any]:
    """Cost so far and to come, with its currency; mappings where sites charge in several."""
    done = standing.so_far
    so_far = {} if done is None else _rounded(done.cost)
    waiting = {} if done is None else _rounded(done.waiting_cost)
    to_come = _rounded(standing.cost_to_come)
    if len(so_far) > 1:
        later = {"costs_to_come": to_come} if to_come else {}
        return {"costs_so_far": so_far, "costs_of_waiting": waiting, **later}
    currency = next(iter(so_far), "")
    return {
        **({"cost_so_far": so_far[currency], "cost_of_waiting": waiting[currency]} if so_far else {}),
        **({"cost_to_come": to_come.get(currency, 0.0)} if to_come or standing.finished else {}),
        **({"currency": currency} if currency else {}),
    }


def _rounded(cost: dict[str, float]) -> dict[str, float]:
    return {currency: round(value, 2) for currency, value in cost.items()}


def _missing(standing: MosaicProgress) -> list[dict[str, Any]] | None:
    """Exposures that the season has no place for; None without a timetable."""
    if standing.timetable is None or standing.ahead is None:
        return None
    survey = standing.ahead.survey
    return [
        {
            "panel": survey.targets.names[row.panel],
            "filter": survey.filters[row.chosen].name,
            "exposures": row.exposures,
            "reason": row.reason,
        }
        for row in standing.timetable.missing
    ]
