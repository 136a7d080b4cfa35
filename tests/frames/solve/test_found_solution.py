"""Where the solution of one frame was found; a made-up frame is never taken for a real one."""

import pytest

from planner.files.solution_file import write_solution
from planner.frames.solve.found_solution import BESIDE, ITSELF, found_solution
from planner.frames.solve.frame_solver import SolvedFrame
from planner.frames.solve.solution_cards import fit_cards
from planner.frames.solve.solve import SolvedStars
from planner.frames.solve.tan_fit import TanFit
from tests.frames.solved_file import write_solved

STEP_DEG = 1.8465 / 3600
FIT = TanFit(128.5, -45.8, (-STEP_DEG, 0.0, 0.0, STEP_DEG), (30.5, 20.5))


def test_a_made_up_frame_says_so(tmp_path):
    real, drawn = found_solution(write_solved(tmp_path / "real.fits")), tmp_path / "drawn.fits"
    made_up = found_solution(write_solved(drawn, MADEUP=True))
    assert not real.made_up and made_up.made_up
    assert real.origin == made_up.origin == ""
    assert made_up.solution == real.solution


@pytest.mark.parametrize("made_up", [True, False])
def test_the_solution_beside_a_frame_keeps_its_mark(tmp_path, made_up):
    bare = {"CTYPE1": "nothing", "CTYPE2": "known", **({"MADEUP": True} if made_up else {})}
    frame = write_solved(tmp_path / "frame.fits", **bare)
    solution = found_solution(write_solved(tmp_path / "other.fits")).solution
    stars = SolvedStars(FIT, 20, 20, 0.1, 0.1, 0.01, -30.0)
    apart = write_solution(frame, SolvedFrame(solution, fit_cards(FIT), stars, made_up))
    for path, origin in ((frame, BESIDE), (apart, ITSELF)):
        found = found_solution(path)
        assert (found.made_up, found.origin) == (made_up, origin)
        assert found.solution.ra_deg == pytest.approx(128.5, abs=1e-9)
