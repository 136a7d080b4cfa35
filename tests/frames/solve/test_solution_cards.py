"""Solution files beside frames, where what stands there is none."""

import pytest

from planner.frames.solve.solution_cards import read_solution_file


@pytest.mark.parametrize("size", [0, 100, 2880, 3000])
def test_a_frame_that_is_cut_off_is_no_solution_file_and_says_nothing(tmp_path, size, recwarn):
    """Readers of frames tell in words that it is truncated; a package's own warning would come before."""
    path = tmp_path / "frame.fits"
    cards = ["SIMPLE  =                    T", "BITPIX  =                   16", "NAXIS   =                    2"]
    cards += ["NAXIS1  =                 3000", "NAXIS2  =                 2000", "END"]
    path.write_bytes("".join(f"{card:<80}" for card in cards).ljust(2880).ljust(4000, "0").encode()[:size])
    assert read_solution_file(path) is None and not recwarn
