"""`angle` of a mosaic that several instruments share: each one's own device, readings and calibration."""

import json

import pytest

from planner.files.plan_file.read import read_setup_file
from planner.rig.cautions import CAMERA_CAUTIONS
from tests.answers.shared.shared_files import write_shared
from tests.frames.solved_file import write_solved

from .running import run


def readings(instrument):
    """All readings of an instrument, modulo 180 degrees."""
    return {round(one["reading_deg"] % 180.0, 6) for one in instrument["angle"]["panels"]}


def test_each_instrument_has_its_own_readings(tmp_path, capsys, monkeypatch):
    monkeypatch.setattr("planner.cli.shared.angle.sheet_bytes", lambda _: b"%PDF a page")
    path = write_shared(tmp_path, wide='filters = ["Ha"]\npanels = ["A1", "A2"]')
    setup = tmp_path / "fine.toml"
    setup.write_text(setup.read_text().replace("zero_deg = 112.4", "zero_deg = 10.0\nsense = -1"))
    code, out, err = run(capsys, "angle", path, "--out", tmp_path / "out")
    assert code == 1 and err.startswith("planner: this falls short: Wide pier leaves")
    assert out.index("Camera angle: Shell, shared, Wide pier") < out.index(
        "Camera angle: Shell, shared, Fine"
    )
    assert "Adjuster: " in out and "Rotator: " in out
    assert all(out.count(caution) >= 1 for caution in CAMERA_CAUTIONS)
    document = json.loads((tmp_path / "out" / "camera-angle.json").read_text())
    assert document["schema"] == "shared-camera-angle 1"
    wide, fine = document["instruments"]
    assert [one["name"] for one in wide["angle"]["panels"]] == ["A1", "A2"]
    assert wide["angle"]["tolerance"]["no_gap"]["together_deg"] > 0.5  # of its whole layout
    assert len(fine["angle"]["panels"]) == 9
    # reading = (position angle - zero) * sense, the panels' angle being 20, modulo 180 within the travel
    assert readings(wide) == {87.6}
    assert readings(fine) == {170.0}
    sheets = sorted(one.relative_to(tmp_path / "out").as_posix() for one in (tmp_path / "out").rglob("*.pdf"))
    assert sheets == ["fine_pier/camera-angle.pdf", "wide_pier/camera-angle.pdf"]
    assert json.loads(run(capsys, "angle", path, "--json")[1]) == document


def test_a_frame_calibrates_the_instrument_that_is_named(tmp_path, capsys):
    path, frame = write_shared(tmp_path), tmp_path / "test.fits"
    before = path.read_text(), (tmp_path / "fine.toml").read_text()
    write_solved(frame, size=(60, 40), scale_arcsec=211.69, position_angle_deg=130.0, center=(129.0, -20.0))
    asked = ("angle", path, "--frame", frame, "--reading", "17.5")
    code, out, err = run(capsys, *asked)
    assert (code, out) == (2, "")
    assert "--frame is about one instrument; name it with --instrument: Wide pier, Fine pier" in err
    code, out, err = run(capsys, *asked, "--instrument", "wide", "--save", "--json")
    assert code == 0 and "Saved in wide.toml: angle_device.zero_deg = 112.5 (was 112.4)" in err
    found = json.loads(out)
    assert found["schema"] == "camera-angle 1"
    assert found["turn"]["to_reading_deg"] % 180.0 == pytest.approx(87.5)
    assert read_setup_file(tmp_path / "wide.toml").angle_device.zero_deg == 112.5
    assert (path.read_text(), (tmp_path / "fine.toml").read_text()) == before


def test_a_measured_focal_length_is_that_of_the_instrument(tmp_path, capsys):
    path, frame = write_shared(tmp_path), tmp_path / "test.fits"
    picture = "[picture]\naspect = [3, 2]\nfilled = true\n\n[mosaic]"
    path.write_text(path.read_text().replace("[mosaic]", picture))
    write_solved(frame, size=(60, 40), scale_arcsec=160.0, position_angle_deg=130.0, center=(129.0, -20.0))
    asked = ("angle", path, "--frame", frame, "--reading", "17.5", "--instrument", "Wide pier")
    code, out, _ = run(capsys, *asked, "--measured-focal-length", "--json")
    nominal = json.loads(run(capsys, *asked, "--json")[1])
    assert code == 0
    # 390 um at 160 arc seconds: 503 mm for 380, so that more panels are needed
    assert json.loads(out)["calibration"]["focal_length_mm"] == pytest.approx(502.8, abs=0.1)
    assert len(json.loads(out)["panels"]) > len(nominal["panels"])


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (
            ("--instrument", "Wide peer"),
            "'Wide peer' is none of the instruments that share the mosaic; did you mean 'Wide",
        ),
        (("--sheet", "turn.pdf"), "--sheet is about one instrument; name it with --instrument"),
        (("--match", "old.fits"), "--match is about one instrument"),
        (("--reading", "3"), "--reading is about one instrument"),
    ],
)
def test_what_cannot_be_meant_is_one_sentence(tmp_path, capsys, options, said):
    code, out, err = run(capsys, "angle", write_shared(tmp_path), *options)
    assert (code, out) == (2, "")
    assert said in err and err.count("\n") == 1


def test_an_instrument_of_one_alone_is_refused(tmp_path, capsys):
    path = write_shared(tmp_path)
    alone = tmp_path / "alone.toml"
    alone.write_text(f'setup = "wide.toml"\n{path.read_text().split("[[setup_files]]")[0]}')
    code, _, err = run(capsys, "angle", alone, "--instrument", "wide")
    assert code == 2 and "--instrument is for plan files with [[setup_files]], got alone.toml of one" in err
