"""`plan --keep`: panels with good frames stay, others are added, and lists name what is still to do."""

import json
import tomllib

import pytest

import planner
from planner.answers.plan import make_plan
from planner.cli import main
from planner.cli.plan_settle import say_what_keeping_saves
from planner.files.plan_file.made_up_mark import MADE_UP_LINE
from planner.files.plan_file.read import read_plan_file
from planner.handover.handover import handover_files
from tests.frames.small_plan import write_all, write_solved

PLAN = """title = "Shell"

[camera]
focal_length_mm = 380.0
sensor_px = [60, 40]
pixel_um = 390.0

[region]
center = [129.0, -45.0]   # by eye
width_deg = 5.5
height_deg = 3.5
position_angle_deg = 20.0

[mosaic]
overlap = 0.15
position_angle_deg = 20.0
layout = "sliding"

[site]
name = "pier"
latitude_deg = -31.2
longitude_deg = 22.6

[nights]
first = 2027-01-08
last = 2027-01-12

[[filters]]
name = "Ha"
band = "narrow"
exposure_s = 600
exposures = 2

[[filters]]
name = "OIII"
band = "narrow"
exposure_s = 600
exposures = 1
"""


@pytest.fixture
def begun(tmp_path, capsys):
    """A settled plan of four panels: A1 shot whole, A2 through Ha alone, the others not; then the region grows."""
    file = tmp_path / "shell.toml"
    file.write_text(PLAN, encoding="utf-8")
    main(["plan", str(file), "--settle"])
    plan = make_plan(read_plan_file(file))
    assert [panel.name for panel in plan.mosaic.panels] == ["A1", "A2", "B1", "B2"]
    write_all(tmp_path / "frames", plan, filters=("Ha",), without=("B1", "B2"))
    write_all(tmp_path / "frames", plan, filters=("OIII",), count=1, without=("A2", "B1", "B2"))
    capsys.readouterr()
    main(["review", str(file), str(tmp_path / "frames"), "--json"])
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "review.json").write_text(capsys.readouterr().out, encoding="utf-8")
    wider = file.read_text(encoding="utf-8").replace("width_deg = 5.5", "width_deg = 7.5")
    file.write_text(wider, encoding="utf-8")
    return file


def kept(file, capsys, *options):
    code = main(["plan", str(file), "--json", "--keep", str(file.parent / "out/review.json"), *options])
    out, err = capsys.readouterr()
    return code, json.loads(out) if out else None, err


def test_panels_with_good_frames_stay_and_new_names_were_never_used(begun, capsys):
    before = {one["name"]: one for one in tomllib.loads(begun.read_text())["panels"]}
    code, document, err = kept(begun, capsys, "--settle", "--out", str(begun.parent / "plan"))
    assert code == 0 and "kept: A1, A2" in err and "let go, without good frames: B1, B2" in err
    stays = [one for one in document["panels"] if one.get("kept")]
    assert [one["name"] for one in stays] == ["A1", "A2"]
    for one in stays:
        for key in ("ra_deg", "dec_deg", "position_angle_deg"):
            assert one[key] == pytest.approx(before[one["name"]][key], abs=1e-8)
    names = [one["name"] for one in document["panels"]]
    assert all(name[0] >= "C" for name in names[2:]) and len(names) > 4  # B1 and B2 were let go
    assert document["covered"] and document["overlap_found"] >= 0.15
    text = begun.read_text(encoding="utf-8")
    table = tomllib.loads(text)
    assert table["names_used"] == ["B1", "B2"] and "# by eye" in text
    assert "keep = true\ntaken = {Ha = 2}\n\n[[panels]]" in text and text.count("\n\n[[panels]]") == len(
        names
    )
    first, second, *others = sorted(table["panels"], key=lambda one: one["order"])
    assert {first["name"]: first["taken"], second["name"]: second["taken"]} == {
        "A1": {"Ha": 2, "OIII": 1},
        "A2": {"Ha": 2},
    }
    assert all("keep" not in one for one in others)
    header, *rows = (begun.parent / "plan/panels.csv").read_text().splitlines()
    column = header.split(",").index("kept")
    assert [row.split(",")[column] for row in rows] == ["True"] * 2 + ["False"] * (len(names) - 2)
    again = main(["plan", str(begun), "--json"])
    assert again == 0 and [one["name"] for one in json.loads(capsys.readouterr()[0])["panels"]] == names


def test_lists_name_what_is_still_to_do(begun, capsys):
    _, document, _ = kept(begun, capsys, "--settle")
    to_do = {one["name"] for one in document["panels"]} - {"A1"}
    plan = make_plan(read_plan_file(begun))
    contents = {one.path: one.content for one in handover_files(plan, only=["headers", "ecsv", "votable"])}
    assert {path[8:-4] for path in contents if path.startswith("headers/")} == to_do
    assert "A1," not in contents["panels.ecsv"].decode() and b">A1<" not in contents["observations.vot"]
    main(["nights", str(begun), "--json"])
    nights = json.loads(capsys.readouterr()[0])
    assert {name for night in nights["nights"] for name in night["panels"]} == to_do
    assert {(row["filter"], row["exposures"]) for row in nights["timetable"] if row["panel"] == "A2"} == {
        ("OIII", 1)
    }
    main(["angle", str(begun), "--json"])
    assert {one["name"] for one in json.loads(capsys.readouterr()[0])["panels"]} == to_do
    again = begun.parent / "again.toml"
    main(["review", str(begun), str(begun.parent / "out"), "--json", "--reshoot", str(again)])
    review = json.loads(capsys.readouterr()[0])
    assert {
        row["panel"] for row in review["reshoot"]
    } == to_do  # without a frame at hand, A1 still has its own
    listed = {one["name"]: one["exposures"] for one in tomllib.loads(again.read_text())["panels"]}
    assert set(listed) == to_do and listed["A2"] == {"OIII": 1}


def test_a_second_growth_reuses_no_name_either(begun, capsys):
    kept(begun, capsys, "--settle")
    main(["review", str(begun), str(begun.parent / "frames"), "--out", str(begun.parent / "out")])
    wider = begun.read_text(encoding="utf-8").replace("height_deg = 3.5", "height_deg = 5.0")
    begun.write_text(wider, encoding="utf-8")
    capsys.readouterr()
    first = {one["name"] for one in tomllib.loads(wider)["panels"]}
    code, document, _ = kept(begun, capsys, "--settle")
    names = {one["name"] for one in document["panels"]}
    assert code == 0 and names & first == {"A1", "A2"} and not names & {"B1", "B2"}
    main(["plan", str(begun), "--unsettle", "--json"])  # what is kept in any case stays
    said = capsys.readouterr()[1]
    assert (
        "lets its settled panels go but for A1, A2: they say keep = true" in said and "any more" not in said
    )
    table = tomllib.loads(begun.read_text(encoding="utf-8"))
    assert "settled" not in table and [one["name"] for one in table["panels"]] == ["A1", "A2"]
    assert set(table["names_used"]) == (first | names | {"B1", "B2"}) - {"A1", "A2"}


def test_frames_in_a_folder_stand_for_panels_or_for_their_ground(begun, capsys):
    code = main(["plan", str(begun), "--json", "--keep", str(begun.parent / "frames")])
    document = json.loads(capsys.readouterr()[0])
    assert code == 0 and [one["name"] for one in document["panels"] if one.get("kept")] == ["A1", "A2"]
    plain = begun.parent / "plain.toml"
    plain.write_text(PLAN, encoding="utf-8")
    plan = make_plan(read_plan_file(begun))
    for number, off in enumerate((0.0, 3.0)):  # dithered: what both hold is smaller
        write_solved(
            begun.parent / f"earlier/{number}.fits", plan.mosaic.panels[0], east_arcmin=off, turn_deg=30
        )
    keep = ["plan", str(plain), "--json", "--settle", "--keep", str(begun.parent / "earlier")]
    assert main(keep) == 2  # the plan file asks for another angle: that is only kept where it is wanted
    refused = capsys.readouterr()[1]
    assert "0.fits (turned by +30.0 degrees against the plan's angle, at most 1.0 wanted)" in refused
    assert "--keep-all" in refused and refused.count("\n") == 1 and plain.read_text(encoding="utf-8") == PLAN
    code = main([*keep, "--keep-all"])
    out, err = capsys.readouterr()
    document = json.loads(out)
    assert "kept: taken 1 (at 50.0 degrees)" in err
    (taken,) = [one for one in document["panels"] if one.get("kept")]
    assert code == 0 and taken["name"] == "taken 1" and taken["position_angle_deg"] == pytest.approx(50.0)
    assert taken["field_deg"][0] < 3.527 and {one["name"] for one in document["panels"]} >= {"A1"}
    assert {one["position_angle_deg"] for one in document["panels"] if one is not taken} == {20.0}
    names = {path.path for path in handover_files(make_plan(read_plan_file(plain)), only=["headers"])}
    assert "headers/A1.hdr" in names and not any("taken" in name for name in names)
    again = planner.keep_good(read_plan_file(plain), begun.parent / "earlier").request
    assert [one.name for one in again.panels] == ["taken 1"]  # the same folder again adds nothing


def test_a_turned_frame_is_said_and_its_ground_kept_only_if_wanted(begun, capsys):
    panel = make_plan(read_plan_file(begun)).mosaic.panels[0]
    write_solved(begun.parent / "frames/turned.fits", panel, turn_deg=3.0)
    blank = {"CTYPE1": "nothing", "CTYPE2": "known"}
    write_solved(begun.parent / "frames/blank.fits", panel, **blank)
    keep = ["plan", str(begun), "--json", "--keep", str(begun.parent / "frames")]
    for options, names in (([], ["A1", "A2"]), (["--keep-all"], ["A1", "A2", "taken 1"])):
        assert main([*keep, *options]) == 0
        out, err = capsys.readouterr()
        assert [one["name"] for one in json.loads(out)["panels"] if one.get("kept")] == names
        assert ("turned.fits (turned by +3.0 degrees, at most 1.0 wanted)" in err) == (not options)
        assert ("taken 1 (at 23.0 degrees)" in err) == bool(options)
        assert "without a solution: 1 frame\n" in err
    assert main([*keep, "--keep-all", "--settle"]) == 0
    capsys.readouterr()
    assert main(keep) == 0  # its ground is kept already
    assert "taken 1" in (said := capsys.readouterr()[1]) and "left aside, not good" not in said
    assert main(["plan", str(begun), "--keep-all"]) == 2
    assert "--keep-all goes with --keep FOLDER" in capsys.readouterr()[1]
    code, _, err = kept(begun, capsys, "--keep-all")
    assert code == 2 and "give the folder with the frames" in err


def test_what_made_up_frames_decide_says_so_in_the_plan_file(begun, capsys):
    folder, text = begun.parent / "frames", begun.read_text(encoding="utf-8")
    assert MADE_UP_LINE not in text
    write_solved(folder / "drawn.fits", make_plan(read_plan_file(begun)).mosaic.panels[2], MADEUP=True)
    assert main(["plan", str(begun), "--keep", str(folder), "--settle"]) == 0
    assert "made up, to practise with: 1 frame;" in capsys.readouterr()[1]
    assert begun.read_text(encoding="utf-8").startswith(MADE_UP_LINE)
    begun.write_text(text, encoding="utf-8")
    again = begun.parent / "again.toml"
    main(["review", str(begun), str(folder), "--out", str(begun.parent / "out"), "--reshoot", str(again)])
    assert again.read_text(encoding="utf-8").splitlines()[1] == MADE_UP_LINE.strip()
    capsys.readouterr()
    code, _, err = kept(begun, capsys, "--settle")
    assert code == 0 and "made up, to practise with: 1 frame;" in err
    assert main(["plan", str(begun), "--settle"]) == 0  # and goes on saying so, once
    assert begun.read_text(encoding="utf-8").count(MADE_UP_LINE) == 1
    assert read_plan_file(begun).title == read_plan_file(again).title.removesuffix(", to shoot again")


@pytest.mark.parametrize(
    ("change", "options", "said"),
    [
        (("[[panels]]\nname", "[[panels]]\nname"), ["--unsettle"], "exclude each other"),
        (("A1", "A1"), ["--which-angle"], "exclude each other"),
        (('name = "A1"', 'name = "A2"'), [], "twice; rename one"),
        (("center = [129.0", "center = [29.0"), [], "lie off the region"),
        (
            ('layout = "sliding"', "columns = 2\nrows = 2"),
            [],
            "stay where they are; leave columns and rows out",
        ),
    ],
)
def test_what_cannot_be_kept(begun, capsys, change, options, said):
    begun.write_text(begun.read_text(encoding="utf-8").replace(*change, 1), encoding="utf-8")
    before = begun.read_bytes()
    code, _, err = kept(begun, capsys, "--settle", *options)
    assert code == 2 and said in err and err.count("\n") == 1 and begun.read_bytes() == before


@pytest.mark.parametrize("fault", ["other", "renamed", "none", "not settled"])
def test_reviews_that_say_nothing_of_this_plan(begun, capsys, fault):
    review = begun.parent / "out/review.json"
    document = json.loads(review.read_text())
    if fault == "other":
        document["plan"] = {"title": "Other", "panels": "0123456789abcdef"}
    elif fault == "renamed":
        document["panels"][0]["name"] = "Z9"
    elif fault == "none":
        document["panels"] = [{**row, "exposures": 0, "seconds": 0.0} for row in document["panels"]]
    else:
        begun.write_text(PLAN, encoding="utf-8")
    review.write_text(json.dumps(document))
    before = begun.read_bytes()
    code, _, err = kept(begun, capsys, "--settle")
    said = {
        "other": "is the review of other panels ('Other')",
        "renamed": "names panel 'Z9', not one of the plan",
        "none": "no good frames of any panel",
        "not settled": "settle the plan as it was",
    }[fault]
    assert code == 2 and said in err and err.count("\n") == 1 and begun.read_bytes() == before


def test_folders_without_ground(begun, capsys):
    empty = begun.parent / "empty"
    empty.mkdir()
    assert main(["plan", str(begun), "--keep", str(empty)]) == 2
    assert "has no solved frames" in capsys.readouterr()[1]
    plan = make_plan(read_plan_file(begun))
    for number, north_arcmin in enumerate((1200.0, 5400.0), start=1):  # partly behind the plane
        write_solved(empty / f"far{number}.fits", plan.mosaic.panels[0], north_arcmin=north_arcmin)
        assert main(["plan", str(begun), "--keep", str(empty)]) == 2
        assert f"none of the {number} solved frames" in capsys.readouterr()[1]


@pytest.mark.parametrize(
    ("kept_panels", "panels", "told"),
    [
        (
            2,
            6,
            "6 panels, 2 of them kept and 4 new; a plan made anew has 4 in rows already: keeping saves no panel",
        ),
        (3, 6, "keeping saves 1 of its panels to shoot"),
        (2, 4, ""),
    ],
)
def test_keeping_that_saves_little_is_said(tmp_path, capsys, kept_panels, panels, told):
    """The region has four panels, two by two, as the plan of the fixture."""
    file = tmp_path / "shell.toml"
    file.write_text(PLAN, encoding="utf-8")
    say_what_keeping_saves(read_plan_file(file), kept_panels, panels)
    err = capsys.readouterr().err
    assert told in err and bool(told) == bool(err)
