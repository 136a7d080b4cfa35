"""Plan files whose region is of several parts: what they mean, and what plan.json tells of it."""

import numpy as np
import pytest

from planner.answers.find_region import find_region
from planner.answers.plan import make_plan
from planner.errors import InputError
from planner.files.documents.plan import plan_document
from planner.files.plan_file.read import request_from_document, request_from_text
from planner.files.plan_file.write import new_plan_text, update_document
from planner.mosaic.region import Region
from tests.mosaic import oracle

CAMERA = {"focal_length_mm": 380.0, "sensor_px": [6000, 4000], "pixel_um": 3.9}
DISC = {"center": [318.0, 60.0], "radius_deg": 0.8}
TRIANGLE = {"outline": [[330.0, 60.0], [332.0, 60.0], [332.0, 61.5]]}


def request(region, **mosaic):
    return request_from_document({"camera": CAMERA, "region": region, "mosaic": mosaic})


def test_each_part_has_its_own_margin_and_the_region_adds_its_own():
    parts = [DISC | {"margin_arcmin": 12.0, "name": "lane"}, TRIANGLE]
    found = find_region(request({"parts": parts, "margin_arcmin": 6.0}).region).region
    assert [(part.name, part.margin_arcmin) for part in found.parts] == [("lane", 18.0), ("part 2", 6.0)]
    wanted = [
        Region.circle((318.0, 60.0), 0.8).grown(0.3),
        Region(tuple(map(tuple, TRIANGLE["outline"]))).grown(0.1),
    ]
    assert [part.region.area_deg2 for part in found.parts] == pytest.approx(
        [region.area_deg2 for region in wanted], rel=1e-9
    )
    assert found.area_deg2 == pytest.approx(sum(region.area_deg2 for region in wanted), rel=1e-9)


def test_names_alone_are_parts_that_are_objects():
    short = find_region(request({"objects": ["IC 1396", "Sh2-129"], "join": "hull"}).region)
    long = find_region(
        request({"parts": [{"object": "IC 1396"}, {"object": "Sh2-129"}], "join": "hull"}).region
    )
    assert short == long
    assert short.region.join == "hull"
    assert len(short.region.rings_deg) == 1
    assert len(short.notes) == 2


def test_one_object_under_two_names_is_refused():
    with pytest.raises(InputError, match="'M 31' and 'NGC 224' are the same object"):
        find_region(request({"objects": ["M 31", "NGC 224"]}).region)


@pytest.mark.parametrize(
    ("region", "words"),
    [
        ({"parts": []}, "parts must be 1 to 100 things to cover, got none"),
        ({"objects": []}, "objects must be 1 to 100 things to cover, got none"),
        ({"parts": [DISC] * 101}, "got 101; split the plan"),
        ({"objects": ["M 31", "m  31"]}, "objects 1 and 2 are both 'm  31'; keep one"),
        ({"parts": [DISC | {"name": "a"}, TRIANGLE | {"name": "A"}]}, "parts 1 and 2 are both 'A'"),
        ({"parts": [{"parts": [DISC]}]}, "parts 1 must not hold parts"),
        ({"parts": [{"objects": ["M 31"]}]}, "parts 1 must not hold objects"),
        ({"parts": [DISC | {"object": "M 31"}]}, "parts 1 must have exactly one of"),
        ({"parts": [DISC | {"radius_deg": 99.0}]}, r"parts 1 radius_deg must be in \(0, 35\], got 99"),
        ({"parts": [DISC | {"radius": 1.0}]}, "parts 1 radius is not known; did you mean 'radius_deg'"),
        ({"parts": [3]}, "parts 1 must be a table such as"),
        ({"parts": 3}, "parts must be a list of tables such as"),
        ({"object": "M 31", "objects": ["M 33"]}, "got object and objects; keep one"),
        ({"object": "M 31", "join": "hull"}, "join belongs to parts"),
        ({"objects": ["M 31"], "join": "far"}, "join must be 'apart' or 'hull', got 'far'"),
        ({"object": "M 31", "name": "galaxy"}, "name belongs to a part"),
    ],
)
def test_bad_parts(region, words):
    with pytest.raises(InputError, match=words):
        request(region)


def test_parts_too_far_apart_are_refused_with_how_far():
    far = request({"parts": [DISC, {"center": [138.0, -50.0], "radius_deg": 1.0}]})
    with pytest.raises(InputError, match="reach 172 degrees across the sky.*one by one"):
        find_region(far.region)


def test_a_file_of_parts_is_written_and_read_back():
    document = {
        "title": "Bridge",
        "camera": CAMERA,
        "region": {"parts": [DISC | {"margin_arcmin": 5.0}, TRIANGLE], "join": "hull"},
    }
    text = new_plan_text(document)
    assert request_from_text(text).region == request(document["region"]).region
    more = update_document(text, {"region": {"parts": [TRIANGLE, {"object": "M 31", "level": None}]}})
    assert [part.object for part in request_from_text(more).region.parts] == [None, "M 31"]
    single = update_document(text, {"region": {"parts": None, "join": None, "object": "M 31"}})
    assert request_from_text(single).region.object == "M 31"


@pytest.mark.parametrize("join", ["apart", "hull"])
def test_plan_json_tells_of_the_parts(join):
    region = {"parts": [DISC | {"name": "lane", "margin_arcmin": 6.0}, TRIANGLE], "join": join}
    plan = make_plan(request(region, position_angle_deg=80.0, layout="sliding"), effort="quick")
    told = plan_document(plan)["region"]
    assert told["join"] == join
    assert [(part["name"], part["margin_arcmin"]) for part in told["parts"]] == [
        ("lane", 6.0),
        ("part 2", 0.0),
    ]
    areas = [part["area_deg2"] for part in told["parts"]]
    exact = 2 * np.pi * (1 - np.cos(np.radians(0.9))) * np.degrees(1) ** 2
    assert areas[0] == pytest.approx(exact, rel=2e-2)
    corners = [tuple(corner) for corner in told["outline_deg"]]
    rings = [[tuple(c) for c in ring] for part in told["parts"] for ring in part["rings_deg"]]
    points = oracle.vectors(*np.array([corner for ring in rings for corner in ring]).T)
    middle = points.mean(axis=0)
    inward = points + 1e-6 * (middle - points)
    assert oracle.in_outline(inward / np.linalg.norm(inward, axis=1, keepdims=True), corners).all()
    if join == "apart":
        assert told["area_deg2"] == pytest.approx(sum(areas), rel=1e-6)
    else:
        assert told["area_deg2"] == pytest.approx(Region(tuple(corners)).area_deg2, rel=1e-6)
        assert told["area_deg2"] > 2 * sum(areas)


def test_a_region_of_one_thing_has_no_parts_in_plan_json():
    plan = make_plan(request(DISC, position_angle_deg=0.0, layout="sliding"), effort="quick")
    assert set(plan_document(plan)["region"]) == {"outline_deg", "area_deg2"}


def test_an_earlier_picture_among_parts_gives_the_angle(tmp_path):
    from tests.frames.solved_file import write_solved

    path = tmp_path / "earlier.fits"
    write_solved(path, center=(318.0, 60.0), position_angle_deg=33.0)
    found = find_region(request({"parts": [TRIANGLE, {"earlier_picture": str(path)}]}).region)
    assert found.position_angle_deg == pytest.approx(33.0, abs=0.01)


def test_parts_that_no_flat_picture_shows_are_refused_before_the_search(monkeypatch):
    def search(*given, **more):
        raise AssertionError("the search began")

    monkeypatch.setattr("planner.answers.plan.build_mosaic", search)
    far = request({"objects": ["M 42", "NGC 7000"]})
    with pytest.raises(InputError, match="parts are too far apart for one flat picture; plan them one by one"):
        make_plan(far)
