"""What is not saved is kept until it is saved or let go, and offered again."""

import os
import tomllib
from pathlib import Path

import pytest

from planner.errors import FileError
from planner.session.opening import first_session, save_plan
from planner.session.session import Session
from planner.session.tab import Tab
from planner.session.tables_text import tables_text, with_tables_text
from planner.session.unsaved import kept_texts, state_folder

from .hand_made import CAMERA, CIRCLE

TEXT = f"# mine\n{CAMERA}{CIRCLE}"
WIDER = {"region.radius_deg": 2.0}


@pytest.fixture
def plan(tmp_path):
    path = tmp_path / "shell.toml"
    path.write_text(TEXT)
    return path


def test_what_is_changed_stands_beside_the_file_until_it_is_saved(plan):
    session = Session.open(plan)
    assert kept_texts(plan) == []
    session.edit("region", WIDER)
    (kept,) = kept_texts(plan)
    assert kept.path.parent == plan.parent and kept.text == session.history.present != TEXT
    assert plan.read_text() == TEXT  # the file itself is the user's to save
    session.step("undo")
    assert kept_texts(plan) == []
    session.step("redo")
    save_plan(session, plan)
    assert kept_texts(plan) == [] and [path.name for path in plan.parent.iterdir()] == ["shell.toml"]


def test_a_new_session_offers_it_and_undo_leads_back_to_the_file(plan):
    lost = Session.open(plan)
    lost.edit("region", WIDER)
    text = lost.history.present
    tab = Tab(Session.open(plan))
    (kept,) = tab.kept_texts()
    assert kept.text == text and not kept.before_start
    assert tab.take_up(kept)
    assert tab.session.history.present == text and tab.session.changed
    assert not kept.path.exists() and tab.kept_texts() == []
    assert [one.text for one in kept_texts(plan)] == [text]  # kept for the session that has it now
    tab.session.step("undo")
    assert tab.session.history.present == TEXT and kept_texts(plan) == []


def test_what_another_tab_shows_is_not_offered_and_two_tabs_keep_their_own(plan):
    first, second = Tab(Session.open(plan)), Tab(Session.open(plan))
    first.session.edit("region", WIDER)
    assert second.kept_texts() == [] and first.kept_texts() == []
    second.session.edit("region", {"region.radius_deg": 3.0})
    assert len(kept_texts(plan)) == 2
    first.is_open = lambda: False  # its browser tab was closed
    assert [kept.text for kept in second.kept_texts()] == [first.session.history.present]


def test_what_is_let_go_is_gone(plan):
    lost = Session.open(plan)
    lost.edit("region", WIDER)
    (kept,) = kept_texts(plan)
    kept.let_go()
    kept.let_go()
    assert kept_texts(plan) == []


def test_what_was_kept_before_this_planner_started_is_known_as_such(plan):
    lost = Session.open(plan)
    lost.edit("region", WIDER)
    (kept,) = kept_texts(plan)
    os.utime(kept.path, (1.0e9, 1.0e9))
    assert kept_texts(plan)[0].before_start


def test_a_sample_is_kept_apart_from_the_samples(tmp_path):
    session = first_session(None)
    before = set(session.path.parent.iterdir())
    session.edit("mosaic", {"mosaic.overlap": 0.21})
    assert set(session.path.parent.iterdir()) == before
    (kept,) = kept_texts(session.path)
    assert kept.path.parent == state_folder() and "0.21" in kept.text


def test_where_nothing_can_be_written_beside_the_file_it_is_kept_apart(plan, monkeypatch):
    session = Session.open(plan)
    session.unsaved._places[0] = (plan / "no folder", ".shell.toml")
    session.edit("region", WIDER)
    (kept,) = kept_texts(plan)
    assert kept.path.parent == state_folder()


def test_names_with_brackets_and_stars_are_taken_as_they_are(tmp_path):
    path = tmp_path / "a[1]*?.toml"
    path.write_text(TEXT)
    session = Session.open(path)
    session.edit("region", WIDER)
    assert len(kept_texts(path)) == 1 and kept_texts(tmp_path / "a1.toml") == []


def test_a_plan_file_that_is_gone_is_said_before_it_is_written_anew(plan):
    session = Session.open(plan)
    session.edit("region", WIDER)
    plan.unlink()
    with pytest.raises(FileError, match="deleted or moved"):
        save_plan(session, plan)
    assert not plan.exists()
    save_plan(session, plan)
    assert plan.read_text() == session.history.present
    plan.unlink()
    with pytest.raises(FileError, match="deleted or moved"):
        save_plan(session, plan)


TABLE = '# for the pier\n[[tables]]\nfile = "a.csv"  # theirs\ncolumns = [{ name = "panel" }]\n'
AFTER = '\n[site]\nname = "here"\n'


def test_the_description_of_tables_is_found_and_put_with_its_comments():
    for text in (TEXT, TEXT + "\n" + AFTER):
        put = with_tables_text(text, TABLE)
        assert tables_text(put) == TABLE and put.startswith(text.rstrip("\n"))
        assert tomllib.loads(put) == tomllib.loads(text) | tomllib.loads(TABLE)
        again = with_tables_text(put, TABLE.replace("a.csv", "b.csv"))
        assert again == put.replace("a.csv", "b.csv")


def test_tables_between_others_are_put_where_they_stood():
    text = TEXT + "\n" + TABLE + AFTER
    assert tables_text(text) == TABLE + "\n"
    assert with_tables_text(text, TABLE.replace("theirs", "ours")) == text.replace("theirs", "ours")


def test_tables_in_another_form_are_replaced_whole():
    text = f'tables = [{{ file = "a.csv", columns = [{{ name = "panel" }}] }}]\n{TEXT}'
    assert tables_text(text) is None
    put = with_tables_text(text, TABLE)
    assert tomllib.loads(put)["tables"] == tomllib.loads(TABLE)["tables"] and "# mine" in put


def test_what_only_looks_like_a_header_is_none():
    text = TEXT.replace("# mine", 'title = """\n[[tables]]\n"""')
    assert tables_text(text) is None
    assert tomllib.loads(with_tables_text(text, TABLE))["title"] == "[[tables]]\n"


def test_home_decides_where_things_are_kept(monkeypatch):
    monkeypatch.delenv("XDG_STATE_HOME")
    monkeypatch.setenv("HOME", "/home/me")
    assert state_folder() == Path("/home/me/.local/state/mosaic-planner")
