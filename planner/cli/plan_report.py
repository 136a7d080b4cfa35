"""A plan on screen: the table of panels, what has been proven of them, the picture and the notes."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.answers.grow import kept_count, kept_words
from planner.answers.plan_notes import COARSE_PRINT, PROVEN_FEWEST
from planner.words import rounded_down

from ._show import print_fact, print_facts, print_left_out, print_line, print_table

if TYPE_CHECKING:
    from planner.answers.plan import Plan
    from planner.request.picture import Picture

__all__ = ["picture_lines", "print_plan"]

MOST_ROWS = 400
"""Panels shown on screen; files hold all."""
TOLERANCE = 1e-9
"""Rounding that the comparison of overlaps allows."""


def print_plan(plan: Plan) -> None:
    """Print a plan on standard output."""
    _print_panels(plan)
    print_line()
    print_facts(_facts(plan))
    for note in plan.notes:
        if not note.startswith((PROVEN_FEWEST, COARSE_PRINT)):  # the lines above say it
            print_fact("Note", note)


def _print_panels(plan: Plan) -> None:
    from planner.files.user_table.angle_form import DEC_FORM, RA_FORM, AngleForm

    panels = plan.mosaic.panels[:MOST_ROWS]
    angle = AngleForm(decimals=2, digits=1, first_deg=0.0)
    columns = {
        "Panel": [f"{p.name} (kept)" if p.kept else p.name for p in panels],
        "Right ascension": RA_FORM.write([p.ra_deg for p in panels]),
        "Declination": DEC_FORM.write([p.dec_deg for p in panels]),
        ">Position angle": angle.write([p.position_angle_deg for p in panels]),
    }
    readings = _readings(plan)
    if readings:
        columns[">Reading"] = readings
    columns[">Stars in seams"] = [str(count) for count in plan.star_counts.panels[:MOST_ROWS]]
    print_table(list(columns), list(zip(*columns.values(), strict=True)), title=plan.request.title)
    print_left_out(len(plan.mosaic.panels) - len(panels), "panels")


def _readings(plan: Plan) -> list[str]:
    """Return the readings of the panels shown; none without an angle device."""
    from planner.rig.readings import panel_readings

    device, mosaic = plan.request.angle_device, plan.mosaic
    if device is None:
        return []
    readings = panel_readings(mosaic.panels, mosaic.field, device)[:MOST_ROWS]
    return [f"{one.reading_deg:.2f}" if one.reachable else "out of travel" for one in readings]


def _facts(plan: Plan) -> list[tuple[str, str]]:
    camera, mosaic = plan.request.camera, plan.mosaic
    width, height = mosaic.field.width_deg, mosaic.field.height_deg
    facts = [
        ("Field", f"{width:.3f} x {height:.3f} degrees, {camera.scale_arcsec_px:.3f} arc seconds a pixel"),
        ("Region", f"{plan.region.area_deg2:.2f} square degrees"),
        ("Panels", _count(plan)),
        ("Overlap", _overlap(plan)),
    ]
    if mosaic.overlap_after_errors_arcmin is not None and len(mosaic.panels) > 1:
        facts.append(
            ("After errors", f"at least {rounded_down(mosaic.overlap_after_errors_arcmin, 1)} arc minutes")
        )
    return [*facts, *picture_lines(plan)]


def _count(plan: Plan) -> str:
    count, bound = len(plan.mosaic.panels), plan.mosaic.panel_count_bound
    here = "" if plan.wanted is None else " for this picture at this angle"
    kept = kept_count(plan.mosaic)
    if kept:
        return f"{count}: {kept} kept and {count - kept} added, {kept_words(plan.mosaic)}{here}"
    if count == bound:
        return f"{count}, proven fewest{here}"
    return f"{count}; no plan{here} can have fewer than {bound}"


def _overlap(plan: Plan) -> str:
    mosaic = plan.mosaic
    asked = 100 * mosaic.overlap_asked
    if not mosaic.covered:
        return f"asked {asked:.4g} %; {mosaic.gap_area_deg2:.4g} square degrees are left uncovered"
    if mosaic.overlap_found >= 1.0:
        return f"asked {asked:.4g} %; there are no seams: every part of the region is whole in one panel, proven"
    side = "each side" if plan.request.mosaic.overlap_arcmin is None else "the short side"
    return f"asked {asked:.4g} %, found {rounded_down(100 * mosaic.overlap_found, 1)} % of {side}, proven"


def picture_lines(plan: Plan) -> list[tuple[str, str]]:
    """The picture, the print, and the largest full picture, each behind its label."""
    from planner.rig.print_size import USUAL_PPI, print_ppi, print_size_cm

    picture, asked = plan.picture, plan.request.picture
    columns, rows = picture.pixels
    size = f"{picture.width_deg:.3f} x {picture.height_deg:.3f} degrees"
    facts = [
        ("Picture", f"{size} at position angle {picture.position_angle_deg:.2f}, {columns} x {rows} pixels")
    ]
    ppi = asked.print_ppi if asked else USUAL_PPI
    width_cm, height_cm = print_size_cm(picture.pixels, ppi=ppi)
    text = f"{width_cm:.1f} x {height_cm:.1f} cm at {ppi:g} pixels an inch"
    if asked and asked.print_width_cm:
        density = print_ppi(columns, asked.print_width_cm)
        short = f", fewer than the {ppi:g} asked" if density < ppi else ""
        text += f"; {asked.print_width_cm:g} cm wide it has {density:.0f} pixels an inch{short}"
    return [*facts, ("Print", text), *_full_picture(plan)]


def _full_picture(plan: Plan) -> list[tuple[str, str]]:
    """The largest rectangle without an empty corner, and at which angle more is to be had."""
    full = plan.full_picture
    if full is None:
        return []
    shown = [("Full picture", full.picture), ("  if turned", full.turned)]
    return [(name, _full_text(picture)) for name, picture in shown if picture is not None]


def _full_text(picture: Picture) -> str:
    from planner.files.user_table.angle_form import position_text
    from planner.rig.print_size import print_size_cm

    width_cm, height_cm = print_size_cm(picture.pixels)
    return (
        f"{picture.width_deg:.3f} x {picture.height_deg:.3f} degrees about {position_text(picture.center_deg)}, "
        f"position angle {picture.position_angle_deg:.2f}, {picture.pixels[0]} x {picture.pixels[1]} pixels, "
        f"{width_cm:.1f} x {height_cm:.1f} cm"
    )
