"""The picture's format by name: what is chosen is what the plan file then says."""

import math

import pytest

from planner.errors import InputError
from planner.request.request import PictureRequest
from planner.session.formats import FORMATS, WAYS, format_edits, format_of, way_of


def asked(edits):
    return PictureRequest(**{key.partition(".")[2]: value for key, value in edits.items()})


@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize("name", [name for name, sides in FORMATS.items() if sides])
def test_what_is_chosen_is_read_back(name, way):
    found = asked(format_edits(None, name, way))
    assert format_of(found) == name
    assert name == "1:1" or way_of(found) == way


def test_the_a_series_keeps_its_shape_when_halved():
    """ISO 216: cut in half across its longer side, a sheet has the same proportions; whole millimetres."""
    width, height = FORMATS["A series"]
    assert math.isclose(width / height, height / (width / 2), rel_tol=2e-4)


def test_free_takes_the_keys_out_and_own_proportions_stay():
    assert format_edits(PictureRequest(aspect=(3, 2), upright="either"), "free", "lies") == {
        "picture.aspect": None,
        "picture.upright": None,
    }
    own = PictureRequest(aspect=(7, 3))
    assert format_of(own) == "own"
    assert format_edits(own, "own", "stands")["picture.aspect"] == [3, 7]
    assert way_of(PictureRequest(aspect=(3, 2), upright=True)) == "stands"
    with pytest.raises(InputError, match="a format is one of"):
        format_edits(None, "7:1", "lies")
