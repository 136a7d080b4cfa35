"""Parts of the region as the app's list changes them: the plan file says what the list shows."""

import pytest

from planner.errors import InputError
from planner.files.plan_file.read import request_from_text
from planner.session.edits import edited_text
from planner.session.parts import margin_edits, named_edits, removed_edits

CAMERA = "[camera]\nfocal_length_mm = 380.0\nsensor_px = [6000, 4000]\npixel_um = 3.9\n"
TABLES = """
[region]
margin_arcmin = 2
join = "hull"
parts = [
  { object = "M 8", level = "bright", margin_arcmin = 10 },  # the lagoon
  { name = "dark lane", center = [271.0, -23.5], radius_deg = 0.4 },
]
"""
NAMES = "\n[region]\nobjects = ['M 8', 'M 20', 'M 21']\n"


def region(text, edits):
    return request_from_text(edited_text(text, edits)).region


def test_margins_reach_their_parts_and_all_else_stays():
    edits = margin_edits(CAMERA + TABLES, [None, 4.5])
    found = region(CAMERA + TABLES, edits)
    assert [part.margin_arcmin for part in found.parts] == [0.0, 4.5]
    assert found.parts[0].level == "bright" and found.part_names == ("M 8", "dark lane")
    assert (found.join, found.margin_arcmin) == ("hull", 2.0)
    assert "# the lagoon" in edited_text(CAMERA + TABLES, edits)


def test_names_alone_stay_names_until_one_has_a_margin():
    assert region(CAMERA + NAMES, margin_edits(CAMERA + NAMES, [0.0, None, 0.0])).objects == (
        "M 8",
        "M 20",
        "M 21",
    )
    found = region(CAMERA + NAMES, margin_edits(CAMERA + NAMES, [0.0, 3.0, None]))
    assert found.objects is None and [part.margin_arcmin for part in found.parts] == [0.0, 3.0, 0.0]


def test_a_part_is_taken_out_and_the_last_one_left_is_the_region():
    assert region(CAMERA + NAMES, removed_edits(CAMERA + NAMES, 1)).objects == ("M 8", "M 21")
    lagoon = region(CAMERA + TABLES, removed_edits(CAMERA + TABLES, 1))
    assert (lagoon.object, lagoon.level, lagoon.margin_arcmin, lagoon.all_parts) == (
        "M 8",
        "bright",
        12.0,
        (),
    )
    lane = region(CAMERA + TABLES, removed_edits(CAMERA + TABLES, 0))
    assert (lane.radius_deg, lane.margin_arcmin, lane.join) == (0.4, 2.0, "apart")
    with pytest.raises(InputError, match="only part stays"):
        removed_edits(CAMERA + "[region]\nobjects = ['M 8']\n", 0)


def test_a_part_is_added_by_any_of_its_names():
    text = CAMERA + '[region]\nobject = "M 8"\nmargin_arcmin = 5\n'
    found = region(text, named_edits(text, "the trifid nebula"))
    assert found.objects == ("M 8", "M 20") and found.margin_arcmin == 5.0
    with pytest.raises(InputError, match="belongs to the region already"):
        named_edits(text, "m8")
    with pytest.raises(InputError, match="by a name of the catalogue, got the position"):
        named_edits(text, "271.0, -23.5")
    with pytest.raises(InputError, match="no object"):
        named_edits(text, "NGC 99999")
