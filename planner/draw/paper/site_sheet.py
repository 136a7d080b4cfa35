"""The sheet to send to the site: chart, what to set, cautions and panels, as one PDF file."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from planner.answers.camera_angle import frame_limit_deg, tolerances_of
from planner.answers.flats import RULE, DueFlats, due_flats
from planner.answers.panel_facts import exposures_wanted
from planner.draw.map.chart import chart_figure
from planner.files.user_table.angle_form import AngleForm
from planner.mosaic.panel import shooting_order
from planner.rig.angle_report import AngleReport, Tolerances, angle_report
from planner.rig.cautions import cautions_for, first_caution
from planner.rig.instruction import degrees, instruction, names, settings
from planner.words import counted, overlap_words

from .ink_page import pages_pdf
from .paper import Paper

if TYPE_CHECKING:
    from planner.answers.plan import Plan
    from planner.night.settings import Filter

__all__ = ["MOST_PANELS_LISTED", "site_sheet"]

MOST_PANELS_LISTED = 160
"""A longer list is read by programs, not on paper."""
MOST_PANELS_MEASURED = 40
"""Up to so many panels the sheet says how exact the angle must be: working that out takes a while."""
MOST_SETTINGS = 12
BOX = "[ ]"
MOST_TICKS, FILTER_LETTERS = 4, 6
"""Filters that get a box to tick, and letters of their names above it."""
RA = AngleForm("hours", "sexagesimal", 1, ("h ", "m ", "s"), first_deg=0.0)
DEC = AngleForm("degrees", "sexagesimal", 0, ("° ", "' ", '"'), sign="always")
ANGLE = AngleForm(decimals=2, digits=1, first_deg=0.0)
FOOTER = "mosaic planner: positions are ICRS, position angles are of the frame's up, east of north"


def site_sheet(plan: Plan, *, whole: Plan | None = None) -> bytes:
    """Return the sheet as PDF; the same plan gives the same bytes.

    Parameters
    ----------
    plan : Plan
        With the panels that are to be shot.
    whole : Plan, optional
        With all panels that cover the region, which tell how exact the angle must be; left out, `plan`.
    """
    paper = Paper(plan.request.title, "Instruction sheet for the telescope's site")
    _plan_in_short(paper, plan)
    _cautions(paper, plan)
    _camera_angle(paper, plan, whole or plan)
    _exposures(paper, plan)
    _flats(paper, plan)
    _panels(paper, plan)
    pages = paper.numbered(FOOTER, first=2)
    return pages_pdf([chart_figure(plan), *pages])


def _plan_in_short(paper: Paper, plan: Plan) -> None:
    paper.heading("The plan in short")
    for line in _facts(plan):
        paper.sentence(line, mark="•")
    for shortfall in plan.shortfalls:
        paper.sentence(f"Mind: {shortfall}.", mark="!", strong=True)


def _facts(plan: Plan) -> Iterator[str]:
    mosaic, camera = plan.mosaic, plan.request.camera
    count, field = len(mosaic.panels), mosaic.field
    found = overlap_words(mosaic.overlap_found, "an overlap of at least {} of a side")
    overlap = f" that cover the region with {found}, proven"
    yield f"{counted(count, 'panel')}{overlap if count > 1 and mosaic.covered else ''}."
    columns, rows = camera.binned_px
    yield (
        f"One panel: {field.width_deg:.3f}° by {field.height_deg:.3f}°, {columns} by {rows} pixels of "
        f"{camera.scale_arcsec_px:.3f}″ (binning {camera.binning}); focal length "
        f"{camera.focal_length_mm:g} mm."
    )
    for site in plan.request.sites:
        yield f"Site: {site.name}; nothing below {site.lowest_altitude_deg:g}° altitude."
    nights = plan.request.nights
    if nights is not None:
        yield f"Evenings: {nights.first:%Y-%m-%d} to {nights.last:%Y-%m-%d}."


def _exposures(paper: Paper, plan: Plan) -> None:
    filters = plan.request.filters
    if not filters:
        return
    counts = list(zip(*exposures_wanted(plan), strict=True))
    paper.heading("Exposures", room_for=paper.table_height(len(filters)))
    paper.table(
        ("Filter", ">Exposure", ">Count a panel", ">Hours a panel", ">Hours in all"),
        [_exposure_row(one, wanted) for one, wanted in zip(filters, counts, strict=True)],
    )


def _exposure_row(one: Filter, counts: Sequence[int]) -> tuple[str, ...]:
    low, high, hour_s = min(counts), max(counts), 3600.0
    hours = [f"{one.exposure_s * count / hour_s:.2f}" for count in (low, high)]
    return (
        one.name,
        f"{one.exposure_s:g} s",
        str(low) if low == high else f"{low} to {high}",
        hours[0] if low == high else f"{hours[0]} to {hours[1]}",
        f"{one.exposure_s * sum(counts) / hour_s:.1f}",
    )


def _camera_angle(paper: Paper, plan: Plan, whole: Plan) -> None:
    paper.heading("Camera angle")
    device = plan.request.angle_device
    if device is None:
        angles = sorted(
            {text for panel in plan.mosaic.panels for text in ANGLE.write(panel.position_angle_deg)}
        )
        listed = (
            f"the position angle {angles[0]}°" if len(angles) == 1 else "the position angles listed below"
        )
        paper.sentence(first_caution(device), strong=True)
        paper.sentence(f"Turn the camera to {listed} and verify it with a solved frame.")
        return
    report = _report(plan, whole)
    if report.tolerances.gap is not None:
        order = instruction(report)
        for number, step in enumerate(order.steps, start=1):
            paper.sentence(step, mark=str(number))
        paper.sentence(f"{order.tolerance} {order.after_flip}")
    _settings(paper, report)


def _flats(paper: Paper, plan: Plan) -> None:
    due = due_flats(plan)
    if not due:
        return
    shown = due[:MOST_SETTINGS]
    paper.heading("Flats", room_for=paper.table_height(len(shown)))
    paper.sentence(RULE)
    has_readings = any(one.reading_deg is not None for one in shown)
    paper.table(
        ("Panels", ">Position angle", *([">Reading"] if has_readings else []), "Filters", "Done"),
        [_flat_row(one, has_readings) for one in shown],
    )
    if len(due) > len(shown):
        paper.sentence(f"{len(due) - len(shown)} more camera angles need flats of their own.", strong=True)


def _flat_row(due: DueFlats, has_readings: bool) -> tuple[str, ...]:
    reading = "out of travel" if due.reading_deg is None else degrees(due.reading_deg)
    return (
        names(due.panels, most=4),
        degrees(due.position_angle_deg),
        *([reading] if has_readings else []),
        ", ".join(due.filters) or "all used",
        BOX,
    )


def _report(plan: Plan, whole: Plan) -> AngleReport:
    """Report on the camera angle, with the tolerances that the sheet names where that is quick."""
    tolerances = Tolerances(None, None, None, plan.mosaic.overlap_asked, measured=False)
    if len(whole.layout.panels) <= MOST_PANELS_MEASURED:
        tolerances = tolerances_of(whole, with_picture=False)
    return angle_report(
        plan.request.title,
        plan.mosaic,
        camera=plan.request.camera,
        device=plan.request.angle_device,
        tolerances=tolerances,
        frame_limit_deg=frame_limit_deg(plan.request),
        mount=plan.request.mount,
    )


def _settings(paper: Paper, report: AngleReport) -> None:
    """List the readings in shooting order, panels of one reading together."""
    groups = settings(report)
    paper.table(
        ("Panels", ">Position angle", ">Reading", ""),
        [
            (
                names(one.panels, most=4),
                degrees(one.position_angle_deg % 360.0),
                degrees(one.reading_deg),
                "" if one.reachable else "the nearest that can be reached",
            )
            for one in groups[:MOST_SETTINGS]
        ],
    )
    if len(groups) > MOST_SETTINGS:
        paper.sentence(f"{len(groups) - MOST_SETTINGS} more settings stand with their panels below.")


def _cautions(paper: Paper, plan: Plan) -> None:
    paper.heading("Cautions")
    for caution in cautions_for(plan.request.angle_device, plan.request.mount, follows=True):
        paper.sentence(caution, mark="!")


def _panels(paper: Paper, plan: Plan) -> None:
    panels = sorted(plan.mosaic.panels, key=lambda panel: panel.order)[:MOST_PANELS_LISTED]
    paper.heading("Panels in shooting order", room_for=paper.table_height(len(panels)))
    columns = [
        (">No", [str(panel.order) for panel in panels]),
        ("Panel", [panel.name for panel in panels]),
        (">Right ascension", RA.write([panel.ra_deg for panel in panels])),
        (">Declination", DEC.write([panel.dec_deg for panel in panels])),
        (">Angle", [f"{text}°" for text in ANGLE.write([panel.position_angle_deg for panel in panels])]),
        *_reading_column(plan),
        *_tick_columns(plan),
    ]
    names, cells = zip(*columns, strict=True)
    paper.table(names, list(zip(*(column[: len(panels)] for column in cells), strict=True)))
    left = len(plan.mosaic.panels) - len(panels)
    if left:
        paper.sentence(f"{left} more panels are in panels.ecsv and plan.json of the hand-over.", strong=True)


def _tick_columns(plan: Plan) -> list[tuple[str, list[str]]]:
    """Boxes to tick, in shooting order: one for each filter, with the count where panels differ in it."""
    panels, filters = plan.mosaic.panels, plan.request.filters
    if not 0 < len(filters) <= MOST_TICKS:
        return [("Done", [BOX] * len(panels))]
    order = shooting_order(panels)
    wanted = exposures_wanted(plan)
    columns = []
    for number, one in enumerate(filters):
        counts = [wanted[index][number] for index in order]
        same = len(set(counts)) == 1
        columns.append((one.name[:FILTER_LETTERS], [_tick(count, same) for count in counts]))
    return columns


def _tick(count: int, same: bool) -> str:
    if count == 0:
        return "-"
    return BOX if same else f"{BOX} {count}"


def _reading_column(plan: Plan) -> list[tuple[str, list[str]]]:
    from planner.answers.panel_facts import readings_deg

    if plan.request.angle_device is None:
        return []
    readings = readings_deg(plan)
    order = shooting_order(plan.mosaic.panels)
    shown = [f"{one:.2f}°" if math.isfinite(one) else "out of travel" for one in readings.tolist()]
    return [(">Reading", [shown[index] for index in order])]
