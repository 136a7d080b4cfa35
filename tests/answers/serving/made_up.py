"""Made-up targets with stretches of angles, and brute force over all that can be set."""

import itertools

import numpy as np

from planner.answers.serving import FittingAngles


def some_fitting(count, seed, *, period=180.0, whole=False):
    """Targets that fit always, in one stretch, in two, at one angle only, and never.

    With `whole`, ends lie on whole degrees, so that many meet.
    """
    rng = np.random.default_rng(seed)
    stretches = []
    for number in range(count):
        start = float(rng.uniform(0, 2 * period))
        width = float(rng.gamma(2.0, period / 14))
        if whole:
            start, width = round(start), round(width / 3)
        kinds = {
            0: ((0.0, period),),
            1: ((start, start + width), (start + 0.4 * period, start + 0.4 * period + width / 2)),
            2: ((start, start),),
            3: (),
        }
        stretches.append(kinds.get(number % 12, ((start, start + width),)))
    weights = rng.uniform(0.0, 5.0, count) if seed % 2 else np.ones(count)
    names = tuple(f"T{number}" for number in range(count))
    return FittingAngles(names, tuple(stretches), tuple(weights.tolist()), period)


def fits(stretches, angle, period):
    """Whether an angle lies in a stretch, ends included: looked at turn by turn."""
    turns = np.arange(-5, 6) * period
    return any(
        ((angle + turns >= low - 1e-9) & (angle + turns <= high + 1e-9)).any() for low, high in stretches
    )


def table(fitting, angles):
    """Which target fits at which angle, shape (angles, targets)."""
    return np.array(
        [[fits(one, angle, fitting.period_deg) for one in fitting.stretches_deg] for angle in angles],
        dtype=bool,
    ).reshape(len(angles), len(fitting))


def divisions(device, period):
    """Position angles of all divisions within the travel."""
    low, high = device.travel_deg
    count = np.arange(
        np.ceil(low / device.division_deg - 1e-9), np.floor(high / device.division_deg + 1e-9) + 1
    )
    angles = (device.zero_deg + device.sense * count * device.division_deg) % period
    return np.unique(np.round(angles, 9) % period)


def most_of(held, weights, size):
    """The greatest weight that so many rows hold between them: all of them looked at."""
    return max(
        float(weights[held[list(chosen)].any(axis=0)].sum())
        for chosen in itertools.combinations(range(len(held)), min(size, len(held)))
    )
