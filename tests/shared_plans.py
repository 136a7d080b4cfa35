"""One plan for each request, however many tests ask for it: for tests of what is made of plans.

Requests that ask for the same panels share these, those with the same nights their survey and timetable.
Where a test puts something else in the place of the search, every plan is made anew.
"""

import sys
from contextlib import ExitStack, contextmanager
from dataclasses import fields, is_dataclass, replace
from unittest.mock import patch

import numpy as np

from planner.answers import plan as answers
from planner.night import survey, timetable

SEARCH = answers.build_mosaic
MADE = {}
"""What was made in this process, by what was asked."""


class _Watched:
    """A progress that knows whether it ever stopped the search: what is found then is not what was asked for."""

    def __init__(self, progress):
        self.progress, self.stopped = progress, False

    def __call__(self, *told):
        try:
            return self.progress(*told)
        except BaseException:
            self.stopped = True
            raise


def _key(value):
    """What tells one argument from all others, to the last bit; surveys by being the same one."""
    if isinstance(value, survey.Survey):
        return "survey", id(value)
    if is_dataclass(value):
        return type(value).__name__, *(_key(getattr(value, one.name)) for one in fields(value))
    if isinstance(value, np.ndarray):
        return value.dtype.str, value.shape, value.tobytes()
    if isinstance(value, list | tuple):
        return tuple(_key(one) for one in value)
    return repr(value)


def _frozen(value):
    """The value, whose arrays nobody can change any more."""
    if isinstance(value, np.ndarray):
        value.setflags(write=False)
    elif is_dataclass(value):
        _frozen([getattr(value, one.name) for one in fields(value)])
    elif isinstance(value, list | tuple):
        for one in value:
            _frozen(one)
    return value


def _once(work, made):
    """Work that is done once for each set of arguments; these are kept too, so that no other takes their `id`."""

    def once(*given, progress=None, **options):
        key = work.__name__, _key(given), _key(sorted(options.items()))
        if key not in made:
            watched = _Watched(progress) if progress else None
            found = work(*given, progress=watched, **options)
            if watched and watched.stopped:
                return found
            made[key] = given, _frozen(found)
        return made[key][1]

    return once


def _plan_once(make_plan, made, searches):
    """Plans made once for each request, whatever its files are called, as long as the search is one of these."""

    def make_once(request, *args, progress=None, **options):
        if answers.build_mosaic not in searches:
            return make_plan(request, *args, progress=progress, **options)
        key = repr((replace(request, path=None, setup_path=None), args, options))
        if key not in made:
            watched = _Watched(progress) if progress else None
            plan = make_plan(request, *args, progress=watched, **options)
            if watched and watched.stopped:
                return plan
            made[key] = plan
        return replace(made[key], request=request)

    return make_once


@contextmanager
def _everywhere(places, name, present, other):
    """Put another function in the place of one, in every module of these places that has it."""
    holders = [
        module
        for place, module in sys.modules.items()
        if place.startswith(places) and vars(module).get(name) is present
    ]
    with ExitStack() as stack:
        for module in holders:
            stack.enter_context(patch.object(module, name, other))
        yield


@contextmanager
def plans_made_once(made=None):
    """Let every verb and page share what has been made, or what is in `made`."""
    made, make_plan = {} if made is None else made, answers.make_plan
    build, look, arrange = answers.build_mosaic, survey.survey_season, timetable.arrange
    build_once = _once(build, made)
    with (
        _everywhere("planner.answers", "build_mosaic", build, build_once),
        _everywhere(
            ("planner", "tests"), "make_plan", make_plan, _plan_once(make_plan, made, (SEARCH, build_once))
        ),
        _everywhere("planner", "survey_season", look, _once(look, made)),
        _everywhere("planner", "arrange", arrange, _once(arrange, made)),
    ):
        yield
