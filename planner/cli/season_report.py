"""A season on screen: its angles with their readings, its targets, the totals and the notes."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.rig.cautions import cautions_for
from planner.words import overlap_words

from ._show import print_fact, print_facts, print_line, print_table

if TYPE_CHECKING:
    from planner.answers.season import SeasonAngle, SeasonPlan

__all__ = ["print_season"]


def print_season(season: SeasonPlan) -> None:
    """Print a season on standard output."""
    _print_angles(season)
    print_line()
    _print_targets(season)
    print_line()
    print_facts(_facts(season))
    for note in season.notes:
        print_fact("Note", note)
    first = season.request.requests[0]
    for caution in cautions_for(first.angle_device, first.mount):
        print_fact("Caution", caution)


def _print_angles(season: SeasonPlan) -> None:
    has_readings = season.angles[0].reading_deg is not None
    columns = [
        ">Position angle",
        *([">Reading"] if has_readings else []),
        ">Panels",
        "~Targets, in this order",
    ]
    print_table(columns, [_angle_row(season, angle) for angle in season.angles], title=season.request.title)


def _angle_row(season: SeasonPlan, angle: SeasonAngle) -> list[str]:
    reading = [] if angle.reading_deg is None else [f"{angle.reading_deg:.2f}"]
    targets = [season.targets[target] for target in angle.targets]
    panels = sum(target.panels for target in targets)
    names = ", ".join(target.title for target in targets)
    return [f"{angle.position_angle_deg:.2f}", *reading, str(panels), names]


def _print_targets(season: SeasonPlan) -> None:
    angle_of = {target: angle for angle in season.angles for target in angle.targets}
    dated = any(target.last_evening for target in season.targets)
    columns = ["~Target", ">Position angle", ">Panels", ">Overlap", ">At its own best", ">which is at"]
    rows = []
    for number, target in enumerate(season.targets):
        row = [
            target.title,
            f"{angle_of[number].position_angle_deg:.2f}",
            str(target.panels),
            overlap_words(target.plan.mosaic.overlap_found),
            str(target.panels_at_own_best_angle),
            f"{target.own_best_angle_deg:.2f}",
        ]
        rows.append([*row, *([str(target.last_evening or "")] if dated else [])])
    print_table([*columns, *(["Last evening"] if dated else [])], rows)


def _facts(season: SeasonPlan) -> list[tuple[str, str]]:
    total, free, turns = season.panels_total, season.panels_total_free, season.turns
    price = total - free
    facts = [
        ("Panels", f"{total} in all, with {turns} {_plural('turn', turns)} of the camera; {_proven(season)}"),
        (
            "Own angles",
            f"{free} in all, if the camera were turned for each target: {price} {_plural('panel', price)} fewer",
        ),
    ]
    if any(target.promised for target in season.targets):
        facts.append(("  in rows", _promised(season)))
    if season.angles[0].reading_deg is not None:
        turn = "half" if season.settable.period_deg == 180.0 else "quarter"
        facts.append(
            ("Reading", f"a {turn} turn more or less covers the same ground; choose which way is up")
        )
    if turns:
        facts.append(("Turning", "`angle` gives the steps for each turn"))
    angles = ", ".join(f"{angle.position_angle_deg:.10g}" for angle in season.angles)
    shared = "; of a plan that is shared in the [[setup_files]] of this instrument" * _any_shared(season)
    facts.append(
        ("Go on", f"set position_angle_deg = {angles} in [mosaic] of the plan files that go with it{shared}")
    )
    return facts


def _promised(season: SeasonPlan) -> str:
    """Say where rows come to fewer panels than anything that has been planned."""
    found = ", ".join(
        f"{target.title} {target.promised[0]} at {target.promised[1]:.2f}"
        for target in season.targets
        if target.promised
    )
    return f"fewer as an estimate, where nothing has been planned: {found}; a greater --effort plans more angles"


def _any_shared(season: SeasonPlan) -> bool:
    from planner.files.plan_file.shared import shares_mosaic

    return any(one.path is not None and shares_mosaic(one.path) for one in season.request.requests)


def _proven(season: SeasonPlan) -> str:
    bound = season.panels_total_bound
    if season.panels_total <= bound:
        return "proven fewest"
    angles = season.request.turns_allowed + 1
    at = "one angle" if angles == 1 else f"{angles} angles"
    return f"no plan can have fewer than {bound} with {at}"


def _plural(noun: str, count: int) -> str:
    return noun if count == 1 else f"{noun}s"
