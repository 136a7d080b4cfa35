"""`fit`: how well everything fits one frame."""

from __future__ import annotations

import math
from pathlib import Path
from typing import TYPE_CHECKING

import click

from planner.exit_codes import DONE, FALLS_SHORT
from planner.progress import EFFORTS

from ._show import PATH, json_option, out_option, print_json, progress_shown, refuse_existing, say, write_all

if TYPE_CHECKING:
    from planner.answers.fit import SetupFit
    from planner.files.output import Content
    from planner.progress import Effort

__all__ = ["fit_verb"]


@click.command("fit")
@click.argument("file", type=PATH)
@click.argument("setups", metavar="[SETUP...]", type=PATH, nargs=-1)
@out_option
@json_option
@click.option(
    "--effort",
    type=click.Choice(EFFORTS),
    default="quick",
    help="Search effort of the plan where one frame is too small (default quick).",
)
@click.option(
    "--around", metavar="NAME", help="Tell what else fits the frame together with this nebula, instead."
)
@click.option("--dark", is_flag=True, help="Draw the chart light on dark.")
@click.option(
    "--save-as", type=PATH, help="Write the plan file of the best frame: largest margin of all setups."
)
def fit_verb(
    file: Path,
    setups: tuple[Path, ...],
    *,
    out: Path | None,
    as_json: bool,
    effort: Effort,
    around: str | None,
    dark: bool,
    save_as: Path | None,
) -> int:
    """Tell how well the region of the plan file FILE fits one frame.

    For the plan file's camera, or that of each SETUP (a setup file, TOML): the centre and the camera angle that
    leave the largest margin on all sides, the angles that do at all, the longest focal length that would do; where
    one frame is too small, what it cuts and how many panels do. With --out it writes fit.json and fit.png (margin
    against angle). Exit code 1 means that it fits none of them. With --around NAME the region does not count: groups
    of catalogue nebulae that fit the frame together with NAME, ranked by the area that they bring in times the
    margin that remains (fit-around.json, fit-around.png). Examples:

    \b
    python -m planner fit sample_targets/antares_dark_clouds.toml
    python -m planner fit sample_targets/vela_shell.toml \\
        sample_targets/karoo_pier.toml sample_targets/canary_pier.toml --out out
    python -m planner fit sample_targets/polar_dust.toml --around "Sh2-129"
    """
    refuse_existing(save_as)
    _check_shared(file, {"--around": around is not None, "--save-as": save_as is not None})
    if around is not None:
        from .fit.around import run_around

        return run_around(file, setups, around, out=out, as_json=as_json, dark=dark, save_as=save_as)
    fits = _fits(file, setups, effort)
    contents = _contents(fits, out, dark)
    if save_as is not None:
        contents[save_as] = _plan_file(file, setups, fits, save_as)
    write_all(contents)
    if save_as is not None:
        fitting = any(one.fit.fits for one in fits)
        say(f"wrote the plan file {save_as} of {'the best frame' if fitting else 'the panels found'}")
    _show(fits, as_json=as_json)
    if not any(one.fit.fits for one in fits):
        say(_too_large(fits))
        return FALLS_SHORT
    return DONE


def _check_shared(file: Path, given: dict[str, bool]) -> None:
    """Refuse what is about one frame alone where several instruments share the mosaic."""
    from planner.files.plan_file.shared import shares_mosaic

    if any(given.values()) and shares_mosaic(file):
        from .shared.plan import refuse_options

        refuse_options(file, given)


def _fits(file: Path, setups: tuple[Path, ...], effort: Effort) -> tuple[SetupFit, ...]:
    from planner.answers.fit import fit_setups
    from planner.files.plan_file.read import read_plan_file, read_setup_file
    from planner.files.plan_file.shared import shares_mosaic

    if shares_mosaic(file):
        from .shared.fit import shared_fits

        return shared_fits(file, setups, effort)
    request = read_plan_file(file)
    values = [read_setup_file(path) for path in setups]
    with progress_shown() as progress:
        return fit_setups(request, values, effort=effort, progress=progress)


def _contents(fits: tuple[SetupFit, ...], out: Path | None, dark: bool) -> dict[Path, Content]:
    if out is None:
        return {}
    from planner.draw.pictures.fit import fit_png
    from planner.files.documents.fit import fit_document
    from planner.files.documents.json_text import json_bytes

    return {out / "fit.json": json_bytes(fit_document(fits)), out / "fit.png": fit_png(fits, dark=dark)}


def _plan_file(file: Path, setups: tuple[Path, ...], fits: tuple[SetupFit, ...], save_as: Path) -> bytes:
    from planner.files.plan_file.fitted import fitted_text

    best = max(range(len(fits)), key=lambda number: (fits[number].fit.fits, fits[number].fit.margin_arcmin))
    return fitted_text(file, fits[best], setups[best] if setups else None, save_as.parent).encode()


def _show(fits: tuple[SetupFit, ...], *, as_json: bool) -> None:
    if as_json:
        from planner.files.documents.fit import fit_document

        print_json(fit_document(fits))
        return
    from .fit.report import print_fits

    print_fits(fits)


def _too_large(fits: tuple[SetupFit, ...]) -> str:
    from planner.answers.margin_words import shortage

    nearest = min(fits, key=lambda one: one.fit.scale)
    short = shortage(nearest.fit.margin_arcmin)
    return (
        f"it fits no single frame: the nearest is {nearest.name}, short by {short} arc minutes at a side; "
        f"it would fit at {math.floor(nearest.longest_focal_length_mm)} mm"
    )
