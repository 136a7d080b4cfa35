"""`season`: one camera angle, or a few, for the targets of a season file."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from planner.exit_codes import DONE, FALLS_SHORT

from ._show import PATH, effort_option, json_option, out_option, print_json, progress_shown, say, write_out

if TYPE_CHECKING:
    from planner.answers.season import SeasonPlan
    from planner.progress import Effort

__all__ = ["season_verb"]


@click.command("season")
@click.argument("file", type=PATH)
@out_option
@json_option
@effort_option
@click.option("--dark", is_flag=True, help="Draw the chart light on dark.")
def season_verb(file: Path, *, out: Path | None, as_json: bool, effort: Effort, dark: bool) -> int:
    """Find the camera angle, or the few angles, that serve all targets of the season FILE.

    FILE (TOML) has title, plans = [plan files that share one setup] and turns_allowed, the number of times that
    the camera may be turned between targets. Only angles on the angle device's divisions within its travel are
    taken. With --out it writes season.json, season.png and, in a folder for each target, its plan.json and
    panels.csv. Exit code 1 means that a plan falls short of what was asked. Example:

    \b
    python -m planner season sample_targets/karoo_season.toml --out season
    """
    season = _planned(file, effort)
    if out:
        write_out(out, _contents(season, dark))
    if as_json:
        from planner.files.documents.season import season_document

        print_json(season_document(season))
    else:
        from .season_report import print_season

        print_season(season)
    if season.shortfalls:
        say(f"plans of the season fall short: {'; '.join(season.shortfalls)}")
    return FALLS_SHORT if season.shortfalls else DONE


def _planned(file: Path, effort: Effort) -> SeasonPlan:
    from planner.answers.season import plan_season
    from planner.files.plan_file.season import read_season_file

    request = read_season_file(file)
    changed = [one for one in request.requests if one.changed_tables]
    if changed:
        from planner.answers.plan import make_plan
        from planner.answers.settle import changed_words

        for one in changed:
            say(
                f"{one.title}: {changed_words(make_plan(one))}; a season plans anew, at the angle of these panels"
            )
    with progress_shown() as progress:
        return plan_season(request, effort=effort, progress=progress)


def _contents(season: SeasonPlan, dark: bool) -> dict[str, bytes]:
    """Every file; nothing is written before all are there."""
    from planner.draw.pictures.season_picture import season_png
    from planner.files.documents.json_text import json_bytes
    from planner.files.documents.plan import plan_document
    from planner.files.documents.season import season_document
    from planner.files.exchange.panel_tables import panels_csv_bytes

    contents = {"season.json": json_bytes(season_document(season)), "season.png": season_png(season, dark=dark)}
    for name, target in zip(_folders(season), season.targets, strict=True):
        contents[f"{name}/plan.json"] = json_bytes(plan_document(target.plan))
        contents[f"{name}/panels.csv"] = panels_csv_bytes(target.plan)
    return contents


def _folders(season: SeasonPlan) -> list[str]:
    """Folder names: those of the plan files, numbered where two are the same."""
    stems = [one.path.stem if one.path else f"target_{n}" for n, one in enumerate(season.request.requests, 1)]
    return [
        stem if stems.count(stem) == 1 else f"{stem}_{stems[: number + 1].count(stem)}"
        for number, stem in enumerate(stems)
    ]
