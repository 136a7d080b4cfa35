"""`planner angle`: what to set on the angle device, before and after a solved frame."""

from __future__ import annotations

from typing import Any

import click

from planner.errors import InputError

from ._show import PATH, effort_option, json_option, out_option
from .angle.run import AngleOptions, run_angle

__all__ = ["angle_verb"]


@click.command("angle")
@click.argument("file", type=PATH)
@click.option(
    "--frame",
    "frames",
    type=PATH,
    multiple=True,
    metavar="FITS",
    help="Frame, solved or not, or the solution file of one; may repeat.",
)
@click.option(
    "--reading",
    "readings",
    type=float,
    multiple=True,
    help="Reading of the scale at that frame, degrees, within the travel, such as 0 to 360.",
)
@click.option(
    "--looking",
    type=click.Choice(["east", "west"]),
    multiple=True,
    help="Side to which the telescope of a German mount looked: east before its flip, west after it "
    "(default west); once for all frames or once for each. For a rectangle only the picture's up "
    "depends on it.",
)
@click.option("--solve/--no-solve", default=True, help="Solve frames without a plate solution (default).")
@click.option("--match", type=PATH, metavar="FITS", help="Match this earlier, plate-solved picture.")
@click.option(
    "--measured-focal-length", is_flag=True, help="Plan with the focal length that the last frame shows."
)
@click.option(
    "--save",
    is_flag=True,
    help="Store the calibration in the plan file, or in its setup file if the table stands there.",
)
@click.option("--sheet", type=PATH, metavar="PDF", help="Write the one-page sheet for the helper on site.")
@click.option(
    "--instrument",
    metavar="NAME",
    help="Which of the instruments that share the mosaic: its name, or that of its setup file.",
)
@effort_option
@out_option
@json_option
def angle_verb(**options: Any) -> int:
    """Tell what to set on the angle device for the plan FILE.

    A solved frame and the reading it was taken at calibrate the scale: one gives its zero, two its sense,
    more show the scatter. Examples:

    \b
    python -m planner angle sample_targets/vela_shell.toml
    python -m planner angle plan.toml --frame test.fits --reading 17.5 --sheet turn.pdf
    python -m planner angle sample_targets/antares_shared.toml --instrument canary_pier
    """  # noqa: D301 - click reads the escape
    from planner.answers.plan import make_plan
    from planner.files.plan_file.read import read_plan_file
    from planner.files.plan_file.shared import shares_mosaic

    asked = AngleOptions(**options)
    asked.check()
    if shares_mosaic(asked.file):
        from .shared.angle import shared_angle

        return shared_angle(asked)
    if asked.instrument is not None:
        raise InputError(
            f"--instrument is for plan files with [[setup_files]], got {asked.file.name} of one; leave it out"
        )
    request = read_plan_file(asked.file)
    return run_angle(asked, request, lambda one, told: make_plan(one, effort=asked.effort, progress=told))
