"""nights.ics: the timetable as a calendar (iCalendar, RFC 5545), one event for each block."""

from __future__ import annotations

import datetime as dt
import hashlib
import math
from typing import TYPE_CHECKING

from planner.answers.night_steps import NO_TIME_FOR, BlockSteps, looking_words, night_steps
from planner.answers.panel_facts import readings_deg
from planner.rig.cautions import cautions_for

if TYPE_CHECKING:
    from icalendar import Event

    from planner.answers.nights import NightsPlan
    from planner.night.timetable import Block

__all__ = ["calendar_bytes"]

PRODUCT = "-//mosaic planner//nights//EN"


def calendar_bytes(nights: NightsPlan, *, stamp: dt.datetime | None = None) -> bytes:
    """Return the calendar: UTC times, CRLF line ends, lines folded at 75 octets.

    Parameters
    ----------
    nights : NightsPlan
    stamp : datetime.datetime, optional
        When the calendar is made (DTSTAMP); noon UTC of the first evening, if left out, so that the same season
        gives the same bytes.
    """
    from icalendar import Calendar

    calendar = Calendar()
    calendar.add("prodid", PRODUCT)
    calendar.add("version", "2.0")
    calendar.add("calscale", "GREGORIAN")
    made = stamp or _first_noon(nights)
    for steps in night_steps(nights):
        calendar.add_component(_event(nights, steps, made))
    return bytes(calendar.to_ical())


def _first_noon(nights: NightsPlan) -> dt.datetime:
    asked = nights.plan.request.nights
    assert asked is not None
    return dt.datetime.combine(asked.first, dt.time(12), tzinfo=dt.UTC)


def _event(nights: NightsPlan, steps: BlockSteps, made: dt.datetime) -> Event:
    from icalendar import Event

    survey, block = nights.survey, steps.block
    panel, chosen = survey.targets.names[block.panel], survey.filters[block.chosen]
    site = survey.site_of(block.night)
    event = Event()
    event.add("uid", _identity(nights, block))
    event.add("dtstamp", made)
    event.add("dtstart", _utc(block.start_s))
    event.add("dtend", _utc(block.end_s))
    event.add("summary", f"{panel} {chosen.name} {block.exposures} x {chosen.exposure_s:g} s")
    event.add("location", site.name)
    event.add("description", _description(nights, steps))
    return event


def _identity(nights: NightsPlan, block: Block) -> str:
    """Name an event so that a calendar replaces it when the same block is planned again."""
    survey = nights.survey
    evening = survey.evenings[block.night].evening
    names = (nights.plan.request.title, survey.sites[evening.site].name, survey.targets.names[block.panel])
    parts = (*names, survey.filters[block.chosen].name, str(block.start_s))
    return f"{hashlib.sha256(chr(31).join(parts).encode()).hexdigest()[:32]}-nights"


def _utc(time_s: int) -> dt.datetime:
    return dt.datetime.fromtimestamp(time_s, tz=dt.UTC)


def _description(nights: NightsPlan, steps: BlockSteps) -> str:
    block, request = steps.block, nights.plan.request
    panel = nights.plan.mosaic.panels[block.panel]
    looking = f", {words}" if (words := looking_words(block)) else ""
    return "\n".join(
        (
            *(f"{words}." for words in steps.first),
            *((f"After this block, before anybody turns the camera: {steps.after}.",) if steps.after else ()),
            *((f"{NO_TIME_FOR}.",) if steps.turn or steps.after else ()),
            f"{request.title}: ICRS {panel.ra_deg:.5f} {panel.dec_deg:+.5f} degrees, position angle "
            f"{panel.position_angle_deg:.2f}{_reading_words(nights, block)}{looking}.",
            *cautions_for(request.angle_device, request.mount, turns=True, follows=True),
        )
    )


def _reading_words(nights: NightsPlan, block: Block) -> str:
    if nights.plan.request.angle_device is None:
        return ""
    reading = float(readings_deg(nights.plan)[block.panel])
    return f" (reading {reading:.2f})" if math.isfinite(reading) else " (out of the device's travel)"
