import csv
import datetime as dt
import hashlib
import io
import json
import re
import warnings
import zipfile

import numpy as np
import pytest
from astropy import units
from astropy.coordinates import SkyCoord
from astropy.io import fits, votable
from astropy.table import Table
from astropy.wcs import WCS
from icalendar import Calendar
from mocpy import MOC

from planner.answers.nights import plan_nights
from planner.errors import FileError, InputError
from planner.handover.folder import handover_zip, write_handover
from planner.handover.handover import HANDOVER_KINDS, handover_files, handover_warnings
from planner.handover.index import INDEX_NAME, listed_in_index
from planner.mosaic.panel import Panel
from planner.night.settings import Nights
from tests.handover.handover_plan import FILTERS, NIGHTS, handover_plan, many_panels

pytestmark = pytest.mark.usefixtures("made_once")
TABLE = {
    "file": "Liste Ω, 'eins'.csv",
    "columns": [
        {"name": "name", "field": "panel"},
        {"name": "ra", "field": "ra"},
        {"name": "dec", "field": "dec"},
        {"name": "angle", "field": "position_angle"},
    ],
}


@pytest.fixture(scope="module")
def files():
    return handover_files(handover_plan(tables=[TABLE]))


@pytest.fixture(scope="module")
def contents(files):
    return {file.path: file.content for file in files}


def read_csv(content):
    rows = list(csv.DictReader(io.StringIO(content.decode())))
    return [(row["name"], row["ra"], row["dec"], row["angle"]) for row in rows]


def read_ecsv(content):
    table = Table.read(content.decode(), format="ascii.ecsv")
    return list(
        zip(table["name"], table["ra_deg"], table["dec_deg"], table["position_angle_deg"], strict=True)
    )


def read_votable(content):
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        table = votable.parse(io.BytesIO(content), verify="exception").get_first_table().to_table()
    columns = (table[name] for name in ("panel", "s_ra", "s_dec", "position_angle"))
    return list(zip(*columns, strict=True))[::2]


def read_json(content):
    keys = ("name", "ra_deg", "dec_deg", "position_angle_deg")
    return [tuple(panel[key] for key in keys) for panel in json.loads(content)["panels"]]


def read_headers(contents):
    for path, content in contents.items():
        if path.startswith("headers/"):
            header = fits.Header.fromstring(content.decode(), sep="\n")
            middle = [(n + 1) / 2 for n in (header["NAXIS1"], header["NAXIS2"])]
            ra_deg, dec_deg = WCS(header).all_pix2world(*middle, 1)
            angle = np.degrees(np.arctan2(header["CD1_2"], header["CD2_2"])) % 360
            yield header["PANEL"], float(ra_deg), float(dec_deg), angle


def test_every_file_says_the_same_to_an_independent_reader(contents):
    panels = handover_plan().mosaic.panels
    read = {
        "csv": read_csv(contents[f"tables/{TABLE['file']}"]),
        "ecsv": read_ecsv(contents["panels.ecsv"]),
        "votable": read_votable(contents["observations.vot"]),
        "json": read_json(contents["plan.json"]),
        "headers": list(read_headers(contents)),
    }
    for kind, rows in read.items():
        assert [row[0] for row in rows] == [panel.name for panel in panels], kind
        for row, panel in zip(rows, panels, strict=True):
            ra_deg, dec_deg, angle_deg = map(float, row[1:])
            here = SkyCoord(ra_deg, dec_deg, unit="deg")
            there = SkyCoord(panel.ra_deg, panel.dec_deg, unit="deg")
            assert here.separation(there).arcsec < 0.01, kind
            assert angle_deg == pytest.approx(panel.position_angle_deg, abs=6e-4), kind
    for name in ("panels", "region"):
        moc = MOC.from_fits(io.BytesIO(contents[f"{name}.moc.fits"]))
        assert moc.contains_lonlat([128.5] * units.deg, [-45.8] * units.deg).all()
        assert moc == MOC.from_json(json.loads(contents[f"{name}.moc.json"]))


def test_kinds_paths_and_standards(files):
    kinds = {file.kind for file in files}
    assert kinds == {"index", *HANDOVER_KINDS} - {"calendar"}
    assert all(file.standard for file in files)
    assert len({file.path for file in files}) == len(files)


def test_index_names_every_file_with_its_checksum(files, contents, tmp_path):
    write_handover(tmp_path, contents, replace=False, whole=True)
    listed = listed_in_index(tmp_path)
    assert set(listed) == {file.path for file in files} - {INDEX_NAME}
    for path, checksum in listed.items():
        assert hashlib.sha256((tmp_path / path).read_bytes()).hexdigest() == checksum
    text = contents[INDEX_NAME].decode()
    assert "Position angles are of the frame's up" in text
    assert max(map(len, re.sub(r"[0-9a-f]{64}  .*", "", text).splitlines())) <= 79


def test_the_same_plan_gives_the_same_bytes(files):
    again = handover_files(handover_plan(tables=[TABLE]))
    assert again == files
    assert handover_zip(again) == handover_zip(files)


def test_zip_holds_the_same_files(files, contents):
    with zipfile.ZipFile(io.BytesIO(handover_zip(files))) as archive:
        assert archive.testzip() is None
        assert {name: archive.read(name) for name in archive.namelist()} == contents
        assert b"mosaic planner" in archive.comment


def test_only_some_kinds():
    plan = handover_plan(tables=[TABLE])
    assert {file.kind for file in handover_files(plan, only=["json", "moc"])} == {"index", "json", "moc"}
    with pytest.raises(InputError, match="there is no kind of file 'votabel'; did you mean 'votable'"):
        handover_files(plan, only=["votabel"])
    with pytest.raises(InputError, match=r"tables cannot be written: the plan has no \[\[tables\]\]"):
        handover_files(handover_plan(), only=["tables"])


def test_progress_is_told_and_rises():
    told = []
    handover_files(
        handover_plan(), only=["json", "ecsv"], progress=lambda what, share: told.append((what, share))
    )
    assert [share for _, share in told] == [0.0, 0.5]
    assert all(what.startswith("hand-over: ") for what, _ in told)


def test_shortfall_stands_in_the_index():
    text = handover_files(handover_plan(gap=0.25), only=["json"])[0].content.decode()
    assert "Mind: a gap of 0.25 square degrees" in " ".join(text.split())


def test_warning_names_table_column_and_pixels():
    coarse = {"file": "a.csv", "columns": [{"name": "R", "field": "ra", "decimals": 0}]}
    (warning,) = handover_warnings(handover_plan(tables=[coarse]))
    # 129.5 becomes 130 or 129: half a degree times cos 46.9 at 2.1169 arc seconds a pixel is 581 pixels
    assert warning == (
        "table 'a.csv': rounding column 'R' moves a point of a frame by up to 581.0 pixels; "
        "give it more decimals"
    )
    assert handover_warnings(handover_plan(tables=[TABLE])) == []


def test_nothing_is_overwritten_without_leave(tmp_path):
    first = {"README.txt": b"mosaic planner 1", "a/b.json": b"x"}
    write_handover(tmp_path, first, replace=False, whole=True)
    with pytest.raises(FileError, match=r"README.txt and 1 more are there already; have the earlier"):
        write_handover(tmp_path, {**first, "c.json": b"y"}, replace=False, whole=True)
    assert not (tmp_path / "c.json").exists()


def indexed(**contents):
    lines = [f"{hashlib.sha256(content).hexdigest()}  {name}" for name, content in contents.items()]
    return {INDEX_NAME: ("mosaic planner\n" + "\n".join(lines)).encode(), **contents}


def test_replacing_touches_only_what_an_earlier_hand_over_left_unchanged(tmp_path):
    write_handover(tmp_path, indexed(own=b"1", old=b"2", edited=b"3"), replace=False, whole=True)
    (tmp_path / "edited").write_bytes(b"3 by hand")
    (tmp_path / "foreign").write_bytes(b"not ours")
    replaced, removed = write_handover(tmp_path, indexed(own=b"new"), replace=True, whole=True)
    assert sorted(replaced) == [INDEX_NAME, "own"]
    assert removed == ["old"]
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir() if path.name != INDEX_NAME} == {
        "own": b"new",
        "edited": b"3 by hand",
        "foreign": b"not ours",
    }
    with pytest.raises(FileError, match="foreign is in the way and was not written by this planner"):
        write_handover(tmp_path, indexed(own=b"newer", foreign=b"x"), replace=True, whole=True)
    assert (tmp_path / "own").read_bytes() == b"new"


def test_a_part_leaves_the_rest_alone(tmp_path):
    write_handover(tmp_path, indexed(own=b"1", old=b"2"), replace=False, whole=True)
    _, removed = write_handover(tmp_path, indexed(own=b"new"), replace=True, whole=False)
    assert removed == []
    assert (tmp_path / "old").exists()


@pytest.mark.parametrize("path", ["../outside", "/etc/hosts", "a/../../outside", "..\\outside"])
def test_an_index_from_elsewhere_cannot_reach_outside(tmp_path, path):
    folder = tmp_path / "folder"
    folder.mkdir()
    (tmp_path / "outside").write_bytes(b"1")
    line = f"{hashlib.sha256(b'1').hexdigest()}  {path}"
    (folder / INDEX_NAME).write_text(f"mosaic planner\n{line}\n")
    assert listed_in_index(folder) == {}
    write_handover(folder, indexed(own=b"1"), replace=True, whole=True)
    assert (tmp_path / "outside").exists()


def test_links_are_never_followed(tmp_path):
    outside = tmp_path / "outside.txt"
    outside.write_bytes(b"mosaic planner")
    folder = tmp_path / "folder"
    folder.mkdir()
    (folder / INDEX_NAME).symlink_to(outside)
    with pytest.raises(FileError, match="in the way"):
        write_handover(folder, indexed(), replace=True, whole=True)
    assert outside.read_bytes() == b"mosaic planner"


def test_folder_that_cannot_be_written(tmp_path):
    (tmp_path / "file").write_text("x")
    with pytest.raises(FileError, match="cannot write to"):
        write_handover(tmp_path / "file", indexed(own=b"1"), replace=True, whole=True)


def test_names_of_listed_panels_cannot_leave_the_folder():
    panels = [Panel(name, 1, 1, 1, 128.0, -45.0, 20.0) for name in ("../up", "A 1", "a_1", "星")]
    paths = [file.path for file in handover_files(handover_plan(panels), only=["headers"])[1:]]
    assert paths == ["headers/_up.hdr", "headers/A_1.hdr", "headers/a_1-3.hdr", "headers/_-4.hdr"]


@pytest.mark.parametrize("goal", ["soonest", "cheapest"])
def test_the_calendar_is_of_the_goal_asked_for(goal, monkeypatch):
    plan = handover_plan(nights=NIGHTS)
    nights, told = plan_nights(plan), []
    monkeypatch.setattr(
        "planner.answers.nights.plan_nights", lambda plan, goal, progress: told.append(goal) or nights
    )
    handover_files(plan, only=["calendar"], goal=goal)
    assert told == [goal]


def test_calendar_is_the_timetable_and_the_same_on_every_run():
    plan = handover_plan(nights=NIGHTS)
    _, file = handover_files(plan, only=["calendar"])
    assert (file.path, file.kind) == ("nights.ics", "calendar")
    events = Calendar.from_ical(file.content).walk("VEVENT")
    timetable = plan_nights(plan).timetable
    assert timetable is not None
    starts = [dt.datetime.fromtimestamp(block.start_s, tz=dt.UTC) for block in timetable.blocks]
    assert [event.start for event in events] == starts
    assert len(events) > 0
    assert handover_files(plan, only=["calendar"])[1] == file
    # RFC 5545, 3.1: CRLF line ends, no line longer than 75 octets
    lines = file.content.split(b"\r\n")
    assert max(map(len, lines)) <= 75
    assert b"\n" not in b"".join(lines)


def test_calendar_needs_ground_and_is_left_out_of_large_seasons():
    with pytest.raises(InputError, match=r"calendar cannot be written: it needs a site, \[nights\] and"):
        handover_files(handover_plan(), only=["calendar"])
    season = Nights(dt.date(2027, 1, 1), dt.date(2029, 12, 31))
    larger = handover_plan(many_panels(10, 20), filters=FILTERS, nights=season)
    with pytest.raises(InputError, match="panels times filters times evenings must be at most"):
        handover_files(larger, only=["calendar"])
    large = handover_plan(many_panels(3, 4), filters=FILTERS, nights=season)
    files = handover_files(large)
    assert "calendar" not in {file.kind for file in files}
    text = " ".join(files[0].content.decode().split())
    assert "its calendar is made only when it is asked for by name" in text
