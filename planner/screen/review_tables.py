"""What a review came to: verdicts, coverage, depth, drift, what to shoot again."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import streamlit as st

from planner.answers.flats import RULE
from planner.errors import PlannerError
from planner.frames.review.match import VERDICT_WORDS
from planner.guide.entries import word_entries
from planner.rig.flats import FLAT_ANGLE_DEG
from planner.words import overlap_words

from .cautions_part import cautions_part
from .preview_part import preview_part
from .progress.progress_part import progress_part
from .reviewed import Reviewed, counted_columns
from .state import download, in_place, kept, session, tab
from .table_view import show_table
from .tabs import open_parts

if TYPE_CHECKING:
    from planner.answers.plan import Plan
    from planner.frames.review.flats import FlatCount
    from planner.frames.review.review import FrameResult, Review

__all__ = ["show_review"]

AGAIN_PX = {"Panel": 56, "Filter": 54, "Exposures": 78}
FRAME_PX = {"File": 168, "Verdict": 84, "Panel": 56, "Filter": 54}
FLAT_PX = {"Camera angle (deg)": 132, "Filter": 54, "Flats": 52, "State": 124}
PANEL_PX = {"Panel": 56, "Filter": 54, "Good exposures": 112, "Exposures wanted": 124}
"""Columns that matter."""


def show_review(found: Reviewed) -> None:
    """Show a review."""
    with in_place():
        _headline(found.review)
        for sentence in _warnings(found.review):
            st.warning(sentence)
    open_parts(
        "review_tabs",
        {
            "Shoot again": lambda: _again(found.plan, found.review),
            "Progress": lambda: progress_part(found),
            "Frames": lambda: _frames(found),
            "Depth and preview": lambda: _depth_and_preview(found),
            "Angle": lambda: _drift(found.plan, found.review, found.angle_limit_deg),
            "Flats": lambda: _flats(found.review),
        },
    )


def _warnings(review: Review) -> Iterator[str]:
    if review.made_up_words:
        yield f"{review.made_up_words}. Turn nothing and shoot nothing on their word."
    if review.elsewhere_words:
        yield f"{review.elsewhere_words}."
    if review.filter_words:
        yield f"Filters {review.filter_words}."
    yield from map(tab().uploads.named, review.unread_folders)


def _frames(found: Reviewed) -> None:
    show_table(
        _frame_rows(found.folder, found.frames),
        empty="No frames were found in this folder.",
        decimals={"Exposure (s)": 1, "Off the centre (arcmin)": 2, "Turned (deg)": 2},
        first_px=FRAME_PX,
        wraps_px={"Why": 280},
    )
    if found.review.frame_count == len(found.frames):
        download("For programs (review.json)", lambda: found.document, "review.json", "application/json")
    else:
        st.caption(
            f"The first {len(found.frames)} of {found.review.frame_count} frames; the command line writes all."
        )


def _flats(review: Review) -> None:
    rows = [_flat_row(one, "there") for one in review.flats] + [
        _flat_row(one, f"missing, for {one.frames} good frame{'' if one.frames == 1 else 's'}")
        for one in review.flats_missing
    ]
    empty = "No flats were found, and no good frame needs any yet."
    show_table(rows, empty=empty, decimals={"Camera angle (deg)": 2}, first_px=FLAT_PX)
    st.caption(f"{RULE} Frames whose angles differ by less than {FLAT_ANGLE_DEG:g} degree share them.")


def _flat_row(count: FlatCount, state: str) -> dict[str, Any]:
    return {
        "Camera angle (deg)": count.position_angle_deg,
        "Filter": count.filter or "",
        "Flats": count.frames if state == "there" else 0,
        "State": state,
    }


def _depth_and_preview(found: Reviewed) -> None:
    st.image(kept("depth", found.review, lambda: _depth(found.plan, found.review)))
    preview_part(found)
    show_table(
        _panel_rows(found.review),
        empty="No panel has frames.",
        decimals={"Exposure (h)": 2, "At a dark sky (h)": 2},
        first_px=PANEL_PX,
    )
    if found.review.moonlight_untold:
        st.caption(
            f"Good frames not counted at a dark sky: {found.review.moonlight_untold}. They have no date, or their "
            "place was below the horizon then."
        )


def _headline(review: Review) -> None:
    counts = ", ".join(
        f"{review.verdicts[name]} {words}" for name, words in VERDICT_WORDS.items() if name in review.verdicts
    )
    st.markdown(f"### {counts or 'No frames found'}", help=word_entries("depth", "proven"))
    coverage = review.coverage
    if coverage.covered:
        overlap = overlap_words(coverage.overlap_found, "an overlap of at least {}")
        st.markdown(f":green-badge[good frames cover the region] with {overlap}")
    else:
        st.markdown(f":red-badge[{coverage.gap.area_deg2:.3g} square degrees are not covered by good frames]")
    gaps = [
        f"{name}: {gap:.3g} square degrees open" for name, gap in review.uncovered_deg2.items() if gap > 0
    ]
    if gaps:
        st.caption("; ".join(gaps))


def _again(plan: Plan, review: Review) -> None:
    if not review.reshoot:
        st.success("Nothing needs to be shot again.")
        return
    rows = [
        {"Panel": row.panel, "Filter": row.filter or "", "Exposures": row.exposures, "Why": row.reason}
        for row in review.reshoot
    ]
    show_table(rows, empty="", first_px=AGAIN_PX, wraps_px={"Why": 480})
    now = session()
    try:
        present = now.history.present
        text = kept("reshoot", (review, present), lambda: _reshoot_text(plan, review, present))
    except PlannerError as error:
        st.error(str(error))
        return
    st.download_button(
        "Plan file of what is missing",
        text,
        f"{now.path.stem}_again.toml",
        "application/toml",
        key="reshoot",
        on_click="ignore",
    )
    cautions_part(plan.request, turns=False)


def _reshoot_text(plan: Plan, review: Review, text: str) -> str:
    """Return the plan file of what is missing, made from the present text, saved or not."""
    from planner.files.plan_file.reshoot import reshoot_text

    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder) / "plan.toml"
        copy.write_text(text, encoding="utf-8")
        home = session().path.parent
        request, made_up = replace(plan.request, path=copy), review.made_up > 0
        return reshoot_text(request, plan.mosaic, review.reshoot, home, made_up=made_up, shots=review.shots)


def _frame_rows(folder: Path, frames: Sequence[FrameResult]) -> list[dict[str, Any]]:
    return [
        {
            "File": one.path.relative_to(folder).as_posix()
            if one.path.is_relative_to(folder)
            else one.path.name,
            "Verdict": VERDICT_WORDS[one.verdict],
            "Panel": one.panel or (f"of {one.aimed_at}" if one.aimed_at else ""),
            "Filter": one.filter or "",
            "Exposure (s)": one.exposure_s,
            "Off the centre (arcmin)": None if one.offset_arcmin is None else round(one.offset_arcmin, 2),
            "Turned (deg)": None if one.angle_off_deg is None else round(one.angle_off_deg, 2),
            "Why": one.reason,
        }
        for one in frames
    ]


def _panel_rows(review: Review) -> list[dict[str, Any]]:
    return [
        {
            **counted_columns(row),
            "Exposure (h)": round(row.seconds / 3600, 2),
            **(
                {}
                if row.dark_sky_seconds is None
                else {"At a dark sky (h)": round(row.dark_sky_seconds / 3600, 2)}
            ),
        }
        for row in review.panels
    ]


def _depth(plan: Plan, review: Review) -> bytes:
    from planner.draw.pictures.depth_map import depth_png

    return depth_png(review.depth, plan.mosaic, f"{plan.request.title}: depth", across=2)


def _drift(plan: Plan, review: Review, limit_deg: float) -> None:
    from planner.answers.turn_back import angle_change_lines, present_words, turn_back_lines

    drift = review.drift
    if drift.turn_back_deg is None:
        st.caption("No frame with a plate solution and a date.")
        return
    changes = angle_change_lines(plan, drift)
    if changes:
        st.warning("\n".join(f"- {line}" for line in changes))
    st.markdown(f"The angle is **{present_words(plan, drift)}**.")
    lines = turn_back_lines(plan, drift)
    if lines:
        st.markdown("\n".join(f"{number}. {line}" for number, line in enumerate(lines, start=1)))
        cautions_part(plan.request)
    st.image(kept("drift", review, lambda: _drift_png(plan, review, limit_deg)))


def _drift_png(plan: Plan, review: Review, limit_deg: float) -> bytes:
    from planner.draw.pictures.drift_picture import drift_png

    title, device = f"{plan.request.title}: camera angle", plan.request.angle_device
    return drift_png(review.drift, title, limit_deg=limit_deg, device=device)
