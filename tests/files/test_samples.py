"""Every sample is planned, proven and of a size that a photographer would start with."""

from dataclasses import replace
from pathlib import Path

import pytest

from planner.answers.plan import make_plan
from planner.files.plan_file.read import read_plan_file
from planner.mosaic.region import Region

SAMPLES = Path(__file__).parents[2] / "sample_targets"
ANGLES = {
    "vela_shell": 0.0,
    "antares_dark_clouds": 75.0,
    "magellanic_bridge": 0.0,
    "polar_dust": 0.0,
    "zero_hour_stream": 45.0,
}
"""Each planned at one angle here, to be quick."""


@pytest.mark.parametrize(("name", "angle_deg"), ANGLES.items(), ids=ANGLES.keys())
def test_sample(name, angle_deg):
    request = read_plan_file(SAMPLES / f"{name}.toml")
    pinned = replace(request.mosaic, position_angle_deg=angle_deg, layout="sliding")
    plan = make_plan(replace(request, mosaic=pinned))
    assert plan.shortfalls == ()
    assert plan.mosaic.covered and plan.mosaic.overlap_found >= request.mosaic.overlap - 1e-9
    assert 4 <= len(plan.mosaic.panels) <= 16
    assert plan.mosaic.panel_count_bound <= len(plan.mosaic.panels)


def outline(name):
    return Region(read_plan_file(SAMPLES / f"{name}.toml").region.outline)


def test_the_pole_lies_inside_the_polar_sample():
    inside = read_plan_file(SAMPLES / "polar_dust.toml").region.outline
    ra = [corner[0] for corner in inside]
    turns = [(after - before) % 360.0 for before, after in zip(ra, ra[1:] + ra[:1], strict=True)]
    assert sum(turns) == pytest.approx(360.0) and max(turns) < 180.0


def test_the_stream_crosses_zero_hours():
    ra = [corner[0] for corner in outline("zero_hour_stream").outline_deg]
    assert min(ra) < 10.0 and max(ra) > 350.0 and not any(10.0 < value < 350.0 for value in ra)


def test_the_dark_clouds_bend_inwards():
    flat = outline("antares_dark_clouds").polygon
    assert flat.convex_hull.area > 1.1 * flat.area


def test_outlines_have_6_to_30_corners():
    assert all(6 <= len(outline(name).outline_deg) <= 30 for name in ANGLES)
