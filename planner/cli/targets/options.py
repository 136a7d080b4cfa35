"""Options of `targets`, as values."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import click

from planner.cli._show import Command
from planner.cli.given.kinds import DATE
from planner.errors import InputError
from planner.rig.turn import check_reading

if TYPE_CHECKING:
    from planner.answers.targets.wish import Rank, TargetWish
    from planner.night.settings import Nights
    from planner.request.request import Setup

__all__ = ["Given", "nights_of", "target_options", "wish_of"]

SPAN = (float, float)
OPTIONS = (
    click.option("--first", type=DATE, metavar="DATE", help="First evening of the season, YYYY-MM-DD."),
    click.option("--last", type=DATE, metavar="DATE", help="Last evening of the season, YYYY-MM-DD."),
    click.option(
        "--margin",
        type=float,
        default=0.05,
        help="Margin wanted at all sides, share of the frame's short side, 0 to 0.45 (default 0.05).",
    ),
    click.option(
        "--angle",
        type=float,
        metavar="DEGREES",
        help="The camera's present position angle, -360 to 360, degrees.",
    ),
    click.option(
        "--reading",
        type=float,
        metavar="READING",
        help="The angle device's present reading, -1080 to 1080 degrees.",
    ),
    click.option(
        "--by",
        type=click.Choice(["area", "margin", "time", "cost"]),
        default="area",
        help="What the first ones have most of, or cost least (default area).",
    ),
    click.option(
        "--panels",
        type=int,
        default=1,
        metavar="N",
        help="Mosaics of at most N panels too, 1 to 100 (default 1).",
    ),
    click.option("--kind", "kinds", multiple=True, help="Only this kind of nebulae; may be given again."),
    click.option(
        "--constellation",
        "constellations",
        multiple=True,
        help="Only this one, by name or three letters; again.",
    ),
    click.option(
        "--catalogue", "catalogues", multiple=True, help="Only names of this catalogue, such as Sh2; again."
    ),
    click.option(
        "--size", type=SPAN, default=None, metavar="LEAST MOST", help="Only diameters between, arc minutes."
    ),
    click.option(
        "--declination",
        type=SPAN,
        default=None,
        metavar="SOUTH NORTH",
        help="Only declinations between, degrees.",
    ),
    click.option("--names", multiple=True, metavar="NAMES", help="Only these, by name, with commas between."),
    click.option("--no-groups", is_flag=True, help="List single nebulae only."),
)


@dataclass(frozen=True)
class Given:
    """What was given on the command line."""

    first: dt.datetime | None
    last: dt.datetime | None
    margin: float
    angle: float | None
    reading: float | None
    by: Rank
    panels: int
    kinds: tuple[str, ...]
    constellations: tuple[str, ...]
    catalogues: tuple[str, ...]
    size: tuple[float, float] | None
    declination: tuple[float, float] | None
    names: tuple[str, ...]
    no_groups: bool


def target_options(command: Command) -> Command:
    """Add the options; the verb takes them by the names of `Given`."""
    for option in reversed(OPTIONS):
        command = option(command)
    return command


def wish_of(given: Given, setup: Setup) -> TargetWish:
    """Return what is asked of the list.

    Raises
    ------
    InputError
        If both angle and reading are given, or a reading that the device does not have.
    """
    from planner.answers.targets.wish import TargetWish

    return TargetWish(
        margin=given.margin,
        angle_deg=_angle_deg(given, setup),
        by=given.by,
        panels=given.panels,
        kinds=tuple(_split(given.kinds)),
        constellations=tuple(_split(given.constellations)),
        catalogues=tuple(_split(given.catalogues)),
        size_arcmin=given.size,
        dec_deg=given.declination,
        names=tuple(_split(given.names)),
        groups=not given.no_groups,
    )


def _split(texts: Iterable[str]) -> Iterable[str]:
    for text in texts:
        parts = [part.strip() for part in text.split(",")]
        if not all(parts):
            raise InputError(f"names must stand with commas between, got {text!r}; leave no name empty")
        yield from parts


def _angle_deg(given: Given, setup: Setup) -> float | None:
    if given.reading is None:
        return given.angle
    if given.angle is not None:
        raise InputError("--angle and --reading say the same thing; give one of them")
    device = setup.angle_device
    if device is None:
        raise InputError(
            "--reading needs an angle device; add [angle_device] to the setup file, or give --angle"
        )
    check_reading(device, given.reading)
    return device.position_angle_of(given.reading)


def nights_of(given: Given, setup: Setup) -> Nights | None:
    """Return the season: the setup file's, with the evenings that were given.

    Raises
    ------
    InputError
        If one end is missing, or they are in reverse.
    """
    from planner.night.settings import Nights

    usual = setup.nights
    first = given.first.date() if given.first else usual.first if usual else None
    last = given.last.date() if given.last else usual.last if usual else None
    if first is None and last is None:
        return None
    if first is None or last is None:
        missing = "--first" if first is None else "--last"
        raise InputError(
            f"the season needs both ends, got one; give {missing} too, or add [nights] to the setup"
        )
    try:
        return replace(usual, first=first, last=last) if usual else Nights(first, last)
    except InputError as error:
        raise InputError(_as_typed(str(error), given)) from error


def _as_typed(sentence: str, given: Given) -> str:
    """Name the options that were typed where a sentence names the keys they stand for."""
    for name, value in (("first", given.first), ("last", given.last)):
        sentence = sentence.replace(f"nights.{name}", f"--{name}" if value else f"the setup's [nights] {name}")
    other = "--first" if given.first is None else "--last"
    both = given.first is not None and given.last is not None
    return sentence if both else sentence.replace("exchange them", f"give {other} too")
