import datetime as dt
import json
import subprocess
import sys
from datetime import date
from pathlib import Path
from types import SimpleNamespace

import pytest

from planner.answers.plan import make_plan
from planner.cli.nights_report import _bound_lines, _finish_line
from planner.files.plan_file.read import read_plan_file
from planner.night.timetable import Bound
from tests.night.rules_verifier import complaints

from . import running
from .plan_texts import SHELL

SAMPLES = Path(__file__).parents[2] / "sample_targets"
MOUNT = """
[mount]
kind = "german"
flip_after_transit_min = 10
"""
SITE = """
[site]
name = "Karoo pier"
latitude_deg = -31.2
longitude_deg = 22.6
elevation_m = 1750
time_zone = "Africa/Johannesburg"
lowest_altitude_deg = 30
currency = "ZAR"
hour_price = [[0.0, 880], [0.55, 540]]
"""
NIGHTS = """
[nights]
first = 2027-01-11
last = 2027-01-16
clear_fraction = 0.7
overhead_per_panel_min = 6
overhead_per_exposure_s = 8
"""
FILTERS = """
[[filters]]
name = "Ha"
band = "narrow"
exposure_s = 600
exposures = 6
[[filters]]
name = "L"
band = "broad"
exposure_s = 120
exposures = 10
"""
WHOLE = SHELL + MOUNT + SITE + NIGHTS + FILTERS


@pytest.fixture
def plan_file(tmp_path):
    def write(text=WHOLE, name="shell.toml"):
        path = tmp_path / name
        path.write_text(text)
        return path

    return write


def run(capsys, *arguments):
    return running.run(capsys, "nights", *arguments)


def document_of(capsys, *arguments):
    code, out, err = run(capsys, *arguments, "--json")
    return code, json.loads(out), err


def verified(path, document, wanted=None):
    plan = make_plan(read_plan_file(path))
    request = plan.request
    panels = {panel.name: (panel.ra_deg, panel.dec_deg) for panel in plan.mosaic.panels}
    usual = {(panel, one.name): one.exposures for panel in panels for one in request.filters}
    return complaints(
        document,
        places=panels,
        wanted=usual | (wanted or {}),
        sites=request.sites,
        nights=request.nights,
        filters=request.filters,
        flip_after_min=request.mount.flip_after_transit_min,
    )


def test_screen(plan_file, capsys):
    code, out, err = run(capsys, plan_file())
    assert (code, err) == (0, "")
    lines = out.splitlines()
    assert lines[0].strip() == "Karoo pier, times in Africa/Johannesburg"
    assert lines[1].split()[:4] == ["Evening", "Dark", "Hours", "Moon"]
    assert (
        lines[2].split()[0] == "2027-01-11" and len([line for line in lines if line.startswith("2027-")]) == 6
    )
    assert any(line.startswith("Finished on the evening of 2027-01-1") for line in lines)
    assert not any("0.0 to 0.0 magnitudes" in line for line in lines)
    assert any(line.startswith("No plan can ") and line.endswith(" the best possible.") for line in lines)
    assert any(
        "60 degrees away and lit to at most 25% (default of its band: common" in line for line in lines
    )
    assert any(line.startswith("Caution: Never let the telescope sweep near the Sun") for line in lines)


def test_a_season_that_has_ended_is_told(plan_file, capsys, monkeypatch):
    """The last evening is 2027-01-16, which lasts until the noon after it, 10 h UTC at this site."""
    ended = "planner: the season ended on 2027-01-16: all its evenings are gone; give later dates in [nights]"
    for hour, told in ((9, False), (11, True)):
        now = dt.datetime(2027, 1, 17, hour, tzinfo=dt.UTC)
        monkeypatch.setattr("planner.cli.progress.now_option.clock", lambda now=now: now)
        assert run(capsys, plan_file())[2].startswith(ended) == told


def test_a_bound_on_the_cost_names_the_currency():
    words = " ".join(_bound_lines(Bound("cost", ours=7000.0, best=6480.0), turns=0, currency="ZAR"))
    assert words.startswith("No plan can cost less than 6,480 ZAR; this one costs 7,000 ZAR, within ")


@pytest.mark.parametrize("goal", ["soonest", "cheapest"])
def test_machine_form_keeps_the_rules(plan_file, capsys, goal):
    path = plan_file()
    code, document, err = document_of(capsys, path, "--goal", goal)
    assert (code, err) == (0, "") and list(document)[0] == "schema" and document["schema"] == "nights 1"
    assert verified(path, document) == []
    assert document["finished"] and document["missing"] == [] and document["currency"] == "ZAR"
    night = document["nights"][0]
    assert {"evening", "dark_from", "dark_to", "moon_illumination", "moon_up", "panels"} <= set(night)
    panel = night["panels"]["A1"]
    assert {"hours", "windows", "transit", "greatest_altitude_deg", "least_moon_separation_deg"} <= set(panel)
    assert panel["filter_hours"]["Ha"] >= panel["filter_hours"]["L"]
    assert set(document["timetable"][0]) == {
        "evening",
        "from",
        "to",
        "panel",
        "filter",
        "exposures",
        "looking",
    }


def test_files_are_written_whole_and_replaced(plan_file, tmp_path, capsys):
    path, out = plan_file(), tmp_path / "out"
    assert run(capsys, path, "--out", out)[0] == 0
    assert sorted(file.name for file in out.iterdir()) == [
        "nights.ics",
        "nights.json",
        "nights.pdf",
        "year.png",
    ]
    code, printed, _ = run(capsys, path, "--json")
    assert json.loads((out / "nights.json").read_text()) == json.loads(printed)
    before = {file.name: file.read_bytes() for file in out.iterdir()}
    code, _, err = run(capsys, path, "--out", out)
    assert code == 0 and "replaced" in err and "year.png" in err
    assert {file.name: file.read_bytes() for file in out.iterdir()} == before


def test_another_file_in_the_way_stops_everything(plan_file, tmp_path, capsys, no_year_drawn):
    out = tmp_path / "out"
    out.mkdir()
    (out / "nights.pdf").write_bytes(b"%PDF-1.4 mine")
    code, printed, err = run(capsys, plan_file(), "--out", out)
    assert code == 2 and printed == "" and "in the way" in err
    assert [file.name for file in out.iterdir()] == ["nights.pdf"]


def test_what_is_done_is_counted(plan_file, tmp_path, capsys):
    path, review = plan_file(), tmp_path / "review.json"
    rows = [{"name": "A1", "filter": "Ha", "exposures": 6, "wanted": 6, "seconds": 3600.0}]
    rows += [{"name": "A1", "filter": "L", "exposures": 99}, {"name": "A1", "filter": "dust", "exposures": 3}]
    rows += [{"name": "B1", "filter": "Ha", "exposures": 2}, {"name": "B1"}]
    review.write_text(json.dumps({"schema": "review 1", "frames": [], "made_up": 3, "panels": rows}))
    code, document, err = document_of(capsys, path, "--done", review)
    assert code == 0 and "review.json counts 3 frames made up, to practise with" in err
    assert verified(path, document, {("A1", "Ha"): 0, ("A1", "L"): 0, ("B1", "Ha"): 4}) == []
    assert "A1" not in {entry["panel"] for entry in document["timetable"]}


def test_seconds_of_what_is_done_count_whatever_the_frames_length(plan_file, tmp_path, capsys):
    path, review = plan_file(), tmp_path / "review.json"
    stacked = {"name": "A1", "filter": "Ha", "exposures": 1, "wanted": 6, "seconds": 3600.0}
    halves = {"name": "B1", "filter": "Ha", "exposures": 6, "wanted": 6, "seconds": 1800.0}
    review.write_text(json.dumps({"schema": "review 1", "frames": [], "panels": [stacked, halves]}))
    code, document, _ = document_of(capsys, path, "--done", review)
    assert code == 0 and verified(path, document, {("A1", "Ha"): 0, ("B1", "Ha"): 3}) == []


def test_what_remains_begins_after_the_last_frame(plan_file, tmp_path, capsys):
    path, review = plan_file(), tmp_path / "review.json"
    shot = {"panel": "A1", "filter": "Ha", "exposure_s": 600.0, "verdict": "good", "reason": ""}
    elsewhere = {"verdict": "off_target", "reason": "", "elsewhere": True, "start": "2027-01-15T21:00:00Z"}
    frames = [{**shot, "file": "a.fits", "start": "2027-01-12T21:00:00Z"}, {**elsewhere, "file": "b.fits"}]
    rows = [{"name": "A1", "filter": "Ha", "exposures": 1, "wanted": 6, "seconds": 600.0}]
    review.write_text(json.dumps({"schema": "review 1", "frames": frames, "panels": rows}))
    code, out, _ = run(capsys, path, "--done", review, "--now", "2027-01-02")
    assert out.startswith(
        "What remains, from the evening of 2027-01-13 on (the last frame is of the evening of 2027-01-12; clear share"
    )
    document = document_of(capsys, path, "--done", review, "--now", "2027-01-14T20:00Z")[1]
    assert document["nights"][0]["evening"] == "2027-01-14"
    code, out, err = run(capsys, path, "--done", review, "--now", "2027-02-01")
    assert (code, out) == (2, "") and "it ended on 2027-01-16 and the coming evening is 2027-02-01" in err
    code, out, err = run(capsys, path, "--now", "2027-01-14")
    assert (code, out) == (2, "") and "--now needs --done" in err


def test_a_device_is_no_review(plan_file, capsys):
    code, out, err = run(capsys, plan_file(), "--done", "/dev/zero")
    assert code == 2 and out == "" and "no regular file" in err


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("no json", "is cut off or no JSON; write it anew with `review"),
        ('{"schema": "revi', "is cut off or no JSON"),
        ("[1]", "schema"),
        ('{"schema": "nights 1"}', "'review 1'"),
        ('{"schema": "review 1"}', "no list of panels"),
        ('{"schema": "review 1", "panels": [{"name": "Q9", "filter": "Ha", "exposures": 1}]}', "'Q9'"),
        (
            '{"schema": "review 1", "panels": [{"name": "A1", "filter": "Ha", "exposures": -1}]}',
            "whole number",
        ),
        ('{"schema": "review 1", "panels": [{"name": 7}]}', "as text"),
        ('{"schema": "review 1", "panels": [7]}', "must be a table"),
        (
            '{"schema": "review 1", "panels": [{"name": "A1", "filter": "Ha", "seconds": "many"}]}',
            "seconds as a number",
        ),
        (
            '{"schema": "review 1", "panels": [], "plan": {"title": "Cygnus", "panels": "0123456789abcdef"}}',
            "is the review of other panels ('Cygnus') than those of 'Shell'",
        ),
        (None, "does not exist"),
    ],
)
def test_a_bad_review_is_refused(plan_file, tmp_path, capsys, text, said):
    review = tmp_path / "review.json"
    if text is not None:
        review.write_text(text)
    code, out, err = run(capsys, plan_file(), "--done", review)
    assert code == 2 and out == "" and said in err and len(err.splitlines()) == 1


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("latitude_deg = -31.2", "latitude_deg = 91", "latitude_deg"),
        ("Africa/Johannesburg", "Africa/Johanesburg", "Africa/Johannesburg"),
        ("first = 2027-01-11", "first = 2028-01-11", "first"),
        ("[[0.0, 880], [0.55, 540]]", "[[0.5, 600], [0.0, 900]]", "hour_price"),
        ("exposure_s = 600", "exposure_s = 0", "exposure_s"),
        ("first = 2027-01-11", 'first = "soon"', "first"),
        (SITE, "", "add [site]"),
        (NIGHTS, "", "add [nights]"),
    ],
)
def test_bad_input_is_one_sentence(plan_file, tmp_path, capsys, old, new, said):
    assert old in WHOLE
    code, out, err = run(capsys, plan_file(WHOLE.replace(old, new)), "--out", tmp_path / "out")
    assert code == 2 and out == "" and said in err and len(err.splitlines()) == 1
    assert not (tmp_path / "out").exists()


def test_a_goal_that_does_not_exist(plan_file, capsys):
    code, _, err = run(capsys, plan_file(), "--goal", "best")
    assert code == 2 and "soonest" in err


def test_a_target_that_never_rises(plan_file, capsys):
    north = WHOLE.replace("latitude_deg = -31.2", "latitude_deg = 52.0")
    code, document, err = document_of(capsys, plan_file(north))
    assert code == 1
    # the southernmost of the panels, near declination -47.6, reaches 30 degrees from 90 - 30 - 47.6 southward
    assert "never rise to 30 degrees" in err and "from latitude 1" in err and "southward" in err
    assert document["timetable"] == [] and not document["finished"] and "evening_of_last" not in document
    assert all(row["reason"] == "never high enough in the dark" for row in document["missing"])
    assert document["nights"][0]["panels"]["A1"]["windows"] == []


def test_a_season_without_the_target(plan_file, capsys):
    summer = WHOLE.replace("2027-01-1", "2027-08-1").replace("exposures = 6", "exposures = 1")
    code, _, err = run(capsys, plan_file(summer))
    assert code == 1 and "choose other dates" in err


def test_a_target_behind_the_horizon(plan_file, capsys):
    walled = WHOLE.replace("lowest_altitude_deg = 30", "lowest_altitude_deg = 30\nhorizon_deg = [[0, 89]]")
    code, document, err = document_of(capsys, plan_file(walled))
    assert code == 1 and "hidden by the horizon at all times" in err
    assert document["nights"][0]["panels"]["A1"]["hours"] == 0


def test_what_does_not_fit_is_missing(plan_file, capsys):
    code, document, err = document_of(capsys, plan_file(WHOLE.replace("exposures = 6", "exposures = 90")))
    assert code == 1 and "exposures through Ha" in err and "no time left in the season" in err
    assert document["missing"] and document["bound"]["of"] == "exposure_hours"


def test_without_filters_there_are_windows_only(plan_file, tmp_path, capsys, no_year_drawn):
    path = plan_file(SHELL + SITE + NIGHTS)
    code, document, err = document_of(capsys, path)
    assert (code, err) == (0, "") and document["timetable"] == []
    assert not {"hours_used", "cost", "finished", "missing"} & set(document)
    code, out, _ = run(capsys, path, "--out", tmp_path / "out")
    assert code == 0 and "when panels can be shot, but no timetable" in out
    assert sorted(file.name for file in (tmp_path / "out").iterdir()) == ["nights.json", "year.png"]


def test_what_can_be_shot_is_what_a_filter_may_take(plan_file, capsys):
    # the Moon, full on 22 January 2027 (astropy.coordinates), stands near the field on the evening after
    text = WHOLE.replace('["08h34m", "-45d50m"]', '["09h10m", "14d"]').replace("2027-01-16", "2027-01-24")
    path = plan_file(text)
    _, document, _ = document_of(capsys, path)
    _, out, _ = run(capsys, path)
    shown = {line.split()[0]: line.split()[5] for line in out.splitlines() if line.startswith("2027-")}
    some = {
        night["evening"]: sum(
            max(one.get("filter_hours", {"": 0}).values()) > 0 for one in night["panels"].values()
        )
        for night in document["nights"]
    }
    count = len(document["nights"][0]["panels"])
    assert shown == {evening: f"{number}/{count}" for evening, number in some.items()}
    assert shown["2027-01-11"] == f"{count}/{count}" and shown["2027-01-23"] == f"0/{count}"


def test_several_sites_name_themselves(plan_file, capsys):
    second = SITE.replace("Karoo pier", "Andes pier").replace("22.6", "-69.5")
    second = second.replace("Africa/Johannesburg", "America/Santiago")
    both = WHOLE.replace(SITE, (SITE + second).replace("[site]", "[[site]]"))
    path = plan_file(both)
    code, document, err = document_of(capsys, path)
    assert (code, err) == (0, "")
    assert {night["site"] for night in document["nights"]} == {"Karoo pier", "Andes pier"}
    assert all("site" in entry for entry in document["timetable"]) and verified(path, document) == []


def test_a_moving_planet_in_the_field_is_told(plan_file, capsys):
    # Jupiter stands in Cancer and Leo in early 2027 (at 09h50m +14 in January by skyfield)
    text = WHOLE.replace('["08h34m", "-45d50m"]', '["09h48m", "14d"]')
    code, document, _ = document_of(capsys, plan_file(text))
    assert {row["body"] for row in document["warnings"]} >= {"Jupiter"}
    assert all(row["separation_deg"] < 12 for row in document["warnings"])
    assert "Mind: Jupiter" in run(capsys, plan_file(text))[1]


def test_help_has_an_example(capsys):
    code, out, _ = run(capsys, "--help")
    assert code == 0 and "python -m planner nights" in out


def test_as_a_process(plan_file):
    done = subprocess.run(
        [sys.executable, "-m", "planner", "nights", str(plan_file()), "--json"],
        cwd=SAMPLES.parent,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0 and json.loads(done.stdout)["schema"] == "nights 1"


@pytest.mark.parametrize(("dates", "words"), [((8,), "on 1 evening ("), ((8, 9), "on 2 evenings (")])
def test_evenings_are_counted_in_words(dates, words):
    """Evenings of the timetable's blocks; one is not told as several."""

    days = [date(2027, 1, day) for day in dates]
    survey = SimpleNamespace(evenings=[SimpleNamespace(evening=SimpleNamespace(date=day)) for day in days])
    blocks = [SimpleNamespace(night=k) for k in range(len(days))]
    timetable = SimpleNamespace(
        blocks=blocks, cost={}, hours_used=2.0, last=days[-1], missing=(), finished=True, goal="soonest"
    )
    assert words in _finish_line(survey, timetable)
