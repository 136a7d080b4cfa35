"""Small pictures of groups tell the same numbers as the table on screen."""

import math

from planner.answers.fit_around import AroundAnswer, GroupAround, Member
from planner.cli.fit.around import _row
from planner.draw.pictures.fit_around import fit_around_figure
from planner.mosaic.fit import Placement
from planner.mosaic.region import Region
from tests.rig.hand_made import FIELD

MARGINS_ARCMIN = (9.699, 9.651, 12.0, 0.04)


def group(margin_arcmin, angle_deg):
    room = math.radians(margin_arcmin / 60)
    members = tuple(
        Member(name, "emission", Region.rectangle((160.0, -59.0), 0.5, 0.4)) for name in ("One", "Two")
    )
    return GroupAround(members, 0.2, Placement((160.0, -59.0), angle_deg, room, (room,) * 4))


def test_margins_and_angles_are_rounded_as_in_the_table():
    groups = tuple(group(margin, 12.345 + margin) for margin in MARGINS_ARCMIN)
    answer = AroundAnswer("One", "pier", FIELD, 12.0, groups, 1, 4, True)
    titles = [axes.get_title() for axes in fit_around_figure(answer).axes[: len(groups)]]
    for rank, (title, one) in enumerate(zip(titles, groups, strict=True), start=1):
        _, margin, angle, *_ = _row(rank, one)
        assert title == f"{rank}: {margin}' at {angle}\N{DEGREE SIGN}\nTwo"
