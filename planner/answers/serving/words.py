"""What angles serve, in words: now, at best, with one turn, and what a turn away loses and wins."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence

from planner.words import listed

from .angle_service import AngleService
from .best_angles import BestAngles
from .changes import Change
from .turn_evening import TurnEvening

__all__ = ["amount_text", "angle_text", "angles_text", "service_words"]

MOST_NAMED = 4
SAME = 1e-6
WITHIN_DEG = 15.0
"""How far a turn is looked at for what it loses and wins."""


def service_words(
    service: AngleService, *, unit: str = "", evenings: Sequence[dt.date] = ()
) -> tuple[tuple[str, str], ...]:
    """Return what angles serve as labels and sentences.

    Parameters
    ----------
    service : AngleService
    unit : str
        Of what is summed, such as ``hours``; empty where targets are counted.
    evenings : sequence of date
        The season's, for the evening to turn.
    """
    return tuple(_sentences(service, unit, evenings))


def _sentences(service: AngleService, unit: str, evenings: Sequence[dt.date]) -> Iterator[tuple[str, str]]:
    fitting = service.fitting
    whole = fitting.count_fitting
    of_all = f"of the {whole}" if not unit else f"{unit}, {{}} of the {whole} targets"
    if service.now_deg is not None:
        count = service.targets_at(service.now_deg)
        amount = f"{amount_text(service.served_at(service.now_deg))} {of_all.format(count)}"
        yield (
            service.now_called.capitalize(),
            f"at {angle_text(service, service.now_deg)} you can frame {amount}",
        )
    always = fitting.count_always
    if always:
        fits = "fits" if always == 1 else "fit"
        yield "Always", f"{always} of the {whole} targets {fits} whatever the angle"
    yield "Best", "; ".join(_bests(service, unit))
    if service.turn is not None and evenings:
        yield "One turn", _turned(service, service.turn, evenings)
    if service.device is None or service.device.kind != "fixed":
        yield "Turned up", _beside(service, 1)
        yield "Turned down", _beside(service, -1)


def _bests(service: AngleService, unit: str) -> Iterator[str]:
    """Yield one choice for each number of angles, as long as another one adds something."""
    before = -1.0
    for row in service.best:
        if row.served <= before + SAME:
            yield "another angle adds nothing"
            return
        yield _best(service, row, unit)
        before = row.served


def _best(service: AngleService, row: BestAngles, unit: str) -> str:
    """Return one of the best choices: at reading 121, 58."""
    where = angles_text(service, row.angles_deg, row.readings_deg)
    return f"at {where}, {amount_text(row.served)} {unit or 'targets'}"


def _turned(service: AngleService, turn: TurnEvening, evenings: Sequence[dt.date]) -> str:
    date = evenings[turn.evening]
    readings = turn.readings_deg or (None, None)
    first, second = map(angle_text, (service, service), turn.angles_deg, readings)
    before = evenings[turn.evening - 1]
    alone = angle_text(service, turn.angle_without_deg)
    if turn.hours <= turn.hours_without * (1 + 1e-9):
        return f"gains nothing: {alone} all season has {turn.hours_without:.0f} hours of targets"
    return (
        f"{first} until {before.day} {before:%B}, {second} from {date.day} {date:%B %Y} on: {turn.targets} targets "
        f"and {turn.hours:.0f} hours of them, where {alone} all season has {turn.hours_without:.0f} hours"
    )


def _beside(service: AngleService, side: int) -> str:
    """Return who is lost and won within the next degrees, turned up (1) or down (-1) on the scale."""
    device = service.device
    middle, begin = _where_a_turn_begins(service, side)
    sense = 1 if device is None else device.sense
    end = begin + side * WITHIN_DEG
    if device is not None:
        end = min(max(end, device.travel_deg[0]), device.travel_deg[1])
    start = f"from {angle_text(service, middle, None if device is None else begin)} to {end:.5g}"
    found = [(one, one.past_deg * sense) for one in service.changes(middle)]
    near = [(one, begin + past) for one, past in found if 0 <= past * side <= (end - begin) * side]
    parts = [_named(near, lost=True), _named(near, lost=False)]
    return f"{start} {'; '.join(filter(None, parts)) or 'nothing is lost or won'}"


def _where_a_turn_begins(service: AngleService, side: int) -> tuple[float, float]:
    """Return the present angle, or the best where there is none within the travel; and its place on the scale.

    Of readings that show the same angle another one is taken where the travel ends too soon.
    """
    for angle in (service.now_deg, service.best[0].angles_deg[0]):
        place = None if angle is None else service.reading_at(angle) if service.device else angle
        if angle is not None and place is not None:
            return angle, place if service.device is None else _with_room(service, angle, place, side)
    raise AssertionError("the best angle can be set")


def _with_room(service: AngleService, angle_deg: float, reading_deg: float, side: int) -> float:
    assert service.device is not None
    readings = service.device.readings_for(angle_deg, period_deg=service.fitting.period_deg)
    roomy = [one for one in readings if service.device.holds(one + side * WITHIN_DEG)]
    return min(roomy, key=lambda one: abs(one - reading_deg), default=reading_deg)


def _named(near: Sequence[tuple[Change, float]], *, lost: bool) -> str:
    """Return the first of those that are lost, or won, and where on the scale."""
    word = "beyond" if lost else "from"
    some = [f"{one.name} {word} {place:.1f}" for one, place in near if one.lost is lost]
    return f"{'loses' if lost else 'wins'} {listed(some, MOST_NAMED)}" if some else ""


def angle_text(service: AngleService, angle_deg: float, reading_deg: float | None = None) -> str:
    """Return an angle in words: the device's reading, else the position angle.

    Parameters
    ----------
    service : AngleService
    angle_deg : float
    reading_deg : float, optional
        Of several readings that show the angle, the one to tell; left out, the nearest to the present one.
    """
    if service.device is None or service.device.kind == "fixed":
        return f"position angle {angle_deg:.5g}"
    reading = service.reading_at(angle_deg) if reading_deg is None else reading_deg
    return (
        f"position angle {angle_deg:.5g} (beyond the travel)" if reading is None else f"reading {reading:.5g}"
    )


def angles_text(
    service: AngleService, angles_deg: Sequence[float], readings_deg: Sequence[float] = ()
) -> str:
    """Return angles in words, such as ``readings 5, 37 and 121``."""
    readings: Sequence[float | None] = readings_deg or [None] * len(angles_deg)
    return _listed([angle_text(service, angle, one) for angle, one in zip(angles_deg, readings, strict=True)])


def amount_text(value: float) -> str:
    """Return a sum of weights: whole numbers as such, others with one decimal.

    >>> amount_text(41.0), amount_text(310.25)
    ('41', '310.2')
    """
    return f"{value:.0f}" if abs(value - round(value)) < 1e-9 else f"{value:.1f}"


def _listed(words: Sequence[str]) -> str:
    """Return words joined with commas and an "and", with what they all begin with said once.

    >>> _listed(["reading 5", "reading 37", "reading 121"]), _listed(["position angle 12"])
    ('readings 5, 37 and 121', 'position angle 12')
    """
    if len(words) == 1:
        return words[0]
    what = words[0].rpartition(" ")[0]
    values = [word.removeprefix(f"{what} ") for word in words]
    return f"{what}s {', '.join(values[:-1])} and {values[-1]}"
