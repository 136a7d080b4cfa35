"""Further things that `plan` does when an option asks for it, each in a module of its own.

An extra is an option and a function that runs instead of the usual plan:
``run(request, value, output) -> exit code``, with the option's value and where the answer goes. The function
is imported only when its option is given.
"""

from __future__ import annotations

import importlib
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from planner.errors import InputError

from ._show import PATH, Command, say, write_all

if TYPE_CHECKING:
    from planner.files.output import Content
    from planner.progress import Effort
    from planner.request.request import Request

__all__ = ["EXTRAS", "Output", "PlanExtra", "asked_extra", "extra_options", "run_extra"]


@dataclass(frozen=True)
class Output:
    """Where an answer goes.

    Parameters
    ----------
    folder : Path or None
        Where files are written; None: nowhere.
    as_json : bool
        Whether standard output carries the machine form.
    effort : {'quick', 'usual', 'thorough'}
    dark : bool
        Whether charts are dark.
    chart : bool
        Whether a chart is drawn.
    also : mapping
        Further files to write, by path.
    """

    folder: Path | None
    as_json: bool
    effort: Effort
    dark: bool
    chart: bool
    also: Mapping[Path, bytes] = field(default_factory=dict, repr=False)

    def write(self, contents: Mapping[str, Content]) -> None:
        """Write files into the folder, if there is one, and what is to be written beside; tell of the latter."""
        inside = {} if self.folder is None else {self.folder / name: what for name, what in contents.items()}
        write_all({**self.also, **inside})
        for path in self.also:
            say(f"wrote the plan file {path}")


@dataclass(frozen=True)
class PlanExtra:
    """An option of `plan` and what runs for it.

    Parameters
    ----------
    flag : str
        Such as ``--which-angle``.
    about : str
        For the help.
    runner : str
        ``module:function``.
    kind : click type or None
        Of the option's value; None for a flag without a value.
    """

    flag: str
    about: str
    runner: str
    kind: click.ParamType[Any] | None = None

    @property
    def parameter(self) -> str:
        """The name under which click hands the value over."""
        return "extra_" + self.flag.strip("-").replace("-", "_")


EXTRAS: tuple[PlanExtra, ...] = (
    PlanExtra(
        "--from-table",
        "Prove the centres and angles of this table (ECSV, VOTable, CSV, plan.json) instead of planning.",
        "planner.cli.plan_answer:run_from_table",
        PATH,
    ),
    PlanExtra(
        "--which-angle",
        "Compare camera angles in steps of a degree instead: panels and guaranteed overlap at each.",
        "planner.cli.plan_which_angle:run",
    ),
    PlanExtra(
        "--how-many-angles",
        "Compare 1, 2, 3, 4 camera angles in one mosaic, and one for each panel, instead: panels of each.",
        "planner.cli.plan_how_many_angles:run",
    ),
)


def extra_options(command: Command) -> Command:
    """Add the options of all extras."""
    for extra in reversed(EXTRAS):
        flag = {"is_flag": True} if extra.kind is None else {"type": extra.kind}
        command = click.option(extra.flag, extra.parameter, help=extra.about, **flag)(command)
    return command


def asked_extra(values: Mapping[str, Any]) -> PlanExtra | None:
    """Return the extra that was asked for, if any.

    Raises
    ------
    InputError
        If more than one was.
    """
    asked = [extra for extra in EXTRAS if values.get(extra.parameter)]
    if len(asked) > 1:
        raise InputError(
            f"{' and '.join(extra.flag for extra in asked)} exclude each other; give one of them"
        )
    return asked[0] if asked else None


def run_extra(extra: PlanExtra, request: Request, values: Mapping[str, Any], output: Output) -> int:
    """Import the extra's function and run it; returns the exit code."""
    module, name = extra.runner.split(":")
    run = getattr(importlib.import_module(module), name)
    return int(run(request, values[extra.parameter], output))
