"""Plan deep-sky mosaics and camera angles."""

from .answers.plan import Plan, make_plan
from .errors import FileError, InputError, PlannerError
from .files.documents.plan import plan_document
from .files.plan_file.read import read_plan_file, read_season_file, read_setup_file
from .request.request import Request

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
