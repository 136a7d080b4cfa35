"""The search for the fewest panels: rows at all angles, free panels over eight regions, growth with size."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from typing import Any, Literal

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import affinity

from planner.geometry import footprint_vectors, plane_to_vector, sky_frame, vector_to_plane, vector_to_sky
from planner.mosaic.build import build_mosaic
from planner.mosaic.choose import search_task, sliding_start
from planner.mosaic.layout.flat_rows import count_rows
from planner.mosaic.layout.grid import full_grid
from planner.mosaic.layout.lay_out import lay_out
from planner.mosaic.mosaic import Mosaic
from planner.mosaic.orientation import Orientation
from planner.mosaic.panel import Field
from planner.mosaic.region import Region
from planner.mosaic.terms import Layout, Terms

Row = dict[str, Any]
Array = NDArray[Any]
Pair = tuple[float, float]
Touches = Callable[[shapely.Polygon, Pair, Pair], bool]
CENTER_DEG = (128.0, -20.0)
TERMS = Terms(Field(3.2, 2.1), overlap=0.15)
LEVEL = Orientation.common(0.0)
FRAME = sky_frame(*CENTER_DEG, 0.0)
ANGLES_DEG = np.arange(180.0)
PHASES = 8
LOOPED_ANGLES = 3
"""The plain loop runs at this many angles; its time is scaled to all."""
LAID_STEP_DEG = 30.0
"""Steps of angle in which rows are laid out."""
GRID_STEP_DEG = 15.0
"""Full grids are laid out in steps of this angle, and the best is taken."""


def run() -> Iterator[Row]:
    """Rows of the table, one by one."""
    yield from _rows_at_all_angles()
    yield _rows_at_one_angle()
    yield from _eight_regions()
    yield from _growth()


def sky_region(x_deg: Any, y_deg: Any) -> Region:
    """Region with these corners in the tangent plane at the centre, degrees there (x east, y north)."""
    plane = np.radians(np.stack([np.asarray(x_deg, float), np.asarray(y_deg, float)], axis=-1))
    return Region.from_vectors(plane_to_vector(plane, FRAME))


def blob(size_deg: float, corners: int, *, wave: float = 0.2, squeeze: float = 0.6) -> Region:
    """A long blob, turned by 33 degrees."""
    t = np.linspace(0, 2 * np.pi, corners, endpoint=False)
    radius = size_deg * (1 + wave * np.sin(3 * t + 1.0))
    x, y, turn = radius * np.cos(t), squeeze * radius * np.sin(t), np.radians(33.0)
    return sky_region(x * np.cos(turn) - y * np.sin(turn), x * np.sin(turn) + y * np.cos(turn))


def eight_regions() -> dict[str, Region]:
    """Regions of four to sixteen panels, convex and not."""
    t = np.linspace(0, 2 * np.pi, 36, endpoint=False)
    arc = np.radians(np.linspace(40, 320, 25))
    ring = np.concatenate([arc, arc[::-1]])
    c_radius = np.repeat([5.0, 3.2], len(arc))
    return {
        "circle": sky_region(4.0 * np.cos(t), 4.0 * np.sin(t)),
        "ellipse": sky_region(5.0 * np.cos(t) - 2.0 * np.sin(t), 3.0 * np.cos(t) + 2.4 * np.sin(t)),
        "triangle": sky_region([-5.0, 5.5, 0.5], [-3.0, -2.0, 5.0]),
        "hexagon, uneven": sky_region([-4, -1, 4, 5, 1, -3.5], [-2, -4, -2.5, 1.5, 3.8, 2.5]),
        "L": sky_region([-5, 5, 5, -2, -2, -5], [-4, -4, -1.5, -1.5, 4, 4]),
        "C": sky_region(c_radius * np.cos(ring), c_radius * np.sin(ring)),
        "thin diagonal": sky_region([-7.0, -6.0, 7.0, 6.0], [-4.0, -5.2, 4.0, 5.2]),
        "wavy blob": blob(4.6, 40),
    }


def _timed(work: Callable[[], Any], repeats: int = 1) -> tuple[float, Any]:
    """Shortest time of a few runs, and the answer of the last."""
    times = []
    for _ in range(repeats):
        started = time.perf_counter()
        answer = work()
        times.append(time.perf_counter() - started)
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
    ring = shapely.Polygon(vector_to_plane(region.outline_vectors, region.frame))
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
    corners = footprint_vectors(sky_frame(ra_deg, dec_deg, 0.0), size[0] / 2, size[1] / 2)
    return bool(polygon.intersects(shapely.Polygon(vector_to_plane(corners, FRAME))))


def _eight_regions() -> Iterator[Row]:
    regions = eight_regions()
    grids = [_full_grid(region) for region in regions.values()]
    rows_s, rows = _timed(lambda: [_in_rows(region) for region in regions.values()])
    yield {
        "name": "eight regions, sliding rows at the best angles, proven",
        "ours_s": rows_s,
        "note": f"full grids {sum(grids)} panels, rows {sum(rows)}",
    }
    efforts: tuple[Literal["quick", "usual"], ...] = ("quick", "usual")
    for effort in efforts:
        free_s, free = _timed(lambda: [_planned(region, effort) for region in regions.values()])
        bounds = [mosaic.panel_count_bound for mosaic in free]
        found = sum(len(one.panels) for one in free)
        settled = sum(len(one.panels) == bound for one, bound in zip(free, bounds, strict=True))
        each = ", ".join(
            f"{name} {grid}/{row}/{len(one.panels)}/{bound}"
            for name, grid, row, one, bound in zip(regions, grids, rows, free, bounds, strict=True)
        )
        yield {
            "name": f"eight regions, free panels, {effort}",
            "ours_s": free_s,
            "note": f"full grids {sum(grids)}, rows {sum(rows)}, free {found}, bounds {sum(bounds)}; "
            f"proven fewest in {settled} of 8 (grid/rows/free/bound: {each})",
        }


def _in_rows(region: Region) -> int:
    """Panels of the best sliding rows, laid out and proven."""
    layout = Layout(kind="sliding")
    return len(sliding_start(region, TERMS, layout, search_task(region, TERMS, layout))[1])


def _planned(region: Region, effort: Literal["quick", "usual"]) -> Mosaic:
    mosaic = build_mosaic(region, TERMS, Layout(effort=effort))
    if mosaic.shortfalls:
        raise AssertionError(f"a plan falls short: {mosaic.shortfalls}")
    return mosaic


def _full_grid(region: Region) -> int:
    """Panels of the best full grid, whose rows all have as many."""
    counts = []
    for angle in np.arange(0.0, 180.0, GRID_STEP_DEG):
        frame = Orientation.square_with(*region.center_deg, float(angle))
        centers = full_grid(region, frame, Orientation.common(float(angle)), TERMS.layout_demands)
        counts += [] if centers is None else [len(centers)]
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
