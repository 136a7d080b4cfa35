"""What was wrong on the command line, in the planner's own words: what, wanted, got, cure."""

from __future__ import annotations

import re

import click

from planner.errors import nearest_names

__all__ = ["refusal_words"]

NEW_OPTIONS = {
    "--turns": "--angles",
    "--compare-turns": "--how-many-angles",
    "--frame": "--earlier-picture",
    "--through-pole": "--looking east",
}
"""Options that an earlier version knew, to what they are called now."""
UNBOUND = (click.types.IntParamType, click.types.FloatParamType)
GOT = re.compile(r"'(.*)' is not|^(\S+) is not", re.DOTALL)
"""What was given, in the sentences of the package that reads the command line."""


def refusal_words(error: click.ClickException) -> str:
    """Return the sentence for what a command line has wrong.

    >>> refusal_words(click.NoSuchOption("--turns"))
    'there is no option --turns; it is --angles now'
    """
    if isinstance(error, click.NoSuchOption):
        return _unknown_option(error)
    if isinstance(error, click.MissingParameter):
        return _missing(error)
    if isinstance(error, click.BadParameter):
        return _bad_value(error)
    if isinstance(error, click.BadOptionUsage):
        return _bad_use(error)
    found = re.match(r"Got unexpected extra arguments? \((.*)\)", error.message, re.DOTALL)
    if found and isinstance(error, click.UsageError):
        return f"{_verb(error)} takes no more than it has got, got {found[1]} besides; leave that out"
    return error.format_message()


def _verb(error: click.UsageError) -> str:
    """Name the verb, as it is typed."""
    return (error.ctx.info_name if error.ctx else None) or "planner"


def _unknown_option(error: click.NoSuchOption) -> str:
    """Lead to the option of now, or to the nearest, which comes first, not by letters."""
    what = f"there is no option {error.option_name}"
    if error.option_name in NEW_OPTIONS:
        return f"{what}; it is {NEW_OPTIONS[error.option_name]} now"
    if error.possibilities:
        return f"{what}; did you mean {' or '.join(error.possibilities)}?"
    return f"{what}; see {_verb(error)} --help"


def _missing(error: click.MissingParameter) -> str:
    name = error.param.make_metavar(error.ctx) if error.param and error.ctx else "a value"
    return f"{_verb(error)} needs {name.rstrip('.')}; see {_verb(error)} --help"


def _bad_use(error: click.BadOptionUsage) -> str:
    """Say how many values an option takes."""
    option, found = error.option_name, re.search(r"requires (\d+) arguments", error.message)
    if "does not take a value" in error.message:
        return f"{option} takes no value; leave out what stands behind its ="
    cure = (
        "; to compare camera angles give --which-angle"
        if option == "--angles"
        else "; give it behind the option"
    )
    return (
        f"{option} needs {found[1]} values, got fewer; give them all"
        if found
        else f"{option} needs a value{cure}"
    )


def _bad_value(error: click.BadParameter) -> str:
    """Say what an option takes; kinds of values of the planner's own have said it."""
    name = error.param.opts[0] if error.param is not None and error.param.opts else str(error.param_hint or "a value")
    name = name if name.startswith("-") else name.upper()
    kind, found = getattr(error.param, "type", None), GOT.search(error.message)
    got = (found[1] or found[2]) if found else ""
    if isinstance(kind, click.types.Tuple) and found:
        kind = kind.types[0]
    if found is None or kind is None:
        return f"{name} {error.message.rstrip('.')}"
    if isinstance(kind, click.Choice):
        *others, last = map(str, kind.choices)
        near = nearest_names(got, kind.choices) or "; give one of these"
        return f"{name} must be {', '.join(others)} or {last}, got {got!r}{near}"
    whole = "a whole number" if isinstance(kind, click.types.IntParamType) else "a number"
    if isinstance(kind, (click.IntRange, click.FloatRange)):
        return f"{name} must be {whole} from {kind.min} to {kind.max}, got {got!r}; give a number in that range"
    if isinstance(kind, UNBOUND):
        cure = (
            "give digits alone" if whole != "a number" else "give one such as 0.5, with a point for decimals"
        )
        return f"{name} must be {whole}, got {got!r}; {cure}"
    return f"{name}: {error.message.rstrip('.')}"
