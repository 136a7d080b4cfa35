"""The command line: a thin face. Each verb has a module of its own name, imported only when it is used."""

from __future__ import annotations

import contextlib
import importlib
import io
import os
import sys
from collections.abc import Sequence

import click

from planner.early_stop import let_verbs_answer
from planner.errors import PlannerError
from planner.exit_codes import BAD_INPUT, DONE, STOPPED

__all__ = ["cli", "main"]

VERBS = {
    "plan": "the mosaic: panels, overlap, proof, chart",
    "season": "one camera angle, or a few, for many targets",
    "fit": "how well everything fits one frame",
    "targets": "what a site, a field and a camera angle are good for in a season",
    "compare": "the same region with several setups",
    "angle": "what to set on the angle device; calibration from a plate solution",
    "nights": "when each panel can be shot, in which filter, at what cost",
    "handover": "every exchange file",
    "review": "frames that came back against the plan",
    "rehearse": "made-up frames, to practise the rest of the job",
    "progress": "what is done, what is left, until when",
    "guide": "the guide, a page a subject",
    "app": "the app, on this machine only",
}
VERB_FOLDERS = {"rehearse": "rehearsing.", "progress": "progress."}
"""Verbs whose modules have a folder of their own."""
TOO_MUCH: dict[type[BaseException], str] = {
    RecursionError: "the input is nested too deeply; give a plain plan file",
    MemoryError: "the request needs more memory than there is; make it smaller",
}


class _Verbs(click.Group):
    """The verbs, each loaded from its module when it is called."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(VERBS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in VERBS:
            return None
        module = importlib.import_module(f"planner.cli.{VERB_FOLDERS.get(cmd_name, '')}{cmd_name}_verb")
        return getattr(module, f"{cmd_name}_verb")  # type: ignore[no-any-return]

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        if args and args[0] not in VERBS and not args[0].startswith("-"):
            from planner.errors import nearest_names

            hint = nearest_names(args[0], VERBS) or f"; the verbs are {', '.join(VERBS)}"
            raise click.UsageError(f"there is no verb {args[0]!r}{hint}")
        return super().resolve_command(ctx, args)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        with formatter.section("Verbs"):
            formatter.write_dl(list(VERBS.items()))


@click.group(cls=_Verbs, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
def cli() -> None:
    """Plan deep-sky mosaics and camera angles.

    Every verb reads a plan file (TOML); without --out nothing is written. Example:

    python -m planner plan sample_targets/vela_shell.toml --out out
    """


def main(args: Sequence[str] | None = None) -> int:
    """Run the command line and return its exit code; errors are one line on standard error."""
    _open_closed_streams()
    if isinstance(sys.stdout, io.TextIOWrapper):
        sys.stdout.reconfigure(errors="replace")  # signs that the terminal cannot show become question marks
    try:
        let_verbs_answer()
        return _run(args)
    except (BrokenPipeError, SystemExit):  # nobody reads on, which packages tell by an exit of their own
        _let_output_go()
        return DONE
    except (click.exceptions.Abort, KeyboardInterrupt):
        return _fail("stopped; nothing more has been written", STOPPED)
    except (click.ClickException, PlannerError, RecursionError, MemoryError, OSError) as error:
        return _fail(_refusal(error), BAD_INPUT)


def _refusal(error: Exception) -> str:
    """Return the sentence for what ends a run."""
    if isinstance(error, click.exceptions.NoArgsIsHelpError):
        print(error.format_message(), end="\n\n", file=sys.stderr)
        return "a verb is missing; give one of those above, such as plan"
    if isinstance(error, click.ClickException):
        from .given.refusals import refusal_words

        return refusal_words(error)
    if isinstance(error, OSError):
        _let_output_go()
        where = f"{error.filename}: " if error.filename else "what is printed cannot be written: "
        return f"{where}{error.strerror or error}; mend that and run it again"
    return TOO_MUCH.get(type(error), str(error))


def _open_closed_streams() -> None:
    """Give a run that was started without standard output or error a place to write to."""
    for name in ("stdout", "stderr"):
        if getattr(sys, name) is None:
            setattr(sys, name, open(os.devnull, "w", encoding="utf-8"))  # noqa: SIM115  (as long as the run)


def _let_output_go() -> None:
    """Write what is left of standard output nowhere, so that nothing fails again as the program ends."""
    with contextlib.suppress(OSError, ValueError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _run(args: Sequence[str] | None) -> int:
    given = list(sys.argv[1:] if args is None else args)
    if any("\0" in text for text in given):
        raise click.UsageError("an option or name holds a NUL character; leave it out")
    result = cli.main(args=given, prog_name="planner", standalone_mode=False)
    sys.stdout.flush()
    return result if isinstance(result, int) else DONE


def _fail(text: str, code: int) -> int:
    from ._show import say

    say(text)
    return code
