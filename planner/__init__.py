"""Plan deep-sky mosaics and camera angles."""

from planner.errors import FileError, InputError, PlannerError
from planner.files.plan_file import read_plan_file, read_season_file, read_setup_file
from planner.files.plan_json import plan_document
from planner.plan import Plan, make_plan
from planner.request import Request

__all__ = [
    "FileError",
    "InputError",
    "Plan",
    "PlannerError",
    "Request",
    "make_plan",
    "plan_document",
    "read_plan_file",
    "read_season_file",
    "read_setup_file",
]
