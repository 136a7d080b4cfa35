import math

import numpy as np
import pytest
from astropy.wcs import WCS

from planner.answers.find_region import find_region
from planner.answers.plan import make_plan
from planner.catalogue import stars_within
from planner.errors import InputError
from planner.files.plan_file.read import request_from_document
from planner.geometry import sky_to_vector, vector_to_plane, vector_to_sky
from planner.mosaic.orientation import Orientation
from tests.frames.solved_file import write_solved
from tests.hard_fields import HARD_FIELDS
from tests.mosaic import oracle

CAMERA = {"focal_length_mm": 380.0, "sensor_px": [6000, 4000], "pixel_um": 3.9}


def plan_of(region, mosaic=None, **tables):
    mosaic = {"position_angle_deg": 0.0, "layout": "sliding", **(mosaic or {})}
    return make_plan(request_from_document({"camera": CAMERA, "region": region, "mosaic": mosaic, **tables}))


def test_region_of_a_catalogue_object_is_its_ellipse():
    request = request_from_document({"camera": CAMERA, "region": {"object": "RCW 38"}})
    region = find_region(request.region).region
    # the catalogue gives 40 arc minutes (Rodgers, Campbell & Whiteoak 1960); the polygon encloses the circle
    assert region.area_deg2 == pytest.approx(math.pi / 9, rel=2e-3)
    assert region.center_deg == pytest.approx((134.76, -47.51), abs=0.1)


def test_own_size_of_an_object_may_be_turned():
    wide = {"object": "NGC 3372", "size_arcmin": [300, 60], "position_angle_deg": 90.0}
    region = find_region(request_from_document({"camera": CAMERA, "region": wide}).region).region
    ra_deg, dec_deg = np.array(region.outline_deg).T
    across = np.ptp(ra_deg) * math.cos(math.radians(59.87))
    assert across == pytest.approx(5.0, rel=0.02)
    assert np.ptp(dec_deg) == pytest.approx(1.0, rel=0.1)


LOPSIDED = [
    [[128.1, -44.0], [130.0, -42.0], [136.0, -44.0], [135.0, -48.0], [129.0, -50.0]],
    [[358.0, 1.0], [359.0, 3.0], [3.0, 1.0], [1.0, -2.0]],
    [[10.0, 84.0], [60.0, 86.5], [120.0, 83.0], [90.0, 80.0]],
]


@pytest.mark.parametrize("outline", LOPSIDED)
def test_panels_square_with_a_picture_that_stands_exactly_at_the_angle_asked_for(outline):
    plan = plan_of({"outline": outline}, {"angles": "per_panel", "position_angle_deg": 20.0})
    axes, picture = plan.mosaic.axes, plan.picture
    assert picture.position_angle_deg == 20.0
    assert (axes.position_angle_deg, (axes.ra_deg, axes.dec_deg)) == (20.0, picture.center_deg)
    # the picture lies about the middle of what it holds, at its own centre, and holds nothing more
    stands = Orientation.common(20.0).bases(sky_to_vector(*picture.center_deg))
    xy = vector_to_plane(plan.mosaic.region.outline_vectors, stands)
    halves = [math.tan(math.radians(size) / 2) for size in (picture.width_deg, picture.height_deg)]
    assert np.allclose([xy.min(axis=0), xy.max(axis=0)], [[-halves[0], -halves[1]], halves], atol=1e-9)


def test_a_margin_is_laid_around_the_region():
    plain = plan_of({"center": [10.0, 20.0], "radius_deg": 1.0}).mosaic.region
    grown = plan_of({"center": [10.0, 20.0], "radius_deg": 1.0, "margin_arcmin": 30.0}).mosaic.region
    assert grown.area_deg2 / plain.area_deg2 == pytest.approx(1.5**2, rel=0.01)


def test_region_of_an_earlier_picture_gives_the_angle_too(tmp_path):
    wcs = WCS(naxis=2)
    wcs.wcs.ctype = "RA---TAN", "DEC--TAN"
    wcs.wcs.crval = 80.0, -30.0
    wcs.wcs.crpix = 500.5, 400.5
    angle = math.radians(33.0)
    wcs.wcs.cd = 0.002 * np.array([[-math.cos(angle), math.sin(angle)], [math.sin(angle), math.cos(angle)]])
    from astropy.io import fits

    path = tmp_path / "earlier.fits"
    fits.PrimaryHDU(np.zeros((800, 1000), dtype="u1"), wcs.to_header()).writeto(path)
    document = {"camera": CAMERA, "region": {"earlier_picture": str(path)}}
    plan = make_plan(request_from_document(document))
    assert plan.picture.position_angle_deg == pytest.approx(33.0, abs=1e-6)
    assert plan.picture.width_deg == pytest.approx(2.0, rel=1e-3)
    assert {round(panel.position_angle_deg, 6) for panel in plan.mosaic.panels} == {33.0}
    assert len(plan.mosaic.panels) == 1


@pytest.mark.parametrize("field", HARD_FIELDS, ids=str)
def test_picture_has_the_asked_aspect_and_holds_the_region(field):
    center = [field.ra_deg, max(-89.9, min(89.9, field.dec_deg))]
    plan = plan_of(
        {"center": center, "width_deg": 2.0, "height_deg": 1.0, "position_angle_deg": 20.0},
        picture={"aspect": [3, 2], "position_angle_deg": 65.0},
    )
    picture = plan.picture
    half = [math.tan(math.radians(size) / 2) for size in (picture.width_deg, picture.height_deg)]
    assert half[0] / half[1] == pytest.approx(1.5, rel=1e-12)
    corners = oracle.vectors(*np.array(plan.mosaic.region.outline_deg).T)
    panel = (*picture.center_deg, picture.position_angle_deg)
    assert oracle.in_panel(corners, panel, half, slack=1e-12).all()
    pixel = math.radians(plan.request.camera.scale_arcsec_px / 3600)
    assert picture.pixels == tuple(round(2 * side / pixel) for side in half)


def test_stars_in_seams_are_counted_like_one_by_one():
    plan = plan_of({"center": [128.5, -45.8], "radius_deg": 2.5}, {"angles": "per_panel"})
    triples = [(p.ra_deg, p.dec_deg, p.position_angle_deg) for p in plan.mosaic.panels]
    half = (plan.mosaic.field.half_width, plan.mosaic.field.half_height)
    stars = stars_within(sky_to_vector(128.5, -45.8), math.radians(6.0)).vectors
    inside = np.array([oracle.in_panel(stars, panel, half) for panel in triples])
    for seam, count in zip(plan.mosaic.seams, plan.star_counts.seams, strict=True):
        assert count == int((inside[seam.first] & inside[seam.second]).sum())
    assert sum(plan.star_counts.seams) > 100
    for index, count in enumerate(plan.star_counts.panels):
        shared = np.zeros(len(stars), dtype=bool)
        for seam in plan.mosaic.seams:
            if index in (seam.first, seam.second):
                shared |= inside[seam.first] & inside[seam.second]
        assert count == int(shared.sum())


def test_a_seam_with_few_stars_is_noted():
    plan = plan_of({"center": [12.0, -27.0], "width_deg": 5.0, "height_deg": 1.0}, {"overlap": 0.03})
    assert min(plan.star_counts.seams) < 10
    assert any("fewer than 10 stars" in note for note in plan.notes)


def test_a_print_that_asks_too_much_is_noted():
    plan = plan_of({"center": [50.0, 0.0], "radius_deg": 1.0}, picture={"print_width_cm": 300.0})
    assert any("pixels an inch" in note for note in plan.notes)


def test_square_sensor_and_usable_field():
    camera = {**CAMERA, "sensor_px": [4000, 4000], "usable": [0.5, 1.0]}
    request = request_from_document({"camera": camera, "region": {"center": [1.0, 2.0], "radius_deg": 0.1}})
    field = make_plan(request).mosaic.field
    assert math.tan(math.radians(field.width_deg / 2)) == pytest.approx(
        0.5 * math.tan(math.radians(field.height_deg / 2)), rel=1e-12
    )


def test_listed_panels_are_taken_as_they_are():
    panels = [
        {"name": "B3", "ra_deg": 128.2, "dec_deg": -45.8, "position_angle_deg": 20.0},
        {"name": "B4", "ra_deg": 125.2, "dec_deg": -45.0, "position_angle_deg": 200.0},
    ]
    plan = plan_of({"center": [128.2, -45.8], "radius_deg": 1.0}, {"position_angle_deg": 20.0}, panels=panels)
    assert [(p.name, p.order, p.row, p.column) for p in plan.mosaic.panels] == [
        ("B3", 1, 2, 3),
        ("B4", 2, 2, 4),
    ]
    assert plan.mosaic.covered


@pytest.mark.parametrize(
    ("tables", "words"),
    [
        ({"mosaic": {"columns": 2, "rows": 2}}, "leave one out"),
        ({"panels": [{"name": "A1", "ra_deg": 1, "dec_deg": 2, "position_angle_deg": 3}] * 2}, "differ"),
        (
            {
                "panels": [
                    {"name": "A1", "ra_deg": 1, "dec_deg": 2, "position_angle_deg": 3, "exposures": {"Ha": 3}}
                ]
            },
            "'Ha'",
        ),
        ({"panels": [{"name": "A1", "ra_deg": 1, "dec_deg": 92, "position_angle_deg": 3}]}, "90"),
    ],
)
def test_listed_panels_that_contradict_the_rest(tables, words):
    panels = [{"name": "A1", "ra_deg": 1, "dec_deg": 2, "position_angle_deg": 3}]
    document = {"camera": CAMERA, "region": {"center": [1, 2], "radius_deg": 1}, "panels": panels, **tables}
    with pytest.raises(InputError, match=words):
        request_from_document(document)


def test_reordering_nothing_planning_twice_gives_the_same():
    first, second = (plan_of({"center": [0.3, 60.0], "radius_deg": 2.2}) for _ in range(2))
    assert first.mosaic.panels == second.mosaic.panels
    assert float(vector_to_sky(first.mosaic.region.basis[2])[0]) == pytest.approx(0.3)


@pytest.mark.parametrize(
    ("ra_deg", "dec_deg", "angle_deg"), [(100.0, -40.0, 33.0), (0.0, 0.0, 0.0), (10.0, 89.0, 271.4)]
)
def test_one_panel_of_the_same_camera_covers_an_earlier_picture(tmp_path, ra_deg, dec_deg, angle_deg):
    size, pitch_arcsec = (60, 40), 206264.80624709636 * 390e-3 / 380.0
    path = write_solved(
        tmp_path / "earlier.fits",
        center=(ra_deg, dec_deg),
        position_angle_deg=angle_deg,
        scale_arcsec=pitch_arcsec,
        size=size,
    )
    camera = {"focal_length_mm": 380.0, "sensor_px": list(size), "pixel_um": 390.0}
    plan = make_plan(
        request_from_document({"camera": camera, "region": {"earlier_picture": str(path)}}), effort="quick"
    )
    assert len(plan.mosaic.panels) == 1 and plan.mosaic.covered
    assert plan.mosaic.panels[0].position_angle_deg % 180 == pytest.approx(angle_deg % 180)


@pytest.mark.parametrize("angle_deg", [38.0, 85.667, 217.0, 333.3])
def test_panels_have_the_pinned_angle_itself_where_the_region_stands_along_it(angle_deg):
    # a rounding below it is not half a turn above it
    center, sizes = [200.0, 35.0], {"width_deg": 4.0, "height_deg": 1.5}
    region = {"center": center, "position_angle_deg": angle_deg, **sizes}
    plan = plan_of(region, {"position_angle_deg": angle_deg, "layout": "free"})
    assert {round(panel.position_angle_deg, 9) for panel in plan.mosaic.panels} == {angle_deg}


@pytest.mark.parametrize("zero_deg", [4.0, -20.0])
def test_a_fixed_camera_is_planned_at_its_own_angle(zero_deg):
    region = {"center": [128.5, -45.0], "width_deg": 5.0, "height_deg": 2.0, "position_angle_deg": 50.0}
    tables = {"camera": CAMERA, "region": region, "angle_device": {"kind": "fixed", "zero_deg": zero_deg}}
    plan = make_plan(request_from_document({**tables, "mosaic": {"layout": "sliding"}}), effort="quick")
    angles = {panel.position_angle_deg for panel in plan.mosaic.panels}
    assert angles == {zero_deg % 360.0} and not plan.shortfalls
    assert any("no other angle was looked at" in note for note in plan.notes)
    pinned = {"layout": "sliding", "position_angle_deg": 50.0}  # what is asked for is planned
    other = make_plan(request_from_document({**tables, "mosaic": pinned}), effort="quick")
    assert {panel.position_angle_deg for panel in other.mosaic.panels} == {50.0}
