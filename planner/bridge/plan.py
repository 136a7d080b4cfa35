"""A plan and its panels as astropy types, and as a notebook shows them."""

from __future__ import annotations

import io
import math
from dataclasses import dataclass, fields
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

from planner.answers import plan as plan_answer
from planner.answers.panel_facts import readings_deg
from planner.geometry import vector_to_sky
from planner.geometry.looking import Looking
from planner.mosaic import panel as core
from planner.progress import Effort, Progress
from planner.request.request import Request
from planner.rig.camera import Camera

if TYPE_CHECKING:
    from astropy.coordinates import Angle, SkyCoord
    from astropy.table import QTable
    from astropy.wcs import WCS
    from mocpy import MOC
    from regions import Regions

__all__ = ["Panel", "Plan", "make_plan"]


@dataclass(frozen=True)
class Panel(core.Panel):
    """One camera pointing; besides the plain numbers of its base its values as astropy types.

    Parameters
    ----------
    camera : Camera
    reading_deg : float, optional
        Of the angle device, degrees on its scale; None without a device, or where it cannot reach the angle.
    """

    camera: Camera
    reading_deg: float | None = None

    @property
    def center(self) -> SkyCoord:
        """Centre, ICRS."""
        from astropy.coordinates import SkyCoord

        return SkyCoord(self.ra_deg, self.dec_deg, unit="deg", frame="icrs")

    @property
    def position_angle(self) -> Angle:
        """Of the frame's up at the centre, east of north, in [0, 360) degrees, looking west."""
        from astropy.coordinates import Angle

        return Angle(self.position_angle_deg, unit="deg")

    @property
    def corners(self) -> SkyCoord:
        """Corners of the usable field, ICRS, shape (4,): SE, SW, NW, NE as seen at position angle 0."""
        from astropy.coordinates import SkyCoord

        ra_deg, dec_deg = vector_to_sky(core.panel_corners([self], self.camera.field)[0])
        return SkyCoord(ra_deg, dec_deg, unit="deg", frame="icrs")

    def wcs(self, looking: Looking = "west") -> WCS:
        """Return the world coordinates that a frame taken there will have: the whole sensor, binned.

        Parameters
        ----------
        looking : {'west', 'east'}
            To which side a German mount's telescope looks: before its flip (east) the frame is turned by 180
            degrees; the ground that it covers is the same.

        Raises
        ------
        InputError
            If `looking` is neither.
        """
        from astropy.io.fits import Header
        from astropy.wcs import WCS

        from planner.errors import InputError
        from planner.files.exchange.panel_headers import header_of_panel

        if looking not in ("east", "west"):
            raise InputError(f"looking must be 'east' or 'west', got {looking!r}; give one of these")
        header = Header.fromstring(header_of_panel("", self, self.camera).decode("ascii"), sep="\n")
        if looking == "east":
            for key in ("CD1_1", "CD1_2", "CD2_1", "CD2_2"):
                header[key] = -header[key]
        return WCS(header)


@dataclass(frozen=True, eq=False)
class Plan(plan_answer.Plan):
    """A request and its mosaic; panels, tables and charts as scripts and notebooks want them."""

    @cached_property
    def panels(self) -> tuple[Panel, ...]:
        """All panels, in the order of their names."""
        readings = self._readings()
        return tuple(
            Panel(**_values(one), camera=self.request.camera, reading_deg=readings.get(one.name))
            for one in self.mosaic.panels
        )

    def __getitem__(self, name: str) -> Panel:
        """Return the panel of a name such as ``"B3"``."""
        from planner.errors import InputError, nearest_names

        names = [one.name for one in self.panels]
        if name not in names:
            hint = nearest_names(str(name), names) or f"; there are {', '.join(names[:6])}"
            raise InputError(f"the plan has no panel {name!r}{hint}")
        return self.panels[names.index(name)]

    def _readings(self) -> dict[str, float]:
        if self.request.angle_device is None:
            return {}
        readings = readings_deg(self).tolist()
        pairs = zip(self.mosaic.panels, readings, strict=True)
        return {panel.name: reading for panel, reading in pairs if math.isfinite(reading)}

    def table(self) -> QTable:
        """Return one row a panel: the columns of panels.ecsv, with their units."""
        from astropy.table import QTable

        from planner.files.exchange.panel_tables import panels_ecsv_bytes

        return QTable.read(panels_ecsv_bytes(self).decode(), format="ascii.ecsv")

    def document(self) -> dict[str, Any]:
        """Return the machine form, plan.json, as plain values."""
        from planner.files.documents.plan import plan_document

        return plan_document(self)

    def regions(self) -> Regions:
        """Return the panels as polygons of the package regions, each labelled with its name."""
        from .sky_regions import panel_regions

        return panel_regions(self)

    def moc(self) -> MOC:
        """Return the coverage map (MOC) of all panels together."""
        from mocpy import MOC

        from planner.files.exchange.coverage_maps import coverage_of_mosaic

        return MOC.from_string(coverage_of_mosaic(self.mosaic).json.decode(), format="json")

    def to_file(self, path: str | Path) -> Path:
        """Write the plan file of the request; the same file for a request that came from one.

        Raises
        ------
        FileError
            If there is a file of that name already, or it cannot be written.
        """
        from planner.files.plan_file.request_text import request_text
        from planner.files.plan_file.write import save_new_text

        save_new_text(Path(path), request_text(self.request, Path(path).parent))
        return Path(path)

    def _repr_png_(self) -> bytes:
        """Draw the chart: a notebook shows it."""
        from planner.draw.map.chart import chart_png

        return chart_png(self)

    def _repr_html_(self) -> str:
        """Write the table: a notebook shows it."""
        stream = io.StringIO()
        shown = self.table()
        shown[[name for name in shown.colnames if not name.endswith(CORNERS)]].write(
            stream, format="ascii.html"
        )
        text = stream.getvalue()
        return text[text.index("<table") : text.index("</table>") + len("</table>")]


CORNERS = tuple(f"{corner}_{axis}_deg" for corner in ("se", "sw", "nw", "ne") for axis in ("ra", "dec"))


def _values(value: Any) -> dict[str, Any]:
    return {one.name: getattr(value, one.name) for one in fields(value)}


def make_plan(request: Request, *, effort: Effort = "usual", progress: Progress | None = None) -> Plan:
    """Plan a request: find the region, lay out and prove the panels, count stars in the seams.

    Parameters
    ----------
    request : Request
    effort : {'quick', 'usual', 'thorough'}
        How long the search for fewer panels goes on, in steps: the same request gives the same plan anywhere.
    progress : Progress, optional

    Raises
    ------
    InputError
        If the region cannot be found or planned.
    """
    return Plan(**_values(plan_answer.make_plan(request, effort=effort, progress=progress)))
