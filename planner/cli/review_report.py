"""A review on screen: verdicts, panels, coverage, depth, drift, what to shoot again, prints."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from planner.frames.review.match import VERDICT_WORDS
from planner.frames.review.tally import exposures_words, frames_words, label_of
from planner.rig.flats import flat_words
from planner.words import counted, overlap_words

from ._show import print_fact, print_facts, print_left_out, print_line, print_table

if TYPE_CHECKING:
    from planner.answers.plan import Plan
    from planner.frames.review.drift import Drift, PointingDrift
    from planner.frames.review.flats import FlatCount
    from planner.frames.review.limits import Limits
    from planner.frames.review.review import FrameResult, Review

__all__ = [
    "Faulty",
    "angle_lines",
    "flat_lines",
    "good_line",
    "print_faulty",
    "print_panels",
    "print_reshoot",
    "print_review",
    "review_lines",
    "shortfall",
]

MOST_NAMED = 20
"""Frames and panels named on screen; files hold all."""


@dataclass
class Faulty:
    """Frames that are not good: the first of them, and how many there are."""

    folder: Path
    first: list[FrameResult] = field(default_factory=list)
    count: int = 0

    def add(self, frame: FrameResult) -> None:
        """Count a frame, and keep it if it is one of the first."""
        self.count += 1
        if len(self.first) < MOST_NAMED:
            self.first.append(frame)


def print_review(plan: Plan, review: Review, faulty: Faulty, limits: Limits) -> None:
    """Print a review on standard output.

    Parameters
    ----------
    plan : Plan
    review : Review
    faulty : Faulty
    limits : Limits
        Of a good frame.
    """
    print_panels(plan.request.title, review)
    print_faulty(faulty)
    print_line()
    facts = [
        *review_lines(review, [good_line(limits)]),
        *angle_lines(plan, review.drift),
        *flat_lines(review),
    ]
    print_facts([*facts, *_prints(plan)])
    print_reshoot(review)
    _print_cautions(plan, review)


def print_panels(title: str, review: Review) -> None:
    """Print the table of panels and filters."""
    rows = [
        [
            row.label,
            row.filter or "-",
            exposures_words(row.worth, row.wanted),
            frames_words(row.exposures, row.stacks),
            f"{row.seconds / 3600:.2f}",
            *([] if row.dark_sky_seconds is None else [f"{row.dark_sky_seconds / 3600:.2f}"]),
        ]
        for row in review.panels[: 10 * MOST_NAMED]
    ]
    columns = ["Panel", "Filter", ">Good exposures", ">Good frames", ">Hours"]
    columns += [] if review.moonlight_untold is None else [">At a dark sky"]
    print_table(columns, rows, keys=2, title=f"{title}: {counted(review.frame_count, 'frame')}")
    print_left_out(len(review.panels) - len(rows))


def print_faulty(faulty: Faulty) -> None:
    """Print the first frames that do not count, and why."""
    if not faulty.count:
        return
    print_line()
    print_line("Frames that do not count:")
    for frame in faulty.first:
        aim = label_of(frame.instrument, frame.aimed_at) if frame.aimed_at else ""
        panel = f" ({frame.label})" if frame.panel else f" (of {aim})" if aim else ""
        name = frame.path.relative_to(faulty.folder).as_posix().encode("utf-8", "replace").decode()
        print_line(f"  {name}{panel}: {VERDICT_WORDS[frame.verdict]}: {frame.reason}", indent=4)
    if faulty.count > len(faulty.first):
        print_line(f"  ... and {faulty.count - len(faulty.first)} more; --out writes them all")


def review_lines(review: Review, good: Sequence[str]) -> list[tuple[str, str]]:
    """Return what frames come to but for their angle, each line behind its label.

    Parameters
    ----------
    review : Review
    good : sequence of str
        What a good frame is, a line each.
    """
    counts = [f"{count} {VERDICT_WORDS[name]}" for name, count in sorted(review.verdicts.items(), key=_rank)]
    facts = [
        *([("Made up", review.made_up_words)] if review.made_up_words else []),
        ("Frames", ", ".join(counts) or "none found"),
        *([("Elsewhere", review.elsewhere_words)] if review.elsewhere_words else []),
        *([("Filters", review.filter_words)] if review.filter_words else []),
        *(("Good means", text) for text in good),
        ("Coverage", _coverage(review)),
    ]
    for name, gap in review.uncovered_deg2.items():
        text = "covers the region" if gap == 0.0 else f"leaves {gap:.4g} square degrees uncovered"
        facts.append((f"  {name}", text))
    return [*facts, *_depth(review), *_dark_sky(review)]


def good_line(limits: Limits) -> str:
    """Say what a good frame is."""
    return (
        f"within {limits.offset_arcmin:.1f} arc minutes of its panel, {limits.angle_deg:.1f} degrees and "
        f"{limits.scale_percent:g} per cent of scale"
    )


def _rank(item: tuple[str, int]) -> int:
    return list(VERDICT_WORDS).index(item[0])


def _coverage(review: Review) -> str:
    coverage = review.coverage
    if not coverage.covered:
        return f"good frames leave {coverage.gap.area_deg2:.4g} square degrees uncovered"
    found = overlap_words(coverage.overlap_found, "overlap at least {} of each side")
    return f"good frames cover the region, {found}, proven"


def _depth(review: Review) -> list[tuple[str, str]]:
    depth = review.depth
    if not review.verdicts.get("good"):
        return [("Least depth", "none: no frame is good")]
    facts: list[tuple[str, str]] = []
    at_least = "" if depth.exact else "at least "
    for name in (None, *depth.filters):
        least = depth.least(name)
        where = f"near [{least.ra_deg:.3f}, {least.dec_deg:.3f}]"
        text = f"{at_least}{least.seconds / 3600:.2f} h {where}, on {least.area_deg2:.3g} square degrees"
        facts.append(("Least depth", f"{text}, all filters") if name is None else (f"  {name}", text))
    return facts


def _dark_sky(review: Review) -> list[tuple[str, str]]:
    """Tell the least depth in hours at a dark sky, all filters together and each."""
    depth, untold = review.depth.dark_sky, review.moonlight_untold
    if depth is None or not review.verdicts.get("good"):
        return []
    parts = [f"{name} {depth.least(name).seconds / 3600:.2f} h" for name in depth.filters]
    text = f"{depth.least().seconds / 3600:.2f} h, all filters ({', '.join(parts)})"
    facts = [("At dark sky", f"least depth {text}: moonlight makes an hour worth less")]
    if untold:
        frames = counted(untold, "good frame")
        facts.append(("", f"{frames} not in it: no date, or the place was below the horizon then"))
    return facts


def angle_lines(plan: Plan, drift: Drift) -> list[tuple[str, str]]:
    """Tell when the angle changed, the turn that brings it back, how it is made, then each side by itself."""
    from planner.answers.turn_back import angle_change_lines, present_words, turn_back_lines

    if drift.turn_back_deg is None:
        return [("Angle", present_words(plan, drift))]
    lines = [*angle_change_lines(plan, drift), present_words(plan, drift), *turn_back_lines(plan, drift)]
    states = [(f"  {state.state}", _state_words(state, drift)) for state in drift.states]
    return [("" if number else "Angle", line) for number, line in enumerate(lines)] + states


def _state_words(state: PointingDrift, drift: Drift) -> str:
    when = "now" if state in drift.latest else "when frames stood so last"
    return f"{state.now_deg:+.2f} degrees off {when}{_rate(state.rate_deg_per_month)}"


def flat_lines(review: Review) -> list[tuple[str, str]]:
    """Tell which flats are there, and which good frames lack them."""
    there = [f"{flat_words(_named(one), one.position_angle_deg)}: {one.frames}" for one in review.flats]
    missing = [
        f"{flat_words(_named(one), one.position_angle_deg)} missing, which {counted(one.frames, 'good frame')} "
        f"need{'s' * (one.frames == 1)}"
        for one in review.flats_missing
    ]
    lines = [*there, *missing][: 2 * MOST_NAMED] or ["none found"]
    return [("" if number else "Flats", line) for number, line in enumerate(lines)]


def _named(count: FlatCount) -> list[str]:
    return [count.filter] if count.filter else []


def _rate(rate: float | None) -> str:
    return "" if rate is None else f", {rate:+.2f} degrees a month"


def _prints(plan: Plan) -> list[tuple[str, str]]:
    """Largest prints of the picture, and the detail that the site's seeing leaves in them."""
    from planner.rig.print_detail import largest_prints, seeing_detail_mm

    scale = plan.request.camera.scale_arcsec_px
    seeing = next((site.seeing_arcsec for site in plan.request.sites if site.seeing_arcsec), None)
    facts: list[tuple[str, str]] = []
    for one in largest_prints(plan.picture.pixels):
        text = f"{one.width_cm:.0f} x {one.height_cm:.0f} cm at {one.ppi:g} pixels an inch"
        text += f", fills {one.sheet}" if one.sheet else ", below A5"
        if seeing:
            text += (
                f"; seeing of {seeing:g} arc seconds blurs {seeing_detail_mm(seeing, scale, one.ppi):.2f} mm"
            )
        facts.append(("Print" if not facts else "", text))
    return facts


def print_reshoot(review: Review) -> None:
    """Print what is to be shot again."""
    if not review.reshoot:
        print_fact("Shoot again", "nothing")
        return
    print_line()
    rows = [
        [row.label, row.filter or "-", "" if row.exposures is None else str(row.exposures), row.reason]
        for row in review.reshoot[: 2 * MOST_NAMED]
    ]
    print_table(["Panel", "Filter", ">Exposures", "~Why"], rows, keys=2, title="To shoot again")
    print_left_out(len(review.reshoot) - len(rows))


def _print_cautions(plan: Plan, review: Review) -> None:
    """Print what to mind, where the camera has to be turned or the mount has to go back."""
    from planner.answers.turn_back import turn_back_lines
    from planner.rig.cautions import MADE_UP_CAUTION, cautions_for

    turns = bool(turn_back_lines(plan, review.drift))
    if turns or review.reshoot:
        print_line()
        if review.made_up_words:
            print_fact("Caution", MADE_UP_CAUTION)
        for caution in cautions_for(plan.request.angle_device, plan.request.mount, turns=turns):
            print_fact("Caution", caution)


def shortfall(review: Review) -> str | None:
    """Say in one sentence where the frames fall short of the plan; None if they do not."""
    parts = []
    if not review.coverage.covered:
        parts.append(
            f"good frames leave {review.coverage.gap.area_deg2:.4g} square degrees of the region uncovered"
        )
    if review.reshoot:
        panels = len({row.label for row in review.reshoot})
        parts.append(f"{counted(panels, 'panel')} must be shot again")
    return "; ".join(parts) or None
