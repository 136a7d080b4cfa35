"""A plan file of several instruments in the app: whose layout is shown, and edits that keep the file whole."""

from planner.files.plan_file.shared import read_shared_file
from planner.session.opening import save_plan
from planner.session.session import Session
from tests.answers.shared.shared_files import write_shared


def test_the_finest_instrument_is_shown_and_said(tmp_path):
    session = Session.open(write_shared(tmp_path))
    assert session.request.camera.focal_length_mm == 500.0
    assert session.request.title == "Shell, shared"
    assert (
        "Wide pier and Fine pier share this mosaic. Here you see the panels of Fine pier" in session.sharing
    )


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


def test_a_plan_of_one_instrument_says_nothing(tmp_path):
    path = write_shared(tmp_path)
    alone = f'setup = "wide.toml"\n{path.read_text().split("[[setup_files]]")[0]}'
    assert Session(alone, tmp_path / "alone.toml").sharing is None
