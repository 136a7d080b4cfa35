import copy
import datetime as dt
import io
import json

import numpy as np
import pytest
from astropy import units
from astropy.coordinates import SkyCoord
from astropy.io import votable
from astropy.table import MaskedColumn, Table

from planner.errors import FileError
from planner.files.documents.json_text import json_bytes
from planner.files.documents.plan import plan_document
from planner.files.exchange.obsplan_votable import obsplan_votable
from planner.files.exchange.panel_tables import panels_csv_bytes, panels_ecsv_bytes
from planner.files.pointings.pointings import MOST_POINTINGS
from planner.files.pointings.read import read_pointings
from planner.files.user_table.table import read_tables
from planner.files.user_table.write import table_bytes
from planner.geometry import vector_to_sky
from planner.mosaic.panel import Panel, panel_corners
from planner.request.request import MosaicRequest, Request
from tests.handover.handover_plan import CAMERA, HARD_CENTERS, NIGHTS, handover_plan, panels_at

PANELS = panels_at(HARD_CENTERS)


def pinned(plan, angle_deg=33.0):
    mosaic = MosaicRequest(position_angle_deg=angle_deg)
    return Request(plan.request.title, plan.request.camera, plan.request.region, mosaic)


def read(folder, name, content, request=None):
    path = folder / name
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    return read_pointings(path, request or handover_plan(device=None).request)


def corners(sky_deg):
    panels = [Panel("", 1, 1, 1, *values) for values in sky_deg]
    return SkyCoord(*vector_to_sky(panel_corners(panels, CAMERA.field)), unit="deg")


def assert_same(pointings, panels, *, corner_arcsec=0.01, upside_down=False):
    """Centres within 0.01 arc seconds, and corners too, which holds at the poles where angles mean little."""
    wanted = [(p.ra_deg, p.dec_deg, p.position_angle_deg) for p in panels]
    centers = (SkyCoord([values[:2] for values in sky], unit="deg") for sky in (pointings.sky_deg, wanted))
    assert next(centers).separation(next(centers)).arcsec.max() < 0.01
    off = corners(pointings.sky_deg).separation(corners(wanted)).arcsec.max(axis=1)
    if upside_down:
        turned = [(ra, dec, angle + 180) for ra, dec, angle in wanted]
        off = np.minimum(off, corners(pointings.sky_deg).separation(corners(turned)).arcsec.max(axis=1))
    assert off.max() < corner_arcsec


ROUNDED = 0.07
"""Arc seconds by which half a thousandth of a degree moves a corner, 1.93 degrees from the centre."""


def plan_json(plan):
    return json_bytes(plan_document(plan))


@pytest.mark.parametrize("writer", [plan_json, panels_csv_bytes, panels_ecsv_bytes, obsplan_votable])
@pytest.mark.parametrize("name", ["a.csv", "b.xml"])
def test_our_own_files_lead_back_to_the_panels_whatever_their_name(tmp_path, writer, name):
    pointings = read(tmp_path, name, writer(handover_plan(PANELS)))
    assert list(pointings.names) == [panel.name for panel in PANELS]
    assert_same(pointings, PANELS)


DATE = dt.date(2027, 1, 8)
DESCRIPTIONS = [
    [{"field": "panel"}, {"field": "ra"}, {"field": "dec"}, {"field": "position_angle"}],
    [
        {"field": "ra", "unit": "hours", "form": "sexagesimal", "separators": ["h", "m", "s"]},
        {"field": "dec", "form": "sexagesimal", "separators": " "},
        {"field": "position_angle", "direction": "west", "range_deg": [-180, 180]},
        {"field": "filter"},
    ],
    [
        {"field": "dec", "equator": "mean of date", "date": DATE},
        {"field": "ra", "equator": "mean of date", "date": DATE, "range_deg": [-180, 180]},
        {"field": "position_angle", "equator": "true of date", "date": DATE, "decimals": 7},
    ],
    [
        {"field": "ra", "unit": "hours", "form": "sexagesimal", "separators": ["", "", ""], "decimals": 5},
        {"field": "dec", "form": "sexagesimal", "separators": ["", "", ""], "sign": "always"},
        {"field": "position_angle", "equator": "mean of date"},
        {"field": "ra", "equator": "true of date"},
    ],
]
FORMS = [
    {},
    {"delimiter": ";", "decimal_mark": ",", "line_end": "crlf", "byte_order_mark": True, "quote": "all"},
    {"delimiter": "\t", "header": False, "first_lines": ["x;y", ""], "encoding": "utf-16"},
    {"rows": "panel and filter", "delimiter": "|", "encoding": "iso-8859-1"},
]


def described(columns, **keys):
    named = [{"name": f"c{number}", **column} for number, column in enumerate(columns)]
    raw = {"file": "list.csv", "columns": named, "rows": "panel and filter", **keys}
    return copy.deepcopy(raw)


@pytest.mark.parametrize("columns", DESCRIPTIONS)
@pytest.mark.parametrize("keys", FORMS)
def test_described_table_is_read_back_as_it_was_written(tmp_path, columns, keys):
    columns = [c for c in columns if c["field"] != "filter" or keys.get("encoding") != "iso-8859-1"]
    raw = described(columns, **keys)
    plan = handover_plan(PANELS, nights=NIGHTS, tables=[raw])
    content = table_bytes(read_tables([raw])[0], plan)
    assert_same(read(tmp_path, "list.csv", content, plan.request), PANELS, corner_arcsec=ROUNDED)


def test_described_table_is_found_by_its_header_too(tmp_path):
    raw = described(DESCRIPTIONS[0])
    plan = handover_plan(PANELS, tables=[described(DESCRIPTIONS[0][1:], file="other.csv"), raw])
    pointings = read(tmp_path, "renamed.txt", table_bytes(read_tables([raw])[0], plan), plan.request)
    assert list(pointings.names) == [panel.name for panel in PANELS]
    assert_same(pointings, PANELS, corner_arcsec=ROUNDED)


def test_readings_stand_for_angles_where_the_device_is_known(tmp_path):
    raw = described([{"field": "ra"}, {"field": "dec"}, {"field": "reading", "decimals": 6}])
    plan = handover_plan(PANELS, tables=[raw])
    content = table_bytes(read_tables([raw])[0], plan)
    # a reading shows a rectangle's angle modulo 180 degrees
    assert_same(read(tmp_path, "list.csv", content, plan.request), PANELS, upside_down=True)


def test_guarded_names_get_their_first_letter_back(tmp_path):
    raw = described([{"field": "target"}, {"field": "ra"}, {"field": "dec"}])
    plan = handover_plan(PANELS[:1], title="=shell", tables=[raw])
    content = table_bytes(read_tables([raw])[0], plan)
    assert b"'=shell" in content
    request = Request(
        "x", plan.request.camera, plan.request.region, MosaicRequest(position_angle_deg=5.0), tables=(raw,)
    )
    pointings = read(tmp_path, "list.csv", content, request)
    assert pointings.names == ("=shell A1",)
    assert pointings.sky_deg[0][2] == 5.0


def test_plain_csv_with_units_in_its_cells(tmp_path):
    text = "# made by hand\nName; RA; Dec; PA\nfirst; 08h34m00s; -45d50m; 20\n; 129; -45.5; 21,5\n"
    with pytest.raises(FileError, match=r"list.csv, line 4: '21,5' is no angle"):
        read(tmp_path, "list.csv", text)
    pointings = read(tmp_path, "list.csv", text.replace("21,5", "21.5"))
    assert pointings.names == ("first", "")
    np.testing.assert_allclose(pointings.sky_deg, [(128.5, -45 - 50 / 60, 20), (129, -45.5, 21.5)])


def test_table_without_angles_takes_the_pinned_one(tmp_path):
    plan = handover_plan()
    text = "ra,dec\n10,20\n11,20\n"
    assert [sky[2] for sky in read(tmp_path, "a.csv", text, pinned(plan)).sky_deg] == [33.0, 33.0]
    with pytest.raises(
        FileError, match=r"a.csv has no column position_angle_deg or .* give position_angle_deg in \[mosaic\]"
    ):
        read(tmp_path, "a.csv", text)


def ecsv(**columns):
    stream = io.StringIO()
    Table(columns).write(stream, format="ascii.ecsv")
    return stream.getvalue()


def test_ecsv_units_are_heeded(tmp_path):
    content = ecsv(ra=[8.5] * units.hourangle, dec=[-0.5] * units.rad, pa=[1200.0] * units.arcmin)
    (sky,) = read(tmp_path, "a.ecsv", content).sky_deg
    np.testing.assert_allclose(sky, [127.5, np.degrees(-0.5), 20.0])


def foreign_votable(system="ICRS", equinox=None):
    """A VOTable of another origin: columns known by their UCD alone."""
    table = Table({"alpha": [10.0, 11.0], "delta": [20.0, 20.5], "theta": [0.5, 0.6] * units.rad})
    document = votable.from_table(table)
    for field, ucd in zip(
        document.get_first_table().fields,
        ("pos.eq.ra;meta.main", "pos.eq.dec;meta.main", "pos.posAng"),
        strict=True,
    ):
        field.ucd = ucd
    document.resources[0].coordinate_systems.append(
        votable.tree.CooSys(ID="s", system=system, equinox=equinox)
    )
    stream = io.BytesIO()
    document.to_xml(stream)
    return stream.getvalue()


def test_votable_columns_are_found_by_their_ucd(tmp_path):
    pointings = read(tmp_path, "a.vot", foreign_votable())
    np.testing.assert_allclose(pointings.sky_deg, [(10, 20, np.degrees(0.5)), (11, 20.5, np.degrees(0.6))])
    assert read(tmp_path, "a.vot", foreign_votable("eq_FK5", "J2000")) == pointings


@pytest.mark.parametrize(
    ("system", "equinox"), [("galactic", None), ("eq_FK4", "B1950"), ("eq_FK5", "J1975")]
)
def test_votable_in_another_system_is_refused(tmp_path, system, equinox):
    with pytest.raises(FileError, match=f"positions in the system {system}.*give them in ICRS"):
        read(tmp_path, "a.vot", foreign_votable(system, equinox))


BROKEN = [
    (b"", "is empty or binary"),
    (b"\0\1\2", "is empty or binary"),
    (b"\xff\xfe\xfa", "not UTF-8"),
    ("ra;dec\n", "a.csv has no column position_angle_deg"),
    ("ra,dec,pa\n", "has no rows"),
    ("right,dec,pa\n1,2,3\n", r"has no column ra_deg or s_ra or ra, but right, dec, pa; .*\[\[tables\]\]"),
    ("ra,dec,pa\n1,2\n", "line 2 has 2 cells, wanted 3"),
    ("ra,dec,pa\n1,2,x\n", "line 2: 'x' is no angle"),
    ("ra,dec,pa\n1,nan,3\n", "no angle|missing or no number"),
    ("ra,dec,pa\n1,,3\n", "line 2: '' is no angle"),
    ("ra,dec,pa\n1,91,3\n", r"line 2: declination must be in \[-90, 90\], got 91"),
    ("ra,dec,pa\n1,2,1e9\n", "more than two turns"),
    ("ra,dec,pa\n12:30:00,2,3\n", "may be hours or degrees"),
    ("{}", "is no plan.json"),
    ('{"panels": [{"name": "A1"}]}', "is no plan.json"),
    ('{"panels": 3}', "is no plan.json"),
    ("{" * 100000, "is cut off or no JSON; write it anew"),
    ('{"panels": [{"na', "is cut off or no JSON; write it anew"),
    ("<?xml version='1.0'?><a/>", "cannot be read as VOTable"),
    ("<VOTABLE>", "cannot be read as VOTable"),
    ("# %ECSV 1.0\n# ---\n# datatype:\n# - {name: ra, uni", "cut off or broken in its ECSV header; write it anew"),
    ("# %ECSV 1.0\n# nonsense\n", "broken in its ECSV header"),
    (ecsv(ra=["x"], dec=[1.0], pa=[0.0]), "column ra must hold angles, got unit none and type"),
    (ecsv(ra=[1.0] * units.s, dec=[1.0], pa=[0.0]), "column ra must hold angles, got unit s"),
    (ecsv(ra=MaskedColumn([1.0], mask=[True]), dec=[1.0], pa=[0.0]), "row 1: a value is missing"),
    (
        ecsv(ra=np.arange(MOST_POINTINGS + 1) / 100, dec=np.zeros(MOST_POINTINGS + 1)),
        "more than 20000 pointings",
    ),
]


@pytest.mark.parametrize(("content", "sentence"), BROKEN)
def test_broken_files_are_refused_in_one_sentence(tmp_path, content, sentence):
    request = pinned(handover_plan()) if "20000" in sentence else None
    with pytest.raises(FileError, match=sentence) as caught:
        read(tmp_path, "a.csv", content, request)
    assert "\n" not in str(caught.value)


def test_described_files_that_are_not_as_described(tmp_path):
    raw = described(DESCRIPTIONS[0])
    request = handover_plan(tables=[raw]).request
    for text, sentence in (
        ("a,b\n", "should have the header c0, c1, c2, c3 .*got a, b"),
        ("c0,c1,c2,c3\nA1,1,2\n", "line 2 has 3 cells, wanted 4"),
        ("c0,c1,c2,c3\nA1,1,x,2\n", "line 2, column 'c2': 'x' is not decimal degrees such as 128.500000"),
        (b"\xff", "not as .*describes it"),
    ):
        with pytest.raises(FileError, match=sentence):
            read(tmp_path, "list.csv", text, request)
    only_ra = handover_plan(tables=[described([{"field": "ra"}])]).request
    with pytest.raises(FileError, match="no pair of columns ra and dec on one equator"):
        read(tmp_path, "list.csv", "c0\n1\n", only_ra)


def test_missing_file_and_folder(tmp_path):
    request = handover_plan().request
    with pytest.raises(FileError, match="cannot read .*nowhere.csv: No such file"):
        read_pointings(tmp_path / "nowhere.csv", request)
    with pytest.raises(FileError, match="cannot read .*: Is a directory"):
        read_pointings(tmp_path, request)


def test_pointings_that_repeat_count_once(tmp_path):
    rows = [{"name": "A1", "ra_deg": 1.0, "dec_deg": 2.0, "position_angle_deg": 3.0}] * 3
    assert len(read(tmp_path, "a.json", json.dumps({"panels": rows})).sky_deg) == 1


def test_a_column_that_stands_twice_is_refused(tmp_path):
    with pytest.raises(FileError, match="column ra_deg twice"):
        read(tmp_path, "list.csv", "ra_deg,RA_DEG,dec_deg,pa\n10,190,20,30\n")
