"""The camera angle that is looked at: what each serves as a curve, a slider below it, and the count."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import streamlit as st

from planner.answers.serving import amount_text, angle_text
from planner.answers.targets.served import UNITS, WEIGHINGS, Weighing
from planner.screen.canvas.drawing import mount_drawing
from planner.screen.state import guarded, session

from .curve import served_svg
from .keeping import lasting, noted

if TYPE_CHECKING:
    from planner.answers.serving import AngleService
    from planner.answers.targets.target import TargetList

    from .view import TargetsView

__all__ = ["angle_part", "looked_at", "weighing"]

SLIDER, WEIGHING = "targets_angle", "targets_weighing"
FINEST_DEG = 0.1
"""Of the slider: a motor's steps are finer."""
NAMES = {"count": "Targets", "hours": "Hours", "area": "Area"}


def weighing() -> Weighing:
    """Return what is summed."""
    chosen: Weighing | None = st.session_state[lasting(WEIGHING, "count")]
    return chosen or "count"


def looked_at(found: TargetList) -> tuple[float, float | None]:
    """Return the position angle that the slider shows, at first the one that the plan pins, and its reading.

    The reading is None without a device.
    """
    device, period = found.setup.angle_device, found.field.period_deg
    low, high, _ = _scale(found)
    value = float(st.session_state[lasting(SLIDER, _first_value(found))])
    if not low <= value <= high:
        value = st.session_state[SLIDER] = _first_value(found)
    if device is None:
        return value % period, None
    return device.position_angle_of(value) % period, value


def _scale(found: TargetList) -> tuple[float, float, float]:
    """Return the slider's ends and step: readings of the device, or position angles."""
    device = found.setup.angle_device
    if device is None:
        return 0.0, found.field.period_deg - 1.0, 1.0
    step = max(FINEST_DEG, device.division_deg)
    low, high = device.travel_deg
    first = math.ceil(low / step - 1e-9) * step
    return first, max(first, math.floor(high / step + 1e-9) * step), step


def _first_value(found: TargetList) -> float:
    """Return where the slider stands first: at the angle that the plan pins, or near 0."""
    low, high, step = _scale(found)
    device, pinned = found.setup.angle_device, session().request.mosaic.position_angle_deg
    if pinned is None:
        return min(max(0.0, low), high)
    period = found.field.period_deg
    value = pinned % period if device is None else device.nearest_reading(pinned, period_deg=period)[0]
    return min(max(round(value / step) * step, low), high)


def angle_part(view: TargetsView) -> None:
    """Show the curve, the slider, the count under it, and a press that goes to the best angle."""
    service, device = view.service, view.found.setup.angle_device
    low, high, step = _scale(view.found)
    mount_drawing(key="targets_curve", data={"svg": served_svg(service, low, high, view.angle_deg)})
    if low < high:
        label = "Position angle (deg)" if device is None else f"Reading of the {device.kind} (deg)"
        layout = "%.1f" if step < 1 else "%g"
        st.slider(label, low, high, step=step, key=lasting(SLIDER, low), format=layout)
    _count(view)
    with st.container(horizontal=True, vertical_alignment="center"):
        st.segmented_control(
            "What is summed",
            WEIGHINGS,
            format_func=NAMES.__getitem__,
            key=lasting(WEIGHING, "count"),
            label_visibility="collapsed",
        )
        if low < high:
            best = service.best[0]
            where = angle_text(service, best.angles_deg[0], next(iter(best.readings_deg), None))
            st.button(f"Go to the best: {where}", key="targets_best", on_click=_go, args=(service, step))
    noted(SLIDER, WEIGHING)


def _count(view: TargetsView) -> None:
    """Say how many fit at the angle, of how many."""
    service, unit = view.service, UNITS[weighing()]
    amount, count = service.served_at(view.angle_deg), service.targets_at(view.angle_deg)
    words = f"{amount_text(amount)} {unit}, {count}" if unit else f"{count}"
    st.markdown(
        f"**At {angle_text(service, view.angle_deg)} you can frame {words} of the "
        f"{service.fitting.count_fitting}** that some angle frames, "
        f"with a margin of {view.found.margin_asked_arcmin:.1f}′ on all sides"
    )


@guarded
def _go(service: AngleService, step: float) -> None:
    best = service.best[0]
    value = best.readings_deg[0] if best.readings_deg else best.angles_deg[0]
    st.session_state[SLIDER] = round(value / step) * step
    noted(SLIDER)
