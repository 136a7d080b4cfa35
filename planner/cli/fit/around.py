"""`fit --around`: what else fits one frame together with a nebula."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from planner.answers.margin_words import frame_angle_text, rounded_margin, shortage
from planner.cli._show import print_fact, print_json, print_line, print_table, progress_shown, say, write_all
from planner.cli.tables.folding import KEEP
from planner.exit_codes import DONE, FALLS_SHORT
from planner.files.user_table.angle_form import position_text

if TYPE_CHECKING:
    from planner.answers.fit_around import AroundAnswer, GroupAround
    from planner.files.output import Content
    from planner.request.request import Request

__all__ = ["run_around"]

COLUMNS = (">Rank", ">Margin", ">Angle", "Centre", ">Area", "~Together with")
UNITS = "margin: arc minutes; angle: position angle, degrees; area: square degrees that the others bring in"
MOST_NAMES = 5


def run_around(
    file: Path,
    setups: tuple[Path, ...],
    name: str,
    *,
    out: Path | None,
    as_json: bool,
    dark: bool,
    save_as: Path | None,
) -> int:
    """Answer `fit --around`; exit code 1 where the nebula does not fit by itself, or nothing fits with it."""
    if len(setups) > 1:
        raise click.UsageError(f"--around is for one frame, got {len(setups)} setups; give one of them")
    answer = _answer(file, setups, name)
    contents = _contents(answer, out, dark)
    if save_as is not None and answer.groups:
        from planner.files.plan_file.fitted import group_text

        setup = setups[0] if setups else None
        contents[save_as] = group_text(file, answer.groups[0], setup, save_as.parent).encode()
    write_all(contents)
    if save_as in contents:
        say(f"wrote the plan file {save_as} of the first group")
    _show(answer, as_json=as_json)
    if answer.groups:
        return DONE
    say(_nothing(answer))
    return FALLS_SHORT


def _answer(file: Path, setups: tuple[Path, ...], name: str) -> AroundAnswer:
    from planner.answers.compare import setup_names, setup_request
    from planner.answers.fit import own_name
    from planner.answers.fit_around import fit_around
    from planner.files.plan_file.read import read_plan_file, read_setup_file

    request: Request = read_plan_file(file)
    called = own_name(request)
    if setups:
        setup = read_setup_file(setups[0])
        request, called = setup_request(request, setup), setup_names([setup])[0]
    with progress_shown() as progress:
        return fit_around(request, name, called, progress=progress)


def _contents(answer: AroundAnswer, out: Path | None, dark: bool) -> dict[Path, Content]:
    if out is None:
        return {}
    from planner.draw.pictures.fit_around import fit_around_png
    from planner.files.documents.fit_around import fit_around_document
    from planner.files.documents.json_text import json_bytes

    contents: dict[Path, Content] = {out / "fit-around.json": json_bytes(fit_around_document(answer))}
    if answer.groups:
        contents[out / "fit-around.png"] = fit_around_png(answer, dark=dark)
    return contents


def _show(answer: AroundAnswer, *, as_json: bool) -> None:
    if as_json:
        from planner.files.documents.fit_around import fit_around_document

        print_json(fit_around_document(answer))
        return
    if answer.groups:
        _print_groups(answer)
    elif answer.margin_alone_arcmin < 0:
        return  # what there is to say stands on standard error
    alone = rounded_margin(answer.margin_alone_arcmin)
    print_fact("Alone", f"{answer.name} leaves {alone} arc minutes on all sides at best")
    print_fact("Looked at", answer.looked_at_words)


def _print_groups(answer: AroundAnswer) -> None:
    rows = [_row(rank, one) for rank, one in enumerate(answer.groups, start=1)]
    title = f"{answer.name} and what fits with it: {answer.setup}, one frame of "
    print_table(
        COLUMNS, rows, title=f"{title}{answer.field.width_deg:.2f} x {answer.field.height_deg:.2f} degrees"
    )
    print_line(f"({UNITS})")
    print_line()


def _row(rank: int, one: GroupAround) -> list[str]:
    names = [member.name.replace(" ", KEEP) for member in one.members[1:]]
    more = len(names) - MOST_NAMES
    return [
        str(rank),
        rounded_margin(one.margin_arcmin),
        frame_angle_text(one.placement.position_angle_deg),
        position_text(one.placement.center_deg),
        f"{one.area_deg2:.2f}",
        ", ".join(names[:MOST_NAMES]) + (f" and {more} smaller" if more > 0 else ""),
    ]


def _nothing(answer: AroundAnswer) -> str:
    if not answer.complete:
        return "the search was ended before the first group was found"
    if answer.margin_alone_arcmin < 0:
        short, field = shortage(answer.margin_alone_arcmin), answer.field
        return (
            f"{answer.name} alone does not fit one frame of {answer.setup} ({field.width_deg:.2f} x "
            f"{field.height_deg:.2f} degrees), which is short by {short} arc minutes at a side; nothing was looked "
            "for beside it"
        )
    return f"no nebula of 5 arc minutes or more fits the frame together with {answer.name}"
