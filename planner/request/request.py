"""A whole request, as values: what a plan file says once it has been read.

Names, units and meanings are those of the plan file (see the guide, "plan-file"). Every value checks itself;
what its sentences name as ``table.key`` is that key of the plan file.
"""

from __future__ import annotations

from dataclasses import dataclass, field, fields, replace
from pathlib import Path
from typing import Any, Literal

from planner.checks import (
    check_position_angle,
    check_positive,
    check_title,
    check_unique,
    check_within,
    require,
)
from planner.errors import InputError
from planner.mosaic.angle_range import AngleRange
from planner.night.settings import Filter, Nights, Site
from planner.rig.angle_device import AngleDevice
from planner.rig.camera import Camera
from planner.rig.mount import Mount
from planner.rig.print_size import USUAL_PPI

from .panels import PanelRequest, check_listed
from .region import RegionRequest
from .settled import MARKED, SettledRequest, check_settled, table_mark

__all__ = [
    "MOUNT_KEYS",
    "MosaicRequest",
    "PanelRequest",
    "PictureRequest",
    "RegionRequest",
    "Request",
    "SeasonRequest",
    "Setup",
]

LAYOUTS = ("free", "sliding", "grid")
MOUNT_KEYS = ("pointing_error_arcmin", "angle_error_deg", "dither_arcmin", "least_overlap_arcmin")
"""Keys of [mosaic] that belong to the equipment; the others say what is wanted and are the plan's."""
MOST_PANELS = 20_000
MOST_ANGLES = 1000
GREATEST_OVERLAP = 0.9


@dataclass(frozen=True)
class PictureRequest:
    """The finished print.

    Parameters
    ----------
    aspect : (float, float), optional
        Width to height.
    upright : bool or 'either', optional
        Only with an aspect: whether the longer side stands up, or lies; left out, as the aspect is written.
    filled : bool
        Whether panels must cover the whole picture, not just the region in it.
    position_angle_deg : float, optional
        Of the picture's up direction, degrees east of north.
    print_width_cm : float, optional
    print_ppi : float
        Printed pixels per inch.
    """

    aspect: tuple[float, float] | None = None
    upright: bool | Literal["either"] | None = None
    filled: bool = False
    position_angle_deg: float | None = None
    print_width_cm: float | None = None
    print_ppi: float = USUAL_PPI

    def __post_init__(self) -> None:
        for side in self.aspect or ():
            check_positive("picture.aspect", side, 1e6, "give width and height such as [3, 2]")
        if self.aspect is not None:
            ratio = self.aspect[0] / self.aspect[1]
            check_within("picture.aspect's ratio", ratio, 0.01, 100.0, "give width and height such as [3, 2]")
        require(
            self.upright is None or self.aspect is not None,
            "picture.upright belongs to an aspect; give one such as [3, 2], or leave it out",
        )
        check_position_angle("picture.position_angle_deg", self.position_angle_deg)
        check_positive("picture.print_width_cm", self.print_width_cm, 10_000.0, "give centimetres")
        check_within("picture.print_ppi", self.print_ppi, 1.0, 10_000.0, "give pixels per inch")

    @property
    def aspects(self) -> tuple[float | None, ...]:
        """Width over height that the picture may have; None for any."""
        if self.aspect is None:
            return (None,)
        ratio = self.aspect[0] / self.aspect[1]
        if self.upright is None:
            return (ratio,)
        upright, lying = sorted((ratio, 1.0 / ratio))
        if self.upright == "either":
            return (lying, upright) if lying != upright else (lying,)
        return (upright if self.upright else lying,)


@dataclass(frozen=True)
class MosaicRequest:
    """How the region is to be covered.

    Parameters
    ----------
    overlap : float
        Fraction of each side, in (0, 0.9]; not used where ``overlap_arcmin`` is given.
    overlap_arcmin : float, optional
    angles : int or 'per_panel'
        How many camera angles the mosaic may have, in [1, 1000], each set once; `per_panel`: each panel has the
        angle that keeps it square with the picture.
    position_angle_deg : float, optional
        The panels' own angle; left out, the angle that needs the fewest panels.
    position_angle_range_deg : (float, float), optional
        Search only from the first angle up to the second; may wrap.
    layout : {'free', 'sliding', 'grid'}
    columns, rows : int, optional
        Both or neither: exactly this grid.
    pointing_error_arcmin, dither_arcmin, least_overlap_arcmin : float
        In [0, 600].
    angle_error_deg : float
        In [0, 45].
    """

    overlap: float = 0.15
    overlap_arcmin: float | None = None
    angles: int | Literal["per_panel"] = 1
    position_angle_deg: float | None = None
    position_angle_range_deg: tuple[float, float] | None = None
    layout: Literal["free", "sliding", "grid"] = "free"
    columns: int | None = None
    rows: int | None = None
    pointing_error_arcmin: float = 0.0
    angle_error_deg: float = 0.0
    dither_arcmin: float = 0.0
    least_overlap_arcmin: float = 0.0

    def __post_init__(self) -> None:
        check_positive("mosaic.overlap", self.overlap, GREATEST_OVERLAP, "give a fraction, not per cent")
        check_positive("mosaic.overlap_arcmin", self.overlap_arcmin, 6000.0, "give arc minutes")
        self._check_choices()
        self._check_angles()
        self._check_grid()
        for name in ("pointing_error_arcmin", "dither_arcmin", "least_overlap_arcmin"):
            check_within(f"mosaic.{name}", getattr(self, name), 0.0, 600.0, "give arc minutes")
        check_within("mosaic.angle_error_deg", self.angle_error_deg, 0.0, 45.0, "give degrees")

    def _check_choices(self) -> None:
        count = self.angles if isinstance(self.angles, int) and not isinstance(self.angles, bool) else 0
        require(
            self.angles == "per_panel" or 1 <= count <= MOST_ANGLES,
            f"mosaic.angles must be 'per_panel' or a whole number in [1, {MOST_ANGLES}], "
            f"got {self.angles!r}; give one of these",
        )
        layouts = " or ".join(repr(name) for name in LAYOUTS)
        require(
            self.layout in LAYOUTS, f"mosaic.layout must be {layouts}, got {self.layout!r}; give one of these"
        )

    def _check_angles(self) -> None:
        check_position_angle("mosaic.position_angle_deg", self.position_angle_deg)
        ends = self.position_angle_range_deg or ()
        for angle in ends:
            check_position_angle("mosaic.position_angle_range_deg", angle)
        require(
            len(set(ends)) != 1,
            f"mosaic.position_angle_range_deg must have two ends, got {list(ends)}; "
            "give position_angle_deg for a single angle",
        )

    def _check_grid(self) -> None:
        if (self.columns is None) != (self.rows is None):
            given, missing = ("columns", "rows") if self.rows is None else ("rows", "columns")
            raise InputError(f"mosaic.{given} needs {missing} beside it; give both or neither")
        for name in ("columns", "rows"):
            check_within(f"mosaic.{name}", getattr(self, name), 1, MOST_PANELS, "give a whole number")
        count = (self.columns or 1) * (self.rows or 1)
        check_within("mosaic.columns times rows", count, 1, MOST_PANELS, "ask for fewer panels")

    @property
    def is_free(self) -> bool:
        """Whether panels may stand anywhere, so that a search has something to find."""
        return self.layout == "free" and self.columns is None

    def allows_angle(self, angle_deg: float, period_deg: float) -> bool:
        """Whether the search range holds an angle, modulo the period (180, or 90 for a square sensor).

        >>> MosaicRequest(position_angle_range_deg=(170.0, 10.0)).allows_angle(185.0, 180.0)
        True
        """
        return AngleRange.between(self.position_angle_range_deg, period_deg).holds(angle_deg)


@dataclass(frozen=True)
class Setup:
    """What a setup file says: equipment, site and habits that plan files share. All of it is optional."""

    title: str | None = None
    camera: Camera | None = None
    region: RegionRequest | None = None
    mosaic: MosaicRequest | None = None
    picture: PictureRequest | None = None
    angle_device: AngleDevice | None = None
    mount: Mount | None = None
    sites: tuple[Site, ...] = ()
    nights: Nights | None = None
    filters: tuple[Filter, ...] = ()
    tables: tuple[dict[str, Any], ...] = ()
    path: Path | None = None

    @property
    def name(self) -> str:
        """Its title, or the name of its file."""
        return self.title or (self.path.stem if self.path else "setup")


@dataclass(frozen=True)
class Request:
    """Everything that a plan file and its setup file say.

    Raises
    ------
    InputError
        If values contradict each other: an overlap wider than the field, a pinned angle outside the range, a
        name used twice; or if the title is not one line of plain text.
    """

    title: str
    camera: Camera
    region: RegionRequest
    mosaic: MosaicRequest = MosaicRequest()
    picture: PictureRequest | None = None
    angle_device: AngleDevice | None = None
    mount: Mount | None = None
    sites: tuple[Site, ...] = ()
    nights: Nights | None = None
    filters: tuple[Filter, ...] = ()
    tables: tuple[dict[str, Any], ...] = ()
    panels: tuple[PanelRequest, ...] = ()
    settled: SettledRequest | None = None
    names_used: tuple[str, ...] = ()
    path: Path | None = None
    setup_path: Path | None = None
    shares: bool = False
    """Whether it is the part of one of several instruments in a mosaic that they share."""

    def __post_init__(self) -> None:
        check_title(self.title)
        check_listed(self.panels, [one.name for one in self.filters])
        check_settled(self.settled, self.panels)
        for name in self.names_used:
            check_title(name)
        self._check_no_grid_beside_panels()
        self._check_overlap()
        self._check_pinned_angle()
        for key, several in (("site", self.sites), ("filters", self.filters)):
            names = [one.name for one in several]
            check_unique(f"{key}.name must differ from table to table", names, "give each its own name")

    def with_setup(self, setup: Setup) -> Request:
        """Return the same region asked of another setup.

        Camera, angle device, mount, sites and tables are the setup's; picture, mosaic, nights and filters are
        the setup's where it has them.
        """
        if setup.camera is None:
            raise InputError(f"{setup.path or 'the setup'} has no [camera] table; add one")
        return replace(
            self,
            camera=setup.camera,
            mosaic=setup.mosaic or self.mosaic,
            picture=setup.picture or self.picture,
            angle_device=setup.angle_device,
            mount=setup.mount,
            sites=setup.sites,
            nights=setup.nights or self.nights,
            filters=setup.filters or self.filters,
            tables=setup.tables,
            panels=self.unsettled.panels,
            settled=None,
            names_used=(),
            setup_path=setup.path,
        )

    @property
    def marks(self) -> dict[str, str]:
        """Digests of the tables on which the panels depend, by name."""
        marks = {name: table_mark(getattr(self, name)) for name in MARKED}
        return marks | ({"picture": table_mark(self.picture)} if self.picture and self.picture.filled else {})

    @property
    def changed_tables(self) -> tuple[str, ...]:
        """Tables that are no longer what they were when the panels were settled."""
        settled, marks = self.settled, self.marks
        if settled is None:
            return ()
        names = (*MARKED, *(["picture"] if settled.picture is not None else []))
        return tuple(name for name in names if getattr(settled, name) != marks.get(name))

    @property
    def grows(self) -> bool:
        """Whether panels stay where they are and a search adds others."""
        return self.settled is None and any(one.keep for one in self.panels)

    @property
    def unsettled(self) -> Request:
        """The same request without the panels that it keeps; panels that the user lists stay."""
        free = self.settled is None and not self.grows
        return self if free else replace(self, panels=(), settled=None, names_used=())

    def _check_no_grid_beside_panels(self) -> None:
        asked = self.mosaic
        if self.settled is not None:
            return
        require(
            not self.grows or asked.columns is None,
            "mosaic.columns and rows ask for a whole grid, but panels with keep = true stay where they are; "
            "leave columns and rows out",
        )
        given = [name for name in ("columns", "position_angle_range_deg") if getattr(asked, name) is not None]
        require(
            not (self.panels and given) or self.grows,
            f"mosaic.{(given or [''])[0]} asks for a layout, but [[panels]] lists the panels; leave one out",
        )

    def _check_overlap(self) -> None:
        view = self.camera.field
        limit = GREATEST_OVERLAP * 60.0 * min(view.width_deg, view.height_deg)
        check_positive(
            "mosaic.overlap_arcmin",
            self.mosaic.overlap_arcmin,
            limit,
            f"ask for at most {GREATEST_OVERLAP:g} of the field's short side",
        )

    def _check_pinned_angle(self) -> None:
        angle = self.mosaic.position_angle_deg
        period = self.camera.field.period_deg
        require(
            angle is None or self.mosaic.allows_angle(angle, period),
            "mosaic.position_angle_deg must lie in position_angle_range_deg "
            f"{list(self.mosaic.position_angle_range_deg or ())}, got {angle}; leave one of them out",
        )


@dataclass(frozen=True)
class SeasonRequest:
    """A season file: several requests that share one setup.

    Parameters
    ----------
    title : str
    requests : tuple of Request
    turns_allowed : int
        In [0, 1000].
    setup : Path, optional
        Setup file of the instrument whose part of shared plans is meant.

    Raises
    ------
    InputError
        If no plan is given, one is not ``angles = 1``, or cameras or angle devices differ.
    """

    title: str
    requests: tuple[Request, ...] = field(default=())
    turns_allowed: int = 0
    setup: Path | None = None

    def __post_init__(self) -> None:
        check_title(self.title)
        require(bool(self.requests), "plans must name at least one plan file, got none; list them")
        check_within("turns_allowed", self.turns_allowed, 0, MOST_ANGLES, "give a whole number of turns")
        for request in self.requests:
            self._check_plan(request)

    def _check_plan(self, request: Request) -> None:
        require(
            request.mosaic.angles == 1,
            f"plans of a season must have angles = 1, got {request.mosaic.angles!r} in "
            f"{request.title!r}; change it there",
        )
        first = self.requests[0]
        for name in ("camera", "angle_device"):
            if getattr(request, name) != getattr(first, name):
                raise InputError(
                    f"plans of a season must share one [{name}], got {_difference(name, first, request)}; "
                    "name the same setup file in both"
                )


def _difference(table: str, first: Request, second: Request) -> str:
    """Say what two requests have in a table that differs, and where: the first key that does."""
    values = [getattr(one, table) for one in (first, second)]
    where = [f"{one.title!r}" + (f" ({one.path})" if one.path else "") for one in (first, second)]
    if None in values:
        return " and ".join(
            f"{'none' if value is None else 'one'} in {place}"
            for value, place in zip(values, where, strict=True)
        )
    key = next(
        one.name for one in fields(values[0]) if getattr(values[0], one.name) != getattr(values[1], one.name)
    )
    return " and ".join(
        f"{key} = {_shown(getattr(value, key))} in {place}"
        for value, place in zip(values, where, strict=True)
    )


def _shown(value: object) -> str:
    return str(list(value)) if isinstance(value, tuple) else repr(value)
