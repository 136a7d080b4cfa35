"""A verifier of timetables that knows only the rules, the request and skyfield; nothing of the planner's own."""

import datetime as dt
import math
from collections import defaultdict

import numpy as np

from . import sky_oracle

DEFAULT_LIMITS = {"broad": (60.0, 0.25), "narrow": (30.0, 1.0)}
DARK = {"civil": -6.0, "nautical": -12.0, "astronomical": -18.0}
ANGLE_DEG = 0.01
"""Two ephemerides and whole seconds differ by less."""


def seconds(text):
    return dt.datetime.strptime(text, "%Y-%m-%dT%H:%M:%SZ").replace(tzinfo=dt.UTC).timestamp()


def complaints(document, *, places, wanted, sites, nights, filters, flip_after_min):
    """Broken rules, in words.

    `places` maps panel names to (ra, dec) in degrees, `wanted` (panel, filter) to exposures; `flip_after_min`
    is None for a mount that never flips.
    """
    by_site = {site.name: site for site in sites}
    by_filter = {chosen.name: chosen for chosen in filters}
    found = list(_counts(document, wanted)) + list(_sums(document, by_site))
    found += list(_overlaps(document, sites)) + list(_short_blocks(document, wanted, by_filter, nights))
    for entry in document["timetable"]:
        site = by_site[entry.get("site", sites[0].name)]
        chosen = by_filter[entry["filter"]]
        start, end = seconds(entry["from"]), seconds(entry["to"])
        time = np.linspace(start, end, 5)
        for text in (
            *_length(entry, chosen, nights),
            *_evening(entry, site),
            *_sky(site, places[entry["panel"]], time, nights),
            *_moon(document, entry, site, places[entry["panel"]], chosen, time),
            *_state(entry, site, places[entry["panel"]], time[[0, -1]], flip_after_min),
        ):
            found.append(f"{entry['evening']} {entry['panel']} {entry['filter']}: {text}")
    return found


def _counts(document, wanted):
    got = defaultdict(int)
    for entry in document["timetable"]:
        if entry["exposures"] < 1:
            yield f"{entry['panel']}: an entry without exposures"
        got[entry["panel"], entry["filter"]] += entry["exposures"]
    for row in document["missing"]:
        got[row["panel"], row["filter"]] += row["exposures"]
    for job in set(got) | {job for job, count in wanted.items() if count}:
        if got[job] != wanted.get(job, 0):
            yield f"{job}: {got[job]} exposures placed or missing, {wanted.get(job, 0)} wanted"
    if document["finished"] != (not document["missing"]):
        yield "finished does not fit what is missing"


def _sums(document, by_site):
    entries = document["timetable"]
    hours = [(seconds(entry["to"]) - seconds(entry["from"])) / 3600 for entry in entries]
    if not math.isclose(sum(hours), document["hours_used"], abs_tol=1e-3):
        yield "hours_used is not the sum over entries"
    if entries and max(entry["evening"] for entry in entries) != document["evening_of_last"]:
        yield "evening_of_last"
    if "cost" in document:
        prices = [_price(document, entry, by_site) for entry in entries]
        if not math.isclose(
            sum(map(math.prod, zip(hours, prices, strict=True))), document["cost"], abs_tol=0.02
        ):
            yield "cost is not the sum over entries"


def _night(document, entry):
    return next(
        night
        for night in document["nights"]
        if night["evening"] == entry["evening"] and night.get("site") == entry.get("site")
    )


def _price(document, entry, by_site):
    site = by_site[entry["site"]] if "site" in entry else next(iter(by_site.values()))
    light = _night(document, entry)["moon_illumination"]
    return max((pair for pair in site.hour_price if pair[0] <= light), default=(0, 0.0))[1]


def _overlaps(document, sites):
    for site in sites:
        entries = [one for one in document["timetable"] if one.get("site", site.name) == site.name]
        entries.sort(key=lambda entry: entry["from"])
        for first, second in zip(entries, entries[1:], strict=False):
            if seconds(first["to"]) > seconds(second["from"]):
                yield f"{first['evening']}: {first['panel']} runs into {second['panel']}"


def _short_blocks(document, wanted, by_filter, nights):
    for entry in document["timetable"]:
        job = entry["panel"], entry["filter"]
        short = entry["exposures"] * by_filter[entry["filter"]].exposure_s < 60 * nights.least_block_min
        if short and entry["exposures"] != wanted[job]:
            yield f"{job}: a block of {entry['exposures']} is shorter than the least"


def _length(entry, chosen, nights):
    one = (chosen.exposure_s + nights.overhead_per_exposure_s) / nights.clear_fraction
    least = 60 * nights.overhead_per_panel_min + one * entry["exposures"]
    took = seconds(entry["to"]) - seconds(entry["from"])
    if not least - 1e-3 <= took <= least + 1.0:
        yield f"takes {took} s, expected {least:.1f}"


def _evening(entry, site):
    start, end = (dt.datetime.fromtimestamp(seconds(entry[key]), tz=site.zone) for key in ("from", "to"))
    first = dt.date.fromisoformat(entry["evening"])
    noons = [
        dt.datetime.combine(first + dt.timedelta(days=day), dt.time(12), tzinfo=site.zone) for day in (0, 1)
    ]
    if not noons[0] <= start < end <= noons[1]:
        yield "outside its evening"


def _sky(site, place, time, nights):
    sun = sky_oracle.altitude_azimuth(site, "sun", time)[0]
    if sun.max() > DARK[nights.darkness] + ANGLE_DEG:
        yield f"the Sun stands at {sun.max():.2f}"
    altitude, azimuth = sky_oracle.altitude_azimuth(site, place, time)
    if (altitude - _limit(site, azimuth)).min() < -ANGLE_DEG:
        yield f"the panel stands at {altitude.min():.2f}"
    apart = (
        sky_oracle.observe(site, place, time).separation_from(sky_oracle.observe(site, "sun", time)).degrees
    )
    if apart.min() < 30 - ANGLE_DEG:
        yield "too near to the Sun"


def _limit(site, azimuth):
    """Horizon walked point by point."""
    points = sorted(site.horizon_deg)
    if not points:
        return np.full(len(azimuth), site.lowest_altitude_deg)
    ring = [(points[-1][0] - 360, points[-1][1]), *points, (points[0][0] + 360, points[0][1])]
    limits = []
    for one in azimuth:
        sides = zip(ring, ring[1:], strict=False)
        (a, low), (b, high) = next(side for side in sides if side[0][0] <= one <= side[1][0])
        limits.append(max(site.lowest_altitude_deg, low + (high - low) * (one - a) / (b - a)))
    return np.array(limits)


def _moon(document, entry, site, place, chosen, time):
    apart_limit, light_limit = chosen.moon_separation_deg, chosen.moon_illumination
    if apart_limit is None and light_limit is None:
        apart_limit, light_limit = DEFAULT_LIMITS[chosen.band]
    up = sky_oracle.altitude_azimuth(site, "moon", time)[0] > ANGLE_DEG
    if not up.any():
        return
    night = _night(document, entry)
    middle = (seconds(night["dark_from"]) + seconds(night["dark_to"])) / 2
    moon = sky_oracle.observe(site, "moon", middle)
    light = moon.fraction_illuminated(sky_oracle.ephemeris()["sun"])[0]
    if abs(light - night["moon_illumination"]) > 0.002:
        yield f"illumination {light:.4f}"
    if light > (1.0 if light_limit is None else light_limit) + 0.002:
        yield f"the Moon is up and {light:.0%} lit"
    apart = (
        sky_oracle.observe(site, place, time).separation_from(sky_oracle.observe(site, "moon", time)).degrees
    )
    if (apart[up] < (apart_limit or 0.0) - 0.05).any():
        yield f"the Moon is up and {apart[up].min():.1f} degrees away"


def _state(entry, site, place, time, flip_after_min):
    if flip_after_min is None:
        if "looking" in entry:
            yield "a mount that never flips looks to a side"
        return
    hours = np.atleast_1d(sky_oracle.observe(site, place, time).hadec()[0].hours)
    since_flip_h = (hours - flip_after_min / 60 * 1.0027379) % 24
    slack_h = 2 / 3600
    length_h = 12 - flip_after_min / 60 * 1.0027379
    west = (since_flip_h <= length_h + slack_h) | (since_flip_h >= 24 - slack_h)
    east = (since_flip_h >= length_h - slack_h) | (since_flip_h <= slack_h)
    if not (west if entry["looking"] == "west" else east).all():
        yield f"looking {entry['looking']} at hour angles {hours.round(3).tolist()}"
    if (time[1] - time[0]) / 3600 > 12:
        yield "longer than half a turn"
