"""Ctrl-C while `plan` searches: the best plan so far is shown; a second one ends the program."""

import signal

import pytest

from planner.cli import main
from planner.cli.plan_answer import _stoppable
from planner.errors import SearchStopped

from .plan_texts import CAMERA

PLAN = CAMERA + "[region]\ncenter = [128.5, -45.8]\nradius_deg = 3.0\n"


def test_the_first_signal_stops_at_the_next_word_and_the_second_at_once(capsys):
    before, words = signal.getsignal(signal.SIGINT), []
    with _stoppable(lambda what, share: words.append(what)) as told:
        told("first", 0.1)
        signal.raise_signal(signal.SIGINT)
        with pytest.raises(SearchStopped):
            told("second", 0.2)
        with pytest.raises(KeyboardInterrupt):
            signal.raise_signal(signal.SIGINT)
    assert words == ["first", "second"] and signal.getsignal(signal.SIGINT) is before
    assert "best plan that was found so far" in capsys.readouterr().err


@pytest.fixture
def interrupted(monkeypatch):
    """Let the user press Ctrl-C as the search begins."""
    from planner.mosaic.search.fewest import _Search

    def search(self):
        signal.raise_signal(signal.SIGINT)
        self.progress("searching", 0.0)
        raise AssertionError("the search went on")

    monkeypatch.setattr(_Search, "_search", search)


@pytest.mark.usefixtures("interrupted")
def test_a_stopped_plan_is_written_and_proven(tmp_path, capsys):
    (tmp_path / "plan.toml").write_text(PLAN)
    assert main(["plan", str(tmp_path / "plan.toml"), "--out", str(tmp_path / "out")]) == 0
    assert (tmp_path / "out" / "plan.json").exists()
    assert "stopped" in capsys.readouterr().err


@pytest.mark.usefixtures("interrupted")
@pytest.mark.parametrize("flag", ["--settle", "--unsettle"])
def test_a_stopped_search_settles_nothing(tmp_path, capsys, flag):
    (tmp_path / "plan.toml").write_text(PLAN)
    assert main(["plan", str(tmp_path / "plan.toml"), flag, "--out", str(tmp_path / "out")]) == 130
    assert (tmp_path / "plan.toml").read_text() == PLAN and not (tmp_path / "out").exists()
    said = capsys.readouterr()
    assert "stopped; nothing more has been written" in said.err and not said.out
