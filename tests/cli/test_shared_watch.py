"""`review --watch` of a mosaic that several instruments share: frames of all in one folder while they come in."""

import json
import os
import signal

import pytest

from planner.answers.shared.shared_plan import make_shared_plan
from planner.cli import main
from planner.cli.watching import follow as loop
from planner.files.plan_file.shared import read_shared_file
from tests.answers.shared.shared_files import write_shared
from tests.frames.solved_file import write_solved


class Scene:
    """A shared plan file, frames, and what happens while a watch rests."""

    def __init__(self, folder):
        self.path, self.frames, self.out = write_shared(folder), folder / "frames", folder / "out"
        self.frames.mkdir()
        shared = make_shared_plan(read_shared_file(self.path))
        self.plans = {one.name.split()[0].lower(): one.plan for one in shared.instruments}

    def write(self, name, whose="wide", panel="A1", turn_deg=0.0, night=5):
        plan = self.plans[whose]
        at = next(one for one in plan.mosaic.panels if one.name == panel)
        write_solved(
            self.frames / name,
            size=(60, 40),
            scale_arcsec=plan.request.camera.scale_arcsec_px,
            position_angle_deg=at.position_angle_deg + turn_deg,
            center=(at.ra_deg, at.dec_deg),
            FILTER=plan.request.filters[0].name,
            EXPTIME=600.0,
            DATE__OBS=f"2027-01-{night:02}T01:00:00",
        )

    def run(self, monkeypatch, *steps):
        """Run a watch; at each rest the next step happens, after the last one it is told to stop."""
        left = iter([*steps, lambda: os.kill(os.getpid(), signal.SIGINT)])
        monkeypatch.setattr(loop.Stop, "rest", lambda stop, seconds: next(left)())
        return main(["review", str(self.path), str(self.frames), "--out", str(self.out), "--watch"])


@pytest.fixture
def scene(tmp_path):
    return Scene(tmp_path)


def test_a_night_of_two_piers_followed(scene, monkeypatch, capsys):
    steps = [
        lambda: [scene.write("1.fits"), scene.write("2.fits", "fine", "B2")],
        lambda: [
            scene.write("3.fits"),
            scene.write("4.fits", "fine", "B2", turn_deg=3.0),
            scene.write("5.fits", "wide", "A2"),
        ],
        lambda: [scene.write("6.fits", "wide", "A2", turn_deg=-2.0, night=6), scene.write("7.fits", "fine")],
        lambda: scene.write("8.fits", "fine", "C3", night=6),
    ]
    assert scene.run(monkeypatch, *steps) == 0
    out, err = capsys.readouterr()
    lines = out.splitlines()
    assert [line for line in lines if line.startswith("*")] == [
        "* the camera of Fine pier is turned: 4.fits is turned by +3.0 degrees, at most 1.0 wanted",
        "* panel Wide pier A1 is complete",
        "* the camera of Wide pier is turned: 6.fits is turned by -2.0 degrees, at most 1.0 wanted",
        "* the camera of Fine pier stands as planned again",
    ]
    assert "1.fits  good  Wide pier A1  Ha" in lines and "2.fits  good  Fine pier B2  L" in lines
    assert "1 of 15 panels complete" in err
    files = sorted(one.relative_to(scene.out).as_posix() for one in scene.out.rglob("*") if one.is_file())
    assert files == [
        "depth.png",
        "fine_pier/drift.png",
        "frames-read.jsonl",
        "review.json",
        "wide_pier/drift.png",
    ]
    content = (scene.out / "review.json").read_bytes()
    assert {one["instrument"] for one in json.loads(content)["frames"]} == {"Wide pier", "Fine pier"}
    assert main(["review", str(scene.path), str(scene.frames), "--out", str(scene.out)]) == 1
    assert (scene.out / "review.json").read_bytes() == content
    capsys.readouterr()
    assert scene.run(monkeypatch) == 0
    assert "8 frames are known from before" in capsys.readouterr().out
    assert (scene.out / "review.json").read_bytes() == content


def test_every_look_stands_as_a_review_does(scene, monkeypatch, capsys):
    """Gaps that are closed frame by frame are those that a review finds of all at once."""
    monkeypatch.setattr("planner.cli.shared.watch.SharedFollowing.pictures", lambda *_: {})
    wanted = [(whose, panel.name) for whose, plan in scene.plans.items() for panel in plan.mosaic.panels]
    steps = [lambda one=one, k=k: scene.write(f"{k}.fits", *one) for k, one in enumerate(wanted)]
    assert scene.run(monkeypatch, *steps) == 0
    out, err = capsys.readouterr()
    assert "* a gap is closed: good Ha frames cover the whole region" in out
    assert "* a gap is closed: good L frames cover the whole region" in out
    assert "0 of 15 panels complete; region covered" in err
    document = json.loads((scene.out / "review.json").read_text())
    assert document["covered_by_good_frames"] and document["gap_area_deg2"] == 0.0
    (scene.frames / "0.fits").unlink()
    assert scene.run(monkeypatch) == 0
    out, err = capsys.readouterr()
    assert "* a gap is open: good Ha frames leave" in out
    main(["review", str(scene.path), str(scene.frames), "--json"])
    assert capsys.readouterr().out.encode() == (scene.out / "review.json").read_bytes()


def test_a_plan_or_setup_file_changed_while_watching_is_read_anew(scene, monkeypatch, capsys):
    scene.write("1.fits")
    text, setup = scene.path.read_text(), scene.path.with_name("fine.toml")
    steps = [
        lambda: scene.path.write_text(text.replace("exposures = 2", "exposures = 1")),
        lambda: None,
        lambda: setup.write_text(
            setup.read_text().replace("focal_length_mm = 500.0", "focal_length_mm = 480.0")
        ),
        lambda: None,
        lambda: setup.write_text("nothing = 1"),
        lambda: None,
    ]
    assert scene.run(monkeypatch, *steps) == 0
    news = [line for line in capsys.readouterr().out.splitlines() if line.startswith("*")]
    assert news[0] == f"* {scene.path} has changed: the plan is read anew"
    assert news[1] == "* all frames are judged by the new plan, 15 panels"
    assert news[2:4] == news[:2]
    assert "nothing is not known" in news[4] and news[4].endswith("the plan stays as it was")
    assert json.loads((scene.out / "review.json").read_text())["panels"][0]["wanted"] == 1


def test_a_foreign_picture_in_an_instruments_folder_is_left_alone(scene, capsys):
    place = scene.out / "wide_pier" / "drift.png"
    place.parent.mkdir(parents=True)
    place.write_text("mine")
    assert main(["review", str(scene.path), str(scene.frames), "--out", str(scene.out), "--watch"]) == 2
    assert "in the way" in capsys.readouterr().err and place.read_text() == "mine"
