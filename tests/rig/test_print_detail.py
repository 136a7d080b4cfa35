"""Largest prints and the detail that the air leaves in them."""

import pytest

from planner.errors import InputError
from planner.rig.print_detail import PPI_STEPS, largest_prints, seeing_detail_mm


def test_sheets_of_iso_216_are_filled_by_their_pixels():
    """ISO 216: A1 is 594 x 841 mm; at 300 pixels an inch 7016 x 9933 pixels."""
    at_300, at_240, at_150 = largest_prints((9933, 7016))
    assert (at_300.sheet, at_240.sheet, at_150.sheet) == ("A1", "A1", "A0")
    assert (at_300.width_cm, at_300.height_cm) == pytest.approx((84.1, 59.4), abs=0.01)
    assert at_150.width_cm == pytest.approx(2 * at_300.width_cm)
    assert [one.ppi for one in largest_prints((100, 100))] == list(PPI_STEPS)
    assert [one.ppi for one in largest_prints((100, 100), 200.0)] == [300.0, 240.0, 200.0, 150.0]
    assert largest_prints((100, 100))[0].sheet is None


def test_detail_of_the_seeing():
    """3 arc seconds at 1.5 a pixel are two pixels: at 254 an inch 0.2 mm."""
    assert seeing_detail_mm(3.0, 1.5, 254.0) == pytest.approx(0.2)
    with pytest.raises(InputError, match="above 0"):
        seeing_detail_mm(0.0, 1.0, 300.0)
