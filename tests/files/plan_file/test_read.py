import dataclasses
import datetime as dt
import subprocess
import sys
from pathlib import Path

import pytest

from planner.errors import FileError, InputError
from planner.files.plan_file.read import (
    PlanFileError,
    read_plan_file,
    read_setup_file,
    request_from_document,
    request_from_text,
)
from planner.files.plan_file.season import read_season_file
from planner.files.plan_file.shared import read_shared_file
from planner.request.request import MosaicRequest, Setup
from planner.rig.camera import Camera

CAMERA = "[camera]\nfocal_length_mm = 380.0\nsensor_px = [6000, 4000]\npixel_um = 3.9\n"
CIRCLE = "[region]\ncenter = [128.5, -45.8]\nradius_deg = 4\n"

EVERY_KEY = """
title = "Vela shell"

[camera]
focal_length_mm = 380.0
aperture_mm = 80.0
sensor_px = [6000, 4000]
pixel_um = 3.9
binning = 1
usable = [1.0, 0.95]

[region]
object = "NGC 3372"
size_arcmin = [120, 90]
position_angle_deg = 15
margin_arcmin = 2.0

[picture]
aspect = [3, 2]
position_angle_deg = 20.0
print_width_cm = 90.0
print_ppi = 240

[mosaic]
overlap = 0.2
angles = 1
position_angle_deg = 20.0
position_angle_range_deg = [0, 90]
layout = "free"
columns = 3
rows = 2
pointing_error_arcmin = 1.0
angle_error_deg = 0.5
dither_arcmin = 0.2
least_overlap_arcmin = 3.0

[angle_device]
kind = "adjuster"
zero_deg = 112.4
sense = 1
range_deg = [0, 360]
division_deg = 1.0

[mount]
kind = "german"
flip_after_transit_min = 10

[site]
name = "pier"
latitude_deg = -31.2
longitude_deg = 22.6
elevation_m = 1750
time_zone = "Africa/Johannesburg"
lowest_altitude_deg = 30
horizon_deg = [[0, 12], [90, 25]]
currency = "ZAR"
hour_price = [[0.0, 880], [0.55, 540]]

[nights]
first = 2027-01-08
last = 2027-03-31
darkness = "astronomical"
clear_fraction = 0.7
overhead_per_panel_min = 6
overhead_per_exposure_s = 8

[[filters]]
name = "Ha"
band = "narrow"
exposure_s = 600
exposures = 18
moon_separation_deg = 30
moon_illumination = 1.0

[[tables]]
file = "list.csv"
columns = [{ name = "Field", field = "panel" }]
"""


def test_every_key_is_read():
    request = request_from_text(EVERY_KEY)
    assert request.title == "Vela shell"
    assert request.camera == Camera(380.0, (6000, 4000), 3.9, 80.0, 1, (1.0, 0.95))
    region = request.region
    assert (region.object, region.size_arcmin, region.position_angle_deg) == ("NGC 3372", (120.0, 90.0), 15.0)
    assert region.margin_arcmin == 2.0
    assert dataclasses.astuple(request.picture) == ((3.0, 2.0), None, False, 20.0, 90.0, 240.0)
    assert request.mosaic == MosaicRequest(0.2, None, 1, 20.0, (0.0, 90.0), "free", 3, 2, 1.0, 0.5, 0.2, 3.0)
    device = request.angle_device
    assert (device.kind, device.zero_deg, device.sense) == ("adjuster", 112.4, 1)
    assert (device.range_deg, device.division_deg) == ((0.0, 360.0), 1.0)
    assert (request.mount.kind, request.mount.flip_after_transit_min) == ("german", 10.0)
    site = request.sites[0]
    assert (site.name, site.latitude_deg, site.longitude_deg, site.elevation_m) == ("pier", -31.2, 22.6, 1750)
    assert (site.time_zone, site.lowest_altitude_deg, site.currency) == ("Africa/Johannesburg", 30.0, "ZAR")
    assert site.horizon_deg == ((0.0, 12.0), (90.0, 25.0))
    assert site.hour_price == ((0.0, 880.0), (0.55, 540.0))
    nights = request.nights
    assert (nights.first, nights.last) == (dt.date(2027, 1, 8), dt.date(2027, 3, 31))
    assert (nights.darkness, nights.clear_fraction) == ("astronomical", 0.7)
    assert (nights.overhead_per_panel_min, nights.overhead_per_exposure_s) == (6.0, 8.0)
    one = request.filters[0]
    assert (one.name, one.band, one.exposure_s, one.exposures) == ("Ha", "narrow", 600.0, 18)
    assert (one.moon_separation_deg, one.moon_illumination) == (30.0, 1.0)
    assert request.tables == ({"file": "list.csv", "columns": [{"name": "Field", "field": "panel"}]},)


def test_defaults():
    request = request_from_text(CAMERA + CIRCLE)
    assert request.mosaic == MosaicRequest()
    assert (request.mosaic.overlap, request.mosaic.angles, request.mosaic.layout) == (0.15, 1, "free")
    assert (request.title, request.picture, request.sites, request.filters) == ("mosaic", None, (), ())
    assert (request.path, request.setup_path) == (None, None)


def test_title_is_the_files_name_where_none_is_given(tmp_path):
    (tmp_path / "my shell.toml").write_text(CAMERA + CIRCLE)
    assert read_plan_file(tmp_path / "my shell.toml").title == "my shell"


def region(lines):
    return request_from_text(CAMERA + "[region]\n" + lines).region


@pytest.mark.parametrize(
    ("text", "center"),
    [
        ("[128.5, -45]", (128.5, -45.0)),
        ("['08h34m', '-45d30m']", (128.5, -45.5)),
        ("['128.5', '-45.5']", (128.5, -45.5)),
        ("['128d30m', '-45:30']", (128.5, -45.5)),
        ("[360, 90]", (0.0, 90.0)),
        ("[-0.5, -90]", (359.5, -90.0)),
        ("['-0h02m', 0]", (359.5, 0.0)),
        ("['24h', 0]", (0.0, 0.0)),
    ],
)
def test_centers(text, center):
    assert region(f"center = {text}\nradius_deg = 1").center == pytest.approx(center, abs=1e-12)


def test_forms_of_region():
    assert region("object = 'NGC 3372'\nsize_arcmin = 90").size_arcmin == (90.0, 90.0)
    rectangle = region("center = [1, 2]\nwidth_deg = 3\nheight_deg = '1d30m'\nposition_angle_deg = 400e-1")
    assert (rectangle.width_deg, rectangle.height_deg, rectangle.position_angle_deg) == (3.0, 1.5, 40.0)
    outline = region("outline = [['23h56m', 1], [1, 1], [-1, 3]]").outline
    assert outline == ((359.0, 1.0), (1.0, 1.0), (359.0, 3.0))
    assert region("outline = [[359, 1], [1, 1], [0, 3], [359, 1]]").outline == ((359, 1), (1, 1), (0, 3))
    assert region("outline = [[0, 88], [90, 88], [180, 88], [270, 88]]").outline[2] == (180.0, 88.0)


def test_region_of_a_picture_is_relative_to_the_plan_file(tmp_path):
    (tmp_path / "earlier.fits").write_bytes(b"")
    (tmp_path / "plan.toml").write_text(CAMERA + "[region]\nearlier_picture = 'earlier.fits'\n")
    assert read_plan_file(tmp_path / "plan.toml").region.earlier_picture == tmp_path / "earlier.fits"


@pytest.mark.parametrize(
    "text",
    [
        "128.1,-44\n131,-44\n130,-46.5\n",
        "\ufeffra,dec\r\n128.1,-44\r\n131,-44\r\n\r\n130,-46.5\r\n",
        "RA (deg), Dec (deg)\n128.1 , -44\n131, -44\n130, -46.5\n128.1, -44\n",
        '"ra_deg","dec_deg"\n"128.1","-44"\n131,-44\n130,-46.5',
    ],
)
def test_outline_file(text, tmp_path):
    folder = tmp_path / "plans"
    folder.mkdir()
    (tmp_path / "rim.csv").write_bytes(text.encode())
    (folder / "plan.toml").write_text(CAMERA + "[region]\noutline_file = '../rim.csv'\n")
    found = read_plan_file(folder / "plan.toml").region
    assert found.outline == ((128.1, -44.0), (131.0, -44.0), (130.0, -46.5))
    assert found.outline_file == folder / "../rim.csv"


def test_byte_order_mark_and_line_ends(tmp_path):
    (tmp_path / "plan.toml").write_bytes(b"\xef\xbb\xbf" + EVERY_KEY.replace("\n", "\r\n").encode())
    found = read_plan_file(tmp_path / "plan.toml")
    assert dataclasses.replace(found, path=None) == request_from_text(EVERY_KEY)


def test_setup_serves_where_the_plan_has_no_table(tmp_path):
    (tmp_path / "rig").mkdir()
    (tmp_path / "rig" / "setup.toml").write_text(
        'title = "pier"\n' + CAMERA + "[mosaic]\noverlap = 0.3\n[picture]\naspect = [1, 1]\n"
        "[site]\nlatitude_deg = 1\nlongitude_deg = 2\n"
    )
    (tmp_path / "plan.toml").write_text('setup = "rig/setup.toml"\n' + CIRCLE + "[mosaic]\nangles = 2\n")
    request = read_plan_file(tmp_path / "plan.toml")
    assert request.title == "plan"
    assert request.camera.focal_length_mm == 380.0
    assert request.mosaic == MosaicRequest(angles=2)  # the plan's table replaces the setup's as a whole
    assert request.picture.aspect == (1.0, 1.0)
    assert [site.latitude_deg for site in request.sites] == [1.0]
    assert request.setup_path == tmp_path / "rig/setup.toml"


def test_files_that_a_setup_names_are_relative_to_the_setup(tmp_path):
    (tmp_path / "rig").mkdir()
    (tmp_path / "rig" / "rim.csv").write_text("1,1\n2,1\n2,3\n")
    (tmp_path / "rig" / "setup.toml").write_text(CAMERA + "[region]\noutline_file = 'rim.csv'\n")
    (tmp_path / "plan.toml").write_text('setup = "rig/setup.toml"\n')
    assert len(read_plan_file(tmp_path / "plan.toml").region.outline) == 3


def test_an_empty_list_is_not_filled_from_the_setup(tmp_path):
    (tmp_path / "setup.toml").write_text(
        CAMERA + "[[filters]]\nname='L'\nband='broad'\nexposure_s=60\nexposures=9\n"
    )
    (tmp_path / "plan.toml").write_text('setup = "setup.toml"\nfilters = []\n' + CIRCLE)
    assert read_plan_file(tmp_path / "plan.toml").filters == ()


def test_several_sites():
    south = "[[site]]\nname = 's'\nlatitude_deg = -30\nlongitude_deg = 20\n"
    sites = south + south.replace("-30", "28").replace("'s'", "'n'")
    assert [site.name for site in request_from_text(CAMERA + CIRCLE + sites).sites] == ["s", "n"]


def test_faults_carry_their_places():
    with pytest.raises(PlanFileError) as caught:
        request_from_document(
            {"camera": {"pixel_um": "x"}, "region": {}, "mosaic": {"overlap": 15}, "zzz": 1}
        )
    places = [fault.place for fault in caught.value.faults]
    assert places == [
        "zzz",
        "[camera] focal_length_mm",
        "[camera] sensor_px",
        "[camera] pixel_um",
        "[region] must",
        "[mosaic] overlap",
    ]
    assert str(caught.value).startswith("zzz is not known") and "and: [camera] focal" in str(caught.value)


@pytest.mark.parametrize("name", ["a\0b", "\ud800"])
def test_names_that_no_file_can_have(name):
    with pytest.raises(FileError):
        read_plan_file(name)


def test_with_another_setup(tmp_path):
    (tmp_path / "other.toml").write_text(CAMERA.replace("380.0", "1000") + "[mount]\nkind = 'fork'\n")
    request = request_from_text(EVERY_KEY).with_setup(read_setup_file(tmp_path / "other.toml"))
    assert request.camera.focal_length_mm == 1000.0
    assert (request.angle_device, request.sites, request.mount.kind) == (None, (), "fork")
    assert request.region.object == "NGC 3372" and request.filters and request.mosaic.overlap == 0.2
    with pytest.raises(InputError, match="no .camera. table"):
        request.with_setup(Setup())


SEASON = 'title = "S"\nplans = ["a.toml", "b.toml"]\nturns_allowed = 1\n'


def season(folder, text=SEASON, a=CAMERA + CIRCLE, b=CAMERA + CIRCLE):
    (folder / "season.toml").write_text(text)
    (folder / "a.toml").write_text(a)
    (folder / "b.toml").write_text(b)
    return read_season_file(folder / "season.toml")


def test_season(tmp_path):
    found = season(tmp_path)
    assert (found.title, found.turns_allowed) == ("S", 1)
    assert [request.title for request in found.requests] == ["a", "b"]


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"text": "plans = []"}, "plans must be a list of plan files"),
        ({"text": "title = 'S'"}, "plans must be a list of plan files, got nothing"),
        ({"text": "plans = 'a.toml'"}, "plans must be a list of plan files"),
        ({"text": "plans = ['a.toml', 'a.toml']"}, "plans name 'a.toml' twice"),
        ({"text": "plans = ['a.toml', 'c.toml']"}, "c.toml does not exist"),
        ({"text": SEASON + "turns = 1"}, "turns is not known"),
        ({"text": SEASON.replace("= 1", "= -1")}, "turns_allowed must be in"),
        ({"text": SEASON.replace("= 1", "= true")}, "turns_allowed must be a whole number, got true"),
        ({"b": CAMERA + CIRCLE + "[mosaic]\nangles = 'per_panel'\n"}, "must have angles = 1"),
        ({"b": CAMERA.replace("380.0", "500") + CIRCLE}, "must share one [camera]"),
        ({"b": CAMERA + CIRCLE + "[angle_device]\nkind = 'fixed'\n"}, "must share one [angle_device]"),
    ],
)
def test_bad_season(change, words, tmp_path):
    with pytest.raises(FileError) as caught:
        season(tmp_path, **change)
    assert words in str(caught.value)


SAMPLES = sorted(Path(__file__).parents[3].joinpath("sample_targets").glob("*.toml"))


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_samples_are_read(path):
    if path.stem.endswith("_pier"):
        assert read_setup_file(path).camera
    elif path.stem.endswith("_season"):
        assert len(read_season_file(path).requests) == 3
    else:
        shared = path.stem.endswith("_shared")
        requests = (
            [one.request for one in read_shared_file(path).instruments] if shared else [read_plan_file(path)]
        )
        for request in requests:
            assert request.nights and request.sites and request.filters and request.angle_device


def test_reading_is_light():
    sample = str(SAMPLES[0].with_name("vela_shell.toml"))
    heavy = ["astropy", "scipy", "rich", "matplotlib", "tomlkit", "streamlit"]
    code = (
        "import sys; from planner.files.plan_file.read import read_plan_file;"
        f"read_plan_file({sample!r}); print(*[name for name in {heavy} if name in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], check=True, capture_output=True, text=True)
    assert done.stdout.strip() == ""


@pytest.mark.parametrize(
    ("read", "name", "words"),
    [
        (
            read_plan_file,
            "karoo_season.toml",
            "makes this a season file, but a plan file is wanted; `season` takes it",
        ),
        (
            read_plan_file,
            "karoo_pier.toml",
            "[region] is missing; a plan file needs it (a setup file is taken by",
        ),
        (
            read_setup_file,
            "vela_shell.toml",
            "plan file, but a setup file is wanted; give the one that it names, karoo",
        ),
        (
            read_setup_file,
            "antares_shared.toml",
            "[[setup_files]] makes this a plan file, but a setup file is wanted",
        ),
        (read_setup_file, "karoo_season.toml", "season file, but a setup file is wanted; `season` takes it"),
        (
            read_season_file,
            "vela_shell.toml",
            "plan file, but a season file is wanted (title, plans = [...]); `plan`",
        ),
        (
            read_season_file,
            "karoo_pier.toml",
            "setup file, but a season file is wanted (title, plans = [...]); `targets`",
        ),
    ],
)
def test_a_file_of_another_kind_is_told_what_takes_it(read, name, words):
    with pytest.raises(PlanFileError) as error:
        read(SAMPLES[0].parent / name)
    assert words in str(error.value) and "(and:" not in str(error.value)
