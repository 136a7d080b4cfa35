"""`review --watch` on the command line: lines, news, files, how it ends, what it refuses."""

import json
import os
import signal

import pytest

from planner.answers.plan import make_plan
from planner.cli import main
from planner.cli.watching import follow as loop
from planner.cli.watching.foot import plain
from planner.errors import FileError
from planner.files.plan_file.read import read_plan_file
from tests.cli.test_review_verb import PLAN
from tests.frames.small_plan import write_solved


class Scene:
    """A plan file, frames, and what happens while a watch rests."""

    def __init__(self, folder):
        self.path, self.frames, self.out = folder / "shell.toml", folder / "frames", folder / "out"
        self.path.write_text(PLAN)
        self.frames.mkdir()
        self.plan = make_plan(read_plan_file(self.path))

    def write(self, name, panel="A1", **more):
        write_solved(self.frames / name, next(p for p in self.plan.mosaic.panels if p.name == panel), **more)

    def run(self, monkeypatch, *steps, options=(), end=lambda: os.kill(os.getpid(), signal.SIGINT)):
        """Run a watch; at each rest the next step happens, after the last one it is told to stop."""
        left = iter([*steps, end])
        monkeypatch.setattr(loop.Stop, "rest", lambda stop, seconds: next(left)())
        command = ["review", str(self.path), str(self.frames), "--out", str(self.out), "--watch", *options]
        return main(command)


@pytest.fixture
def scene(tmp_path):
    return Scene(tmp_path)


def test_a_night_followed(scene, monkeypatch, capsys, tmp_path):
    heard = tmp_path / "heard.txt"
    before = signal.getsignal(signal.SIGINT)
    steps = [
        lambda: scene.write("1.fits"),
        lambda: [scene.write("2.fits"), scene.write("3.fits", "A2", turn_deg=3.0)],
    ]
    assert scene.run(monkeypatch, *steps, options=["--on-change", f"cat >> {heard}"]) == 0
    out, err = capsys.readouterr()
    turned = "the camera is turned: 3.fits is turned by +3.0 degrees, at most 1.0 wanted"
    assert out.splitlines() == [
        f"watching {scene.frames}; Ctrl-C ends it",
        "1.fits  good  A1  Ha",
        "2.fits  good  A1  Ha",
        "3.fits  turned  A2  Ha  turned by +3.0 degrees, at most 1.0 wanted",
        f"* {turned}",
        "* panel A1 is complete",
        f"stopped; {err.splitlines()[-2]}",
    ]
    assert err.splitlines()[1:] == [
        "1 frame (1 good); 0 of 6 panels complete; 20 square degrees open",
        "3 frames (2 good, 1 turned); 1 of 6 panels complete; 20 square degrees open",
        "writing review.json and its pictures",
    ]
    assert heard.read_text().splitlines() == [turned, "panel A1 is complete"]
    written = ["depth.png", "drift.png", "frames-read.jsonl", "review.json"]
    assert sorted(file.name for file in scene.out.iterdir()) == written
    assert signal.getsignal(signal.SIGINT) is before
    assert scene.run(monkeypatch) == 0
    assert "3 frames are known from before" in capsys.readouterr().out
    content = (scene.out / "review.json").read_bytes()
    assert main(["review", str(scene.path), str(scene.frames), "--out", str(scene.out)]) == 1
    assert (scene.out / "review.json").read_bytes() == content


def test_review_json_is_up_to_date_all_the_while(scene, monkeypatch):
    seen = []

    def count():
        seen.append(len(json.loads((scene.out / "review.json").read_text())["frames"]))

    monkeypatch.setattr(loop, "REST_SHARE", 0.0)
    steps = [lambda: [count(), scene.write("1.fits")], lambda: [count(), scene.write("2.fits")], count]
    assert scene.run(monkeypatch, *steps) == 0
    assert seen == [0, 1, 2]


def test_a_second_watch_or_review_of_the_same_folder_is_refused(scene, monkeypatch, capsys):
    codes = []
    review = ["review", str(scene.path), str(scene.frames), "--out", str(scene.out)]
    assert scene.run(monkeypatch, lambda: codes.extend([main([*review, "--watch"]), main(review)])) == 0
    assert codes == [2, 2]
    assert capsys.readouterr().err.count("is kept up to date by another watch; stop that one") == 2
    assert main(review) == 1  # once it has ended the folder is free


def test_a_plan_changed_while_watching_is_read_anew(scene, monkeypatch, capsys):
    scene.write("1.fits")
    steps = [
        lambda: scene.path.write_text(PLAN.replace("exposures = 2", "exposures = 1")),
        lambda: None,
        lambda: scene.path.write_text(PLAN.replace("exposures = 2", "exposures = ")),
        lambda: None,
        lambda: scene.path.write_text(PLAN.replace("exposures = 2", "exposures = 1")),
        lambda: None,
    ]
    assert scene.run(monkeypatch, *steps) == 0
    news = [line for line in capsys.readouterr().out.splitlines() if line.startswith("*")]
    assert news[:2] == [
        f"* {scene.path} has changed: the plan is read anew",
        "* all frames are judged by the new plan, 6 panels",
    ]
    assert "is no valid TOML" in news[2] and news[2].endswith("the plan stays as it was")
    assert len(news) == 3
    assert json.loads((scene.out / "review.json").read_text())["panels"][0]["wanted"] == 1


def test_a_full_disk_is_said_once_and_tried_again(scene, monkeypatch, capsys):
    real, full = loop.write_paths, [True]

    def write(contents):
        if full:
            raise FileError(f"cannot write to {scene.out}: No space left on device; choose a folder")
        return real(contents)

    monkeypatch.setattr(loop, "write_paths", write)
    monkeypatch.setattr(loop, "REST_SHARE", 0.0)
    steps = [lambda: scene.write("1.fits"), lambda: None, full.clear]
    assert scene.run(monkeypatch, *steps) == 0
    news = [line for line in capsys.readouterr().out.splitlines() if line.startswith("*")]
    assert len(news) == 2 and "No space left on device" in news[0] and "tries again" in news[0]
    assert news[1] == "* review.json can be written again"


def test_a_command_that_fails_is_told_and_the_watch_goes_on(scene, monkeypatch, capsys):
    steps = [lambda: [scene.write("1.fits"), scene.write("2.fits")], lambda: None]
    assert scene.run(monkeypatch, *steps, options=["--on-change", "cat >&2; exit 3"]) == 0
    assert "! the command of --on-change ended with 3: cat >&2; exit 3" in capsys.readouterr().out


def test_a_broken_session_ends_the_same_way_by_the_signal_term(scene, monkeypatch):
    assert scene.run(monkeypatch, end=lambda: os.kill(os.getpid(), signal.SIGTERM)) == 0


@pytest.mark.parametrize(
    ("options", "sentence"),
    [
        (["--watch"], "--watch needs --out; give the folder"),
        (["--watch", "--out", "OUT", "--json"], "--watch does not go with --json"),
        (["--watch", "--out", "OUT", "--preview", "a.png"], "--watch does not go with --preview"),
        (["--watch", "--out", "OUT", "--reshoot", "a.toml"], "--watch does not go with --reshoot"),
        (["--watch", "--out", "OUT", "--on-change", " "], "--on-change must name a command, got nothing"),
        (["--on-change", "true"], "--on-change needs --watch"),
    ],
)
def test_what_is_refused(scene, capsys, options, sentence):
    given = [str(scene.out) if one == "OUT" else one for one in options]
    assert main(["review", str(scene.path), str(scene.frames), *given]) == 2
    assert sentence in capsys.readouterr().err
    assert not scene.out.exists()


@pytest.mark.parametrize("name", ["review.json", "frames-read.jsonl", ".frames-read.lock", "depth.png"])
def test_foreign_files_in_the_way_are_left_alone(scene, capsys, name):
    scene.out.mkdir()
    (scene.out / name).write_text("mine")
    assert main(["review", str(scene.path), str(scene.frames), "--out", str(scene.out), "--watch"]) == 2
    assert "in the way" in capsys.readouterr().err
    assert [file.name for file in scene.out.iterdir()] == [name]
    assert (scene.out / name).read_text() == "mine"


def test_names_cannot_steer_the_terminal():
    assert plain("night\x1b[2J\n1.fits") == "night\\x1b[2J\\n1.fits"
