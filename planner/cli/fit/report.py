"""How well everything fits one frame, on screen: a table of setups and what there is to say of each."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from planner.answers.margin_words import frame_angle_text, margin_words, rounded_margin, shortage
from planner.cli._show import print_facts, print_line, print_table
from planner.files.user_table.angle_form import position_text
from planner.words import listed

if TYPE_CHECKING:
    from planner.answers.fit import SetupFit

__all__ = ["print_fits", "stretch_of"]

COLUMNS = ("~Setup", ">Field", "Fits", ">Margin", ">Angle", "~Angles that do", ">Longest", ">Panels")
UNITS = "field, position angles: degrees; margin: arc minutes; longest: focal length in mm that would do"
MOST_STRETCHES = 3
SLACK_ARCMIN = 1.0
"""Margins of opposite sides that differ by more leave the choice where to put the difference."""
WHOLE = 1 - 5e-5
"""A share of a part that counts as all of it."""


def print_fits(fits: Sequence[SetupFit]) -> None:
    """Print the answers on standard output."""
    print_table(COLUMNS, [_row(one) for one in fits], title=fits[0].request.title)
    print_line(f"({UNITS})")
    for one in fits:
        print_line()
        if len(fits) > 1:
            print_line(one.name)
        print_facts(_facts(one))


def _row(one: SetupFit) -> list[str]:
    return [
        one.name,
        f"{one.field.width_deg:.2f} x {one.field.height_deg:.2f}",
        "yes" if one.fit.fits else "no",
        margin_words(one.fit.margin_arcmin),
        "-" if one.holds_nothing else frame_angle_text(one.fit.placement.position_angle_deg),
        _stretches(one),
        f"{math.floor(one.longest_focal_length_mm):d}",
        "1" if one.fit.fits else "-" if one.panels is None else str(one.panels),
    ]


def _stretches(one: SetupFit) -> str:
    found = one.fit.fits_at_deg
    if not found:
        return "none"
    if any(stop - start >= 180.0 for start, stop in found):
        return "all"
    shown = [
        f"{start:.2f}" if stop - start < 0.005 else f"{start:.2f} to {stop % 180.0:.2f}"
        for start, stop in found
    ]
    if len(found) > MOST_STRETCHES:  # the one with the best angle comes first then
        best = found.index(stretch_of(found, one.fit.placement.position_angle_deg))
        shown.insert(0, shown.pop(best))
    return listed(shown, MOST_STRETCHES)


def stretch_of(found: Sequence[tuple[float, float]], angle_deg: float) -> tuple[float, float]:
    """Return the stretch of angles, from and to in degrees, that holds an angle or comes nearest to it.

    >>> stretch_of([(3.7, 4.0), (38.0, 39.5), (170.0, 190.0)], 5.0 + 180.0)
    (170.0, 190.0)
    """

    def beyond(stretch: tuple[float, float]) -> float:
        after = (angle_deg - stretch[0]) % 180.0
        length = stretch[1] - stretch[0]
        return 0.0 if after <= length else min(after - length, 180.0 - after)

    return min(found, key=beyond)


def _facts(one: SetupFit) -> Iterator[tuple[str, str]]:
    if one.holds_nothing:
        yield "Best frame", "none: the parts lie so far apart that a frame between them holds nothing of any"
    else:
        yield from _frame_facts(one)
    fit = one.fit
    if not fit.fits:
        longer, longest_mm = 100 * (fit.scale - 1), math.floor(one.longest_focal_length_mm)
        yield "Would fit", f"a field with sides {longer:.1f} % longer: {longest_mm} mm or less"
    if one.plan is not None:
        yield "Panels", _panels(one)
    if one.asked_arcmin is not None:
        yield "Pinned", _pinned(one, one.asked_arcmin)
    for note in one.notes:
        yield "Note", note


def _frame_facts(one: SetupFit) -> Iterator[tuple[str, str]]:
    fit, margins = one.fit, one.fit.margins_arcmin
    yield (
        "Best frame",
        f"{position_text(fit.placement.center_deg)}, position angle "
        f"{frame_angle_text(fit.placement.position_angle_deg)}{_reading(one)}",
    )
    sides = {"top": margins.top, "bottom": margins.bottom, "left": margins.left, "right": margins.right}
    yield (
        "Margins",
        "arc minutes: "
        + ", ".join(f"{name} {margin_words(value)}" for name, value in sides.items())
        + _proven(one),
    )
    if fit.fits and _slack(one):
        yield "To spare", _slack(one)
    if not fit.fits:
        yield "Cut", _cut(one)


def _pinned(one: SetupFit, asked_arcmin: float) -> str:
    at = f"at position angle {one.request.mosaic.position_angle_deg:g} of the plan file"
    if asked_arcmin >= 0:
        return f"{at} the margin is {rounded_margin(asked_arcmin)} arc minutes"
    return f"{at} the frame is short by {shortage(asked_arcmin)} arc minutes"


def _slack(one: SetupFit) -> str:
    """Where the frame may be moved although two sides hold it."""
    margins = one.fit.margins_arcmin
    found = [
        f"{names[first > second]} by up to {math.floor(abs(first - second))} arc minutes"
        for first, second, names in (
            (margins.left, margins.right, ("left", "right")),
            (margins.top, margins.bottom, ("top", "bottom")),
        )
        if abs(first - second) > SLACK_ARCMIN
    ]
    return f"the frame may be moved to its {' and '.join(found)} at next to no loss" if found else ""


def _reading(one: SetupFit) -> str:
    """What to set on the angle device, west of the meridian."""
    device = one.request.angle_device
    if device is None or device.kind == "fixed":
        return ""
    reading, _ = device.nearest_reading(one.fit.placement.position_angle_deg, period_deg=one.field.period_deg)
    return f", reading {reading:.2f}"


def _proven(one: SetupFit) -> str:
    bound = one.fit.bound_arcmin
    if bound is None:
        return ""
    reach = "" if one.arcs_deg is None else "within the travel "
    if bound < 0:
        least = math.floor(-bound * 1000 + 1e-6) / 1000
        return f"; no centre and angle {reach}are short by less than {least:.3f} (proven)"
    return (
        f"; no centre and angle {reach}leave more than {math.ceil(bound * 1000 - 1e-6) / 1000:.3f} (proven)"
    )


def _cut(one: SetupFit) -> str:
    whole = [part.name for part in one.inside if part.share > WHOLE]
    cut = [f"{part.name} {100 * part.share:.1f} %" for part in one.inside if part.share <= WHOLE]
    text = f"inside the best frame: {', '.join(cut)}"
    return text + (f"; whole: {', '.join(whole)}" if whole else "")


def _panels(one: SetupFit) -> str:
    text = f"{one.panels} found" if one.panels is not None else ""
    if one.grid is not None:
        panels = one.grid.mosaic.panels
        columns, rows = max(panel.column for panel in panels), max(panel.row for panel in panels)
        text += f"; as a full grid {columns} x {rows}"
    return text + "; `plan` searches longer"
