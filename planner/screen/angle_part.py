"""The camera angle: which one, and what other angles would cost in panels."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import streamlit as st

from planner.answers.margin_words import rounded_margin
from planner.errors import PlannerError
from planner.guide.entries import word_entries
from planner.request.request import Request
from planner.screen.canvas.curve import mount_curve
from planner.session.gestures import square_edits
from planner.session.plans import Answer
from planner.session.scene import angles_agree
from planner.words import counted

from .composing.fit_part import FRAME_HELP, fitted_words, known_fit, take_frame
from .inputs.mirror import mirror
from .state import curves, desk, guarded, session, show_fault

if TYPE_CHECKING:
    from planner.answers.fit import FieldFit
    from planner.answers.plan import Plan
    from planner.answers.which_angle.curve import AngleCount, AngleCurve

__all__ = ["angle_part"]

FEWEST, SQUARE, OWN = "fewest panels", "square with the picture", "this angle"
CURVE = "angle_curve"
MOST_PANELS = 500
"""Of larger mosaics no curve is shown: it would keep the page waiting."""
MOST_PLANNED = 60
"""Of larger mosaics no angles are planned behind."""
LOOK_EVERY_S = 1.0
KEY_WORDS = (
    "Dots: planned and proven. The line between: estimates from rows, as near to the dots as these tell."
)
NO_CURVE = (
    "The panels are settled at their angle: what other angles cost is shown once *Let the search change panels*, "
    "above, is pressed."
)
DOUBT_WORDS = "Dotted: an estimate below all plans, hence in doubt; take that angle to have it planned."
BEST = "The fewest panels of all angles that are planned, with the most overlap: the ring"
BEST_ESTIMATE = "The fewest panels by the estimate from rows, not planned yet: the ring"

MARGIN_WORDS = "Below 0 something is cut. The upright line is the present angle, the ring the largest margin."


def angle_part(request: Request, answer: Answer | None) -> None:
    """Show the choice of angle and the curve of panel count against angle."""
    plan = answer.plan if answer else None
    pinned = request.mosaic.position_angle_deg
    present = _present_deg(plan) if plan is not None else pinned
    with st.form("angle", border=False):
        st.radio(
            "Camera angle",
            [FEWEST, SQUARE, OWN],
            key=mirror("angle_mode", _mode(request), "radio"),
            help=word_entries("camera angle", "position angle"),
        )
        left, right = st.columns([3, 2], vertical_alignment="bottom")
        left.number_input(
            "Position angle (deg)",
            value=None,
            key=mirror("angle_value", round(present or 0.0, 2)),
            step=1.0,
            format="%.2f",
            help="Of the panels' up, degrees east of north, -360 to 360",
        )
        right.form_submit_button("Apply", on_click=_apply, args=(plan,))
    show_fault("angle")
    fit = known_fit(request, plan) if plan is not None and len(request.panels) <= 1 else None
    if plan is not None and fit is not None and fit.fits:
        _margin_part(request, plan, fit)
    elif request.settled is not None:
        st.caption(NO_CURVE)
    elif answer is not None and not request.panels and len(answer.plan.mosaic.panels) <= MOST_PANELS:
        _curve_part(request, answer, _present_deg(answer.plan))


def _mode(request: Request) -> str:
    pinned, picture = request.mosaic.position_angle_deg, request.picture
    if pinned is None:
        return FEWEST
    stated = picture.position_angle_deg if picture else None
    return SQUARE if stated is not None and angles_agree(pinned, stated) else OWN


def _present_deg(plan: Plan) -> float:
    """Return the angle of the panels, of their axes where each is square with the picture."""
    axes, panels = plan.mosaic.axes, plan.mosaic.panels
    own = [panel for panel in panels if panel.field is None]  # ground of other frames tells nothing
    return float((axes or (own or panels)[0]).position_angle_deg)


def _margin_part(request: Request, plan: Plan, fit: FieldFit) -> None:
    """Show the margin that one frame leaves about everything, at each angle."""
    best, margin = fit.placement.position_angle_deg, fit.margin_arcmin
    st.caption("One frame holds everything: its margin at each angle, in arc minutes")
    listed = bool(request.panels)
    data = _margin_data(fit, _present_deg(plan))
    mount_curve(key=CURVE, height=176, data=data, on_angle_change=_frame_picked if listed else _picked)
    st.caption(f"{MARGIN_WORDS} {_angles_words(fit)}")
    st.button(
        f"Fit the frame: {best:.2f}°, margin {rounded_margin(max(0.0, margin))}′",
        key="angle_frame",
        on_click=take_frame,
        args=(plan,),
        help=FRAME_HELP,
    )
    fitted_words()
    show_fault("fit")


def _angles_words(fit: FieldFit) -> str:
    """Say which angles do."""
    if fit.any_angle:
        return "The angle makes no difference."
    arcs = [f"{start:.1f}° to {end % 180.0:.1f}°" for start, end in fit.fits_at_deg]
    whole = any(end - start >= 180.0 - 1e-9 for start, end in fit.fits_at_deg)
    return "Every angle does." if whole else f"It fits at {' and '.join(arcs)}."


def _margin_data(fit: FieldFit, present: float) -> dict[str, Any]:
    """The curve at whole degrees, of which the fit has every one."""
    degrees = np.arange(180.0)
    margins = np.interp(degrees, *fit.curve, period=180.0).tolist()
    return {
        "angles": degrees.tolist(),
        "span": 180.0,
        "counts": margins,
        "proven": [False] * len(margins),
        "present": present,
        "best": fit.placement.position_angle_deg,
        "margin": {"best": fit.margin_arcmin},
    }


@guarded
def _frame_picked() -> None:
    angle = (st.session_state.get(CURVE) or {}).get("angle")
    plan = desk().answer(session().request).plan
    if angle is not None:
        take_frame(plan, float(angle))


def _curve_part(request: Request, answer: Answer, present: float) -> None:
    """Show the curve: estimates at once; angles are planned behind once the plan itself is done."""
    try:
        curve = curves().curve(request)
    except PlannerError:
        return  # the plan itself says why
    grows = answer.final and len(answer.plan.mosaic.panels) <= MOST_PLANNED
    if grows:
        curves().refine(request)
        curves().learn(request, answer.plan)
        curve = curves().curve(request)
    waits = grows and curve.waiting > 0
    st.fragment(_growing, run_every=LOOK_EVERY_S if waits else None)(
        request, present, len(answer.plan.mosaic.panels), waits
    )


def _growing(request: Request, present: float, count: int, waits: bool) -> None:
    curve = curves().curve(request)
    if st.session_state.pop("angle_taken", False) or (waits and not curve.waiting):
        st.rerun()
    planned = sum(one.proven for one in curve.angles)
    if waits:
        st.caption(f"Panels at each angle; {counted(planned, 'angle')} planned, {curve.waiting} to come…")
    else:
        st.caption("Panels at each angle")
    searched = request.mosaic.position_angle_deg is None
    data = _curve_data(curve, present, count, None if searched else _best(curve))
    mount_curve(key=CURVE, height=176, data=data, on_angle_change=_picked)
    pale = f" {DOUBT_WORDS}" if any(curve.doubtful) else ""
    st.caption(
        KEY_WORDS + pale if planned else "The line: an estimate from rows; a search may do with fewer."
    )
    if searched:
        st.caption("The angle is searched: the upright line is the best that was found.")
        return
    best = _best(curve)
    with st.container(horizontal=True):
        st.button("Let the search find the best", key="angle_search", on_click=_take, args=(None,))
        st.button(
            f"Use {best.position_angle_deg:g}°",
            key="angle_best",
            on_click=_take,
            args=(best.position_angle_deg,),
            help=BEST if best.proven else BEST_ESTIMATE,
        )


def _best(curve: AngleCurve) -> AngleCount:
    """The best angle of those that are planned; by the estimates before any is."""
    planned = [one for one in curve.angles if one.proven]
    return min(planned or curve.angles, key=lambda one: one.rank)


def _curve_data(curve: AngleCurve, present: float, count: int, best: AngleCount | None) -> dict[str, Any]:
    likely, doubtful, past = list(curve.likely), list(curve.doubtful), [one.past_deg for one in curve.angles]
    step = past[1] if len(past) > 1 else 1.0
    here = round((present - curve.start_deg) % curve.period_deg / step) % round(curve.period_deg / step)
    if here < len(likely):  # the line goes through the present plan's dot
        likely[here], doubtful[here] = count, False
    return {
        "angles": [round(curve.start_deg + one, 6) for one in past],
        "span": step * len(past),
        "counts": likely,
        "proven": [one.proven and not one.falls_short for one in curve.angles],
        "doubtful": doubtful,
        "present": present,
        "present_count": count,
        "best": None if best is None else best.position_angle_deg,
    }


@guarded
def _picked() -> None:
    angle = (st.session_state.get(CURVE) or {}).get("angle")
    if angle is not None:
        _take(float(angle))


@guarded
def _take(angle_deg: float | None) -> None:
    words = "searched" if angle_deg is None else f"{angle_deg:g} degrees"
    session().edit("angle", {"mosaic.position_angle_deg": angle_deg}, f"The camera angle is now {words}.")
    st.session_state["angle_taken"] = True


@guarded
def _apply(plan: Plan | None) -> None:
    mode, angle = st.session_state["angle_mode"], st.session_state["angle_value"]
    edits: dict[str, Any] = {"mosaic.position_angle_deg": None}
    if mode == SQUARE and plan is not None:
        edits = square_edits(plan)
    elif mode != FEWEST:
        if angle is None:
            session().faults["angle"] = "the angle is missing; type it, or choose another way above"
            return
        edits = {"mosaic.position_angle_deg": round(float(angle), 2)}
    session().edit("angle", edits, "The camera angle changed.")
