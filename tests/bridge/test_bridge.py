"""The planner's values against astropy, reproject and regions, over the hard fields."""

import datetime as dt
import math
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import astropy.units as u
import numpy as np
import pytest
from astropy.coordinates import SkyCoord
from astropy.io import fits
from astropy.table import QTable
from astropy.time import Time
from astropy.wcs import WCS
from regions import (
    CirclePixelRegion,
    CircleSkyRegion,
    EllipseSkyRegion,
    LineSkyRegion,
    PixCoord,
    PointSkyRegion,
    PolygonSkyRegion,
    RectangleSkyRegion,
    Regions,
)

import planner
from planner.answers.find_region import find_region
from planner.files.plan_file.read import read_plan_file, request_from_document
from planner.files.plan_file.request_text import document_of_request
from planner.request.request import Setup
from tests.hard_fields import HARD_FIELDS

CAMERA = {"focal_length_mm": 380.0, "sensor_px": (6000, 4000), "pixel_um": 3.9}
ROOT = Path(__file__).parents[2]
SAMPLES = [path for path in sorted(ROOT.glob("sample_targets/*.toml")) if "[region]" in path.read_text()]


def one_panel(field, angle_deg):
    """The panel of a camera with this field, at its place: nothing is searched."""
    place = {"ra_deg": field.ra_deg, "dec_deg": field.dec_deg}
    wide, high = (math.tan(math.radians(side) / 2) for side in (field.width_deg, field.height_deg))
    focal_mm = 3000 * 4e-3 / (2 * wide)
    camera = {"focal_length_mm": focal_mm, "pixel_um": 4.0, "sensor_px": (3000, round(3000 * high / wide))}
    panel = {"name": "A1", "position_angle_deg": angle_deg, **place}
    region = {"center": tuple(place.values()), "radius_deg": min(field.width_deg, field.height_deg) / 4}
    plan = planner.make_plan(planner.request(camera=camera, region=region, panels=[panel]))
    return plan["A1"], *plan.request.camera.sensor_px


@pytest.fixture(scope="module")
def plan():
    region = {"center": SkyCoord(128.5, -45.8, unit="deg"), "radius_deg": 2.0 * u.deg}
    keys = {
        "position_angle_deg": 20 * u.deg,
        "layout": "sliding",
        "angle_device": {"kind": "rotator", "zero_deg": 12.0},
    }
    return planner.make_plan(planner.request(camera=CAMERA, region=region, title="Shell", **keys))


@pytest.mark.parametrize("field", HARD_FIELDS, ids=lambda one: one.name)
@pytest.mark.parametrize("looking", ["west", "east"])
def test_wcs_and_corners_agree(field, looking):
    panel, nx, ny = one_panel(field, 33.0)
    wcs = panel.wcs(looking)
    x, y = wcs.world_to_pixel(panel.corners)
    pixels = {(round(float(a), 3), round(float(b), 3)) for a, b in zip(x, y, strict=True)}
    rim = [(a, b) for a in (-0.5, nx - 0.5) for b in (-0.5, ny - 0.5)]
    assert all(any(abs(a - c) < 1e-3 and abs(b - d) < 1e-3 for c, d in pixels) for a, b in rim)
    se = (x[0], y[0])  # at position angle 0, looking west: left and below
    wanted = (-0.5, -0.5) if looking == "west" else (nx - 0.5, ny - 0.5)
    assert np.allclose(se, wanted, atol=1e-3)
    middle = wcs.pixel_to_world((nx - 1) / 2, (ny - 1) / 2)
    assert middle.separation(panel.center).arcsec < 1e-6


@pytest.mark.parametrize("field", HARD_FIELDS, ids=lambda one: one.name)
def test_up_lies_at_the_position_angle(field):
    """By astropy's own offset: a step up from the centre lies at the position angle, the other way looking east."""
    panel, nx, ny = one_panel(field, 71.0)
    if abs(field.dec_deg) > 89.99999:
        pytest.skip("at a pole astropy takes north from elsewhere; corners and wcs are compared above")
    for looking, turn in (("west", 0.0), ("east", 180.0)):
        above = panel.wcs(looking).pixel_to_world((nx - 1) / 2, (ny - 1) / 2 + ny / 4)
        away = panel.center.separation(above)
        wanted = panel.center.directional_offset_by(panel.position_angle + turn * u.deg, away)
        assert above.separation(wanted).arcsec < 1e-3


def test_footprint_is_that_of_astropy_and_reproject(plan):
    from reproject.mosaicking import find_optimal_celestial_wcs

    panel = plan.panels[0]
    footprint = SkyCoord(panel.wcs().calc_footprint(center=False), unit="deg")
    nearest = [footprint.separation(corner).arcsec.min() for corner in panel.corners]
    assert max(nearest) < 1e-3 * plan.request.camera.scale_arcsec_px
    found, shape = find_optimal_celestial_wcs([((4000, 6000), panel.wcs())], auto_rotate=False)
    x, y = found.world_to_pixel(panel.corners)
    assert x.min() > -1.5 and y.min() > -1.5 and x.max() < shape[1] + 0.5 and y.max() < shape[0] + 0.5


def test_values_have_astropy_types(plan):
    panel = plan["A1"]
    assert panel is plan.panels[0] and panel.name == "A1"
    assert isinstance(panel.center, SkyCoord) and panel.corners.shape == (4,)
    assert panel.position_angle.deg == panel.position_angle_deg == 20.0
    assert panel.reading_deg == pytest.approx(8.0)
    with pytest.raises(planner.InputError, match="no panel 'Q9'"):
        plan["Q9"]
    with pytest.raises(planner.InputError, match="looking must be 'east' or 'west'"):
        panel.wcs("north")


def test_table_is_read_by_astropy_again(plan, tmp_path):
    table = plan.table()
    assert table["ra_deg"].unit == u.deg and len(table) == len(plan.panels)
    assert (table["ra_deg"].value == [panel.ra_deg for panel in plan.panels]).all()
    for name, form in (("t.ecsv", "ascii.ecsv"), ("t.vot", "votable")):
        table.write(tmp_path / name, format=form)
        again = QTable.read(tmp_path / name, format=form)
        assert np.allclose(again["dec_deg"].to_value(u.deg), table["dec_deg"].to_value(u.deg), atol=1e-12)
        assert list(again["name"]) == list(table["name"])


def test_regions_of_panels_hold_what_panels_hold(plan):
    for panel, region in zip(plan.panels, plan.regions(), strict=True):
        wcs, (nx, ny) = panel.wcs(), CAMERA["sensor_px"]
        spots = wcs.pixel_to_world([nx / 2, 5, nx - 6, 5, nx / 2], [ny / 2, 5, ny - 6, ny + 20, -20])
        assert list(region.contains(spots, wcs)) == [True, True, True, False, False]
        assert region.meta["label"] == panel.name


def test_moc_holds_the_panels(plan):
    moc = plan.moc()
    ra, dec = zip(*((panel.ra_deg, panel.dec_deg) for panel in plan.panels), strict=True)
    assert moc.contains_lonlat(np.array(ra) * u.deg, np.array(dec) * u.deg).all()


def test_a_notebook_shows_chart_and_table(plan):
    assert plan._repr_png_().startswith(b"\x89PNG")
    html = plan._repr_html_()
    assert html.startswith("<table") and "A1" in html and "se_ra_deg" not in html


def tangent(center):
    wcs = WCS(naxis=2)
    wcs.wcs.ctype, wcs.wcs.crval = ["RA---TAN", "DEC--TAN"], [center.ra.deg, center.dec.deg]
    wcs.wcs.cdelt, wcs.wcs.crpix, wcs.wcs.lonpole = [-0.01, 0.01], [0.0, 0.0], 180.0
    return wcs


CENTER = SkyCoord(83.0, -5.0, unit="deg")
SHAPES = {
    "circle": CircleSkyRegion(CENTER, 1.2 * u.deg),
    "rectangle": RectangleSkyRegion(CENTER, 3.0 * u.deg, 1.0 * u.deg, 25 * u.deg),
    "ellipse": EllipseSkyRegion(CENTER, 3.0 * u.deg, 1.0 * u.deg, 25 * u.deg),
    "polygon": PolygonSkyRegion(SkyCoord([82.0, 84.5, 83.2], [-6.0, -5.5, -3.8], unit="deg")),
}


@pytest.mark.parametrize("kind", SHAPES)
def test_a_sky_region_holds_the_same_points_here(kind):
    shape, wcs = SHAPES[kind], tangent(CENTER)
    region = find_region(planner.request(camera=CAMERA, region=shape).region).region
    rng = np.random.default_rng(5)
    spots = SkyCoord(83.0 + rng.uniform(-2.2, 2.2, 3000), -5.0 + rng.uniform(-2.2, 2.2, 3000), unit="deg")
    theirs = shape.contains(spots, wcs)
    import shapely

    from planner.geometry import sky_to_vector, vector_to_plane

    xy = vector_to_plane(sky_to_vector(spots.ra.deg, spots.dec.deg), region.basis)
    ours = shapely.contains_xy(region.polygon, *xy.T)
    near_rim = shapely.distance(shapely.points(xy), region.polygon.exterior) < np.radians(0.01)
    assert (theirs == ours)[~near_rim].all() and 0 < ours.sum() < len(ours)
    assert near_rim.mean() < 0.1


def test_several_regions_and_files_of_them(tmp_path):
    path = tmp_path / "sky.reg"
    two = Regions([SHAPES["circle"], CircleSkyRegion(SkyCoord(86.0, -5.0, unit="deg"), 0.5 * u.deg)])
    two.write(str(path), format="ds9")
    for given in (list(two), two[0] | two[1], path):
        parts = planner.request(camera=CAMERA, region=given).region.parts
        assert [part.radius_deg for part in parts] == pytest.approx([1.2, 0.5])


@pytest.mark.parametrize(
    ("region", "said"),
    [
        (PointSkyRegion(CENTER), "without area"),
        (LineSkyRegion(CENTER, SkyCoord(84.0, -5.0, unit="deg")), "without area"),
        (CirclePixelRegion(PixCoord(1, 2), 3), "CirclePixelRegion"),
        (SHAPES["circle"] & SHAPES["rectangle"], "must be a union"),
        ([], "region"),
        ({"center": CENTER, "radius_deg": 2.0 * u.m}, "region.radius_deg must be an angle, got 2.0 m"),
        ({"center": CENTER, "radius_deg": [1, 2] * u.deg}, "must be one value, got 2"),
        ({"center": CENTER, "radius_deg": float("nan") * u.deg}, "must be finite"),
        ({"center": SkyCoord([1, 2], [3, 4], unit="deg"), "radius_deg": 1.0}, "must be one position, got 2"),
        ({"center": CENTER, "radius_dge": 1.0}, "did you mean 'radius_deg'"),
    ],
)
def test_bad_regions_are_one_sentence(region, said):
    with pytest.raises(planner.InputError) as caught:
        planner.request(camera=CAMERA, region=region)
    assert said in str(caught.value) and "\n" not in str(caught.value)


def test_other_systems_are_converted():
    galactic = SkyCoord(260.0, -1.0, unit="deg", frame="galactic")
    asked = planner.request(camera=CAMERA, region={"center": galactic, "radius_deg": 1.0}).region
    assert SkyCoord(*asked.center, unit="deg").separation(galactic.icrs).arcsec < 1e-6


def test_keys_keep_their_names_with_quantities():
    asked = planner.request(
        camera={"focal_length_mm": 38 * u.cm, "sensor_px": (6000, 4000), "pixel_um": 3.9e-6 * u.m},
        region={"center": (10.0, 20.0), "radius_deg": 60 * u.arcmin},
        overlap_arcmin=0.2 * u.deg,
        position_angle_range_deg=[0, np.pi / 2] * u.rad,
        filters=[{"name": "Ha", "band": "narrow", "exposure_s": 10 * u.min, "exposures": 3}],
        nights={"first": dt.date(2027, 1, 8), "last": dt.date(2027, 1, 9)},
    )
    assert asked.camera.focal_length_mm == pytest.approx(380) and asked.camera.pixel_um == pytest.approx(3.9)
    assert asked.region.radius_deg == pytest.approx(1.0) and asked.mosaic.overlap_arcmin == pytest.approx(12)
    assert (
        asked.mosaic.position_angle_range_deg == pytest.approx((0, 90)) and asked.filters[0].exposure_s == 600
    )
    with pytest.raises(planner.InputError, match="did you mean 'overlap'"):
        planner.request(camera=CAMERA, region={"object": "M 42"}, overlpa=0.2)


def header(**cards):
    base = fits.Header()
    base.update(
        SIMPLE=True, BITPIX=16, NAXIS=2, NAXIS1=3000, NAXIS2=2000, CTYPE1="RA---TAN", CTYPE2="DEC--TAN"
    )
    scale = 2 * 3.9 / 380.0 * 206.26480624709636 / 3600.0
    base.update(
        CRPIX1=1500.5,
        CRPIX2=1000.5,
        CRVAL1=10.0,
        CRVAL2=20.0,
        CD1_1=-scale,
        CD1_2=0.0,
        CD2_1=0.0,
        CD2_2=scale,
    )
    base.update(cards)
    return base


def test_camera_from_header():
    for cards in ({"XPIXSZ": 7.8, "XBINNING": 2}, {"FOCALLEN": 380.0, "XBINNING": 2}):
        camera = planner.camera_from_header(header(**cards))
        assert camera.focal_length_mm == pytest.approx(380.0) and camera.pixel_um == pytest.approx(3.9)
        assert (camera.sensor_px, camera.binning) == ((6000, 4000), 2)
    with pytest.raises(planner.InputError, match="XPIXSZ"):
        planner.camera_from_header(header())
    with pytest.raises(planner.InputError, match="plate solution"):
        planner.camera_from_header(fits.Header({"SIMPLE": True, "NAXIS": 0, "XPIXSZ": 3.9}))


@pytest.mark.parametrize(
    "path", [path for path in SAMPLES if "[[setup_files]]" not in path.read_text()], ids=lambda one: one.stem
)
def test_to_file_gives_the_same_plan_file(path, tmp_path):
    asked = read_plan_file(path)
    again = request_from_document(document_of_request(replace(asked, path=None), Path.cwd()))
    assert bare(again) == bare(asked)


def bare(request):
    """Without where files stand: what they say is compared."""
    return replace(request, path=None, setup_path=None, region=replace(request.region, outline_file=None))


def test_to_file_keeps_comments_and_refuses_to_overwrite(plan, tmp_path):
    written = plan.to_file(tmp_path / "shell.toml")
    assert replace(read_plan_file(written), path=None) == plan.request
    with pytest.raises(planner.FileError, match="exists already"):
        plan.to_file(written)


def test_nights_as_a_table(plan):
    site = {
        "latitude_deg": -31.0,
        "longitude_deg": 22.0,
        "time_zone": "Africa/Johannesburg",
        "lowest_altitude_deg": 30,
    }
    asked = planner.request(
        camera=CAMERA,
        region={"center": (128.5, -45.8), "radius_deg": 0.5},
        panels=[{"name": "A1", "ra_deg": 128.5, "dec_deg": -45.8, "position_angle_deg": 0.0}],
        site=site,
        nights={"first": dt.date(2027, 1, 8), "last": dt.date(2027, 1, 9)},
        filters=[{"name": "Ha", "band": "narrow", "exposure_s": 600, "exposures": 6}],
    )
    nights = planner.plan_nights(planner.make_plan(asked))
    evenings, blocks = planner.nights_table(nights), planner.timetable(nights)
    assert len(evenings) == 2 and evenings["panel_hours"].unit == u.h
    assert isinstance(blocks["from"], Time) and (blocks["from"] < blocks["to"]).all()
    assert sum(blocks["exposures"]) == 6


def test_importing_the_planner_is_light():
    code = "import sys, planner; print(' '.join(sys.modules))"
    done = subprocess.run(
        [sys.executable, "-c", code], check=True, capture_output=True, text=True, cwd=SAMPLES[0].parents[1]
    )
    heavy = {"astropy", "matplotlib", "streamlit", "scipy", "regions", "mocpy"}
    assert not {name.partition(".")[0] for name in done.stdout.split()} & heavy


def test_targets_as_a_table():
    setup = planner.read_setup_file(SAMPLES[0].parent / "karoo_pier.toml")
    found = planner.find_targets(
        setup,
        first=dt.date(2027, 5, 1),
        last=dt.date(2027, 5, 2),
        names=["M 17", "IC 2944"],
        angle_deg=0.25 * u.rad,
        size_arcmin=[0.5 * u.deg, 150],
    )
    table = planner.targets_table(found)
    assert found.now_deg == pytest.approx(math.degrees(0.25))
    assert {*table["name"]} >= {"M 17", "IC 2944"}
    assert table["margin_arcmin"].unit == u.arcmin and table["Ha_hours"].unit == u.h
    with pytest.raises(planner.InputError, match="no option 'colour'"):
        planner.find_targets(setup, colour="red")
    with pytest.raises(planner.InputError, match="give first and last"):
        planner.find_targets(setup, first=dt.date(2027, 5, 1))


def test_fit_as_a_table():
    asked = planner.request(
        camera=CAMERA, region={"center": (128.5, -45.8), "width_deg": 1.2, "height_deg": 0.6}
    )
    (row,) = planner.fit_table(planner.fit_setups(asked))
    assert row["fits"] and row["margin_arcmin"].unit == u.arcmin
    half = min(side / 2 for side in (asked.camera.field.width_deg - 1.2, asked.camera.field.height_deg - 0.6))
    assert row["margin_arcmin"].to_value(u.deg) >= half - 0.01


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: planner.find_targets(Setup("Pier"), first="2027-01-08", last=None), "first must be a date"),
        (lambda: planner.find_targets(Setup("Pier"), first=dt.datetime(2027, 1, 8)), "first must be a date"),
        (lambda: planner.find_targets("pier.toml"), "give what read_setup_file returns"),
        (lambda: planner.review_frames(None, 5), "folder must be a path"),
        (lambda: planner.progress_of(None, None, now="tonight"), "now must be a date"),
    ],
)
def test_dates_and_folders_that_are_none_are_one_sentence(call, said):
    with pytest.raises(planner.InputError, match=said):
        call()
