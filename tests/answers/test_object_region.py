"""The region of an object: own size, outline, catalogue of its kind, OpenNGC; the level; the notes."""

import pytest

from planner.answers.find_region import find_region
from planner.catalogue.nebulae import all_nebulae
from planner.errors import InputError
from planner.request.region import RegionRequest


def found(name, **options):
    return find_region(RegionRequest(object=name, **options))


def test_an_outline_comes_before_every_catalogue():
    # faint level of the outline 8.6 square degrees (OpenNGC, outlines); Sharpless 1959: 170 arc minutes
    sourced = found("IC 1396")
    assert sourced.region.area_deg2 == pytest.approx(8.60, abs=0.01)
    assert sourced.notes[0].startswith(
        "IC 1396: outline, faint level, 8.6 square degrees; Sharpless 131 gives 170 arc minutes"
    )
    assert found("Sh2-131").region == sourced.region


@pytest.mark.parametrize(
    ("name", "level", "area_deg2"),
    [
        # a faint outline may be the whole complex: 11, 7.0, 5.0 and 1.3 square degrees against 0.9, 1.2, 0.6, 0.07
        ("IC 405", "middle", 0.887),
        ("M 42", "bright", 0.551),
        ("IC 434", "middle", 0.471),
        ("NGC 3199", "middle", 0.056),
        ("M 17", "faint", 1.798),
        ("IC 1848", "faint", None),
        # without any size of a catalogue the faintest
        ("Cepheus", "faint", None),
    ],
)
def test_the_level_is_the_faintest_that_is_not_far_larger_than_catalogues_say(name, level, area_deg2):
    sourced = found(name)
    assert f"outline, {level} level" in sourced.notes[0]
    if area_deg2 is not None:
        assert sourced.region.area_deg2 == pytest.approx(area_deg2, abs=0.002)


def test_a_level_may_be_asked_for():
    areas = [found("IC 405", level=level).region.area_deg2 for level in ("faint", "middle", "bright")]
    assert areas == sorted(areas, reverse=True)
    assert areas[0] == pytest.approx(11.03, abs=0.01)
    sourced = found("IC 1396", level="bright")
    assert "middle level, 5.7 square degrees (there is no bright level)" in sourced.notes[0]


def test_a_bright_core_is_no_region_unless_asked_for():
    # the outline of Sh2-155 is its core, 0.025 square degrees; Sharpless 1959 gives 60 arc minutes
    assert found("Cave Nebula").region.area_deg2 == pytest.approx(0.785, rel=3e-3)
    assert "its bright core" in found("Cave Nebula").notes[0]
    assert found("Cave Nebula", level="middle").region.area_deg2 == pytest.approx(0.0255, rel=0.01)


@pytest.mark.parametrize(
    ("name", "note", "area_deg2"),
    [
        ("RCW 38", "RCW 38: RCW 38 gives 40 arc minutes", 0.349),
        ("vdB 141", "Sh2-136: vdB 141 gives 8.4 arc minutes; Sharpless 136 gives 5", 0.0154),
        ("Barnard 33", "B 33: Barnard 33 gives 4 arc minutes; OpenNGC (B 33) gives 6 x 4", 0.0035),
        ("Simeis 147", "Sh2-240: SNR G180.0-1.7 gives 180 arc minutes; Sharpless 240 gives 180", 7.07),
        ("B 168", "(10 arc minutes is its width, it is some 100 long)", None),
        ("Cygnus Loop", "the circle over its longer axis (230 arc minutes) is taken", 11.54),
    ],
)
def test_without_an_outline_the_catalogue_of_the_kind_is_taken(name, note, area_deg2):
    sourced = found(name)
    assert note in sourced.notes[0]
    if area_deg2 is not None:
        assert sourced.region.area_deg2 == pytest.approx(area_deg2, rel=5e-3)


def test_a_size_of_one_s_own_comes_first():
    sourced = found("IC 1396", size_arcmin=(90.0, 60.0), position_angle_deg=30.0)
    assert sourced.region.area_deg2 == pytest.approx(3.1416 * 1.5 * 1.0 / 4, rel=3e-3)
    assert sourced.notes[0].startswith(
        "IC 1396: the size given, 90 x 60 arc minutes; Sharpless 131 gives 170"
    )


def test_a_size_known_to_be_wrong_is_not_taken():
    # vdB 36 was measured from Rigel; OpenNGC and Lynds have 180 x 60 for IC 2118
    assert found("vdB 36").region.area_deg2 < 3.0


def test_a_level_of_several_pieces_is_a_region_of_several_pieces():
    sourced = found("Heart Nebula")
    assert len(sourced.region.rings_deg) == 5
    assert sourced.region.area_deg2 == pytest.approx(5.454, abs=0.002)
    assert sourced.notes[1].endswith(": its 5 pieces are covered, not what lies between")


def test_a_bare_number_means_all_its_entries():
    assert found("Ced 214").notes[0] == "Ced 214: Ced 214a, Ced 214b together"
    with pytest.raises(InputError, match="'Ced 55' fits all of: .* and more; name one of them"):
        found("Ced 55")


@pytest.mark.parametrize(
    ("name", "options", "sentence"),
    [
        ("Ced 2", {}, r"no catalogue has the size of Ced 2 \(emission\); give region.size_arcmin"),
        # the star of this number stands in the nebula that is meant: its number leads to it (OpenNGC; Sharpless 108)
        (
            "IC 1318",
            {},
            r"no size of IC 1318 \(star\); .*name a nebula at its place: Sh2-108 \(Gamma Cygni Nebula, .* LBN 251",
        ),
        (
            "IC 2631",
            {},
            r"no catalogue has the size of IC 2631 .*at its place: Ced 112 \(reflection, 2 arc min",
        ),
        ("RCW 38", {"level": "faint"}, "RCW 38 has no outline, so no level 'faint'; leave region.level out"),
        ("M 31", {"level": "faint"}, "M 31 has no outline"),
        ("Sh2-400", {}, "Sh2-400: the catalogue has 1 to 313"),
        ("Gum Nebula", {}, "some 36 degrees across, wider than a mosaic"),
    ],
)
def test_what_cannot_be_a_region_is_refused(name, options, sentence):
    with pytest.raises(InputError, match=sentence):
        found(name, **options)


@pytest.mark.parametrize(
    ("options", "sentence"),
    [
        (
            {"object": "IC 405", "level": "dim"},
            "region.level must be one of faint, middle, bright, got 'dim'",
        ),
        ({"object": "IC 405", "level": "faint", "size_arcmin": (9.0, 9.0)}, "exclude each other"),
        ({"center": (1.0, 2.0), "radius_deg": 1.0, "level": "faint"}, "region.level belongs to an object"),
    ],
)
def test_a_level_belongs_to_an_outline(options, sentence):
    with pytest.raises(InputError, match=sentence):
        RegionRequest(**options)


def test_every_size_of_the_data_makes_a_region():
    nebulae = all_nebulae()
    for index in range(0, len(nebulae), 37):
        nebula = nebulae[index]
        if nebula.size and nebula.size.major_arcmin > 0.1:
            assert found(nebula.name).region.area_deg2 > 0.0
