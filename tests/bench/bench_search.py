"""The search for the fewest panels: rows at all angles, free panels over thirteen regions, growth with size.

Times are processor times; where a second process helps, time by the clock stands beside.
"""

from __future__ import annotations

import os
import resource
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from functools import cache
from typing import Any, Literal, NamedTuple

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import affinity

from planner.geometry import footprint_vectors, plane_to_vector, sky_basis, vector_to_plane, vector_to_sky
from planner.halves import two_processes
from planner.mosaic.build import build_mosaic
from planner.mosaic.choose import search_task, sliding_start
from planner.mosaic.layout.flat_rows import count_rows
from planner.mosaic.layout.grid import _meeting_grid
from planner.mosaic.layout.lay_out import lay_out
from planner.mosaic.mosaic import Mosaic
from planner.mosaic.orientation import Orientation
from planner.mosaic.panel import Field
from planner.mosaic.region import Region
from planner.mosaic.terms import Layout, Terms
from tests.bench.search_regions import BEFORE, blob, eight_regions, five_regions

Row = dict[str, Any]
Array = NDArray[Any]
Pair = tuple[float, float]
Touches = Callable[[shapely.Polygon, Pair, Pair], bool]
Effort = Literal["quick", "usual", "thorough"]
EFFORTS: tuple[Effort, ...] = ("quick", "usual")
TERMS = Terms(Field(3.2, 2.1), overlap=0.15)
LEVEL = Orientation.common(0.0)
FRAME = sky_basis(128.0, -20.0, 0.0)
ANGLES_DEG = np.arange(180.0)
PHASES = 8
LOOPED_ANGLES = 3
"""The plain loop runs at this many angles; its time is scaled to all."""
LAID_STEP_DEG = 30.0
"""Steps of angle in which rows are laid out."""
GRID_STEP_DEG = 15.0
"""Full grids are laid out in steps of this angle, and the best is taken."""
STARTS = 3
"""Of so many processes that import something the quickest counts."""


def run() -> Iterator[Row]:
    """Rows of the table, one by one."""
    yield from _rows_at_all_angles()
    yield _rows_at_one_angle()
    yield from _small_regions()
    yield from _growth()


def _timed(work: Callable[[], Any], repeats: int = 1) -> tuple[float, Any]:
    """Shortest processor time of a few runs, and the answer of the last."""
    times = []
    for _ in range(repeats):
        started = time.process_time()
        answer = work()
        times.append(time.process_time() - started)
    return min(times), answer


def _rows_at_all_angles() -> Iterator[Row]:
    for name, region in {"convex": eight_regions()["ellipse"], "not convex": blob(5.0, 24, wave=0.3)}.items():
        ours, counts = _timed(
            lambda: count_rows(region, LEVEL, TERMS.demands, ANGLES_DEG, phases=PHASES), repeats=5
        )
        for shifts in ((PHASES, 1), (PHASES, PHASES)):
            yield _against_loop(f"{name}, footprints on the sky", region, ours, counts, _on_sky, shifts)
            yield _against_loop(f"{name}, boxes in the plane", region, ours, counts, _in_plane, shifts)


def _rows_at_one_angle() -> Row:
    """Sliding rows at one angle, laid out and proven, over the eight regions."""
    regions = list(eight_regions().values())
    angles = np.arange(0.0, 180.0, LAID_STEP_DEG)
    took, laid = _timed(
        lambda: [
            len(lay_out(region, TERMS, Layout("sliding"), Orientation.common(float(angle))))
            for region in regions
            for angle in angles
        ]
    )
    return {
        "name": "sliding rows at one angle, laid out and proven, mean",
        "ours_s": took / len(laid),
        "note": f"{len(laid)} layouts of {min(laid)} to {max(laid)} panels, {sum(laid)} in all",
    }


def _against_loop(
    name: str, region: Region, ours: float, counts: Array, touches: Touches, phases: tuple[int, int]
) -> Row:
    some = ANGLES_DEG[:: len(ANGLES_DEG) // LOOPED_ANGLES]
    other, looped = _timed(lambda: [_fewest_in_grid(region, angle, touches, phases) for angle in some])
    other *= len(ANGLES_DEG) / len(some)
    at = np.searchsorted(ANGLES_DEG, some)
    return {
        "name": f"rows, 180 angles x {PHASES} phases; loop: {name}, {phases[0]} x {phases[1]} shifts",
        "ours_s": ours,
        "other_s": other,
        "ratio": other / ours,
        "note": f"fewest {counts.min()} panels; at {len(some)} angles rows {counts[at].tolist()}, the loop's grids "
        f"{looped}; loop measured at these angles and scaled to 180",
    }


def _fewest_in_grid(region: Region, angle_deg: float, touches: Touches, phases: tuple[int, int]) -> int:
    """Panels of the best plain grid over all shifts up and across: each panel is tested on its own."""
    ring = shapely.Polygon(vector_to_plane(region.outline_vectors, region.basis))
    turned = affinity.rotate(ring, angle_deg, origin=(0, 0))
    width, height = (2 * side for side in TERMS.demands[0].core)
    shifts = [
        (k / phases[1] * width, m / phases[0] * height) for k in range(phases[1]) for m in range(phases[0])
    ]
    return min(_grid_count(turned, width, height, shift, touches) for shift in shifts)


def _grid_count(
    polygon: shapely.Polygon, width: float, height: float, shift: tuple[float, float], touches: Touches
) -> int:
    left, bottom, right, top = polygon.bounds
    count, y = 0, bottom - shift[1]
    while y < top:
        x = left - shift[0]
        while x < right:
            count += touches(polygon, (x, y), (width, height))
            x += width
        y += height
    return count


def _in_plane(polygon: shapely.Polygon, corner: Pair, size: Pair) -> bool:
    """Whether the box of one panel meets the region, both flat."""
    (x, y), (width, height) = corner, size
    return bool(polygon.intersects(shapely.box(x, y, x + width, y + height)))


def _on_sky(polygon: shapely.Polygon, corner: Pair, size: Pair) -> bool:
    """Whether one panel's own footprint, worked out on the sky, meets the region."""
    middle = plane_to_vector(np.add(corner, np.divide(size, 2)), FRAME)
    ra_deg, dec_deg = vector_to_sky(middle)
    corners = footprint_vectors(sky_basis(ra_deg, dec_deg, 0.0), size[0] / 2, size[1] / 2)
    return bool(polygon.intersects(shapely.Polygon(vector_to_plane(corners, FRAME))))


def _small_regions() -> Iterator[Row]:
    for name, regions in (("eight", eight_regions()), ("five", five_regions())):
        grids = [_full_grid(region) for region in regions.values()]
        rows_s, rows = _timed(lambda regions=regions: [_in_rows(region) for region in regions.values()])
        yield {
            "name": f"{name} regions, sliding rows at the best angles, proven",
            "ours_s": rows_s,
            "note": f"full grids {sum(grids)} panels, rows {sum(rows)}",
        }
        for effort in EFFORTS:
            yield _planned_all(name, regions, effort)
    yield _planned_all("eight", eight_regions(), "thorough")


def _planned_all(name: str, regions: dict[str, Region], effort: Effort) -> Row:
    """Free panels over some regions; beside them what was found before, and what importing numpy takes."""
    runs = {key: _beside_numpy(region, effort) for key, region in regions.items()}
    found = {key: (len(mosaic.panels), mosaic.panel_count_bound) for key, (mosaic, _, _) in runs.items()}
    worse = [key for key, (n, bound) in found.items() if n > BEFORE[key][0] or bound < BEFORE[key][1]]
    ratios = [np.divide(ours, numpys) for _, ours, numpys in runs.values()]
    each = [
        f"{key} {by_processor:.0f} and {by_clock:.0f} ({ours.clock_s:.1f} s) for {n}/{bound}, before {BEFORE[key]}"
        for (key, (n, bound)), (by_processor, by_clock), (_, ours, _) in zip(
            found.items(), ratios, runs.values(), strict=True
        )
    ]
    (mean, mean_by_clock), (most, most_by_clock) = np.mean(ratios, axis=0), np.max(ratios, axis=0)
    return {
        "name": f"{name} regions, free panels, {effort}",
        "ours_s": sum(ours.processor_s for _, ours, _ in runs.values()),
        "note": f"with the start {mean:.0f} times `import numpy` a region, at most {most:.0f}; by the clock "
        f"{mean_by_clock:.0f}, at most {most_by_clock:.0f}; {sum(n for n, _ in found.values())} panels, bounds "
        f"{sum(b for _, b in found.values())}; proven fewest in {sum(n == b for n, b in found.values())} of "
        f"{len(found)}; {'worse than before: ' + ', '.join(worse) if worse else 'none worse'} ({', '.join(each)})",
    }


class _Times(NamedTuple):
    """Time of processors, of processes that were started too, and time by the clock."""

    processor_s: float
    clock_s: float


def _beside_numpy(region: Region, effort: Effort) -> tuple[Mosaic, _Times, _Times]:
    """Free panels, what they take with the start of a process that plans, and what importing numpy takes."""
    with two_processes():
        took, mosaic = _took(lambda: _planned(region, effort))
    numpys, start = _process_times("import numpy"), _start_times()
    return mosaic, _Times(*np.add(took, start)), numpys


@cache
def _start_times() -> _Times:
    """What it takes to import what a plan needs, numpy among it, in a process of its own."""
    return _process_times("import planner.cli, planner.mosaic.choose")


def _process_times(statement: str) -> _Times:
    """What a process takes that runs a statement, its modules compiled as an installation has them."""
    environment = {key: value for key, value in os.environ.items() if key != "PYTHONDONTWRITEBYTECODE"}
    times = [
        _took(lambda: subprocess.run([sys.executable, "-c", statement], check=True, env=environment))[0]
        for _ in range(STARTS)
    ]
    return _Times(*np.min(times, axis=0))


def _took(work: Callable[[], Any]) -> tuple[_Times, Any]:
    before, started = _processors_s(), time.perf_counter()
    answer = work()
    return _Times(_processors_s() - before, time.perf_counter() - started), answer


def _processors_s() -> float:
    used = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    return sum(one.ru_utime + one.ru_stime for one in used)


def _in_rows(region: Region) -> int:
    """Panels of the best sliding rows, laid out and proven."""
    layout = Layout(kind="sliding")
    return len(sliding_start(region, TERMS, layout, search_task(region, TERMS, layout))[1])


def _planned(region: Region, effort: Effort) -> Mosaic:
    mosaic = build_mosaic(region, TERMS, Layout(effort=effort))
    if mosaic.shortfalls:
        raise AssertionError(f"a plan falls short: {mosaic.shortfalls}")
    return mosaic


def _full_grid(region: Region) -> int:
    """Panels of the best full grid, whose rows all have as many."""
    counts = []
    for angle in np.arange(0.0, 180.0, GRID_STEP_DEG):
        system = Orientation.square_with(*region.center_deg, float(angle))
        found = _meeting_grid(region, system, Orientation.common(float(angle)), TERMS.layout_demands)
        counts += [] if found is None else [len(found[0])]
    return min(counts)


def _growth() -> Iterator[Row]:
    sizes = {"10": (blob(4.2, 24), TERMS), "100": (blob(14.5, 24), TERMS)}
    sizes["1,000"] = (blob(14.5, 24), Terms(Field(0.98, 0.64), overlap=0.15))
    first: float | None = None
    for name, (region, terms) in sizes.items():
        took, mosaic = _timed(lambda: build_mosaic(region, terms, Layout(effort="quick")))
        first = first or took
        yield _grown(f"about {name} panels, free, quick", took, first, mosaic)
    first = None
    for corners in (10, 100, 1000):
        region = blob(4.2, corners)
        took, mosaic = _timed(lambda: build_mosaic(region, TERMS, Layout(effort="quick")))
        first = first or took
        yield _grown(f"an outline of {corners:,} corners, free, quick", took, first, mosaic)


def _grown(name: str, took: float, first: float, mosaic: Mosaic) -> Row:
    note = f"{len(mosaic.panels)} panels, at least {mosaic.panel_count_bound}; {took / first:.1f} times the first"
    return {"name": name, "ours_s": took, "note": note}
