"""What `review` and `progress` were asked on the command line, checked before any work is done."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Literal

import click

from planner.cli._show import Command
from planner.errors import FileError, InputError

if TYPE_CHECKING:
    from planner.frames.review.limits import Limits
    from planner.night.timetable import Goal
    from planner.progress import Effort
    from planner.request.request import Request

__all__ = ["LimitOptions", "ProgressOptions", "ReviewOptions", "check_folder", "limit_options", "solve_option"]


def limit_options(command: Command) -> Command:
    """Add the limits of a good frame; the verb takes them as `offset_limit`, `angle_limit`, `scale_limit`."""
    offset = click.option(
        "--offset-limit",
        type=float,
        metavar="ARCMIN",
        help="Good within this distance of the panel's centre, arc minutes, above 0 to 10,800 (default 5 "
        "per cent of the field's short side, or the plan's errors if they are more).",
    )
    angle = click.option(
        "--angle-limit",
        type=float,
        metavar="DEGREES",
        help="Good within this turn, degrees, above 0 to 90 (default 1, or "
        "the plan's angle_error_deg if that is more).",
    )
    scale = click.option(
        "--scale-limit",
        type=float,
        metavar="PERCENT",
        help="Good within this difference of scale, per cent, above 0 to 50 (default 2).",
    )
    return offset(angle(scale(command)))


def solve_option(command: Command) -> Command:
    """Add ``--solve`` and ``--no-solve``; the verb takes it as `solve`."""
    about = "Solve frames without a plate solution (default)."
    return click.option("--solve/--no-solve", default=True, help=about)(command)


def check_folder(folder: Path) -> None:
    """Refuse what is no folder.

    Raises
    ------
    FileError
        If it is missing, or a file.
    """
    if not folder.is_dir():
        what = "is a file, wanted the folder with the frames" if folder.exists() else "is no folder"
        raise FileError(f"{folder} {what}; check the name")


@dataclass(frozen=True)
class LimitOptions:
    """What `limit_options` were given; None where the plan's own limit holds."""

    offset_limit: float | None
    angle_limit: float | None
    scale_limit: float | None

    def limits(self, request: Request) -> Limits:
        """Limits of a good frame, as asked or as the plan has them."""
        from planner.frames.review.limits import Limits

        return Limits.of_plan(
            request,
            offset_arcmin=self.offset_limit,
            angle_deg=self.angle_limit,
            scale_percent=self.scale_limit,
        )


@dataclass(frozen=True)
class FolderOptions(LimitOptions):
    """What was asked of a plan file and a folder of frames."""

    file: Path
    folder: Path
    out: Path | None
    as_json: bool
    solve: bool
    effort: Effort


@dataclass(frozen=True)
class ProgressOptions(FolderOptions):
    """What `progress` was asked."""

    now: str | None
    goal: Goal


@dataclass(frozen=True)
class ReviewOptions(FolderOptions):
    """What `review` was asked."""

    write_solutions: bool
    reshoot: Path | None
    previews: tuple[Path, ...]
    preview_scale: float | None
    preview_frames: Literal["mean", "best"]
    colours: str | None
    scheduler: str | None
    watch: bool
    on_change: str | None

    def check(self, request: Request) -> None:
        """Refuse what cannot be done, before any work is."""
        check_folder(self.folder)
        self._check_watch()
        self._check_reshoot(request)
        for path in self.previews:
            if path.suffix.lower() not in (".png", ".fits"):
                raise InputError(
                    f"--preview must name a .png or .fits file, got {path.name!r}; change its ending"
                )
        if not self.previews:
            for flag in ("preview_scale", "colours", "scheduler"):
                if getattr(self, flag) is not None:
                    raise InputError(f"--{flag.replace('_', '-')} needs --preview; give the file to write")
        if self.scheduler is not None:
            from planner.frames.preview.tasks import check_address

            check_address(self.scheduler)
        if self.preview_scale is not None and not 0.0 < self.preview_scale <= 1.0:
            raise InputError(
                f"--preview-scale must be in (0, 1], got {self.preview_scale:g}; give a fraction"
            )
        if self.write_solutions and not self.solve:
            raise InputError("--write-solutions needs frames to be solved; leave --no-solve out")

    def _check_watch(self) -> None:
        if not self.watch:
            if self.on_change is not None:
                raise InputError("--on-change needs --watch; add it, or leave --on-change out")
            return
        if self.out is None:
            raise InputError("--watch needs --out; give the folder in which review.json is kept up to date")
        for given, flag in (
            (self.as_json, "--json"),
            (bool(self.previews), "--preview"),
            (self.reshoot is not None, "--reshoot"),
        ):
            if given:
                raise InputError(f"--watch does not go with {flag}; run review without --watch for it")
        if self.on_change is not None and not self.on_change.strip():
            raise InputError("--on-change must name a command, got nothing; leave it out for none")

    def _check_reshoot(self, request: Request) -> None:
        if self.reshoot is None:
            return
        if self.reshoot.suffix.lower() != ".toml":
            raise InputError(
                f"--reshoot must name a .toml file, got {self.reshoot.name!r}; change its ending"
            )
        for own in (request.path, request.setup_path):
            if own is not None and self.reshoot.exists() and self.reshoot.samefile(own):
                raise InputError(
                    f"--reshoot would replace {own}, which the plan is read from; choose another name"
                )

    @property
    def colour_names(self) -> list[str] | None:
        """Filters named for red, green and blue."""
        return None if self.colours is None else [name.strip() for name in self.colours.split(",")]
