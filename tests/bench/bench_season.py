"""A season of eight targets: all targets at all angles by sliding rows, and the choice of angles."""

from __future__ import annotations

import itertools
import time
from collections.abc import Iterator
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import affinity

from planner.answers.plan import Effort, make_plan, terms_of
from planner.answers.season import SeasonPlan, plan_season, season_angles
from planner.answers.season.best_angles import best_angles
from planner.answers.season.table import at_angle, row_table
from planner.geometry import vector_to_plane
from planner.mosaic.region import Region
from planner.request.request import MosaicRequest, RegionRequest, Request, SeasonRequest
from planner.rig.angle_device import AngleDevice
from planner.rig.camera import Camera
from planner.rig.settable_angles import SettableAngles

from .timing import ratio_row, seconds

Row = dict[str, Any]
CAMERA = Camera(380.0, (6000, 4000), 3.9)
DEVICE = AngleDevice("adjuster", zero_deg=112.4)
PHASES = 8
LOOPED_ANGLES = 4
"""The plain loop runs at this many angles; its time is scaled to all."""


def run() -> list[Row]:
    """Return the rows of the table."""
    return [_by_rows(), *_choices(), *_by_plans()]


def season(count: int = 8, *, free: bool = False, turns: int = 0) -> SeasonRequest:
    """Blobs of about ten panels all over the sky, the same on every run."""
    rng = np.random.default_rng(4)
    mosaic = MosaicRequest(layout="free" if free else "sliding")
    requests = []
    for number in range(count):
        center = float(rng.uniform(0, 360)), float(rng.uniform(-60, 60))
        region = RegionRequest(outline=_blob(center, rng, 4.0))
        requests.append(Request(f"Blob {number + 1}", CAMERA, region, mosaic, angle_device=DEVICE))
    return SeasonRequest("Season", tuple(requests), turns)


def _blob(
    center: tuple[float, float], rng: np.random.Generator, size_deg: float
) -> tuple[tuple[float, float], ...]:
    """A long blob of 24 corners, turned at random."""
    angle = np.linspace(0, 2 * np.pi, 24, endpoint=False)
    radius = size_deg * (1 + 0.25 * np.sin(3 * angle + rng.uniform(0, 6)))
    turn, x, y = rng.uniform(0, np.pi), radius * np.cos(angle), 0.55 * radius * np.sin(angle)
    east, north = x * np.cos(turn) - y * np.sin(turn), x * np.sin(turn) + y * np.cos(turn)
    ra = center[0] + east / np.cos(np.radians(center[1] + north))
    return tuple(zip((ra % 360).tolist(), (center[1] + north).tolist(), strict=True))


def _by_rows() -> Row:
    request = season()
    angles = season_angles(request)
    ours = seconds(lambda: _chosen_by_rows(request, angles))
    counts, _ = _chosen_by_rows(request, angles)
    some = angles.array_deg[:: len(angles) // LOOPED_ANGLES]
    started = time.perf_counter()
    looped = sum(_fewest_in_grid(one, angle) for one in request.requests for angle in some)
    other = (time.perf_counter() - started) * len(angles) / len(some)
    columns = np.searchsorted(angles.array_deg, some)
    note = (
        f"{len(angles)} angles; at the {len(some)} looped over, rows need {counts[:, columns].sum()} "
        f"panels and the loop's grids {looped}; loop scaled to all angles"
    )
    return ratio_row(
        "season of 8 by rows against a plain loop over angles, phases, panels", ours, other, note
    )


def _chosen_by_rows(request: SeasonRequest, angles: SettableAngles) -> tuple[NDArray[np.int64], int]:
    """Panels of each target in rows at each angle, and their sum at the best choice of angles."""
    counts = row_table(request.requests, angles.array_deg)
    columns = best_angles(counts.astype(float), request.turns_allowed + 1)
    assert columns is not None
    return counts, int(counts[np.arange(len(counts)), columns].sum())


def _fewest_in_grid(request: Request, angle_deg: float) -> int:
    """Panels of the best plain grid in the tangent plane: every panel of every phase tested with shapely."""
    assert request.region.outline is not None
    region = Region(request.region.outline)
    ring = vector_to_plane(region.outline_vectors, region.basis)
    turned = affinity.rotate(shapely.Polygon(ring), angle_deg, origin=(0, 0))
    view = terms_of(request).field
    width, height = 2 * view.half_width * 0.85, 2 * view.half_height * 0.85
    return min(_grid_count(turned, width, height, phase / PHASES) for phase in range(PHASES))


def _grid_count(polygon: shapely.Polygon, width: float, height: float, phase: float) -> int:
    left, bottom, right, top = polygon.bounds
    count, y = 0, bottom - phase * height
    while y < top:
        x = left
        while x < right:
            count += bool(polygon.intersects(shapely.box(x, y, x + width, y + height)))
            x += width
        y += height
    return count


def _choices() -> Iterator[Row]:
    request = season()
    counts = _chosen_by_rows(request, season_angles(request))[0].astype(float)
    for most in (2, 3):
        ours = seconds(lambda: best_angles(counts, most))
        columns = best_angles(counts, most)
        assert columns is not None
        total = counts[np.arange(len(counts)), columns].sum()
        started = time.perf_counter()
        step = 1 if most == 2 else 4
        few = counts[:, ::step]
        least = min(
            few[:, list(some)].min(axis=1).sum() for some in itertools.combinations(range(few.shape[1]), most)
        )
        other = time.perf_counter() - started
        note = f"total {total:.0f}, loop {least:.0f}" + (
            "" if step == 1 else f" over every {step}th angle only"
        )
        yield ratio_row(
            f"choice of {most} of 180 angles for 8 targets against a loop over all", ours, other, note
        )


def _by_plans() -> Iterator[Row]:
    request = season(3, free=True)
    angles = season_angles(request)
    rows = _chosen_by_rows(request, angles)[1]
    some = angles.angles_deg[:: len(angles) // LOOPED_ANGLES]
    wanted = [at_angle(one, angle) for one in request.requests for angle in some]
    other = seconds(lambda: [make_plan(one, effort="quick") for one in wanted], 1) * len(angles) / len(some)
    efforts: tuple[Effort, ...] = ("quick", "usual")
    for effort in efforts:
        told: list[str] = []
        answers: list[SeasonPlan] = []
        ours = seconds(lambda: answers.append(_told(request, effort, told)), 1)
        found = answers[0]
        note = (
            f"{len(told)} plans; {found.panels_total} panels proven, at least {found.panels_total_bound} needed, "
            f"rows promise {rows}; each at its own best {found.panels_total_free}; "
            f"loop of quick plans scaled from {len(some)} angles to all"
        )
        yield ratio_row(
            f"season of 3 with free panels, {effort}, against a plan at every angle", ours, other, note
        )


def _told(request: SeasonRequest, effort: Effort, told: list[str]) -> SeasonPlan:
    """Plan a season; notes every plan that is made."""
    return plan_season(request, effort=effort, progress=lambda what, share: told.append(what))
