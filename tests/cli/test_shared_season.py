"""`season` and `fit` with plans that several instruments share."""

import json

import pytest

from planner.cli import main
from planner.errors import FileError
from planner.files.plan_file.season import read_season_file
from planner.files.plan_file.shared import read_shared_file
from tests.answers.shared.shared_files import write_shared


@pytest.fixture
def shared(tmp_path):
    return write_shared(tmp_path)


def run(capsys, *arguments):
    code = main([str(one) for one in arguments])
    out, err = capsys.readouterr()
    return code, out, err


def season_file(folder, plans, more=""):
    path = folder / "season.toml"
    path.write_text(f"plans = {json.dumps(plans)}\n{more}\n")
    return path


def write_alone(folder, setup):
    text = (folder / "shell.toml").read_text().split("[[setup_files]]")[0]
    (folder / "alone.toml").write_text(f'setup = "{setup}.toml"\n' + text.replace("129.0", "120.0"))


@pytest.mark.parametrize(("setup", "name"), [("wide", "Wide pier"), ("fine", "Fine pier")])
def test_a_season_takes_the_part_of_its_instrument(shared, tmp_path, setup, name):
    write_alone(tmp_path, setup)
    season = read_season_file(season_file(tmp_path, ["shell.toml", "alone.toml"]))
    part = next(one for one in read_shared_file(shared).instruments if one.name == name)
    assert [one.camera for one in season.requests] == [part.request.camera] * 2
    assert season.requests[0].title == f"Shell, shared, {name}"
    assert season.requests[0].filters == part.request.filters
    named = read_season_file(season_file(tmp_path, ["shell.toml"], f'setup = "{setup}.toml"'))
    assert named.requests == season.requests[:1]


@pytest.mark.parametrize(
    ("plans", "more", "said"),
    [
        (["shell.toml"], "", r"'Shell, shared' is shared by Wide pier and Fine pier; name the setup file"),
        (
            ["shell.toml"],
            'setup = "other.toml"',
            r"none of the instruments .* other\.toml, they have wide\.toml, fi",
        ),
        (["shell.toml"], "setup = 3", r"setup must be a file name, got 3"),
        (["alone.toml"], 'setup = "wide.toml"', r"but none of these is; leave it out"),
    ],
)
def test_faults_are_one_sentence(shared, tmp_path, plans, more, said):
    write_alone(tmp_path, "wide")
    with pytest.raises(FileError, match=said) as raised:
        read_season_file(season_file(tmp_path, plans, more))
    assert "\n" not in str(raised.value)


def test_an_instrument_that_takes_some_panels_has_no_season(tmp_path):
    write_shared(tmp_path, wide='filters = ["Ha"]\npanels = ["A1"]')
    with pytest.raises(FileError, match=r"Wide pier takes only the panels \['A1'\]"):
        read_season_file(season_file(tmp_path, ["shell.toml"], 'setup = "wide.toml"'))


def test_the_season_says_where_its_angle_goes_and_it_may_stand_there(shared, tmp_path, capsys):
    path = season_file(tmp_path, ["shell.toml"], 'setup = "wide.toml"')
    code, out, _ = run(capsys, "season", path, "--effort", "quick")
    assert code == 0 and "of a plan that is shared in the [[setup_files]] of this instrument" in out
    shared.write_text(
        shared.read_text().replace('file = "wide.toml"', 'file = "wide.toml"\nposition_angle_deg = 77.0')
    )
    wide, fine = (one.request.mosaic.position_angle_deg for one in read_shared_file(shared).instruments)
    assert (wide, fine) == (77.0, 20.0)


def test_fit_tells_of_every_instrument(shared, tmp_path, capsys):
    code, out, err = run(capsys, "fit", shared, tmp_path / "wide.toml", "--json")
    found = json.loads(out)["setups"]
    assert code == 1 and "it fits no single frame: the nearest is Wide pier" in err
    assert [one["setup"] for one in found] == ["Wide pier", "Fine pier", "Wide pier"]
    assert found[0]["margin_arcmin"] == found[2]["margin_arcmin"] > found[1]["margin_arcmin"]
    shared.write_text(shared.read_text().replace("7.0", "3.0").replace("3.5", "2.0"))
    code, out, _ = run(capsys, "fit", shared, "--json")
    assert code == 0 and [one["fits"] for one in json.loads(out)["setups"]] == [True, False]


@pytest.mark.parametrize("options", [("--around", "M 42"), ("--save-as", "best.toml")])
def test_what_is_about_one_frame_alone_is_refused(shared, capsys, options):
    code, out, err = run(capsys, "fit", shared, *options)
    assert (code, out) == (2, "")
    assert f"{options[0]} is for one instrument, but the [[setup_files]] of {shared} share the mosaic" in err
    assert "parts/INSTRUMENT/plan.toml" in err and err.count("\n") == 1
