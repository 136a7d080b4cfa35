"""nights.json: the nights of a plan as one document."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from planner.night.brightening import brightening_mag
from planner.night.clock import utc_text
from planner.night.meridian import flips_within
from planner.night.moonlight import airmass
from planner.night.spans import length_s

from .json_text import without_none

if TYPE_CHECKING:
    from planner.answers.nights import NightsPlan
    from planner.night.evening import Evening
    from planner.night.survey import Survey
    from planner.night.timetable import Timetable

__all__ = ["SCHEMA", "nights_document"]

Values = NDArray[np.float64]
SCHEMA = "nights 1"


def nights_document(nights: NightsPlan) -> dict[str, Any]:
    """Return nights and timetable as a document of plain lists, numbers and texts.

    Times are UTC in whole seconds; windows are rounded inwards. With several sites each evening and each
    entry of the timetable names its ``site``. Keys without ground are absent.
    """
    document = {
        "schema": SCHEMA,
        "nights": [_night(nights.survey, night) for night in range(len(nights.survey.evenings))],
        "timetable": [],
        **(_timetable(nights.survey, nights.timetable) if nights.timetable else {}),
        "warnings": _warnings(nights),
    }
    return without_none(document)


def _night(survey: Survey, night: int) -> dict[str, Any]:
    evening = survey.evenings[night].evening
    return {
        "evening": evening.date.isoformat(),
        **_site(survey, night),
        **_darkness(evening),
        "moon_illumination": round(evening.moon_illumination, 4),
        "moon_up": [[utc_text(a), utc_text(b)] for a, b in evening.moon_s],
        "panels": _panels(survey, night),
    }


def _site(survey: Survey, night: int) -> dict[str, str]:
    if len(survey.sites) == 1:
        return {}
    return {"site": survey.site_of(night).name}


def _darkness(evening: Evening) -> dict[str, Any]:
    spans = evening.dark_s
    if not spans:
        return {}
    found: dict[str, Any] = {"dark_from": utc_text(spans[0][0]), "dark_to": utc_text(spans[-1][1])}
    if len(spans) > 1:
        found["dark"] = [[utc_text(a), utc_text(b)] for a, b in spans]
    return found


def _panels(survey: Survey, night: int) -> dict[str, Any]:
    sight, count = survey.evenings[night].sight, len(survey.targets)
    shown = np.flatnonzero(np.isfinite(sight.best_s))
    glow = np.zeros(count)
    if len(shown):
        glow[shown] = brightening_mag(survey, night, shown, sight.best_s[shown])
    hours = _filter_hours(survey, night)
    names = survey.targets.names
    return {name: _panel(survey, night, panel, glow, hours) for panel, name in enumerate(names)}


def _panel(
    survey: Survey, night: int, panel: int, glow: Values, filter_hours: list[dict[str, float]]
) -> dict[str, Any]:
    sight = survey.evenings[night].sight
    windows, transit = sight.windows_of(panel), float(sight.transit_s[panel])
    entry: dict[str, Any] = {
        "hours": round(length_s(windows) / 3600.0, 6),
        "windows": [[utc_text(a), utc_text(b)] for a, b in windows],
        "transit": utc_text(transit),
    }
    if not windows:
        return entry
    altitude = float(sight.greatest_altitude_deg[panel])
    entry["greatest_altitude_deg"] = round(altitude, 4)
    entry["least_moon_separation_deg"] = round(float(sight.least_moon_separation_deg[panel]), 4)
    entry["least_airmass"] = round(float(airmass(altitude)), 4)
    entry["moonlight_mag"] = round(float(glow[panel]), 3)
    flips = [flip for span in windows for flip in flips_within(span, transit, survey.flip_after_s)]
    if flips:
        entry["flip"] = utc_text(flips[0])
    if survey.filters:
        entry["filter_hours"] = filter_hours[panel]
    return entry


def _filter_hours(survey: Survey, night: int) -> list[dict[str, float]]:
    """Hours of each panel through each filter."""
    seconds = survey.filter_seconds(night).tolist()
    names = [chosen.name for chosen in survey.filters]
    return [{name: round(part / 3600.0, 6) for name, part in zip(names, row, strict=True)} for row in seconds]


def _timetable(survey: Survey, timetable: Timetable) -> dict[str, Any]:
    names, filters = survey.targets.names, survey.filters
    return {
        "timetable": [
            {
                "evening": survey.evenings[block.night].evening.date.isoformat(),
                **_site(survey, block.night),
                "from": utc_text(block.start_s),
                "to": utc_text(block.end_s),
                "panel": names[block.panel],
                "filter": filters[block.chosen].name,
                "exposures": block.exposures,
                **({"looking": block.looking} if block.looking else {}),
            }
            for block in timetable.blocks
        ],
        "goal": timetable.goal,
        "finished": timetable.finished,
        "evening_of_last": timetable.last.isoformat() if timetable.last else None,
        "hours_used": round(timetable.hours_used, 6),
        **_cost(timetable),
        "missing": [
            {
                "panel": names[row.panel],
                "filter": filters[row.chosen].name,
                "exposures": row.exposures,
                "reason": row.reason,
            }
            for row in timetable.missing
        ],
        "bound": _bound(timetable),
    }


def _cost(timetable: Timetable) -> dict[str, Any]:
    """Cost with its currency; a mapping where sites charge in several."""
    cost = {currency: round(value, 2) for currency, value in timetable.cost.items()}
    if len(cost) == 1:
        ((currency, value),) = cost.items()
        return {"cost": value, **({"currency": currency} if currency else {})}
    return {"costs": cost} if cost else {}


def _bound(timetable: Timetable) -> dict[str, Any] | None:
    bound = timetable.bound
    if bound is None:
        return None
    return {
        "of": bound.kind,
        "ours": round(float(bound.ours), 4),
        "best_possible": round(float(bound.best), 4),
        "gap": round(float(bound.gap), 6),
    }


def _warnings(nights: NightsPlan) -> list[dict[str, Any]]:
    survey = nights.survey
    return [
        {
            "evening": survey.evenings[one.night].evening.date.isoformat(),
            **_site(survey, one.night),
            "panel": survey.targets.names[one.panel],
            "body": one.body,
            "separation_deg": round(one.separation_deg, 3),
        }
        for one in nights.wanderers
    ]
