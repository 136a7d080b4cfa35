"""A review of made-up frames finds what was put in: every fault, both hemispheres, the pole, right ascension 0 h."""

import json
from collections import Counter

import numpy as np
import pytest

from planner.files.rehearsal.folder import write_rehearsal
from planner.frames.review.reading import FrameReader
from planner.frames.review.review import review_folder
from planner.frames.solve.frame_solver import FrameSolver
from planner.night.settings import Filter
from tests.answers.rehearsal.small_rehearsal import small_plan, small_rehearsal
from tests.hard_fields import HARD_FIELDS

VERDICTS = {
    "clouds": "unsolved",
    "trailed": "unsolved",
    "pointing": "off_target",
    "turned": "turned",
    "drift": "turned",
}
"""What a review says to a frame, the first that fits; to any other: good."""


def wanted(faults):
    return next((verdict for fault, verdict in VERDICTS.items() if fault in faults), "good")


def reviewed(rehearsal, folder):
    write_rehearsal(folder, rehearsal)
    plan, results = rehearsal.plan, []
    reader = FrameReader(FrameSolver(plan.request.camera, plan.mosaic.panels))
    review = review_folder(plan.request, plan.mosaic, folder, reader=reader, on_frame=results.append)
    told = json.loads((folder / "rehearsal.json").read_text())["frames"]
    return review, {one.path.relative_to(folder).as_posix(): one for one in results}, told


@pytest.mark.parametrize("field", [one for one in HARD_FIELDS if one.width_deg == 3.3], ids=str)
def test_every_fault_is_found_wherever_the_plan_lies(field, tmp_path):
    plan = small_plan((field.ra_deg, field.dec_deg, field.position_angle_deg))
    rehearsal = small_rehearsal(plan, evenings=2, faults="many", solutions="all", seed=4)
    review, results, told = reviewed(rehearsal, tmp_path)
    assert review.made_up == len(results) == len([one for one in told if "file" in one])
    seen = Counter()
    for one in told:
        seen.update(one["faults"])
        assert ("file" in one) == ("missing" not in one["faults"])
        if "file" not in one:
            continue
        result = results[one["file"]]
        assert result.verdict == wanted(one["faults"]), (one, result)
        assert result.exposure_s == one["exposure_s"]
        if result.verdict == "unsolved":
            assert ("it is trailed" in result.reason) == ("trailed" in one["faults"]), result.reason
            continue
        assert result.panel == one["panel"]
        assert (result.filter != one["filter"]) == ("filter" in one["faults"])
    assert set(seen) >= {*VERDICTS, "flip", "missing", "stack", "filter"}
    assert {row.filter for row in review.panels} == {"Ha", "OIII", "Slot 7"}


@pytest.mark.parametrize("place", [(129.0, -45.0, 20.0), (0.1, 60.0, 300.0), (70.0, 90.0, 30.0)], ids=str)
def test_frames_without_solutions_are_solved_to_where_they_look(place, tmp_path):
    """The solver knows nothing of what was drawn: it is the project's own, over the catalogue."""
    plan = small_plan(place, filters=(Filter("Ha", "narrow", 600.0, 2),))
    rehearsal = small_rehearsal(plan, evenings=1, faults="some", solutions="none", seed=2)
    _, results, told = reviewed(rehearsal, tmp_path)
    panels = {panel.name: panel for panel in plan.mosaic.panels}
    solved = 0
    for frame, one in zip(rehearsal.frames, told, strict=True):
        if "file" not in one:
            continue
        result = results[one["file"]]
        assert result.verdict == wanted(one["faults"]), (one, result)
        if result.verdict == "unsolved":
            continue
        planned = frame.planned.basis[2]
        assert panels[one["panel"]].name == result.panel
        assert "solved here" in result.reason
        offset = 60.0 * _apart_deg(planned, frame.aim.basis[2])
        assert result.offset_arcmin == pytest.approx(offset, abs=0.2)
        solved += 1
    assert solved >= 4


def _apart_deg(one, other):
    return float(np.degrees(np.arctan2(np.linalg.norm(np.cross(one, other)), one @ other)))


def test_without_faults_all_is_there_and_covered(tmp_path):
    plan = small_plan(filters=(Filter("Ha", "narrow", 600.0, 1),))
    review, results, told = reviewed(
        small_rehearsal(plan, evenings=1, faults="none", solutions="all"), tmp_path
    )
    assert review.verdicts == {"good": 4}
    assert review.reshoot == ()
    assert review.coverage.covered == plan.mosaic.covered
    assert [one["faults"] for one in told] == [[]] * 4
    assert max(result.offset_arcmin for result in results.values()) < 1e-4


def test_the_drift_that_was_put_in_is_the_drift_that_is_found(tmp_path):
    plan = small_plan(filters=(Filter("Ha", "narrow", 600.0, 2),))
    rehearsal = small_rehearsal(plan, evenings=8, faults="some", solutions="all", seed=5)
    review, _, told = reviewed(rehearsal, tmp_path)
    days = [frame.exposure.start_s / 86400 for frame in rehearsal.frames]
    last = rehearsal.frames[-1]
    turn = (last.aim.position_angle_deg - last.planned.position_angle_deg + 90.0) % 180.0 - 90.0
    drifted = abs(turn) - (2.0 if "turned" in last.faults else 0.0)
    put_in = (1 if turn > 0 else -1) * 30.0 * drifted / (days[-1] - days[0])
    (rate, *more) = [state.rate_deg_per_month for state in review.drift.states]
    assert rate == pytest.approx(put_in, rel=0.1)
    assert all(other == pytest.approx(put_in, rel=0.1) for other in more)
    assert len(told) == len(rehearsal.frames)
