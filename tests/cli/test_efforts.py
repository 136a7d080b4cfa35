"""Every verb that may plan takes --effort, with the same choices."""

import click
import pytest

from planner.cli import VERBS, cli
from planner.progress import EFFORTS

NEVER_PLAN = {"guide", "app", "targets"}


@pytest.mark.parametrize("verb", [verb for verb in VERBS if verb not in NEVER_PLAN])
def test_a_verb_that_may_plan_takes_an_effort(verb):
    command = cli.get_command(click.Context(cli), verb)
    (option,) = (one for one in command.params if one.name == "effort")
    assert option.opts == ["--effort"] and option.default in EFFORTS
    assert tuple(option.type.choices) == EFFORTS


def test_angle_plans_with_the_effort_it_was_given(monkeypatch, tmp_path, capsys):
    from planner.answers import plan
    from planner.cli import main

    asked, make = [], plan.make_plan
    monkeypatch.setattr(
        plan, "make_plan", lambda request, **more: asked.append(more["effort"]) or make(request, **more)
    )
    (tmp_path / "plan.toml").write_text(
        "title = 'One'\n[camera]\nfocal_length_mm = 380\nsensor_px = [6000, 4000]\npixel_um = 3.9\n"
        "[region]\ncenter = [10, 20]\nradius_deg = 0.5\n"
    )
    assert main(["angle", str(tmp_path / "plan.toml"), "--effort", "quick"]) == 0
    assert asked == ["quick"]
