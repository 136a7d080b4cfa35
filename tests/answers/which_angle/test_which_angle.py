import io
import itertools
from dataclasses import replace

import numpy as np
import pytest
from PIL import Image

from planner.answers.find_region import find_region
from planner.answers.plan import make_plan, terms_of
from planner.answers.which_angle.curve import AngleCount, AngleCurve
from planner.answers.which_angle.grow_curve import angle_curve
from planner.draw.pictures.angle_curve import which_angle_png
from planner.errors import InputError
from planner.files.documents.which_angle import which_angle_document
from planner.files.plan_file.read import request_from_document
from planner.mosaic.choose import search_task
from planner.mosaic.search import row_counts
from planner.mosaic.terms import Layout
from planner.request.request import PictureRequest


def request(width_px=6000, width_deg=5.0, **mosaic):
    """A rectangle of sky of two panels by one, if no wider is asked for, at an angle of 30 degrees."""
    return request_from_document(
        {
            "title": "Field",
            "camera": {"focal_length_mm": 418.0, "sensor_px": [width_px, 4000], "pixel_um": 3.9},
            "region": {
                "center": [128.0, -45.0],
                "width_deg": width_deg,
                "height_deg": 1.6,
                "position_angle_deg": 30.0,
            },
            "mosaic": {"layout": "sliding", **mosaic},
        }
    )


def angles_of(curve):
    return [one.position_angle_deg for one in curve.angles]


@pytest.fixture(scope="module")
def curve():
    return angle_curve(request())


def test_one_line_goes_through_all_that_is_planned():
    plans = {0.0: (9, 8), 4.0: (8, 8), 6.0: (7, 9)}
    angles = tuple(
        AngleCount(float(k), float(k), plans[k][0], 0.2, estimate=plans[k][1])
        if k in plans
        else AngleCount(float(k), float(k), 10)
        for k in range(8)
    )
    part = AngleCurve("part", angles, 0.0, 180.0)
    assert part.likely == (9, 11, 11, 10, 8, 9, 7, 8)  # half a panel is rounded up; the last plan's beyond it
    whole = AngleCurve("whole", angles, 0.0, 8.0)
    assert whole.likely[:7] == part.likely[:7] and whole.likely[7] == 10  # half way to the first angle's
    fewer = [replace(one, panels=8, estimate=9) if one.proven else replace(one, panels=8) for one in angles]
    assert set(AngleCurve("fewer", tuple(fewer), 0.0, 180.0).likely) == {8}  # no 7, which no plan has
    bare = AngleCurve(
        "bare", tuple(replace(one, overlap_found=None, estimate=None) for one in angles), 0.0, 180.0
    )
    assert bare.likely == tuple(one.panels for one in angles)
    short = replace(angles[0], falls_short=True)
    assert AngleCurve("short", (short, *angles[1:]), 0.0, 180.0).likely[0] == 8


def test_estimates_below_all_plans_are_in_doubt_until_they_are_planned():
    counts = (8, 7, 9, 8)
    angles = tuple(AngleCount(float(k), float(k), counts[k], estimate=counts[k]) for k in range(4))
    bare = AngleCurve("bare", angles, 0.0, 180.0)
    assert not any(bare.doubtful)
    curve = bare.with_plan(0.0, 8, 0.2)
    assert curve.likely == counts and curve.doubtful == (False, True, False, False)
    planned = curve.with_plan(181.004, 8, 0.15)
    assert planned.likely[1] == 8 and planned.angles[1].proven and not any(planned.doubtful)
    assert planned.with_plan(1.0, 9, 0.3) is planned and planned.with_plan(2.5, 1, 0.3) is planned


def test_angles_are_whole_degrees_of_half_a_turn(curve):
    assert angles_of(curve) == list(range(180))
    planned = {one.position_angle_deg for one in curve.angles if one.proven}
    assert planned >= set(range(0, 180, 30)) and 6 < len(planned) <= 6 + 4 + 4
    best = int(curve.best.position_angle_deg)
    assert planned >= {(best - 2) % 180, (best + 2) % 180}  # how exact it must be


def test_planned_angles_are_those_of_plans_at_a_pinned_angle(curve):
    for angle in (30, 120, int(curve.best.position_angle_deg)):
        mosaic = make_plan(request(position_angle_deg=float(angle)), effort="quick").mosaic
        one = curve.angles[angle]
        assert (one.panels, one.overlap_found) == (len(mosaic.panels), mosaic.overlap_found)


def test_the_best_angle_is_square_with_a_long_rectangle(curve):
    # a strip of 5 by 1.6 degrees under fields of 3.08 by 2.05: two panels along it, three or more aslant
    assert curve.best.panels == 2
    assert abs(curve.best.position_angle_deg - 30.0) <= 5.0
    assert curve.best.panels < curve.angles[120].panels
    planned = [one for one in curve.angles if one.proven and not one.falls_short]
    assert curve.best.panels == min(one.panels for one in planned)
    alike = [one.overlap_found for one in planned if one.panels == curve.best.panels]
    assert curve.best.overlap_found == pytest.approx(max(alike))


def followed(asked):
    """Every curve of whole degrees that was told of on the way, and the last."""
    told = []
    last = angle_curve(asked, as_planned=False, partial=told.append)
    return told, last


def test_estimates_come_first_and_plans_replace_them_one_by_one():
    told, last = followed(request(position_angle_range_deg=[0.0, 90.0]))
    planned = [[k for k, one in enumerate(curve.angles) if one.proven] for curve in told]
    assert planned[0] == [] and [len(some) for some in planned] == list(range(len(told)))
    assert all(set(few) < set(more) for few, more in itertools.pairwise(planned))
    assert last == replace(told[-1], waiting=0) and all(curve.waiting > 0 for curve in told)
    task = search_task(find_region(request().region).region, terms_of(request()), Layout())
    counts = row_counts(task)[1][:91]
    assert [one.panels for one in told[0].angles] == counts.tolist()
    assert [one.estimate for one in last.angles] == counts.tolist()
    # the most promising first: what rows were counted to never falls from plan to plan
    order = [set(more).difference(few).pop() for few, more in itertools.pairwise(planned)]
    assert counts[order[:8]].tolist() == sorted(counts[order[:8]].tolist())
    best = {replace(curve, waiting=0).best.position_angle_deg for curve in told[8:]}
    assert 1 <= len(order[8:]) <= 4 and all(best & {k - 2.0, k + 2.0} for k in order[8:])


def test_the_angle_that_is_asked_for_comes_first():
    told, _ = followed(request(position_angle_deg=77.0, position_angle_range_deg=[70.0, 80.0]))
    assert [one.position_angle_deg for one in told[1].angles if one.proven] == [77.0]


def test_what_was_told_last_stays_when_the_work_is_stopped():
    told = []

    def stop_after_two(curve):
        told.append(curve)
        if len(told) == 3:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        angle_curve(request(position_angle_range_deg=[25.0, 35.0]), partial=stop_after_two)
    assert sum(one.proven for one in told[-1].angles) == 2
    assert replace(told[-1], waiting=0).best.proven
    assert not told[0].best.proven and not replace(told[0], waiting=0).best.proven


def test_far_above_the_best_rows_are_planned_without_a_search():
    told, last = followed(request(layout="free", width_deg=8.0, position_angle_range_deg=[30.0, 90.0]))
    far = last.angles[60]
    assert far.estimate > 1.25 * last.best.panels + 1 and far.proven
    rows = make_plan(request(width_deg=8.0, position_angle_deg=90.0), effort="quick").mosaic
    assert (far.panels, far.overlap_found) == (len(rows.panels), rows.overlap_found)


def test_more_effort_goes_to_the_best_angles_and_the_one_asked_for():
    free = request(layout="free", position_angle_deg=36.0, position_angle_range_deg=[29.0, 36.0])
    quick, usual = angle_curve(free), angle_curve(free, effort="usual")
    assert usual.best.rank <= quick.best.rank
    assert usual.asked.overlap_found > quick.asked.overlap_found
    for one in (usual.asked, usual.best):
        pin = {"position_angle_deg": one.position_angle_deg, "position_angle_range_deg": None}
        alone = make_plan(replace(free, mosaic=replace(free.mosaic, **pin))).mosaic
        assert one.panels == len(alone.panels)
        assert one.overlap_found == pytest.approx(
            alone.overlap_found, abs=1e-5
        )  # found from another first plan


def test_how_far_plans_are_off_the_estimates():
    counts = [(7, 8, 0.2), (9, 8, 0.2), (8, 8, None), (2, 9, 0.0)]
    angles = [AngleCount(float(k), float(k), n, o, o == 0.0, e) for k, (n, e, o) in enumerate(counts)]
    assert AngleCurve("", tuple(angles), 0.0, 180.0).off_estimate == (-1, 1)
    assert AngleCurve("", tuple(angles[2:]), 0.0, 180.0).off_estimate is None


def test_a_square_sensor_repeats_after_a_quarter_turn():
    square = angle_curve(request(width_px=4000, width_deg=1.0))
    assert angles_of(square) == list(range(90)) and square.period_deg == 90.0


def test_a_range_that_wraps():
    wrapped = angle_curve(request(position_angle_range_deg=[176.0, 3.5]))
    assert angles_of(wrapped) == [176, 177, 178, 179, 0, 1, 2, 3, 3.5]
    assert [one.past_deg for one in wrapped.angles] == [0, 1, 2, 3, 4, 5, 6, 7, 7.5]
    assert wrapped.angles[0].proven


def test_a_pinned_angle_is_let_go_and_compared():
    asked = request(position_angle_deg=65.3, position_angle_range_deg=[62.0, 68.0])
    pinned = angle_curve(asked, as_planned=False)
    assert angles_of(pinned) == list(range(62, 69))
    assert pinned.asked_deg == 65.0 and pinned.asked.proven
    exact = angle_curve(asked)
    assert exact.asked_deg == 65.3 and exact.asked.proven and set(angles_of(exact)) >= {65.0, 65.3, 66.0}
    assert angles_of(exact) == sorted(angles_of(exact))
    plan = make_plan(asked, effort="quick").mosaic
    assert (exact.asked.panels, exact.asked.overlap_found) == (len(plan.panels), plan.overlap_found)


@pytest.mark.parametrize("layout", ["free", "sliding", "grid"])
@pytest.mark.parametrize("angles", [1, "per_panel"])
def test_what_a_plan_finds_is_among_those_compared(layout, angles):
    """A rectangle that stands at an angle between whole degrees: a plan is square with it."""
    asked = request(layout=layout, angles=angles, width_deg=2.9, position_angle_range_deg=[29.0, 32.0])
    asked = replace(asked, region=replace(asked.region, position_angle_deg=30.4))
    curve, plan = angle_curve(asked), make_plan(asked, effort="quick").mosaic
    own = (plan.axes or plan.panels[0]).position_angle_deg % 180.0
    found = next(one for one in curve.angles if one.position_angle_deg == pytest.approx(own, abs=1e-6))
    assert found.proven and (found.panels, found.overlap_found) >= (len(plan.panels), plan.overlap_found)
    assert curve.best.panels <= len(plan.panels)
    assert own % 1.0 == pytest.approx(0.4, abs=0.2) or layout == "grid"
    assert angle_curve(request(position_angle_range_deg=[60.0, 61.0])).asked is None


def test_a_picture_angle_outside_the_range_is_not_compared():
    asked = replace(
        request(position_angle_range_deg=[60.0, 62.0]), picture=PictureRequest(position_angle_deg=90.0)
    )
    assert angle_curve(asked).asked is None


def test_thorough_plans_every_angle():
    every = angle_curve(request(position_angle_range_deg=[20.0, 23.0]), effort="thorough")
    assert all(one.proven for one in every.angles) and len(every.angles) == 4


@pytest.mark.parametrize("angles", ["per_panel", 2])
def test_turns(angles):
    some = angle_curve(request(angles=angles, position_angle_range_deg=[28.0, 29.0]))
    mosaic = make_plan(request(angles=angles, position_angle_deg=28.0), effort="quick").mosaic
    assert some.angles[0].panels == len(mosaic.panels)
    assert some.angles[0].overlap_found == mosaic.overlap_found


def test_a_fixed_grid_that_leaves_gaps_at_some_angles():
    grid = angle_curve(request(angles="per_panel", columns=2, rows=1, position_angle_range_deg=[30.0, 60.0]))
    assert {one.panels for one in grid.angles} == {2}
    assert grid.best.position_angle_deg < 40.0 and not grid.best.falls_short
    assert grid.angles[30].falls_short


def test_a_plain_grid_counts_grids():
    grid = request(layout="grid", position_angle_range_deg=[50.0, 53.0])
    for one in angle_curve(grid).angles:
        pinned = replace(
            grid.mosaic, position_angle_deg=one.position_angle_deg, position_angle_range_deg=None
        )
        assert one.panels == len(make_plan(replace(grid, mosaic=pinned)).mosaic.panels)


@pytest.mark.parametrize("layout", ["sliding", "grid"])
def test_a_filled_picture_is_counted_as_a_plan_has_it(layout):
    """A plan that fills the picture needs more panels than the region alone, and the curve says so at its angle."""
    bare = request(position_angle_range_deg=[0, 20], layout=layout)
    asked = replace(bare, picture=PictureRequest(aspect=(3.0, 2.0), filled=True))
    curve = angle_curve(asked)
    counted = [one for one in curve.angles if one.proven]
    for one in counted[:2]:
        mosaic = replace(
            asked.mosaic, position_angle_deg=one.position_angle_deg, position_angle_range_deg=None
        )
        plan = make_plan(replace(asked, mosaic=mosaic), effort="quick")
        assert len(plan.mosaic.panels) == one.panels and plan.mosaic.covered
    fewest, alone = min(one.panels for one in counted), angle_curve(bare).best.panels
    assert fewest > alone if layout == "sliding" else fewest >= alone


def test_listed_panels_are_refused():
    listed = request_from_document(
        {
            "title": "Listed",
            "camera": {"focal_length_mm": 418.0, "sensor_px": [6000, 4000], "pixel_um": 3.9},
            "region": {"center": [128.0, -45.0], "radius_deg": 0.5},
            "panels": [{"name": "a", "ra_deg": 128.0, "dec_deg": -45.0, "position_angle_deg": 0.0}],
        }
    )
    with pytest.raises(InputError, match=r"leave that table out"):
        angle_curve(listed)


HAND = AngleCurve(
    "Hand $made",
    (
        AngleCount(179.0, 0.0, 4, 0.16),
        AngleCount(0.0, 1.0, 3, 0.17),
        AngleCount(1.0, 2.0, 3, 0.18),
        AngleCount(2.0, 3.0, 2, 0.02, True),
        AngleCount(3.0, 4.0, 2),
    ),
    179.0,
    180.0,
)


def test_the_best_keeps_what_was_asked_and_is_planned():
    assert HAND.best.position_angle_deg == 1.0
    found = AngleCount(100.0, 101.0, 3, 0.17999999, is_found=True)  # alike, and what a plan finds by itself
    assert replace(HAND, angles=(*HAND.angles, found)).best == found
    less = replace(found, overlap_found=0.1798)
    assert replace(HAND, angles=(*HAND.angles, less)).best.position_angle_deg == 1.0


def test_document():
    document = which_angle_document(HAND)
    assert list(document) == ["schema", "title", "angles", "best_position_angle_deg"]
    assert document["schema"] == "which-angle 1" and document["best_position_angle_deg"] == 1.0
    first, *_, last = document["angles"]
    assert first == {"position_angle_deg": 179.0, "panels": 4, "overlap_found": 0.16, "proven": True}
    assert last == {"position_angle_deg": 3.0, "panels": 2, "proven": False}


def test_a_curve_without_plans_can_be_drawn_and_written():
    loose = replace(
        HAND, angles=tuple(replace(one, overlap_found=None, falls_short=False) for one in HAND.angles)
    )
    assert (
        Image.open(io.BytesIO(which_angle_png(loose))).size
        == Image.open(io.BytesIO(which_angle_png(HAND))).size
    )
    assert which_angle_document(loose)["best_position_angle_deg"] == 2.0


def test_drawing_is_the_same_on_every_run_and_dark_is_dark():
    light, dark = which_angle_png(HAND), which_angle_png(HAND, dark=True)
    assert light == which_angle_png(HAND)
    picture = Image.open(io.BytesIO(light))
    assert picture.text["Software"] == "mosaic planner"
    grey = [np.asarray(Image.open(io.BytesIO(png)).convert("L")).mean() for png in (light, dark)]
    assert grey[0] > 200.0
    assert grey[1] < 60.0
