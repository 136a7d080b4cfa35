"""The proof of coverage in a word and a number, and the better plan when it comes."""

from __future__ import annotations

from typing import TYPE_CHECKING

import streamlit as st

from planner.session.plans import Answer

from .state import desk, session

if TYPE_CHECKING:
    from planner.plan import Plan

__all__ = ["proof_part", "wait_for_better"]

LOOK_EVERY_S = 0.7


def proof_part(answer: Answer | None) -> None:
    """Show how many panels there are and what has been proven of them."""
    if answer is None:
        return
    plan, mosaic = answer.plan, answer.plan.mosaic
    with st.container(key="proof"):
        st.markdown(f"### {_count(len(mosaic.panels))}  {_verdict(plan)}")
    st.caption(_bound_words(answer))
    if plan.shortfalls:
        st.warning("  \n".join(plan.shortfalls))
    others = [note for note in plan.notes if note not in plan.shortfalls]
    if others:
        with st.expander(f"To know ({len(others)})"):
            st.caption("  \n".join(others))


def _verdict(plan: Plan) -> str:
    mosaic = plan.mosaic
    if not mosaic.covered:
        return f":red-badge[gap of {mosaic.gap_area_deg2:.2g} square degrees]"
    if plan.shortfalls:
        return ":orange-badge[covered, but falls short]"
    return f":green-badge[covered, overlap {_floor(mosaic.overlap_found)} %]"


def _count(number: int) -> str:
    return "1 panel" if number == 1 else f"{number} panels"


def _floor(share: float) -> str:
    """Return a share in per cent with one decimal, never more than the truth."""
    return f"{int(share * 1000 + 1e-6) / 10:.1f}"


def _bound_words(answer: Answer) -> str:
    mosaic = answer.plan.mosaic
    bound = mosaic.panel_count_bound
    words = ["proven fewest" if bound >= len(mosaic.panels) else f"{_count(bound)} at the least"]
    if mosaic.overlap_after_errors_arcmin is not None:
        words.append(f"{int(mosaic.overlap_after_errors_arcmin * 10) / 10:.1f}' of overlap after all errors")
    if not answer.final:
        words.append("looking for better…")
    return " · ".join(words)


def wait_for_better(answer: Answer | None) -> None:
    """Have the usual plan made behind, and show it when it is there."""
    if answer is None or answer.final:
        return
    desk().improve(session().request)
    _look_again()


def _look() -> None:
    if desk().ready(session().request):
        st.rerun()


_look_again = st.fragment(run_every=LOOK_EVERY_S)(_look)
