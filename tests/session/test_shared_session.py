"""A plan file of several instruments in the app: whose layout is shown, and edits that keep the file whole."""

from dataclasses import replace

from planner.answers.plan import make_plan
from planner.cli import main
from planner.files.plan_file.shared import read_shared_file
from planner.request.region import RegionRequest
from planner.session.opening import save_plan
from planner.session.scene import scene_data
from planner.session.session import Session
from planner.session.sharing.layouts import own_plan, settled_text
from planner.session.tab import Tab
from tests.answers.shared.shared_files import write_shared


def test_the_finest_instrument_is_shown_and_another_can_be_chosen(tmp_path):
    session = Session.open(write_shared(tmp_path))
    assert session.instrument.name == "Fine pier"
    assert session.request.camera.focal_length_mm == 500.0
    assert (session.request.title, session.request.path) == ("Shell, shared", tmp_path / "shell.toml")
    assert session.request is session.request
    session.choose("Wide pier")
    assert session.request.camera.focal_length_mm == 380.0
    assert session.foreseen(
        None, {"form": "draw", "outline": [[128, -20], [129, -20], [129, -19]]}
    ) == replace(session.request, region=RegionRequest(outline=((128, -20), (129, -20), (129, -19))))
    session.choose("nobody")
    assert session.instrument.name == "Fine pier"


def test_the_sky_shows_all_layouts_and_makes_none_anew(tmp_path):
    tab = Tab(Session.open(write_shared(tmp_path, wide='filters = ["Ha"]\npanels = ["A1", "B2"]')))
    tab.look()
    sky = tab.sky()
    assert (sky["shows"], len(sky["panels"]), sky["left"]) == ("Fine pier", 9, [])
    (wide,) = sky["beside"]
    assert (wide["name"], len(wide["panels"])) == ("Wide pier", 6)
    assert set(wide["left"]) == {"A2", "A3", "B1", "B3"}
    plans = [make_plan(request) for request in (tab.session.request, *tab.beside())]
    for plan, shown in zip(plans, (sky["panels"], wide["panels"]), strict=True):
        corners = [one["corners"] for one in scene_data(plan, plan.region)["panels"]]
        assert [one["corners"] for one in shown] == corners
    assert tab.sky()["beside"][0] is wide
    tab.session.choose("Wide pier")
    tab.look()
    assert tab.sky()["shows"] == "Wide pier" and tab.sky()["beside"][0]["name"] == "Fine pier"
    tab.session.edit("region", {"region.width_deg": 3.0})
    assert len(tab.sky()["beside"][0]["panels"]) < 9
    tab.session.edit("region", {"region.width_deg": 500.0})
    assert tab.sky()["beside"][0]["name"] == "Fine pier"


def test_the_picture_is_that_of_the_mosaic_whoever_is_chosen(tmp_path):
    tab = Tab(Session.open(write_shared(tmp_path, wide='filters = ["Ha"]\nposition_angle_deg = 77.0')))
    picture = tab.look().picture
    assert picture.position_angle_deg == 20.0
    tab.session.choose("Wide pier")
    shown = tab.look()
    assert shown.mosaic.panels[0].position_angle_deg == 77.0 and shown.picture == picture
    assert tab.look() is shown


def test_the_chosen_instrument_is_chosen_still_after_a_reload(tmp_path):
    path = write_shared(tmp_path)
    before = Tab(Session.open(path))
    before.session.choose("Wide pier")
    here = Tab(Session.open(path))
    here.go_on("", before.session.id)
    assert here.session.instrument.name == here.chosen_again == "Wide pier"
    there = Tab(Session("title = 'other'", tmp_path / "other.toml"))
    there.go_on("", before.session.id)
    assert there.session.chosen == ""
    there.show(Session.open(path))
    assert there.session.instrument.name == "Wide pier"


def test_a_plan_of_one_instrument_has_nothing_beside(tmp_path):
    path = write_shared(tmp_path)
    alone = f'setup = "wide.toml"\n{path.read_text().split("[[setup_files]]")[0]}'
    tab = Tab(Session(alone, tmp_path / "alone.toml"))
    tab.look()
    assert (tab.sky()["shows"], tab.sky()["beside"], tab.beside()) == ("", [], [])
    assert tab.session.shared is None and tab.session.instrument is None


def test_the_pages_tell_what_the_chosen_one_takes(tmp_path):
    session = Session.open(write_shared(tmp_path, wide='filters = ["Ha"]\npanels = ["A1", "B2"]'))
    session.choose("Wide pier")
    whole = make_plan(session.request)
    own = own_plan(whole, session.instrument)
    assert [panel.name for panel in own.mosaic.panels] == ["A1", "B2"]
    assert own.request.title == "Shell, shared, Wide pier" and own.shortfalls == ()
    session.choose("Fine pier")
    whole = make_plan(session.request)
    assert own_plan(whole, session.instrument).mosaic is whole.mosaic
    assert own_plan(whole, None) is whole


def test_settling_keeps_what_the_command_line_keeps(tmp_path, capsys):
    path = write_shared(tmp_path)
    session = Session.open(path)
    text, count = settled_text(session.history.present, session.shared, session.instrument, make_plan)
    assert count == 15
    assert main(["plan", str(path), "--settle"]) == 0
    assert path.read_text() == text
    assert session.replace_text("settle", text) and session.request.settled is not None


def test_a_full_picture_is_the_finest_ones_and_all_follow_it(tmp_path):
    path = write_shared(tmp_path)
    path.write_text(path.read_text().replace("[mosaic]", "[picture]\nfilled = true\n\n[mosaic]"))
    tab = Tab(Session.open(path))
    tab.session.choose("Wide pier")
    assert tab.session.instrument.name == "Fine pier"
    plan = tab.look()
    (request,) = tab.beside()
    assert request.region.center == plan.picture.center_deg and not request.picture.filled


def test_the_region_can_be_edited_and_saved_for_all(tmp_path):
    path = write_shared(tmp_path)
    session = Session.open(path)
    assert session.edit("region", {"region.width_deg": 6.0})
    save_plan(session, path)
    widths = [one.request.region.width_deg for one in read_shared_file(path).instruments]
    assert widths == [6.0, 6.0]


def test_what_belongs_to_the_instruments_is_refused_in_a_sentence(tmp_path):
    session = Session.open(write_shared(tmp_path))
    assert not session.edit("camera", {"camera.binning": 2})
    assert "belongs in the setup files of the instruments" in session.faults["camera"]


def test_a_camera_angle_is_that_of_the_chosen_instrument(tmp_path):
    session = Session.open(write_shared(tmp_path))
    before = session.history.present
    session.choose("Wide pier")

    def angles():
        return [one.request.mosaic.position_angle_deg for one in session.shared.instruments]

    assert session.edit("angle", {"mosaic.position_angle_deg": 77.0, "mosaic.overlap": 0.2})
    assert angles() == [77.0, 20.0] and session.request.mosaic.position_angle_deg == 77.0
    assert [one.request.mosaic.overlap for one in session.shared.instruments] == [0.2, 0.2]
    session.choose("Fine pier")
    assert session.edit("angle", {"mosaic.position_angle_deg": None})
    assert angles() == [77.0, None]
    session.choose("Wide pier")
    assert session.edit("angle", {"mosaic.position_angle_deg": None})
    assert angles() == [None, None]
    for _ in range(3):
        session.step("undo")
    assert session.history.present == before


def test_filters_are_edited_for_the_instrument_that_takes_them(tmp_path):
    session = Session.open(write_shared(tmp_path))
    session.choose("Wide pier")
    rows = [
        {"name": "Ha", "band": "narrow", "exposure_s": 300.0, "exposures": 4},
        {"name": "SII", "band": "narrow", "exposure_s": 600.0, "exposures": 1},
    ]
    assert session.edit("filters", {"filters": rows}), session.faults
    wide, fine = (one.request.filters for one in session.shared.instruments)
    assert [(one.name, one.exposure_s) for one in wide] == [("Ha", 300.0), ("SII", 600.0)]
    assert [(one.name, one.exposure_s) for one in fine] == [("L", 600.0)]
    assert session.edit("filters", {"filters": rows[1:]})
    assert [one.filters for one in session.shared.instruments] == [("SII",), ("L",)]
    assert not session.edit("filters", {"filters": [{**rows[0], "name": "L"}]})
    assert "differ" in session.faults["filters"] or "overlap" in session.faults["filters"]
