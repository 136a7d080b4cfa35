"""One plan for each request, however many tests ask for it: for tests of what is made of plans.

Where a test puts something else in the place of the search, every plan is made anew.
"""

import sys
from contextlib import contextmanager
from dataclasses import replace
from unittest.mock import patch

from planner.answers import plan as answers

SEARCH = answers.build_mosaic
MADE = {}
"""Plans that were made in this process, by what was asked."""


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


@contextmanager
def plans_made_once(made=None):
    """Let every verb and page share the plans that have been made, or those in `made`."""
    made, make_plan = {} if made is None else made, answers.make_plan

    def make_once(request, *args, progress=None, **options):
        if answers.build_mosaic is not SEARCH:
            return make_plan(request, *args, progress=progress, **options)
        key = repr((replace(request, path=None, setup_path=None), args, options))
        if key not in made:
            watched = _Watched(progress) if progress else None
            plan = make_plan(request, *args, progress=watched, **options)
            if watched and watched.stopped:
                return plan
            made[key] = plan
        return replace(made[key], request=request)

    holders = [
        module
        for name, module in sys.modules.items()
        if name.startswith(("planner", "tests")) and vars(module).get("make_plan") is make_plan
    ]
    with patch.multiple(answers, make_plan=make_once):
        for module in holders:
            module.make_plan = make_once
        try:
            yield
        finally:
            for module in holders:
                module.make_plan = make_plan
