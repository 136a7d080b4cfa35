"""`plan` of a mosaic that several instruments share."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from planner.cli._show import print_fact, print_facts, print_json, print_line, progress_shown, write_out
from planner.cli.plan_answer import plan_files, verdict
from planner.cli.plan_extras import Output, asked_extra
from planner.cli.plan_report import picture_lines, print_plan
from planner.cli.plan_settle import write_kept
from planner.words import counted, overlap_words

if TYPE_CHECKING:
    from planner.answers.shared.shared_plan import SharedPlan
    from planner.progress import Effort
    from planner.request.shared import SharedRequest

__all__ = ["print_together", "refuse_options", "scale_lines", "shared_plan"]


def refuse_options(file: Path, given: Mapping[str, bool]) -> None:
    """Refuse options that make no sense for a mosaic that several instruments share."""
    for flag, is_given in given.items():
        if is_given:
            raise click.UsageError(
                f"{flag} is for one instrument, but the [[setup_files]] of {file} share the mosaic; "
                f"`plan {file} --out parts` writes parts/INSTRUMENT/plan.toml for each: give it one of these"
            )


def _planned(request: SharedRequest, effort: Effort) -> SharedPlan:
    from planner.answers.shared.shared_plan import make_shared_plan

    with progress_shown() as progress:
        return make_shared_plan(request, effort=effort, progress=progress)


def _kept_words(shared: SharedPlan) -> str:
    """Say how many panels of which instrument the plan file keeps."""
    counts = [f"{len(one.whole.mosaic.panels)} panels of {one.name}" for one in shared.instruments]
    return f"{', '.join(counts[:-1])} and {counts[-1]}"


def shared_plan(
    file: Path,
    output: Output,
    options: Mapping[str, Any],
    flags: Sequence[str],
    *,
    settle: bool = False,
    unsettle: bool = False,
) -> int:
    """Plan every instrument's part, write and show it, keep the panels or let them go; returns the exit code."""
    from planner.files.plan_file.shared import shared_from_text
    from planner.files.plan_file.shared_settled import settled_shared_text, unsettled_shared_text
    from planner.files.text_file import read_text

    extra = asked_extra(options)
    refuse_options(file, {**dict.fromkeys(flags, True), **({extra.flag: True} if extra else {})})
    old = read_text(file, "plan file")
    text = unsettled_shared_text(old) if unsettle else old
    shared = _planned(shared_from_text(text, path=file), output.effort)
    if settle:
        text = settled_shared_text(text, shared)
    if output.folder is not None:
        write_out(output.folder, _contents(shared, output))
    if text != old:
        write_kept(file, text, _kept_words(shared) if settle else None)
    if output.as_json:
        from planner.files.documents.shared_plan import shared_plan_document

        print_json(shared_plan_document(shared))
    else:
        _print(shared)
    return verdict(shared.shortfalls)


def _contents(shared: SharedPlan, output: Output) -> dict[str, bytes]:
    """Files of the whole, and those of each instrument in a folder of its own, its plan file among them."""
    from planner.files.documents.json_text import json_bytes
    from planner.files.documents.shared_plan import shared_plan_document
    from planner.files.plan_file.part import part_text

    contents = {"plan.json": json_bytes(shared_plan_document(shared))}
    if output.chart:
        from planner.draw.map.chart import shared_chart_png

        contents["chart.png"] = shared_chart_png(shared, dark=output.dark)
    for one, folder in zip(shared.instruments, shared.folders, strict=True):
        own = plan_files(one.plan, replace(output, also={}))
        contents |= {f"{folder}/{name}": content for name, content in own.items()}
        if output.folder is not None:
            text = part_text(one.plan, output.folder / folder)
            contents[f"{folder}/plan.toml"] = text.encode()
    return contents


def _print(shared: SharedPlan) -> None:
    for one in shared.instruments:
        print_plan(one.plan)
        print_line()
    print_together(shared)


def print_together(shared: SharedPlan) -> None:
    """Print what the instruments take and give together."""
    print_line(f"{shared.title}: together")
    for one in shared.instruments:
        many = counted(len(one.panels), "panel")
        part = "" if one.takes_all else f" of {len(one.whole.mosaic.panels)} ({', '.join(one.panels)})"
        print_fact("Shares", f"{one.name}: {many}{part}{one.through}")
    for both in shared.together:
        label = both.filter or "all"
        text = f"covers the region, {overlap_words(both.overlap_found, 'overlap at least {}')}, proven"
        if not both.covered:
            text = f"leaves {both.gap_area_deg2:.4g} square degrees uncovered"
        print_fact("Coverage", f"{label}: {text}")
    print_facts(scale_lines(shared))


def scale_lines(shared: SharedPlan) -> list[tuple[str, str]]:
    """The print at the finest scale, and how far the others are enlarged for it."""
    finest = shared.finest.whole.request.camera.scale_arcsec_px
    lines = picture_lines(shared.finest_shown)[:2]
    lines.append(("Scale", f"{finest:.3f} arc seconds a pixel, the finest: that of {shared.finest.name}"))
    for one in shared.instruments:
        scale = one.whole.request.camera.scale_arcsec_px
        if scale > finest * (1 + 1e-9):
            lines.append(
                ("", f"{one.name}: {scale:.3f} arc seconds a pixel, enlarged {scale / finest:.2f} times")
            )
    return lines
