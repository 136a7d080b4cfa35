"""The proof of coverage in a word and a number, and the better plan when it comes."""

from __future__ import annotations

from typing import TYPE_CHECKING

import streamlit as st

from planner.answers.grow import kept_count, kept_words
from planner.answers.picture_shares import picture_shares
from planner.answers.plan_notes import PROVEN_FEWEST
from planner.guide.entries import word_entries
from planner.session.plans import Answer
from planner.words import counted, overlap_words

from .settling.changed_part import changed_part
from .settling.settle_part import settle_now_button
from .state import desk, in_place, kept, session, tab

if TYPE_CHECKING:
    from planner.answers.plan import Plan
    from planner.request.request import Request

__all__ = ["proof_part", "wait_for_better", "wait_for_others"]

LOOK_EVERY_S = 0.7


def proof_part(answer: Answer | None) -> None:
    """Show how many panels there are and what has been proven of them."""
    if answer is None:
        return
    plan, mosaic = answer.plan, answer.plan.mosaic
    with st.container(key="proof"):
        st.markdown(
            f"### {counted(len(mosaic.panels), 'panel')}  {_verdict(plan)}{_filled(plan)}",
            help=word_entries("panel", "overlap", "proven"),
        )
    st.caption(_bound_words(answer), help=word_entries("bound"))
    if plan.shortfalls and not plan.request.changed_tables:  # told with the change where there was one
        st.warning("  \n".join(plan.shortfalls))
    said = (*plan.shortfalls, PROVEN_FEWEST, *(f"[{name}] " for name in plan.request.changed_tables[:1]))
    others = [note for note in plan.notes if not note.startswith(said)]
    if others:
        with st.expander(f"Notes ({len(others)})", key="notes_expander"):
            st.markdown("\n".join(f"- {note}" for note in others))


def _verdict(plan: Plan) -> str:
    mosaic = plan.mosaic
    if not mosaic.covered:
        return f":red-badge[gap of {mosaic.gap_area_deg2:.2g} square degrees]"
    if plan.shortfalls:
        return ":orange-badge[covered, but falls short]"
    return f":green-badge[covered, {overlap_words(mosaic.overlap_found, 'overlap {}')}]"


def _filled(plan: Plan) -> str:
    """Say which share of the picture the panels fill, where it is not all of it."""
    shares = kept("shares", plan, lambda: picture_shares(plan.mosaic, plan.picture))
    share = min(99, round(100 * shares.filled))
    return "" if shares.filled > 1 - 1e-8 else f" :gray-badge[{share} % of the picture filled]"


def _bound_words(answer: Answer) -> str:
    """Say what is known of the count, how far the plan forgives errors, and whether a better one may come."""
    mosaic = answer.plan.mosaic
    kept = kept_count(mosaic)
    words = [f"{kept} kept, {len(mosaic.panels) - kept} added"] if kept else []
    if answer.stage == "rows":
        words.append("in rows, before the search")
    elif kept:
        words.append(kept_words(mosaic))
    elif mosaic.panel_count_bound >= len(mosaic.panels):
        words.append(PROVEN_FEWEST)
    elif answer.plan.request.changed_tables:
        words.append(f"no plan for what is asked now can have fewer than {mosaic.panel_count_bound}")
    else:
        words.append(f"no plan can have fewer than {mosaic.panel_count_bound}")
    if mosaic.overlap_after_errors_arcmin is not None and len(mosaic.panels) > 1:
        words.append(
            f"{int(mosaic.overlap_after_errors_arcmin * 10) / 10:.1f} arc minutes of overlap after all errors"
        )
    return " · ".join(words)


def wait_for_better(answer: Answer | None, meanwhile: str = "") -> None:
    """Have the search's plans made behind, and show them when they are there; tell what settled panels fall short of.

    Parameters
    ----------
    answer : Answer, optional
        What is shown now.
    meanwhile : str
        What to mind until then.
    """
    with in_place():
        if answer is None:
            return
        changed_part(answer.plan)
        if answer.final:
            return
        desk().improve(session().request)
        _look_again(answer.stage, meanwhile)


def wait_for_others(answer: Answer | None) -> None:
    """Have the plans of the instruments beside made behind, once that of the chosen one is there."""
    with in_place():
        if answer is None or not answer.final:
            return
        for request in tab().beside():
            if desk().stage(request) != "usual":
                desk().improve(request)
                _look_beside(request, desk().stage(request))
                return


def _beside(request: Request, shown: str | None) -> None:
    if desk().stage(request) != shown:
        st.rerun()
    name = request.title.rpartition(", ")[2]
    st.caption(f"Searching for fewer panels of {name}{_share_done()}")


def _share_done() -> str:
    """How far the search is; what it tries now is no count to be read beside that of the panels shown."""
    what, share = desk().progress
    return f": {share:.0%} done" if what else "…"


_look_beside = st.fragment(run_every=LOOK_EVERY_S)(_beside)


def _look(shown: str, meanwhile: str) -> None:
    now = session()
    if desk().stage(now.request) not in (None, shown):
        now.said = "The search has found a plan."
        st.rerun()
    told = f"Searching for fewer panels{_share_done()}"
    if meanwhile:
        with st.container(horizontal=True, vertical_alignment="center", gap="small", key="not_settled"):
            words = f"{told}  \nNot settled: the panels may still change; {meanwhile}."
            st.warning(words, width="stretch")
            settle_now_button()
    else:
        st.caption(told)


_look_again = st.fragment(run_every=LOOK_EVERY_S)(_look)
