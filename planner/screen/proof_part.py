"""The proof of coverage in a word and a number, and the better plan when it comes."""

from __future__ import annotations

import streamlit as st

from planner.session.plans import Answer

from .state import desk, session

__all__ = ["proof_part", "wait_for_better"]

LOOK_EVERY_S = 0.7


def proof_part(answer: Answer | None) -> None:
    """Show how many panels there are and what has been proven of them."""
    if answer is None:
        return
    mosaic = answer.plan.mosaic
    with st.container(horizontal=True, vertical_alignment="center", key="proof"):
        st.markdown(f"### {len(mosaic.panels)} panels", width="content")
        if mosaic.covered:
            st.badge(f"covered, overlap {_floor(100 * mosaic.overlap_found)} %", color="green")
        else:
            st.badge(f"gap of {mosaic.gap_area_deg2:.2g} square degrees", color="red")
    st.caption(_bound_words(answer))
    for note in answer.plan.notes:
        st.caption(note)


def _floor(per_cent: float) -> str:
    """One decimal, never more than the truth."""
    return f"{int(per_cent * 10 + 1e-9) / 10:.1f}"


def _bound_words(answer: Answer) -> str:
    mosaic = answer.plan.mosaic
    bound = mosaic.panel_count_bound
    words = "Proven fewest" if bound >= len(mosaic.panels) else f"No plan can have fewer than {bound} panels"
    if mosaic.overlap_after_errors_arcmin is not None:
        words += f"; {mosaic.overlap_after_errors_arcmin:.1f} arcmin of overlap stay after all errors"
    return words + ("." if answer.final else "; a better plan is looked for…")


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
