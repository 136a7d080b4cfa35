"""Plan deep-sky mosaics and camera angles.

`python -m planner guide python` tells how scripts and notebooks use it. What is not needed at once is loaded when it
is first used, astropy among it.
"""

from __future__ import annotations

from . import early_stop as _early_stop  # noqa: F401  (before all else: Ctrl-C)

# isort: split
import importlib as _importlib
from typing import TYPE_CHECKING, Any

from .errors import FileError, InputError, PlannerError
from .errors import told_of_failed_start as _told_of_failed_start

with _told_of_failed_start():
    from .request.request import Request

if TYPE_CHECKING:
    from .answers.camera_angle import camera_angle
    from .answers.compare import compare_setups
    from .answers.fit import fit_setups
    from .answers.how_many_angles import how_many_angles
    from .answers.nights import plan_nights
    from .answers.season import plan_season
    from .answers.which_angle.grow_curve import angle_curve
    from .bridge.cameras import camera_from_header
    from .bridge.plan import Panel, Plan, make_plan
    from .bridge.review import progress_of, review_frames
    from .bridge.tables import (
        compare_table,
        fit_table,
        how_many_angles_table,
        nights_table,
        progress_table,
        review_table,
        season_table,
        targets_table,
        timetable,
        which_angle_table,
    )
    from .bridge.targets import find_targets
    from .files.documents.plan import plan_document
    from .files.kept import keep_good
    from .files.plan_file.read import read_plan_file, read_setup_file
    from .files.plan_file.season import read_season_file

__all__ = [
    "FileError",
    "InputError",
    "Panel",
    "Plan",
    "PlannerError",
    "Request",
    "angle_curve",
    "camera_angle",
    "camera_from_header",
    "compare_setups",
    "compare_table",
    "find_targets",
    "fit_setups",
    "fit_table",
    "how_many_angles",
    "how_many_angles_table",
    "keep_good",
    "make_plan",
    "nights_table",
    "plan_document",
    "plan_nights",
    "plan_season",
    "progress_of",
    "progress_table",
    "read_plan_file",
    "read_season_file",
    "read_setup_file",
    "request",
    "review_frames",
    "review_table",
    "season_table",
    "targets_table",
    "timetable",
    "which_angle_table",
]

_HOMES = {
    "planner.answers.camera_angle": ("camera_angle",),
    "planner.answers.compare": ("compare_setups",),
    "planner.answers.fit": ("fit_setups",),
    "planner.answers.how_many_angles": ("how_many_angles",),
    "planner.answers.nights": ("plan_nights",),
    "planner.answers.season": ("plan_season",),
    "planner.answers.which_angle.grow_curve": ("angle_curve",),
    "planner.bridge.cameras": ("camera_from_header",),
    "planner.bridge.plan": ("Panel", "Plan", "make_plan"),
    "planner.bridge.review": ("progress_of", "review_frames"),
    "planner.bridge.targets": ("find_targets",),
    "planner.bridge.tables": (
        "compare_table",
        "fit_table",
        "how_many_angles_table",
        "nights_table",
        "progress_table",
        "review_table",
        "season_table",
        "targets_table",
        "timetable",
        "which_angle_table",
    ),
    "planner.files.documents.plan": ("plan_document",),
    "planner.files.kept": ("keep_good",),
    "planner.files.plan_file.read": ("read_plan_file", "read_setup_file"),
    "planner.files.plan_file.season": ("read_season_file",),
}
"""Where public names live that are loaded when they are first used."""


def __getattr__(name: str) -> Any:
    for home, names in _HOMES.items():
        if name in names:
            value = getattr(_importlib.import_module(home), name)
            globals()[name] = value
            return value
    raise AttributeError(f"module 'planner' has no attribute {name!r}")


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})


with _told_of_failed_start():
    from .bridge.requests import request  # noqa: E402  (takes the place of the package of that name)
