"""Which one, two and three angles serve most: branch and bound beside the same by an integer program."""

from __future__ import annotations

from typing import Any

import numpy as np

from planner.answers.serving import FittingAngles, best_turn_evening, serve_most
from planner.answers.serving.cells import cells_of
from planner.rig.angle_device import AngleDevice

from .timing import seconds

Row = dict[str, Any]
DEVICES = {
    "adjuster, 1 degree": AngleDevice("adjuster", zero_deg=112.4),
    "rotator, 0.01 degree": AngleDevice("rotator", zero_deg=12.4, division_deg=0.01),
    "no device": None,
}
NIGHTS = 365


def run() -> list[Row]:
    """Return the rows of the table."""
    rows = [_row(count, name) for count in (100, 300, 1000) for name in DEVICES]
    return [*rows, _turn()]


def fitting(count: int) -> FittingAngles:
    """Targets with one stretch, or two, of all widths: none fits always, which would be easier."""
    rng = np.random.default_rng(count)
    stretches = []
    for number in range(count):
        start, width = float(rng.uniform(0, 180)), float(rng.gamma(2.0, 12.0))
        second = ((start + 75, start + 75 + width / 2),) if number % 5 == 0 else ()
        stretches.append(((start, start + width), *second))
    return FittingAngles(tuple(map(str, range(count))), tuple(stretches), (1.0,) * count)


def _row(count: int, name: str) -> Row:
    some, device = fitting(count), DEVICES[name]

    def ours() -> float:
        return serve_most(FittingAngles(some.names, some.stretches_deg, some.weights), device).best[-1].served

    row: Row = {"name": f"{count} targets, best 1, 2 and 3 angles, {name}", "ours_s": seconds(ours, 5)}
    if device is not None:
        return row
    other = seconds(lambda: _by_integer_program(some), 1)
    same = "equal" if round(_by_integer_program(some)) == round(ours()) else "DIFFERENT"
    return row | {
        "other_s": other,
        "ratio": other / row["ours_s"],
        "note": f"other: three angles alone by HiGHS; {same}",
    }


def _by_integer_program(some: FittingAngles) -> float:
    """Return what three angles serve at most: every end and every middle between ends may be chosen."""
    from scipy.optimize import Bounds, LinearConstraint, milp
    from scipy.sparse import csr_array, eye_array, hstack

    sets = cells_of(some).sets
    angles, targets = sets.shape
    serves = hstack([csr_array(-sets.T.astype(float)), eye_array(targets)])
    few = np.concatenate([np.ones(angles), np.zeros(targets)])[None, :]
    found = milp(
        -np.concatenate([np.zeros(angles), some.weight_array]),
        integrality=np.concatenate([np.ones(angles), np.zeros(targets)]),
        bounds=Bounds(0.0, 1.0),
        constraints=[LinearConstraint(serves, -np.inf, 0.0), LinearConstraint(few, 0.0, 3.0)],
    )
    return float(-found.fun)


def _turn() -> Row:
    some = fitting(300)
    hours = np.maximum(0.0, 8 * np.sin(np.arange(300)[:, None] + np.arange(NIGHTS) / 58))
    took_s = seconds(lambda: best_turn_evening(some, hours, DEVICES["adjuster, 1 degree"]), 5)
    return {"name": f"300 targets, the evening of {NIGHTS} to turn, adjuster", "ours_s": took_s}
