"""Bad input of `plan`: exit code 2, one line on standard error that names the key, nothing written."""

import pytest

from planner.cli import main

from .plan_texts import CAMERA

CIRCLE = "[region]\ncenter = [128.5, -45.8]\nradius_deg = 4\n"
DEVICE = '[angle_device]\nkind = "adjuster"\n'
SITE = "[site]\nlatitude_deg = -32.4\nlongitude_deg = 20.8\n"
NIGHTS = "[nights]\nfirst = 2027-01-08\nlast = 2027-03-31\n"
FILTER = '[[filters]]\nname = "Ha"\nband = "narrow"\nexposure_s = 600\nexposures = 18\n'


def camera(**changes):
    values = {"focal_length_mm": "380.0", "sensor_px": "[6000, 4000]", "pixel_um": "3.9", **changes}
    lines = [f"{key} = {value}" for key, value in values.items() if value is not None]
    return "[camera]\n" + "\n".join(lines) + "\n" + CIRCLE


def region(*lines):
    return CAMERA + "[region]\n" + "\n".join(lines) + "\n"


def mosaic(*lines):
    return CAMERA + CIRCLE + "[mosaic]\n" + "\n".join(lines) + "\n"


def picture(*lines):
    return CAMERA + CIRCLE + "[picture]\n" + "\n".join(lines) + "\n"


BAD_FILES = {
    # tables
    "nothing": ("", "[camera] is missing"),
    "no region": (CAMERA, "[region] is missing"),
    "no camera": (CIRCLE, "[camera] is missing"),
    "unknown table": (CAMERA + CIRCLE + "[mosiac]\n", "[mosiac] is not known; did you mean 'mosaic'?"),
    "unknown top key": ("titel = 'x'\n" + CAMERA + CIRCLE, "titel is not known; did you mean 'title'"),
    "unknown key": (mosaic("overlpa = 0.1"), "[mosaic] overlpa is not known; did you mean 'overlap'?"),
    "unknown key, none near": (mosaic("zzz = 0.1"), "[mosaic] zzz is not known; known are overlap"),
    "table is a number": ("mosaic = 3\n" + CAMERA + CIRCLE, "[mosaic] must be a table, got 3"),
    "table is a list": (CAMERA + "[[region]]\nobject = 'M 42'\n", "[region] must be a table"),
    "filters is a table": (
        CAMERA + CIRCLE + "[filters]\nname = 'Ha'\n",
        "[[filters]] must be a list of tables",
    ),
    "tables is text": ("tables = 'x'\n" + CAMERA + CIRCLE, "[[tables]] must be a list of tables"),
    "a key of a table of one's own": (
        CAMERA + CIRCLE + "[[tables]]\nfile = 'list.csv'\ncolums = []\n",
        "[[tables]] 1 has the unknown key 'colums'; did you mean 'columns'?",
    ),
    "a field of a table of one's own": (
        CAMERA + CIRCLE + "[[tables]]\nfile = 'list.csv'\ncolumns = [{name = 'a', field = 'dek'}]\n",
        "[[tables]] 1, column 1: there is no field 'dek'; did you mean 'dec'",
    ),
    "title is a number": ("title = 3\n" + CAMERA + CIRCLE, "title must be text, got 3"),
    "title is empty": ("title = ' '\n" + CAMERA + CIRCLE, "title must not be empty"),
    "title of two lines": ('title = "a\\nb"\n' + CAMERA + CIRCLE, "title must be one line"),
    # camera
    "camera key missing": (camera(pixel_um=None), "[camera] pixel_um is missing; give a number"),
    "camera text": (
        camera(focal_length_mm="'long'"),
        "[camera] focal_length_mm must be a number, got 'long'",
    ),
    "camera bool": (camera(focal_length_mm="true"), "[camera] focal_length_mm must be a number, got true"),
    "camera NaN": (camera(focal_length_mm="nan"), "[camera] focal_length_mm: nan"),
    "camera infinite": (camera(pixel_um="inf"), "[camera] pixel_um: inf"),
    "camera negative": (camera(focal_length_mm="-380.0"), "[camera] focal_length_mm must be in"),
    "camera zero": (camera(pixel_um="0"), "[camera] pixel_um must be in"),
    "camera huge": (camera(pixel_um="1" + "0" * 400), "[camera] pixel_um: 1000"),
    "camera endless": (camera(pixel_um="1" + "0" * 5000), "thousands of digits"),
    "sensor one number": (camera(sensor_px="6000"), "[camera] sensor_px must be two whole numbers, got 6000"),
    "sensor three": (camera(sensor_px="[1, 2, 3]"), "[camera] sensor_px must be two whole numbers"),
    "sensor fraction": (camera(sensor_px="[6000.5, 4000]"), "[camera] sensor_px must be two whole numbers"),
    "sensor bool": (camera(sensor_px="[true, 4000]"), "[camera] sensor_px must be two whole numbers"),
    "sensor zero": (camera(sensor_px="[0, 4000]"), "[camera] sensor_px must be"),
    "binning": (camera(binning="0"), "[camera] binning must be in"),
    "usable per cent": (camera(usable="[95, 95]"), "[camera] usable must be two fractions"),
    # region
    "region empty": (region(), "[region] must have exactly one of object, objects"),
    "two forms": (region("object = 'M 42'", "center = [1, 2]"), "got object and center; keep one"),
    "outline twice": (
        region("outline = []", "outline_file = 'a.csv'"),
        "got outline and outline_file; keep one",
    ),
    "object empty": (region("object = ''"), "[region] object must be a catalogue name"),
    "object number": (region("object = 42"), "[region] object must be text, got 42"),
    "object unknown": (region("object = 'Sole Nebula'"), "did you mean 'Soul Nebula'?"),
    "object of several": (
        region("object = 'Pipe Nebula'"),
        "'Pipe Nebula' fits several: B 59 (Pipe Nebula (stem), dark",
    ),
    "object number beyond": (region("object = 'Sh2-400'"), "Sh2-400: the catalogue has 1 to 313"),
    "object number missing": (
        region("object = 'RCW 116'"),
        "RCW 116: the catalogue has 1 to 182, but no place",
    ),
    "object name endless": (region(f"object = '{'x' * 500}'"), "the catalogue has no object 'xxx"),
    "object in another script": (
        region("object = '薔薇星雲'"),
        "the catalogue has no object '薔薇星雲'; check the name, or give",
    ),
    "object of spaces": (region("object = '   '"), "[region] object must be a catalogue name"),
    "object without size": (region("object = 'Ced 2'"), "no catalogue has the size of Ced 2"),
    "object too wide": (region("object = 'Gum Nebula'"), "wider than a mosaic; give the center"),
    "level unknown": (
        region("object = 'IC 405'", "level = 'dim'"),
        "[region] level must be 'faint' or 'middle' or 'bright', got 'dim'",
    ),
    "level of no outline": (region("object = 'RCW 38'", "level = 'faint'"), "RCW 38 has no outline"),
    "level without object": (
        region("center = [1, 2]", "radius_deg = 1", "level = 'faint'"),
        "[region] level belongs to an object",
    ),
    "level and size": (
        region("object = 'IC 405'", "level = 'faint'", "size_arcmin = 9"),
        "[region] level and size_arcmin exclude each other",
    ),
    "object size": (region("object = 'M 42'", "size_arcmin = 0"), "[region] size_arcmin must be in"),
    "object sizes": (
        region("object = 'M 42'", "size_arcmin = [1, 2, 3]"),
        "[region] size_arcmin must be two",
    ),
    "object sizes swapped": (
        region("object = 'M 42'", "size_arcmin = [60, 90]"),
        "[region] size_arcmin must be [major, minor], got [60, 90]; write [90, 60]",
    ),
    "size without object": (region("center = [1, 2]", "radius_deg = 1", "size_arcmin = 9"), "size_arcmin"),
    "center alone": (region("center = [1, 2]"), "[region] center needs radius_deg"),
    "radius alone": (region("radius_deg = 2"), "[region] must have exactly one"),
    "radius and width": (
        region("center = [1, 2]", "radius_deg = 1", "width_deg = 1"),
        "[region] center needs",
    ),
    "width alone": (region("center = [1, 2]", "width_deg = 1"), "[region] center needs"),
    "width with object": (region("object = 'M 42'", "width_deg = 1"), "[region] width_deg needs a center"),
    "radius zero": (region("center = [1, 2]", "radius_deg = 0"), "[region] radius_deg must be in (0, 35]"),
    "radius huge": (region("center = [1, 2]", "radius_deg = 90"), "[region] radius_deg must be in (0, 35]"),
    "height huge": (
        region("center = [1, 2]", "width_deg = 2", "height_deg = 99"),
        "[region] height_deg must be",
    ),
    "center of three": (region("center = [1, 2, 3]", "radius_deg = 1"), "[region] center must be [right"),
    "center bool": (region("center = [true, 2]", "radius_deg = 1"), "[region] center must be [right"),
    "center NaN": (region("center = [nan, 2]", "radius_deg = 1"), "[region] center: nan"),
    "dec beyond": (
        region("center = [1, 90.001]", "radius_deg = 1"),
        "[region] center's declination must be in",
    ),
    "dec text beyond": (
        region("center = [1, '91d']", "radius_deg = 1"),
        "[region] center's declination must be",
    ),
    "dec in hours": (
        region("center = [1, '12h']", "radius_deg = 1"),
        "[region] center: '12h' is in hours, as only a right ascension is; give degrees",
    ),
    "corner's dec in hours": (
        region("outline = [[1, 2], [3, 4], [1, '5h30m']]"),
        "[region] outline: '5h30m' is in hours",
    ),
    "angle in hours": (
        mosaic("position_angle_deg = '2 hours'"),
        "[mosaic] position_angle_deg: '2 hours' is in",
    ),
    "ra beyond": (
        region("center = [361, 1]", "radius_deg = 1"),
        "[region] center's right ascension must be in",
    ),
    "ra text beyond": (region("center = ['25h', 1]", "radius_deg = 1"), "[region] center: a right ascension"),
    "ra without unit": (
        region("center = ['8:34:00', 1]", "radius_deg = 1"),
        "[region] center: '8:34:00' may be",
    ),
    "no angle": (region("center = ['north', 1]", "radius_deg = 1"), "[region] center: 'north' is no angle"),
    "61 minutes": (region("center = ['8h61m', 1]", "radius_deg = 1"), "[region] center: minutes and seconds"),
    "two corners": (
        region("outline = [[1, 2], [3, 4]]"),
        "[region] outline must have 3 to 2000 corners, got 2",
    ),
    "closed line": (
        region("outline = [[1, 2], [3, 4], [1, 2]]"),
        "[region] outline's corners 1 and 3 are the same",
    ),
    "same corner": (
        region("outline = [[1, 2], [3, 4], [3, 4], [1, 5]]"),
        "corners 2 and 3 are the same place",
    ),
    "same corner over 0 h": (
        region("outline = [[0, 2], [3, 4], [360, 2], [2, 6]]"),
        "corners 1 and 3 are the same place",
    ),
    "one pole twice": (region("outline = [[0, 90], [3, 84], [9, 90]]"), "corners 1 and 3 are the same place"),
    "crossing": (
        region("outline = [[0, 0], [2, 2], [2, 0], [0, 2]]"),
        "[region] outline: the region's outline",
    ),
    "crossing over 0 h": (region("outline = [[359, 0], [1, 2], [1, 0], [359, 2]]"), "crosses"),
    "crossing over the pole": (region("outline = [[0, 88], [180, 88], [90, 88], [270, 88]]"), "crosses"),
    "line": (region("outline = [[1, 0], [2, 0], [3, 0]]"), "[region] outline"),
    "whole sky": (
        region("outline = [[0, 0], [120, 0], [240, 0]]"),
        "[region] outline: the region is too wide",
    ),
    "2001 corners": (region(f"outline = {[[n / 9, 1] for n in range(2001)]}"), "3 to 2000 corners, got 2001"),
    "outline text": (region("outline = 'round'"), "[region] outline must be a list of"),
    "corner of one": (region("outline = [[1], [2], [3]]"), "[region] outline must be a list of"),
    "corner beyond": (
        region("outline = [[1, 2], [3, 4], [5, 96]]"),
        "[region] outline's corner 3's declination",
    ),
    "margin negative": (CAMERA + CIRCLE + "margin_arcmin = -1\n", "[region] margin_arcmin must be in"),
    "angle of a circle": (
        CAMERA + CIRCLE + "position_angle_deg = 20\n",
        "[region] position_angle_deg belongs",
    ),
    "no outline file": (region("outline_file = 'none.csv'"), "none.csv does not exist"),
    "outline file is a folder": (region("outline_file = '.'"), "is a folder"),
    "no earlier picture": (region("earlier_picture = 'none.fits'"), "[region] earlier_picture:"),
    # picture
    "aspect": (picture("aspect = [3, 0]"), "[picture] aspect must be in"),
    "aspect number": (
        picture("aspect = 1.5"),
        "[picture] aspect must be two numbers, got 1.5; write aspect = [3, 2] for 3 to 2",
    ),
    "aspect strip": (picture("aspect = [1000, 1]"), "[picture] aspect's ratio must be in"),
    "print width": (picture("print_width_cm = -90"), "[picture] print_width_cm must be in"),
    "print ppi": (picture("print_ppi = 0"), "[picture] print_ppi must be in"),
    "picture angle": (picture("position_angle_deg = 900"), "[picture] position_angle_deg must be in"),
    # mosaic
    "per cent": (mosaic("overlap = 15"), "[mosaic] overlap must be in (0, 0.9], got 15; give a fraction"),
    "no overlap": (mosaic("overlap = 0"), "[mosaic] overlap must be in (0, 0.9], got 0"),
    "overlap negative": (mosaic("overlap = -0.1"), "[mosaic] overlap must be in"),
    "overlap bool": (
        mosaic("overlap = true"),
        "[mosaic] overlap must be a number, got true; write overlap = 0.15 for 15 per cent",
    ),
    "overlap NaN": (mosaic("overlap = nan"), "[mosaic] overlap: nan"),
    "overlap table": (mosaic("overlap = {a = 1}"), "[mosaic] overlap must be a number, got a table"),
    "both overlaps": (
        mosaic("overlap = 0.1", "overlap_arcmin = 9"),
        "[mosaic] overlap and overlap_arcmin exclude",
    ),
    "overlap wider than field": (mosaic("overlap_arcmin = 200"), "[mosaic] overlap_arcmin must be in"),
    "angles word": (mosaic("angles = 'many'"), "[mosaic] angles must be a whole number or 'per_panel'"),
    "angles none": (
        mosaic("angles = 0"),
        "[mosaic] angles must be 'per_panel' or a whole number in [1, 1000]",
    ),
    "angles half": (mosaic("angles = 1.5"), "[mosaic] angles must be"),
    "angles bool": (mosaic("angles = true"), "[mosaic] angles must be"),
    "old turns": (mosaic("turns = 'common'"), "[mosaic] turns is not known; did you mean 'angles'?"),
    "old frame": (
        region("frame = 'old.fits'"),
        "[region] frame is not known; did you mean 'earlier_picture'?",
    ),
    "layout": (
        mosaic("layout = 'random'"),
        "[mosaic] layout must be 'free' or 'sliding' or 'grid', got 'random'",
    ),
    "columns alone": (mosaic("columns = 3"), "[mosaic] columns needs rows beside it"),
    "rows alone": (mosaic("rows = 3"), "[mosaic] rows needs columns beside it"),
    "columns none": (mosaic("columns = 0", "rows = 2"), "[mosaic] columns must be in"),
    "columns fraction": (
        mosaic("columns = 2.5", "rows = 2"),
        "[mosaic] columns must be a whole number, got 2.5",
    ),
    "20,000 panels": (
        mosaic("columns = 200", "rows = 101"),
        "[mosaic] columns times rows must be in [1, 20000]",
    ),
    "angle": (mosaic("position_angle_deg = 1000"), "[mosaic] position_angle_deg must be in"),
    "range of three": (
        mosaic("position_angle_range_deg = [1, 2, 3]"),
        "[mosaic] position_angle_range_deg must be",
    ),
    "range of one": (
        mosaic("position_angle_range_deg = [5, 5]"),
        "[mosaic] position_angle_range_deg must have",
    ),
    "angle outside range": (
        mosaic("position_angle_deg = 100", "position_angle_range_deg = [0, 90]"),
        "[mosaic] position_angle_deg must lie in position_angle_range_deg",
    ),
    "pointing error": (mosaic("pointing_error_arcmin = -1"), "[mosaic] pointing_error_arcmin must be in"),
    "angle error": (mosaic("angle_error_deg = 50"), "[mosaic] angle_error_deg must be in [0, 45]"),
    "dither": (mosaic("dither_arcmin = 'some'"), "[mosaic] dither_arcmin must be a number, got 'some'"),
    # device, mount, site, nights, filters
    "device kind": (CAMERA + CIRCLE + "[angle_device]\nkind = 'knob'\n", "[angle_device] kind must be"),
    "device kind misspelt": (
        CAMERA + CIRCLE + "[angle_device]\nkind = 'ajuster'\n",
        "got 'ajuster'; did you mean 'adjuster'?",
    ),
    "device kind missing": (CAMERA + CIRCLE + "[angle_device]\n", "[angle_device] kind is missing"),
    "device sense": (CAMERA + CIRCLE + DEVICE + "sense = 2\n", "[angle_device] sense must be"),
    "device range": (CAMERA + CIRCLE + DEVICE + "range_deg = [90, 10]\n", "[angle_device] range_deg"),
    "device division": (
        CAMERA + CIRCLE + DEVICE + "division_deg = 0\n",
        "[angle_device] division_deg must be",
    ),
    "mount kind": (CAMERA + CIRCLE + "[mount]\nkind = 'horse'\n", "[mount] kind must be"),
    "latitude": (CAMERA + CIRCLE + SITE.replace("-32.4", "91"), "[site] latitude_deg must be in"),
    "zone": (CAMERA + CIRCLE + SITE + "time_zone = 'Africa/Nowhere'\n", "[site] time_zone"),
    "horizon": (
        CAMERA + CIRCLE + SITE + "horizon_deg = [1, 2]\n",
        "[site] horizon_deg must be a list with two numbers each",
    ),
    "price": (CAMERA + CIRCLE + SITE + "hour_price = [[0.5, 1], [0.0, 2]]\n", "[site] hour_price"),
    "second site": (
        CAMERA + CIRCLE + "[[site]]\nlatitude_deg = 1\nlongitude_deg = 1\n[[site]]\nlatitude_deg = 1\n",
        "[[site]] 2 longitude_deg is missing",
    ),
    "sites of one name": (
        CAMERA + CIRCLE + 2 * SITE.replace("[site]", "[[site]]"),
        "[site] name must differ from table to table, got ['site'] twice",
    ),
    "first after last": (CAMERA + CIRCLE + NIGHTS.replace("2027-03-31", "2026-03-31"), "[nights]"),
    "first is text": (
        CAMERA + CIRCLE + NIGHTS.replace("2027-01-08", "'soon'"),
        "[nights] first must be a date",
    ),
    "darkness": (CAMERA + CIRCLE + NIGHTS + "darkness = 'deep'\n", "[nights] darkness must be"),
    "darkness misspelt": (
        CAMERA + CIRCLE + NIGHTS + "darkness = 'astronomic'\n",
        "got 'astronomic'; did you mean 'astronomical'?",
    ),
    "clear per cent": (
        CAMERA + CIRCLE + NIGHTS + "clear_fraction = 70\n",
        "[nights] clear_fraction must be in",
    ),
    "filter of zero seconds": (CAMERA + CIRCLE + FILTER.replace("600", "0"), "exposure_s must be"),
    "filter band": (CAMERA + CIRCLE + FILTER.replace("narrow", "thin"), "[[filters]] 1 band must be"),
    "filter band misspelt": (CAMERA + CIRCLE + FILTER.replace("narrow", "narow"), "; did you mean 'narrow'?"),
    "filters of one name": (CAMERA + CIRCLE + 2 * FILTER, "[filters] name must differ"),
    # setup
    "setup missing": ("setup = 'none.toml'\n" + CIRCLE, "none.toml does not exist; correct the name"),
    "setup is itself": ("setup = 'plan.toml'\n" + CIRCLE, "setup names this file itself; name a setup file"),
    "setup number": ("setup = 3\n" + CAMERA + CIRCLE, "setup must be a file name, got 3"),
    "setup folder": ("setup = '.'\n" + CIRCLE, "is a folder"),
    # what cannot be planned
    "20,000 panels needed": (
        camera(focal_length_mm="9000").replace("radius_deg = 4", "radius_deg = 34"),
        "more than the 20,000 that can be planned",
    ),
    "unknown object": (region("object = 'Nowhereia'"), "Nowhereia"),
    # the file itself
    "no TOML": ("title = \n", "is no valid TOML: line 1, 'title =', has no value as TOML writes them; put text"),
    "key twice": (CAMERA + "pixel_um = 4\n" + CIRCLE, "'pixel_um = 4', gives a key that stands above already; "),
    "colon": ("\n\ntitle: 'x'\n", "line 3, \"title: 'x'\", has no = behind its key; write key = value"),
    "decimal comma": ("[mosaic]\noverlap = 0,2\n", "line 2, 'overlap = 0,2', goes on behind its value; write "),
    "open text": ('title = "x\n' + CIRCLE, "line 1, 'title = \"x', leaves a text open; close it with the quotes"),
    "open list": ("x = [1, 2\n\n", "line 1, 'x = [1, 2', comes while a list is open; close it with ]"),
    "no such month": (NIGHTS.replace("2027-01-08", "2027-13-08"), "has no date of the calendar; write year-"),
    "no such day": ("first = 2027-02-30\n", "has a date that no calendar has; give one such as"),
    "single brackets twice": ("[filters]\n[filters]\n", "line 2, '[filters]', is one of several such tables"),
    "single brackets first": ("[filters]\n[[filters]]\n", "; write [[filters]], in double brackets"),
    "plan.json": ('{\n "schema": "plan 1"\n}\n', "is JSON, such as a plan.json, but a plan file is wanted"),
    "table twice": (CAMERA + CAMERA, "'[camera]', opens a table that stands above already; put its keys together"),
    "backslash": ('setup = "a\\dark.toml"\n', "has a backslash in a text; put that text in single quotes"),
    "no table": ("[camera\n", "'[camera', is no name of a table; close its brackets"),
    "deep": ("x = " + "[" * 3000 + "]" * 3000, "nested too deeply"),
}


def assert_refused(capsys, folder, arguments, words):
    before = sorted(folder.rglob("*"))
    code = main([*arguments, "--out", str(folder / "out")])
    shown = capsys.readouterr()
    assert code == 2, shown
    assert shown.out == ""
    assert shown.err.count("\n") == 1 and words in shown.err, shown.err
    assert sorted(folder.rglob("*")) == before


@pytest.mark.parametrize(("text", "words"), BAD_FILES.values(), ids=BAD_FILES.keys())
def test_bad_plan_file(text, words, tmp_path, capsys):
    path = tmp_path / "plan.toml"
    path.write_text(text, encoding="utf-8")
    assert_refused(capsys, tmp_path, ["plan", str(path)], words)


BAD_BYTES = {
    "binary": (b"\x89PNG\r\n\x1a\n\0\0", "is not UTF-8 text"),
    "zeros": (b"\0" * 100, "is not text but binary"),
    "UTF-16": ("title = 'x'".encode("utf-16"), "is not UTF-8 text"),
    "enormous": (b"#" * 10_000_001, "is larger than 10 MB"),
}


@pytest.mark.parametrize(("content", "words"), BAD_BYTES.values(), ids=BAD_BYTES.keys())
def test_file_that_is_no_text(content, words, tmp_path, capsys):
    path = tmp_path / "plan.toml"
    path.write_bytes(content)
    assert_refused(capsys, tmp_path, ["plan", str(path)], words)


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("missing.toml", "does not exist"),
        (".", "is a folder"),
        ("missing.toml/plan.toml", "does not exist"),
        ("x" * 3000, "File name too long"),
    ],
)
def test_file_that_is_not_there(name, words, tmp_path, capsys):
    assert_refused(capsys, tmp_path, ["plan", f"{tmp_path}/{name}"], words)


def test_setup_file_with_a_name_almost_right(tmp_path, capsys):
    (tmp_path / "karoo_pier.toml").write_text(CAMERA)
    (tmp_path / "plan.toml").write_text("setup = 'karoo_peer.toml'\n" + CIRCLE)
    words = f"{tmp_path}/plan.toml: setup names 'karoo_peer.toml', but {tmp_path}/karoo_peer.toml does not exist"
    words += "; did you mean 'karoo_pier.toml'?"
    assert_refused(capsys, tmp_path, ["plan", str(tmp_path / "plan.toml")], words)


def test_nested_setup_file(tmp_path, capsys):
    (tmp_path / "inner.toml").write_text(CAMERA)
    (tmp_path / "setup.toml").write_text("setup = 'inner.toml'\n")
    (tmp_path / "plan.toml").write_text("setup = 'setup.toml'\n" + CIRCLE)
    words = "setup.toml: setup makes this a plan file, but a setup file is wanted; give the one that it names, inner"
    assert_refused(capsys, tmp_path, ["plan", str(tmp_path / "plan.toml")], words)


def test_faults_of_the_setup_file_are_said_of_the_setup_file(tmp_path, capsys):
    (tmp_path / "setup.toml").write_text(CAMERA + "binnig = 2\n")
    (tmp_path / "plan.toml").write_text("setup = 'setup.toml'\n" + CIRCLE)
    words = "setup.toml: [camera] binnig is not known; did you mean 'binning'?"
    assert_refused(capsys, tmp_path, ["plan", str(tmp_path / "plan.toml")], words)


BAD_OUTLINES = {
    "semicolons": ("ra;dec\n1;2\n3;4\n5;9\n", "has semicolons or tabs"),
    "header the other way": ("dec,ra\n1,2\n3,4\n5,9\n", "must begin with the header ra,dec"),
    "three columns": ("1,2\n3,4,5\n5,9\n", "line 2 must be ra,dec"),
    "word": ("ra,dec\n1,2\n\n3,four\n5,9\n", "line 4 must be ra,dec"),
    "nothing": ("", "holds no corners"),
    "header alone": ("ra,dec\n", "holds no corners"),
    "two corners": ("1,2\n3,4\n", "[region] outline must have 3 to 2000 corners"),
    "NaN": ("1,2\n3,4\nnan,4\n", "[region] outline: nan"),
    "crossing": ("0,0\n2,2\n2,0\n0,2\n", "[region] outline_file: the region's outline crosses"),
}


@pytest.mark.parametrize(("text", "words"), BAD_OUTLINES.values(), ids=BAD_OUTLINES.keys())
def test_bad_outline_file(text, words, tmp_path, capsys):
    (tmp_path / "rim.csv").write_text(text)
    (tmp_path / "plan.toml").write_text(region("outline_file = 'rim.csv'"))
    assert_refused(capsys, tmp_path, ["plan", str(tmp_path / "plan.toml")], words)


EQUIPMENT = ["--focal-length-mm", "380", "--sensor-px", "6000", "4000", "--pixel-um", "3.9"]
AROUND = ["--center", "08h34m", "-45d50m", "--radius-deg", "4"]

BAD_OPTIONS = {
    "nothing": ([], "plan needs a plan file"),
    "unknown option": (["--overlpa", "0.1"], "--overlpa"),
    "word for a number": (
        [*EQUIPMENT, *AROUND, "--overlap", "much"],
        "--overlap must be a number, got 'much'; give one such as 0.5, with a point for decimals",
    ),
    "per cent": ([*EQUIPMENT, *AROUND, "--overlap", "15"], "--overlap must be in (0, 0.9], got 15"),
    "NaN": ([*EQUIPMENT, *AROUND, "--overlap", "nan"], "--overlap: nan"),
    "no camera": (AROUND, "a plan needs a camera, got none; give --setup FILE"),
    "no region": (EQUIPMENT, "a plan needs a region, got none; give --object"),
    "half a camera": ([*AROUND, "--pixel-um", "3.9"], "[camera] focal_length_mm is missing"),
    "two forms": ([*EQUIPMENT, *AROUND, "--object", "M 42"], "got object and center; keep one"),
    "angles": ([*EQUIPMENT, *AROUND, "--angles", "many"], "--angles must be"),
    "old --turns": ([*EQUIPMENT, *AROUND, "--turns", "2"], "there is no option --turns; it is --angles now"),
    "effort": ([*EQUIPMENT, *AROUND, "--effort", "qick"], "got 'qick'; did you mean 'quick'?"),
    "value too many": (["--json=1"], "--json takes no value; leave out what stands behind its ="),
    "short option": (["-x"], "there is no option -x; see plan --help"),
    "no such setup": (["--setup", "nowhere/pier.toml", *AROUND], "planner: --setup names 'nowhere/pier.toml', but "),
    "one side": (
        [*EQUIPMENT, "--center", "60", "-75", "--width-deg", "7"],
        "or --width-deg and --height-deg (rectangle), got --width-deg; --height-deg is missing",
    ),
    "center": (
        [*EQUIPMENT, "--center", "8:34", "-45", "--radius-deg", "4"],
        "--center: '8:34' may be",
    ),
    "a file too": (["plan.toml", *EQUIPMENT], "--focal-length-mm is for plans without a file"),
    "save a file": (["plan.toml", "--save-as", "other.toml"], "--save-as is for plans without a file"),
    "next option": (
        ["--center", "5h", "--radius-deg", "3"],
        "--center needs 2 values (RA DEC), got only 1 before --radius-deg",
    ),
    "next option at once": (["--object", "--setup", "a.toml"], "--object needs a value, got none before --setup"),
    "half a region": ([*EQUIPMENT, "--radius-deg", "3"], "[region]"),
    "nearest first": ([*EQUIPMENT, *AROUND, "--outt", "x"], "there is no option --outt; did you mean --out or"),
    "two files": (["plan.toml", "other.toml"], "got other.toml besides; leave that out"),
}


@pytest.mark.parametrize(("arguments", "words"), BAD_OPTIONS.values(), ids=BAD_OPTIONS.keys())
def test_bad_options(arguments, words, tmp_path, capsys):
    assert_refused(capsys, tmp_path, ["plan", *arguments], words)


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        (["plan", "--center", "5h"], "--center needs 2 values, got fewer; give them all"),
        (["plan", "--overlap"], "--overlap needs a value; give it behind the option"),
        (["plan", "--angles"], "--angles needs a value; to compare camera angles give --which-angle"),
        (["season"], "season needs FILE; see season --help"),
        (["plan", ""], "FILE must be a name, got an empty text; give one"),
        (["plan", "plan.toml", "--out", ""], "--out must be a name, got an empty text; give one"),
        (["rehearse", "a", "b", "--nights", "two"], "--nights must be a whole number from 1 to 10000, got 'two'; "),
        (["targets", "a.toml", "--size", "3", "b"], "--size must be a number, got 'b'; give one"),
    ],
)
def test_the_command_line_is_refused_in_sentences_of_our_own(arguments, sentence, capsys):
    assert main(arguments) == 2
    shown = capsys.readouterr()
    assert not shown.out and shown.err.startswith(f"planner: {sentence}") and shown.err.count("\n") == 1


def test_saving_over_a_file_is_refused_before_planning(tmp_path, capsys):
    (tmp_path / "mine.toml").write_text("mine")
    arguments = ["plan", *EQUIPMENT, *AROUND, "--save-as", str(tmp_path / "mine.toml")]
    assert_refused(capsys, tmp_path, arguments, "mine.toml exists already")


def test_all_faults_are_told_at_once(tmp_path, capsys):
    path = tmp_path / "plan.toml"
    table = "[[tables]]\nfile = 'a/b.csv'\ncolumns = [{name = 'a', field = 'dec'}]\n"
    path.write_text("titel = 'x'\n" + camera(pixel_um=None) + "[mosaic]\noverlap = 15\n" + table)
    assert main(["plan", str(path)]) == 2
    line = capsys.readouterr().err
    assert line.count("\n") == 1
    assert all(key in line for key in ("titel", "[camera] pixel_um", "[mosaic] overlap", "[[tables]] 1"))


def test_no_verb_shows_the_help_in_lines_and_says_what_is_missing(capsys):
    assert main([]) == 2
    lines = capsys.readouterr().err.splitlines()
    assert lines[0].startswith("Usage: ") and any(line.split()[:1] == ["angle"] for line in lines)
    assert lines[-1] == "planner: a verb is missing; give one of those above, such as plan"
