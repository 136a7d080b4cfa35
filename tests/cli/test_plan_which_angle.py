import json
import os
import pty
import re
import subprocess
import sys

import pytest

from . import running

PLAN = """
title = "Field"
[camera]
focal_length_mm = 380.0
sensor_px = [6000, 4000]
pixel_um = 3.9
[region]
center = [128.0, -45.0]
width_deg = 5.0
height_deg = 1.6
position_angle_deg = 30.0
[mosaic]
layout = "sliding"
position_angle_range_deg = [28.0, 34.0]
"""


@pytest.fixture
def field(tmp_path):
    path = tmp_path / "field.toml"
    path.write_text(PLAN)
    return path


def run(capsys, *arguments):
    return running.run(capsys, "plan", *arguments, "--which-angle", "--effort", "quick")


def test_json_and_files(field, tmp_path, capsys):
    folder = tmp_path / "out"
    code, out, _ = run(capsys, field, "--json", "--out", folder)
    assert code == 0
    document = json.loads(out)
    assert document["schema"] == "which-angle 1" and document["title"] == "Field"
    assert [one["position_angle_deg"] for one in document["angles"]] == list(range(28, 35))
    assert document["best_position_angle_deg"] in range(28, 35)
    for one in document["angles"]:
        assert ("overlap_found" in one) == one["proven"]
    assert sorted(path.name for path in folder.iterdir()) == ["which-angle.json", "which-angle.png"]
    assert (folder / "which-angle.json").read_text() == out
    code, _, err = run(capsys, field, "--out", folder)
    assert code == 0 and "replaced in" in err


def test_screen(field, capsys):
    code, out, err = run(capsys, field, "--no-chart")
    assert code == 0
    # where there is no terminal one line tells at once what rows were counted to
    assert re.fullmatch(
        r"planner: \d+ panels in rows at \d+ degrees.*: an estimate; \d of 7 angles will .*\n", err
    )
    lines = out.splitlines()
    assert lines[0].strip() == "Field" and lines[1].split() == [
        "angle",
        "panels",
        "more",
        "overlap",
        "planned",
    ]
    assert lines[2].startswith("28") and "best: " in out
    assert "Best angle: " in lines[-2] and "2 panels with " in lines[-2]
    assert lines[-1].startswith("~ is counted in rows, an estimate")
    marked = [line.split()[-4:] for line in lines[2:-3] if "~" in line]
    assert all("0" in line for line in marked)  # none of those that are marked has been planned


def stopped_after(monkeypatch, plans):
    """Let the user press Ctrl-C while the plan after so many is being made."""
    import planner.answers.which_angle.grow_curve

    make, made = planner.answers.which_angle.grow_curve.build_mosaic, []

    def counted(*arguments, **options):
        if len(made) == plans:
            raise KeyboardInterrupt
        made.append(1)
        return make(*arguments, **options)

    monkeypatch.setattr(planner.answers.which_angle.grow_curve, "build_mosaic", counted)


def test_a_stopped_table_does_not_ask_for_more_effort(field, capsys, monkeypatch):
    stopped_after(monkeypatch, 2)
    code, out, _ = run(capsys, field)
    assert code == 0 and out.rstrip().endswith("; stopped before the others were planned.")


@pytest.mark.parametrize("plans", [0, 2])
def test_stopping_keeps_what_has_been_found(field, tmp_path, capsys, monkeypatch, plans):
    stopped_after(monkeypatch, plans)
    code, out, err = run(capsys, field, "--json", "--out", tmp_path / "out")
    assert code == 0
    assert f"stopped with {plans} of 7 angles planned; the others are counted in rows" in err
    document = json.loads(out)
    assert [one["proven"] for one in document["angles"]].count(True) == plans
    assert (tmp_path / "out" / "which-angle.json").read_text() == out
    best = document["angles"][int(document["best_position_angle_deg"]) - 28]
    assert best["proven"] == (plans > 0)


def test_stopping_before_anything_is_counted_stops(field, tmp_path, capsys, monkeypatch):
    def stop(request):
        raise KeyboardInterrupt

    monkeypatch.setattr("planner.answers.which_angle.grow_curve.terms_of", stop)
    code, out, err = run(capsys, field, "--out", tmp_path / "out")
    assert code == 130 and out == "" and "stopped" in err and not (tmp_path / "out").exists()


def test_on_a_terminal_the_table_is_there_at_once_and_changes(field):
    code, shown = on_terminal(
        [sys.executable, "-m", "planner", "plan", str(field), "--which-angle", "--effort", "quick"]
    )
    assert code == 0
    first, *_ = shown.split("planning at")
    assert "Ctrl-C ends the work" in first and re.search(r"\n28.* ~\d+ .* 0 of \d", first)
    assert not re.search(r"\d\.\d %", first.split("28 to")[0])  # nothing has been planned at first
    last = shown.split("Field")[-1]
    assert "Best angle: " in last and re.search(r"\d\.\d %", last) and "Ctrl-C" not in last


def on_terminal(command):
    """Run a command on a terminal of its own; returns its exit code and all that it showed."""
    screen, end = pty.openpty()
    with subprocess.Popen(command, stdin=end, stdout=end, stderr=end) as child:
        os.close(end)
        shown = b""
        while part := _read(screen):
            shown += part
    os.close(screen)
    return child.returncode, re.sub(r"\x1b\[[?\d;]*[A-Za-z]", "", shown.decode())


def _read(screen):
    try:
        return os.read(screen, 65536)
    except OSError:  # what a terminal says when nobody writes to it any more
        return b""


def test_near_a_pole_estimates_are_told_to_be_rough(field, capsys):
    polar = PLAN.replace("-45.0", "-80.0").replace('"sliding"', '"grid"')
    field.write_text(polar)
    _, _, err = run(capsys, field)
    assert "which can be too low by one or two so near a pole" in err
    field.write_text(polar + 'angles = "per_panel"\n')
    _, _, err = run(capsys, field)
    assert "an estimate; " in err


def test_a_pinned_angle_is_told(field, capsys):
    field.write_text(PLAN + "position_angle_deg = 33\n")
    code, out, _ = run(capsys, field)
    assert code == 0 and "Asked for: 33 degrees, " in out and "more than the best." in out


def test_falling_short_at_every_angle(field, capsys):
    field.write_text(PLAN.replace("width_deg = 5.0", "width_deg = 15.0") + "columns = 2\nrows = 1\n")
    code, out, err = run(capsys, field)
    assert code == 1 and "falls short" in out and "at every angle" in err


def test_one_extra_at_a_time(field, tmp_path, capsys):
    code, out, err = run(capsys, field, "--from-table", tmp_path / "some.csv")
    assert code == 2 and out == "" and "exclude each other" in err


def test_a_foreign_file_in_the_way(field, tmp_path, capsys):
    (tmp_path / "which-angle.json").write_text("{}")
    code, out, err = run(capsys, field, "--out", tmp_path)
    assert code == 2 and out == "" and "is in the way" in err
    assert not (tmp_path / "which-angle.png").exists()
