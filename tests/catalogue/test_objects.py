"""Objects: names in every spelling, duplicates, entries that do not exist, what reaches into a circle."""

import math
import sqlite3

import numpy as np
import pytest
from pyongc.ongc import Dso

from planner.catalogue import find_object, objects_within
from planner.catalogue.names import identifier_of, pretty_name
from planner.catalogue.packages import shipped_file
from planner.errors import InputError
from planner.geometry import separation_rad, sky_to_vector

SPELLINGS = {
    "NGC 3372": [
        "NGC3372",
        "ngc 3372",
        " Ngc  3372 ",
        "NGC_3372",
        "NGC-3372",
        "C 92",
        "Caldwell 92",
        "Carina Nebula",
    ],
    "NGC 1976": [
        "M 42",
        "M42",
        "m042",
        "Messier 42",
        "ngc1976",
        "LBN 974",
        "orion nebula",
        "Great Orion Nebula",
    ],
    "NGC 224": ["M31", "NGC 224", "NGC0224", "UGC 454", "PGC 2557", "MCG +07-02-016", "the Andromeda Galaxy"],
    "IC 1396": ["IC 1396", "ic1396", "MWSC 3539"],
    "Mel 22": ["M45", "Melotte 22", "Pleiades"],
    "ESO 56-115": ["ESO 56-115", "ESO056-115", "LMC", "large magellanic cloud", "PGC 17223"],
    "B 33": ["Barnard 33", "B33", "Horsehead Nebula"],
    "NGC 190 NED01": ["NGC 190 NED01", "ngc190ned1"],
}


@pytest.mark.parametrize(
    ("name", "spelling"), [(name, text) for name, texts in SPELLINGS.items() for text in texts]
)
def test_every_spelling_finds_the_object(name, spelling):
    assert find_object(spelling).name == name


@pytest.mark.parametrize(
    "name", ["NGC 1", "NGC 7000", "IC 434", "M 13", "M 101", "M 24", "UGC 5470", "MCG+01-02-003"]
)
def test_positions_and_sizes_are_those_of_the_package_s_own_reader(name):
    ours, theirs = find_object(name), Dso(name.replace(" ", ""))
    (hours, minutes, seconds), (degrees, arcmin, arcsec) = theirs.coords
    sign = math.copysign(1.0, degrees)
    assert ours.ra_deg == pytest.approx(15 * (hours + minutes / 60 + seconds / 3600), abs=1e-9)
    assert ours.dec_deg == pytest.approx(sign * (abs(degrees) + arcmin / 60 + arcsec / 3600), abs=1e-9)
    major, minor, angle = theirs.dimensions
    assert ours.major_arcmin == major
    assert ours.minor_arcmin == (major if minor is None else minor)
    assert ours.position_angle_deg == (None if angle is None else angle % 180)


def test_andromeda_stands_where_other_catalogues_have_it():
    # M 31: 00 42 44.330 +41 16 07.50 (2MASS Extended Source Catalog, Skrutskie et al. 2006, AJ 131, 1163)
    andromeda = find_object("M31")
    there = sky_to_vector(15 * (42 / 60 + 44.330 / 3600), 41 + 16 / 60 + 7.5 / 3600)
    arcsec = np.degrees(separation_rad(sky_to_vector(andromeda.ra_deg, andromeda.dec_deg), there)) * 3600
    assert arcsec < 3.0  # catalogues differ on the middle of a galaxy
    assert andromeda.label == "M 31"
    assert andromeda.kind == "galaxy"


@pytest.mark.parametrize(
    ("duplicate", "original"), [("IC 11", "NGC 281"), ("IC 381", "NGC 1530A"), ("M102", "NGC 5457")]
)
def test_a_duplicate_leads_to_the_entry_it_repeats(duplicate, original):
    assert find_object(duplicate).name == original


def test_all_duplicates_and_all_first_names_can_be_found():
    database = sqlite3.connect(shipped_file("pyongc", "ongc.db"))
    rows = database.execute("SELECT name, type FROM objects WHERE name LIKE '%00%'").fetchall()
    database.close()
    assert len(rows) > 200
    for name, kind in rows:
        if kind not in ("Dup", "NonEx"):
            assert find_object(pretty_name(name)).name == pretty_name(name)
        elif kind == "Dup":
            assert find_object(name).ra_deg >= 0.0


@pytest.mark.parametrize("name", ["IC 1064", "NGC 412"])
def test_an_entry_that_does_not_exist_is_an_error(name):
    with pytest.raises(InputError, match=f"{name} does not exist on the sky"):
        find_object(name)


@pytest.mark.parametrize(
    ("name", "hint"),
    [
        ("NGC 9999", "NGC 999"),
        ("ngc7000x", "NGC 7000"),
        ("M 200", "M 20"),
        ("Androméda", "Andromeda Galaxy"),
        ("horsehed nebula", "Horsehead Nebula"),
        ("", "or give the center and the size"),
        ("x" * 5000, r"x\.\.\."),
        ("'; drop table objects; --", "give the center and the size"),
        ("NGC 12345678901234567890", "give the center and the size"),
    ],
)
def test_an_unknown_object_is_an_error_with_near_names(name, hint):
    with pytest.raises(InputError, match=f"the catalogue has no object .*{hint}") as caught:
        find_object(name)
    assert "\n" not in str(caught.value)
    assert len(str(caught.value)) < 250


def test_objects_in_a_circle_are_those_of_a_plain_search():
    database = sqlite3.connect(shipped_file("pyongc", "ongc.db"))
    rows = database.execute("SELECT name, ra, dec, majax FROM objects WHERE type IN ('G', 'OCl')").fetchall()
    database.close()
    center, radius = sky_to_vector(0.3, 20.0), math.radians(7.0)
    wanted = {
        pretty_name(name)
        for name, ra, dec, size in rows
        if size
        and size >= 1.0
        and separation_rad(sky_to_vector(math.degrees(ra), math.degrees(dec)), center)
        <= radius + math.radians(size / 120)
    }
    found = objects_within(center, radius, smallest_arcmin=1.0)
    assert {item.name for item in found if item.kind in ("galaxy", "open cluster")} == wanted
    assert len(wanted) > 20
    assert [item.major_arcmin for item in found] == sorted(
        (item.major_arcmin for item in found), reverse=True
    )


@pytest.mark.parametrize("center", [(0.0, 90.0), (0.0, -90.0), (359.99, 0.0)])
def test_objects_at_the_poles_and_across_right_ascension_zero(center):
    found = objects_within(sky_to_vector(*center), math.radians(8.0))
    right_ascensions = [item.ra_deg for item in found]
    assert max(right_ascensions) - min(right_ascensions) > 200.0


def test_a_wide_object_reaches_in_from_outside():
    cloud = find_object("LMC")
    beside = sky_to_vector(cloud.ra_deg, cloud.dec_deg + 6.0)
    assert cloud in objects_within(beside, math.radians(1.0))
    assert cloud not in objects_within(beside, math.radians(0.1))


def test_names_are_spelt_both_ways():
    for name in ("NGC 224", "IC 434", "ESO 56-115", "M 42", "Mel 22", "UGC 5470", "NGC 190 NED01"):
        assert pretty_name(identifier_of(name)).casefold() == name.casefold()
