"""The hand-over: every file that a capture session, a helper or another program may want of a plan."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Any

from planner.answers.flats import RULE, due_flats
from planner.answers.panel_facts import is_to_do, still_to_do
from planner.errors import InputError, nearest_names
from planner.files.user_table.table import read_tables
from planner.night.timetable import Goal
from planner.plain_names import file_stems
from planner.progress import Progress
from planner.rig.cautions import cautions_for

from .index import INDEX_NAME, HandoverFile, handover_index

if TYPE_CHECKING:
    from planner.answers.plan import Plan
    from planner.request.request import Request

__all__ = ["HANDOVER_KINDS", "check_kinds", "handover_files", "handover_warnings"]

MOST_FLATS = 12
"""Camera angles listed in the index."""
QUICK_SEASON = 25_000
"""Panels times filters times evenings times sites up to which a timetable takes seconds."""


@dataclass(frozen=True)
class Making:
    """What the writer of a kind works from.

    Parameters
    ----------
    plan : Plan
    planned_on : date or None
    asked : bool
        Whether the kind was asked for by name, so that its being impossible is an error.
    goal : {'soonest', 'cheapest'}
        What the timetable of the calendar finishes.
    tell : callable
        Progress of this kind alone: what is being done, and the share done.
    document : callable
        Gives the plan as the document of plan.json, worked out once for all kinds.
    """

    plan: Plan
    planned_on: dt.date | None
    asked: bool
    goal: Goal
    tell: Progress
    document: Callable[[], dict[str, Any]]

    @property
    def to_do(self) -> Plan:
        """The plan with only the panels that are still to be shot: what a capture session is told."""
        return still_to_do(self.plan)


Writer = Callable[[Making], Iterator[HandoverFile]]


def handover_files(
    plan: Plan,
    *,
    only: Sequence[str] = (),
    planned_on: dt.date | None = None,
    goal: Goal = "soonest",
    progress: Progress | None = None,
) -> list[HandoverFile]:
    """Return all files of a hand-over, the index first.

    Parameters
    ----------
    plan : Plan
    only : sequence of str
        Kinds of `HANDOVER_KINDS`; empty: every kind that the plan gives ground for.
    planned_on : date, optional
        When the observations entered the plan, for the standard's t_planning.
    goal : {'soonest', 'cheapest'}
        Of the calendar's timetable, as for `plan_nights`.
    progress : Progress, optional

    Raises
    ------
    InputError
        If a kind is unknown or asked for without ground, or a table of the user's cannot be written.
    """
    from planner.files.documents.plan import plan_document

    kinds = _wanted(plan.request, only)
    if not any(is_to_do(plan)):
        raise InputError(
            f"nothing is left to shoot: all {len(plan.mosaic.panels)} panels are kept and have the exposures that "
            "they want; ask for more exposures, or grow the region"
        )
    document = cache(lambda: plan_document(plan))
    files: list[HandoverFile] = []
    for number, kind in enumerate(kinds):
        tell = _part_of(progress, kind.about, number, len(kinds))
        tell("", 0.0)
        files.extend(kind.write(Making(plan, planned_on, bool(only), goal, tell, document)))
    cautions = cautions_for(plan.request.angle_device, plan.request.mount, follows=True)
    index = handover_index(plan.request.title, list(_facts(plan)), files, cautions)
    return [HandoverFile(INDEX_NAME, "index", "plain text, UTF-8", index), *files]


def _part_of(progress: Progress | None, about: str, number: int, count: int) -> Progress:
    """Progress of one kind as its part of the whole."""

    def tell(what: str, share: float) -> None:
        if progress:
            text = f"hand-over: {about}, {what}" if what else f"hand-over: {about}"
            progress(text, (number + share) / count)

    return tell


def handover_warnings(plan: Plan, *, only: Sequence[str] = ()) -> list[str]:
    """Say which columns of the user's own tables lose more than a tenth of a pixel by rounding.

    Parameters
    ----------
    plan : Plan
    only : sequence of str
        As for `handover_files`: tables that are not written lose nothing.
    """
    from planner.files.user_table.write import rounding_losses

    if only and "tables" not in only:
        return []
    plan = still_to_do(plan)
    return [
        f"table {table.file!r}: rounding column {loss.column!r} moves a point of a frame by up to "
        f"{loss.pixels:.1f} pixels; give it more decimals"
        for table in read_tables(plan.request.tables)
        for loss in rounding_losses(table, plan)
    ]


def _facts(plan: Plan) -> Iterator[str]:
    """Return what a reader must know before using any of the files."""
    mosaic, camera = plan.mosaic, plan.request.camera
    yield (
        f"{len(mosaic.panels)} panels of {mosaic.field.width_deg:.4f} by {mosaic.field.height_deg:.4f} "
        f"degrees; {camera.focal_length_mm:g} mm, {camera.scale_arcsec_px:.4f} arc seconds a pixel."
    )
    done = is_to_do(plan).count(False)
    if done:
        yield f"Panels that are kept and have all that they want: {done}; only the others are listed to be shot."
    yield (
        "Positions are ICRS. Position angles are of the frame's up (towards larger row numbers), degrees east "
        "of north."
    )
    yield from _flats(plan)
    if _season_size(plan) > QUICK_SEASON:
        yield "The season is large: its calendar is made only when it is asked for by name."
    for shortfall in plan.shortfalls:
        yield f"Mind: {shortfall}."
    yield from (note for note in plan.notes if note not in plan.shortfalls)


def _flats(plan: Plan) -> Iterator[str]:
    """Say which flats are due."""
    due = due_flats(still_to_do(plan))
    if not due:
        return
    listed = "; ".join(one.words for one in due[:MOST_FLATS])
    more = (
        f"; {len(due) - MOST_FLATS} more camera angles, see position_angle_deg"
        if len(due) > MOST_FLATS
        else ""
    )
    yield f"{RULE} Here: {listed}{more}."


def _plan_json(making: Making) -> Iterator[HandoverFile]:
    from planner.files.documents.json_text import json_bytes
    from planner.files.documents.plan import SCHEMA

    content = json_bytes(making.document())
    yield HandoverFile("plan.json", "json", f"JSON (RFC 8259), schema {SCHEMA}", content)


def _panels_ecsv(making: Making) -> Iterator[HandoverFile]:
    from planner.files.exchange.panel_tables import panels_ecsv_bytes

    document, names = making.document(), {panel.name for panel in making.to_do.mosaic.panels}
    listed = [panel for panel in document["panels"] if panel["name"] in names]
    content = panels_ecsv_bytes(making.to_do, document={**document, "panels": listed})
    yield HandoverFile("panels.ecsv", "ecsv", "ECSV 1.0 (Astropy APE6)", content)


def _observations(making: Making) -> Iterator[HandoverFile]:
    from planner.files.exchange.obsplan_votable import obsplan_votable

    standard = "IVOA ObsLocTAP 1.0 in VOTable 1.4"
    content = obsplan_votable(making.to_do, planned_on=making.planned_on)
    yield HandoverFile("observations.vot", "votable", standard, content)


def _coverage(making: Making) -> Iterator[HandoverFile]:
    from planner.files.exchange.coverage_maps import coverage_of_mosaic, coverage_of_region

    mosaic = making.plan.mosaic
    maps = {"panels": coverage_of_mosaic(mosaic), "region": coverage_of_region(mosaic.region, mosaic.field)}
    for name, coverage in maps.items():
        yield HandoverFile(
            f"{name}.moc.fits", "moc", "multi-order coverage map: IVOA MOC 2.0, FITS", coverage.fits
        )
    for name, coverage in maps.items():
        yield HandoverFile(
            f"{name}.moc.json", "moc", "multi-order coverage map: IVOA MOC 2.0, JSON", coverage.json
        )


def _headers(making: Making) -> Iterator[HandoverFile]:
    from planner.files.exchange.panel_headers import panel_headers

    standard = "FITS 4.0 header without pixels, TAN; one card a line"
    names = file_stems([panel.name for panel in making.to_do.mosaic.panels])
    for name, (_, content) in zip(names, panel_headers(making.to_do), strict=True):
        yield HandoverFile(f"headers/{name}.hdr", "headers", standard, content)


def _tables(making: Making) -> Iterator[HandoverFile]:
    from planner.files.user_table.write import table_bytes

    for table in read_tables(making.plan.request.tables):
        yield HandoverFile(
            f"tables/{table.file}", "tables", "as [[tables]] describes it", table_bytes(table, making.to_do)
        )


def _site_sheet(making: Making) -> Iterator[HandoverFile]:
    from planner.draw.paper.site_sheet import site_sheet

    yield HandoverFile("site_sheet.pdf", "sheet", "PDF, to print", site_sheet(making.to_do, whole=making.plan))


def _calendar(making: Making) -> Iterator[HandoverFile]:
    """Write the timetable; that of a large season takes minutes and is left out unless asked for."""
    from planner.answers.nights import check_nights, plan_nights
    from planner.files.exchange.calendar import calendar_bytes

    if not making.asked and _season_size(making.plan) > QUICK_SEASON:
        return
    check_nights(making.plan.request, len(making.to_do.mosaic.panels))
    nights = plan_nights(making.plan, goal=making.goal, progress=making.tell)
    content = calendar_bytes(nights, stamp=_stamp(making))
    yield HandoverFile("nights.ics", "calendar", "iCalendar (RFC 5545)", content)


def _season_size(plan: Plan) -> int:
    """Panels times filters times evenings times sites that a timetable has to place; 0 without nights."""
    request = plan.request
    evenings = len(request.nights.evenings) if request.nights else 0
    return len(plan.mosaic.panels) * len(request.filters) * evenings * len(request.sites)


def _stamp(making: Making) -> dt.datetime | None:
    """When the calendar counts as made: noon of the day of planning, so that its bytes stay the same."""
    nights = making.plan.request.nights
    day = making.planned_on or (nights.first if nights else None)
    return None if day is None else dt.datetime.combine(day, dt.time(12), tzinfo=dt.UTC)


@dataclass(frozen=True)
class Kind:
    """One kind of file.

    Parameters
    ----------
    about : str
    write : callable
    missing : str
        Sentence on what the plan must have for it; empty where every plan will do.
    has_ground : callable
        Whether a request has it.
    """

    about: str
    write: Writer
    missing: str = ""
    has_ground: Callable[[Request], bool] = lambda request: True


HANDOVER_KINDS: dict[str, Kind] = {
    "sheet": Kind("instruction sheet for a person", _site_sheet),
    "tables": Kind(
        "tables of the user's own",
        _tables,
        "the plan has no [[tables]]; describe one in the plan file, as the example of a table shows",
        lambda request: bool(request.tables),
    ),
    "votable": Kind("planned observations", _observations),
    "ecsv": Kind("panels with units", _panels_ecsv),
    "json": Kind("the whole plan", _plan_json),
    "headers": Kind("FITS header of each panel", _headers),
    "calendar": Kind(
        "calendar of the nights",
        _calendar,
        "it needs a site, [nights] and [[filters]]",
        lambda request: bool(request.sites and request.nights and request.filters),
    ),
    "moc": Kind("coverage maps of panels and region", _coverage),
}
"""Every kind of file, by the name that `--only` takes."""


def check_kinds(request: Request, only: Sequence[str]) -> None:
    """Refuse, before any long work, kinds that are unknown or without ground, and tables with faults.

    Raises
    ------
    InputError
        In one sentence.
    """
    from planner.files.user_table.write import check_ground

    tables = read_tables(request.tables)
    for name in only:
        if name not in HANDOVER_KINDS:
            hint = nearest_names(name, HANDOVER_KINDS) or f"; the kinds are {', '.join(HANDOVER_KINDS)}"
            raise InputError(f"there is no kind of file {name!r}{hint}")
        if not HANDOVER_KINDS[name].has_ground(request):
            raise InputError(f"{name} cannot be written: {HANDOVER_KINDS[name].missing}")
    for table in tables if not only or "tables" in only else ():
        check_ground(table, request)


def _wanted(request: Request, only: Sequence[str]) -> list[Kind]:
    check_kinds(request, only)
    return [
        kind for name, kind in HANDOVER_KINDS.items() if (name in only if only else kind.has_ground(request))
    ]
