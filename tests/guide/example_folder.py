"""The folder in which the examples run: the samples, and one plan for each request however often it is asked for."""

import shutil
import sys
from contextlib import contextmanager
from dataclasses import replace
from unittest.mock import patch

from planner.answers import plan as answers
from tests.guide.examples import ROOT


def fill(folder):
    """Put into a folder what the examples find in theirs; return the folder."""
    shutil.copytree(ROOT / "sample_targets", folder / "sample_targets")
    return folder


@contextmanager
def plans_made_once():
    """Let every verb share the plans that have been made: the examples are about few requests."""
    made, make_plan = {}, answers.make_plan

    def make_once(request, *args, **options):
        options.pop("progress", None)
        key = repr((replace(request, path=None, setup_path=None), args, options))
        if key not in made:
            made[key] = make_plan(request, *args, **options)
        return replace(made[key], request=request)

    holders = [
        module
        for name, module in sys.modules.items()
        if name.startswith("planner") and vars(module).get("make_plan") is make_plan
    ]
    with patch.multiple(answers, make_plan=make_once):
        for module in holders:
            module.make_plan = make_once
        try:
            yield
        finally:
            for module in holders:
                module.make_plan = make_plan
