from dataclasses import replace
from types import SimpleNamespace

import pytest

from planner.answers import how_many_angles as module
from planner.answers.how_many_angles import ANGLES, how_many_angles
from planner.answers.plan import make_plan
from planner.errors import InputError
from planner.files.documents.how_many_angles import how_many_angles_document
from planner.files.plan_file.read import request_from_document

DOCUMENT = {
    "title": "Field",
    "camera": {"focal_length_mm": 380.0, "sensor_px": [6000, 4000], "pixel_um": 3.9},
    "region": {"center": [128.0, 62.0], "width_deg": 4.6, "height_deg": 2.0, "position_angle_deg": 30.0},
}


def field(**mosaic):
    return request_from_document({**DOCUMENT, "mosaic": mosaic})


def invented_plan(panels, angles_deg, bound, shortfalls=()):
    """As much of a plan as a comparison looks at."""
    listed = [SimpleNamespace(position_angle_deg=angles_deg[k % len(angles_deg)]) for k in range(panels)]
    mosaic = SimpleNamespace(panels=listed, overlap_found=0.2, panel_count_bound=bound)
    return SimpleNamespace(mosaic=mosaic, shortfalls=shortfalls)


def compared(monkeypatch, plans):
    """Rows where planning gives these plans, one after the other."""
    made = iter(plans)
    monkeypatch.setattr(module, "make_plan", lambda *_, **__: next(made))
    return how_many_angles(field())


def test_rows_are_what_plans_of_the_same_request_give():
    request = field(position_angle_range_deg=[25.0, 45.0])
    told = []
    rows = how_many_angles(request, progress=lambda what, share: told.append((what, share)))
    assert tuple(row.angles for row in rows) == ANGLES
    counts = [row.panels for row in rows]
    assert counts == sorted(counts, reverse=True)
    for row in rows:
        assert row.panel_count_bound <= row.panels
        assert row.overlap_found >= 0.15 * (1 - 1e-9)
        assert row.shortfalls == ()
    plan = make_plan(request, effort="quick")
    assert (rows[0].panels, rows[0].angles_used) == (len(plan.mosaic.panels), 1)
    assert rows[0].overlap_found == plan.mosaic.overlap_found
    shares = [share for _, share in told]
    assert shares == sorted(shares) and 0.0 <= shares[0] <= shares[-1] <= 1.0


def test_a_plan_with_fewer_angles_stands_where_more_angles_found_none_as_good(monkeypatch):
    plans = [
        (9, [10.0], 7),
        (8, [10.0, 55.0], 6),
        (9, [10.0], 6),
        (7, [1.0, 2.0, 3.0], 6),
        (10, [0.0, 1.0], 9),
    ]
    rows = compared(monkeypatch, [invented_plan(*plan) for plan in plans])
    assert [row.panels for row in rows] == [9, 8, 8, 7, 7]
    assert [row.angles_used for row in rows] == [1, 2, 2, 3, 3]
    assert [row.taken_from for row in rows] == [None, None, 2, None, 4]
    assert [row.panel_count_bound for row in rows] == [7, 6, 6, 6, 6]


def test_a_plan_that_falls_short_does_not_stand_for_one_that_holds(monkeypatch):
    plans = [invented_plan(5, [0.0], 4, ("a gap",)), *[invented_plan(6, [0.0], 4)] * 4]
    rows = compared(monkeypatch, plans)
    assert [row.panels for row in rows] == [5, 6, 6, 6, 6]
    assert [bool(row.shortfalls) for row in rows] == [True, False, False, False, False]


def test_angles_half_a_turn_apart_need_no_turn(monkeypatch):
    rows = compared(monkeypatch, [invented_plan(4, [179.999, 359.9989, 0.001], 4)] * 5)
    assert rows[0].angles_used == 1


def test_a_pinned_angle_is_let_go(monkeypatch):
    asked = []

    def make(request, **_):
        asked.append(request.mosaic)
        return invented_plan(4, [0.0], 4)

    monkeypatch.setattr(module, "make_plan", make)
    request = field(position_angle_deg=70.0, overlap=0.2)
    how_many_angles(request)
    free = replace(request.mosaic, position_angle_deg=None)
    assert asked == [replace(free, angles=one) for one in ANGLES]


def test_grids_and_listed_panels_are_refused():
    with pytest.raises(InputError, match=r"got mosaic\.columns and rows; leave them out"):
        how_many_angles(field(columns=2, rows=2))
    listed = {"panels": [{"name": "A", "ra_deg": 128.0, "dec_deg": 62.0, "position_angle_deg": 30.0}]}
    with pytest.raises(InputError, match=r"got listed \[\[panels\]\]; leave them out"):
        how_many_angles(request_from_document({**DOCUMENT, **listed}))


def test_the_document_rounds_the_overlap_down(monkeypatch):
    rows = compared(monkeypatch, [invented_plan(4, [0.0], 4)] * 5)
    document = how_many_angles_document("Field", [replace(rows[0], overlap_found=0.1599999999)])
    row = {"angles": 1, "panels": 4, "angles_used": 1, "overlap_found": 0.159999, "panel_count_bound": 4}
    assert document == {"schema": "how-many-angles 1", "title": "Field", "rows": [row]}
