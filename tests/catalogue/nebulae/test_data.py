"""The packed data: made from the sources, places and outlines, circles on the sky over 0 h and the poles."""

import csv
import json
import math
from functools import cache
from pathlib import Path

import numpy as np
import pytest
import shapely

import planner.catalogue.nebulae as package
from planner.answers.plan import make_plan
from planner.catalogue.nebulae import KINDS, LEVELS, all_nebulae, find_nebula, nebulae_named
from planner.catalogue.nebulae.build.compared import compared_page
from planner.catalogue.nebulae.build.entries import outlines, read_entries
from planner.catalogue.nebulae.build.pack import gathered, packed
from planner.errors import FileError
from planner.files.plan_file.read import request_from_document
from planner.geometry import separation_rad, sky_basis, sky_to_vector, vector_to_plane
from planner.mosaic.region import Region
from tests.hard_fields import HARD_FIELDS

FOLDER = Path(package.__file__).parent
CAMERA = {"focal_length_mm": 380, "sensor_px": [6000, 4000], "pixel_um": 3.9}


@cache
def built():
    return gathered()


def test_the_file_is_what_the_build_makes_of_the_sources():
    arrays = packed(*built())
    with np.load(FOLDER / "data" / "nebulae.npz") as file:
        assert sorted(file.files) == sorted(arrays)
        for name in file.files:
            if name == "ring_cap":
                np.testing.assert_allclose(file[name], arrays[name], atol=1e-6)
            else:
                np.testing.assert_array_equal(file[name], arrays[name], name)


def test_the_guide_lists_what_the_build_finds():
    nebulae, members, _ = built()
    page = FOLDER.parents[1] / "guide" / "nebulae-compared.md"
    assert page.read_text(encoding="utf-8") == compared_page(nebulae, members)


def test_every_entry_belongs_to_one_nebula_and_gives_it_its_size():
    nebulae, members, entries = built()
    assert set(members) == set(entries)
    sources = [size.source for nebula in nebulae for size in nebula.sizes]
    assert len(sources) == len(entries)
    for nebula in nebulae:
        assert nebula.kind in KINDS
        assert set(nebula.levels) <= set(LEVELS)
        assert list(nebula.areas_deg2) == sorted(nebula.areas_deg2, reverse=True)


def test_no_two_entries_of_one_table_are_one_nebula():
    _, members, entries = built()
    seen = set()
    for name, index in members.items():
        catalogue = entries[name].catalogue
        if catalogue != "OpenNGC":
            assert (catalogue, index) not in seen, name
            seen.add((catalogue, index))


def test_every_row_and_every_name_of_the_tables_is_found():
    with (FOLDER / "source" / "nebulae.csv").open(encoding="utf-8", newline="") as stream:
        rows = list(csv.DictReader(stream))
    assert len(rows) == 4728
    for row in rows:
        spelt = f"Sh2-{row['number']}" if row["catalogue"] == "Sh2" else f"{row['catalogue']} {row['number']}"
        (nebula,), _ = nebulae_named(spelt)
        source = spelt.replace("Sh2-", "Sharpless ")
        (size,) = (size for size in nebula.sizes if size.source == source)
        assert size.major_arcmin == (float(row["major_arcmin"]) if row["major_arcmin"] else None)
        for name in filter(None, row["names"].split("; ")):
            assert nebulae_named(name)[0] or name == "IC 434 (background)", (spelt, name)


@pytest.mark.parametrize(
    ("one", "other"),
    [
        # named alike but elsewhere, or a part of the other (place and size; see the sources)
        ("LBN 537", "Sh2-157"),
        ("LBN 744", "Sh2-216"),
        ("IC 63", "Sh2-185"),
        ("NGC 6960", "Cygnus Loop"),
        ("NGC 2024", "Sh2-277"),
        ("RCW 86", "SNR G315.4-2.3"),
        ("B 152", "LDN 935"),
        ("B 317", "LDN 39"),
        ("B 81", "LDN 110"),
        ("Ced 195a", "LBN 452"),
        ("vdB 142", "IC 1396"),
    ],
)
def test_a_name_alone_joins_nothing(one, other):
    assert find_nebula(one).index != find_nebula(other).index


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("Sh2-131", "IC 1396"),
        ("LBN 455", "IC 1396"),
        ("Sh2-103", "SNR G74.0-8.5"),
        ("Sh2-240", "SNR G180.0-1.7"),
        ("Sh2-248", "IC 443"),
        ("Sh2-244", "M 1"),
        ("LBN 822", "Simeis 147"),
        ("vdB 141", "Sh2-136"),
        ("C 9", "Sh2-155"),
        ("Gum 20", "RCW 36"),
        ("RCW 53", "NGC 3372"),
        ("Sh2-308", "Dolphin Head Nebula"),
        ("NGC 2237", "Caldwell 49"),
        ("Ced 137b", "IC 4628"),
        ("RCW 147", "M 20"),
        ("Sh2-30", "Trifid Nebula"),
        ("Sh2-6", "Bug Nebula"),
        ("IC 1396A", "LBN 452"),
    ],
)
def test_name_place_and_size_together_join(one, other):
    assert find_nebula(one).index == find_nebula(other).index


def test_kinds_that_the_tables_have_wrong_are_set_right():
    assert find_nebula("LBN 777").kind == "dark"
    assert find_nebula("Cat's Paw Nebula").kind == "emission"
    assert find_nebula("Simeis 147").kind == "supernova remnant"


def overlap(one, other):
    return one.intersection(other).area / one.union(other).area


def test_outlines_agree_with_the_circles_of_catalogues_in_area_and_place():
    # every pair of one name that the sources say to overlap by half: here anew, in a tangent plane by shapely
    entries, checked = read_entries(), 0
    for key, item in outlines().items():
        for same in item["same_as"]:
            entry = entries.get(same["object"].replace("Barnard ", "B "))
            if entry is None or not same["by_name"] or same["overlap"] < 0.5:
                continue
            basis = sky_basis(entry.ra_deg, entry.dec_deg, 0.0)
            rings = [np.array(ring) for polygon in item["levels"][str(same["level"])] for ring in polygon]
            flat = shapely.union_all(
                [shapely.Polygon(vector_to_plane(sky_to_vector(*ring.T), basis)).buffer(0) for ring in rings]
            )
            radius = math.radians(entry.major_arcmin / 120)
            circle = shapely.Point(0, 0).buffer(radius, 64)
            assert overlap(flat, circle) == pytest.approx(same["overlap"], abs=0.006), (key, same)
            assert 0.49 < flat.area / circle.area < 2.0
            assert flat.centroid.distance(shapely.Point(0, 0)) < 0.7 * radius
            nebula = find_nebula(same["object"])
            assert nebula.outline_name in ("", key), (key, same)
            checked += 1
    assert checked > 35


def test_areas_are_those_of_the_outlines_on_the_sphere():
    nebulae = all_nebulae()
    for name in ("IC 1396", "NGC 7822", "Cepheus", "NGC 3372", "Heart Nebula"):
        nebula = find_nebula(name)
        for level, area in zip(nebula.levels, nebula.areas_deg2, strict=True):
            rings = [ring.vectors for ring in nebulae.outline(nebula.index, level)]
            assert Region.from_rings(rings).area_deg2 == pytest.approx(area, rel=1e-3)


def test_an_outline_across_0_h_is_whole():
    nebula = find_nebula("NGC 7822")
    (ring,) = all_nebulae().outline(nebula.index, "faint")
    assert ring.ring_deg[:, 0].min() < 5.0
    assert ring.ring_deg[:, 0].max() > 355.0
    assert Region.from_vectors(ring.vectors).area_deg2 == pytest.approx(6.16, abs=0.01)


@pytest.mark.parametrize("field", HARD_FIELDS, ids=str)
def test_circles_on_the_sky_find_what_reaches_into_them(field):
    nebulae = all_nebulae()
    center = sky_to_vector(field.ra_deg, field.dec_deg)
    radius = math.radians(max(field.width_deg, 6.0))
    found = set(nebulae.within(center, radius))
    distance = separation_rad(nebulae.vectors, center)
    wanted = set(np.flatnonzero(distance <= radius + np.radians(nebulae.major_arcmin / 120)).tolist())
    assert found == wanted
    rings = nebulae.outlines_within(center, radius)
    assert [LEVELS.index(ring.level) for ring in rings] == sorted(LEVELS.index(ring.level) for ring in rings)
    near = {ring.nebula for ring in rings}
    for index in range(len(nebulae)):
        nebula = nebulae[index] if distance[index] < radius + 0.6 else None
        if nebula is not None and nebula.levels:
            corners = np.concatenate([ring.vectors for ring in nebulae.outline(index)])
            if separation_rad(corners, center).min() <= radius:
                assert index in near, nebula.name


def test_every_outline_gives_a_plan_that_proves():
    nebulae, count = all_nebulae(), 0
    for index in range(len(nebulae)):
        nebula = nebulae[index]
        if not nebula.levels:
            continue
        document = {
            "camera": CAMERA,
            "region": {"object": nebula.name, "level": nebula.levels[0]},
            "mosaic": {"position_angle_deg": 0.0, "layout": "sliding"},
        }
        mosaic = make_plan(request_from_document(document), effort="quick").mosaic
        assert mosaic.covered, nebula.name
        assert mosaic.overlap_found >= 0.15 - 1e-9 or len(mosaic.panels) == 1, nebula.name
        count += 1
    assert count == 193


@pytest.mark.parametrize("content", [b"", b"no archive", b"PK\x03\x04 cut"])
def test_damaged_data_is_said_in_one_sentence(tmp_path, content):
    path = tmp_path / "nebulae.npz"
    path.write_bytes(content)
    with pytest.raises(FileError, match="the data of the nebulae, nebulae.npz, is damaged or missing"):
        package.Nebulae(path)


def test_the_sources_name_their_licence():
    about = json.loads((FOLDER / "source" / "outlines.json").read_text(encoding="utf-8"))["about"]
    assert "CC BY-SA 4.0" in about["licence"]
    assert "CC BY-SA 4.0" in package.NEBULAE_LICENCE


@pytest.mark.parametrize("text", ["IC 1318", "ic 1318", "Sh2-108", "a name of nothing"])
def test_entries_that_hold_a_text_are_found_in_whatever_case(text):
    nebulae = all_nebulae()
    bearing = {
        index
        for index in range(len(nebulae))
        for word in (*nebulae[index].names, *nebulae[index].near)
        if text.lower() in word.lower()
    }
    found = nebulae.indices_mentioning(text)
    assert found == sorted(found) and bearing <= set(found)
    assert bool(bearing) == bool(found) == (text != "a name of nothing")
