"""The hand-over: our writers against general-purpose libraries that write the same, on the same plan."""

from __future__ import annotations

import io
import resource
from collections.abc import Callable, Iterator
from typing import Any

import numpy as np

from planner.files.exchange.coverage_maps import coverage_of_mosaic, map_order
from planner.files.exchange.obsplan_votable import obsplan_votable
from planner.files.exchange.panel_headers import panel_headers
from planner.files.user_table.table import read_tables
from planner.files.user_table.write import table_bytes
from planner.geometry import vector_to_sky
from planner.handover.handover import handover_files
from planner.mosaic.panel import panel_corners
from tests.handover.handover_plan import handover_plan, many_panels

from .timing import ratio_row, seconds

__all__ = ["run"]

Row = dict[str, Any]
TABLE = {
    "file": "list.csv",
    "columns": [
        {"name": "ra", "field": "ra", "unit": "hours", "form": "sexagesimal"},
        {"name": "dec", "field": "dec", "form": "sexagesimal"},
    ],
}


def run() -> list[Row]:
    """Return the rows of the table, times in seconds."""
    small = handover_plan(many_panels(40, 25), tables=[TABLE])
    return [*_compared(small), _everything()]


def _row(name: str, ours: Callable[[], object], other: Callable[[], object], note: str) -> Row:
    ours_s, other_s = seconds(ours), seconds(other, 1)
    return ratio_row(name, ours_s, other_s, note)


def _compared(plan: Any) -> Iterator[Row]:
    (table,) = read_tables([TABLE])
    yield _row(
        "FITS headers of 1,000 panels",
        lambda: list(panel_headers(plan)),
        lambda: [_header_by_astropy(content) for _, content in panel_headers(plan)],
        "astropy.io.fits.Header, card by card",
    )
    content = obsplan_votable(plan)
    yield _row(
        "VOTable of 2,000 planned observations",
        lambda: obsplan_votable(plan),
        _votable_by_astropy(content),
        "astropy.io.votable, writing alone",
    )
    yield _row(
        "coverage map of 1,000 panels",
        lambda: coverage_of_mosaic(plan.mosaic),
        lambda: _map_one_by_one(plan),
        "mocpy, panel by panel",
    )
    yield _row(
        "table of 1,000 sexagesimal positions",
        lambda: table_bytes(table, plan),
        lambda: _positions_by_astropy(plan),
        "astropy Angle.to_string, whole arrays",
    )


def _header_by_astropy(content: bytes) -> str:
    from astropy.io import fits

    header = fits.Header()
    for line in content.decode("ascii").splitlines()[:-1]:
        key, value = line[:8].strip(), line[10:].split(" / ")[0].strip()
        header[key] = value.strip("' ") if value.startswith("'") else float(value) if "." in value else value
    return str(header.tostring(sep="\n"))


def _votable_by_astropy(content: bytes) -> Callable[[], object]:
    from astropy.io import votable

    document = votable.parse(io.BytesIO(content))
    return lambda: document.to_xml(io.BytesIO())


def _map_one_by_one(plan: Any) -> object:
    from astropy.coordinates import SkyCoord
    from mocpy import MOC

    order = map_order(plan.mosaic.field)
    ra_deg, dec_deg = vector_to_sky(panel_corners(plan.mosaic.panels, plan.mosaic.field))
    whole = MOC.new_empty(order)
    for corners in np.stack([ra_deg, dec_deg], axis=-1):
        whole = whole.union(MOC.from_polygon_skycoord(SkyCoord(corners, unit="deg"), max_depth=order))
    return whole.serialize("fits"), whole.serialize("json")


def _positions_by_astropy(plan: Any) -> object:
    from astropy.coordinates import Angle

    panels = plan.mosaic.panels
    ra = Angle([panel.ra_deg for panel in panels], unit="deg").to_string(
        "hour", sep=":", pad=True, precision=4
    )
    dec = Angle([panel.dec_deg for panel in panels], unit="deg").to_string(
        "deg", sep=":", pad=True, precision=3
    )
    return list(zip(ra, dec, strict=True))


def _everything() -> Row:
    plan = handover_plan(many_panels(100, 100), tables=[TABLE])
    took_s = seconds(lambda: handover_files(plan), 1)
    memory_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    note = f"every form in memory; peak of the process {memory_mb:.0f} MB"
    return {
        "name": "everything of 10,000 panels",
        "ours_s": took_s,
        "other_s": None,
        "ratio": None,
        "note": note,
    }


if __name__ == "__main__":
    for row in run():
        print(row)
