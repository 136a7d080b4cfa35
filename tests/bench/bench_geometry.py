"""Footprints, the proof of coverage and the whole `plan` command, each beside its alternative."""

from __future__ import annotations

import math
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np

from planner.geometry import footprint_vectors, sky_basis
from planner.mosaic.demand import overlap_demand
from planner.mosaic.layout.grid import grid_centers
from planner.mosaic.orientation import Orientation
from planner.mosaic.panel import Field
from planner.mosaic.proof.cover import find_gap
from planner.mosaic.region import Region

from .timing import seconds

Row = dict[str, Any]
ROOT = Path(__file__).resolve().parents[2]
SLOWEST_LOOP = 1000
"""The loop over single panels is measured up to this many, and scaled beyond."""
PLAN = """
[camera]
focal_length_mm = 380.0
sensor_px = [6000, 4000]
pixel_um = 3.9
[region]
center = ["08h34m", "-45d50m"]
radius_deg = 4.0
[mosaic]
position_angle_deg = 20.0
angles = "per_panel"
layout = "sliding"
"""


def run() -> list[Row]:
    """Return the rows of the table."""
    return [*_footprints(), *_proofs(), *_command()]


def _footprints() -> Iterator[Row]:
    rng = np.random.default_rng(1)
    for count in (10, 100, 1000, 10_000):
        ra, angle = rng.uniform(0, 360, (2, count))
        dec = rng.uniform(-90, 90, count)
        ours = seconds(lambda: footprint_vectors(sky_basis(ra, dec, angle), 0.03, 0.02), 5)
        looped = min(count, SLOWEST_LOOP)
        loop = seconds(lambda: [_astropy(ra[i], dec[i], angle[i]) for i in range(looped)], 1) * count / looped
        whole = seconds(lambda: _astropy(ra[:, None], dec[:, None], angle[:, None]), 3)
        note = "loop scaled from 1,000" if count > looped else ""
        for other, against in ((loop, "astropy panel by panel"), (whole, "astropy vectorised")):
            yield row(f"footprints of {count} panels against {against}", ours, other, note)


def _astropy(ra: Any, dec: Any, angle: Any) -> Any:
    """Corners by astropy's SkyOffsetFrame."""
    import astropy.units as u
    from astropy.coordinates import SkyCoord, SkyOffsetFrame

    x, y = np.array([[1, -1], [-1, -1], [-1, 1], [1, 1]]).T * [[0.03], [0.02]]
    system = SkyOffsetFrame(origin=SkyCoord(ra, dec, unit="deg"), rotation=angle * u.deg)
    return SkyCoord(np.arctan(x) * u.rad, np.arctan2(y, np.hypot(1, x)) * u.rad, frame=system).icrs


def _proofs() -> Iterator[Row]:
    for side in (3, 10, 30):
        field = Field(3.3, 2.2) if side < 30 else Field(0.8, 0.55)
        region, bases = _grid(side, field)
        demand = overlap_demand(field, 0.15)
        assert not find_gap(region, bases, [demand])
        ours = seconds(lambda: find_gap(region, bases, [demand]), 5)
        other = _spherical_geometry(bases, field) if side == 3 else None
        note = f"{1000 * ours / side**2:.2f} ms a panel" + ("" if other else "; the union does not finish")
        yield row(f"proof of {side * side} panels against spherical_geometry's union", ours, other, note)


def _grid(side: int, field: Field) -> tuple[Region, Any]:
    system = Orientation.square_with(128.0, -45.0, 20.0)
    demand = overlap_demand(field, 0.15)
    core = (demand.core[0] - 1e-9, demand.core[1] - 1e-9)
    bases = system.bases(grid_centers(system, core, side, side))
    sizes = [2 * math.degrees(math.atan((side - 1 + 0.9) * half)) for half in core]
    return Region.rectangle((128.0, -45.0), *sizes, 20.0), bases


def _spherical_geometry(bases: Any, field: Field) -> float:
    from spherical_geometry.polygon import SphericalPolygon

    corners = footprint_vectors(bases, field.half_width, field.half_height)
    inside = bases[:, 2]
    polygons = [
        SphericalPolygon(np.vstack([ring, ring[:1]]), tuple(middle))
        for ring, middle in zip(corners, inside, strict=True)
    ]
    return seconds(lambda: SphericalPolygon.multi_union(polygons), 1)


def _command() -> Iterator[Row]:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "plan.toml"
        path.write_text(PLAN)
        ours = process_seconds([sys.executable, "-m", "planner", "plan", str(path)])
    bare = process_seconds([sys.executable, "-c", "import numpy"])
    yield {
        "name": "the whole plan command, pinned angle, no chart",
        "ours_s": ours,
        "other_s": bare,
        "ratio": bare / ours,
        "note": f"{ours / bare:.1f} times `import numpy` as a process",
    }


def process_seconds(command: list[str]) -> float:
    def call() -> None:
        subprocess.run(command, cwd=ROOT, check=True, capture_output=True)

    return seconds(call, 7)


def row(name: str, ours: float, other: float | None, note: str = "") -> Row:
    ratio = None if other is None else other / ours
    return {"name": name, "ours_s": ours, "other_s": other, "ratio": ratio, "note": note}
