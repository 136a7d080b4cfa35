"""Where the solution of one frame was found; a made-up frame is never taken for a real one."""

from planner.frames.solve.found_solution import NOT_REAL, found_solution
from tests.frames.solved_file import write_solved


def test_a_made_up_frame_says_so(tmp_path):
    real, drawn = found_solution(write_solved(tmp_path / "real.fits")), tmp_path / "drawn.fits"
    made_up = found_solution(write_solved(drawn, MADEUP=True))
    assert real.origin == ""
    assert made_up.origin == NOT_REAL
    assert made_up.solution == real.solution
