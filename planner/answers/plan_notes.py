"""What the user should know about a plan, in sentences."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from planner.geometry import wrapped_deg
from planner.mosaic.mosaic import Mosaic
from planner.request.request import Request
from planner.rig.print_size import print_ppi
from planner.words import counted, listed, rounded_down

from .grow import ALIKE_DEG, kept_angle_deg
from .picture_shares import picture_shares
from .set_by_hand import hand_error_notes
from .settled_words import change_words, unlike_asked

if TYPE_CHECKING:
    from planner.request.picture import Picture

__all__ = ["COARSE_PRINT", "PROVEN_FEWEST", "plan_notes"]

PROVEN_FEWEST = "proven fewest"
"""Begins the note of a plan whose count is the bound."""
COARSE_PRINT = "a print "
"""Begins the note of a print with fewer pixels an inch than asked."""
FEWEST_STARS = 10
"""Stars to magnitude 10 that a seam should hold for assembling (common practice, no source)."""
NAMED = 6


def plan_notes(
    request: Request, mosaic: Mosaic, picture: Picture, seam_stars: Sequence[int]
) -> tuple[str, ...]:
    """Return what to know about a plan, one sentence each.

    Parameters
    ----------
    request : Request
    mosaic : Mosaic
    picture : Picture
    seam_stars : sequence of int
        Catalogue stars to magnitude 10 in each seam.
    """
    return (
        *mosaic.shortfalls,
        *_settled_notes(request, mosaic),
        *_kept_notes(request, mosaic),
        *_fixed_note(request),
        *hand_error_notes(request, mosaic),
        *_proof_note(mosaic, filled=request.picture is not None and request.picture.filled),
        *_star_notes(mosaic, seam_stars),
        *_picture_notes(request, mosaic, picture),
    )


def _settled_notes(request: Request, mosaic: Mosaic) -> Iterator[str]:
    if request.settled is None:
        return
    changed = request.changed_tables
    if not changed:
        yield f"settled: the {len(mosaic.panels)} panels are those that the plan file keeps"
        yield from unlike_asked(request, mosaic)
        return
    short = ["they fall short of it"] if mosaic.shortfalls else []
    yield change_words(request, [*short, *unlike_asked(request, mosaic)])


def _fixed_note(request: Request) -> Iterator[str]:
    """Say why a camera that nobody can turn got its angle."""
    device, asked = request.angle_device, request.mosaic
    if device is None or device.kind != "fixed" or request.panels or asked.angles != 1:
        return
    if asked.position_angle_deg is None and asked.position_angle_range_deg is None:
        yield f"the camera is fixed at position angle {device.zero_deg % 360.0:g}: no other angle was looked at"


def _kept_notes(request: Request, mosaic: Mosaic) -> Iterator[str]:
    if not request.grows:
        return
    kept = sum(panel.kept for panel in mosaic.panels)
    added = len(mosaic.panels) - kept
    stay = "1 panel stays where it is" if kept == 1 else f"{kept} panels stay where they are"
    if not added:
        yield f"{stay}; nothing needs to be added"
        return
    text = f"{stay}; {added} {'is' if added == 1 else 'are'} added"
    yield text + _angle_words(request, mosaic)


def _angle_words(request: Request, mosaic: Mosaic) -> str:
    """Say whether added panels stand at the camera angle of the kept ones, where that was left to the search."""
    present_deg = kept_angle_deg(request)
    if present_deg is None:
        return ""
    own = next(panel.position_angle_deg for panel in mosaic.panels if not panel.kept)
    if abs(wrapped_deg(own - present_deg, mosaic.field.period_deg)) < ALIKE_DEG:
        return f" at the same camera angle ({present_deg:.2f})"
    return (
        f" at another camera angle ({own:.2f}), which takes fewer; position_angle_deg = {present_deg:.2f} keeps the "
        "camera as it is"
    )


def _proof_note(mosaic: Mosaic, *, filled: bool) -> Iterator[str]:
    if filled:
        yield "the bound on the number of panels holds for this picture at this angle; others were only counted"
        return
    kept, count = sum(panel.kept for panel in mosaic.panels), len(mosaic.panels)
    if mosaic.covered and count == mosaic.panel_count_bound and not mosaic.shortfalls and kept:
        which = "this panel" if kept == 1 else f"these {kept} panels"
        yield f"{PROVEN_FEWEST}: no plan that keeps {which} can add fewer than {count - kept}"
    elif mosaic.covered and count == mosaic.panel_count_bound:
        yield f"{PROVEN_FEWEST}: no plan can have fewer than {counted(count, 'panel')}"


def _star_notes(mosaic: Mosaic, seam_stars: Sequence[int]) -> Iterator[str]:
    names = [panel.name for panel in mosaic.panels]
    poor = [
        f"{names[seam.first]}-{names[seam.second]} ({stars})"
        for seam, stars in zip(mosaic.seams, seam_stars, strict=True)
        if stars < FEWEST_STARS
    ]
    if poor:
        yield (
            f"seams with fewer than {FEWEST_STARS} stars to magnitude 10 to assemble by: "
            f"{listed(poor, NAMED)}; a wider overlap gives more"
        )


def _picture_notes(request: Request, mosaic: Mosaic, picture: Picture) -> Iterator[str]:
    filled = picture_shares(mosaic, picture).filled
    if filled < 1 - 1e-9:
        yield f"panels fill {rounded_down(100 * filled, 1)} per cent of the picture; only the region is guaranteed"
    asked = request.picture
    if asked and asked.print_width_cm:
        ppi = print_ppi(picture.pixels[0], asked.print_width_cm)
        if ppi < asked.print_ppi:
            yield (
                f"{COARSE_PRINT}{asked.print_width_cm:g} cm wide shows {ppi:.0f} of the asked {asked.print_ppi:g} "
                "pixels an inch"
            )
