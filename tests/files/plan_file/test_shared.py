"""Plan files that name several instruments: what is read, and one sentence for each fault."""

import pytest

from planner.errors import FileError
from planner.files.plan_file.read import read_plan_file
from planner.files.plan_file.shared import one_request_from_text, read_shared_file, shares_mosaic
from tests.answers.shared.shared_files import shared_request, write_shared


def test_each_instrument_gets_the_plans_wishes_with_its_own_equipment(tmp_path):
    request = shared_request(tmp_path)
    wide, fine = request.instruments
    assert (wide.name, fine.name) == ("Wide pier", "Fine pier")
    assert (wide.filters, fine.filters, request.filters) == (("Ha",), ("L",), ("Ha", "L"))
    assert wide.request.region == fine.request.region
    assert wide.request.nights == fine.request.nights
    assert [one.request.camera.focal_length_mm for one in request.instruments] == [380.0, 500.0]
    assert [one.request.sites[0].latitude_deg for one in request.instruments] == [-31.2, 28.1]
    assert wide.request.title == "Shell, shared, Wide pier"
    assert request.finest is fine and wide.panels is None


def test_errors_of_the_mount_are_the_instruments_own(tmp_path):
    path = write_shared(tmp_path)
    setup = tmp_path / "fine.toml"
    setup.write_text(setup.read_text() + "\n[mosaic]\npointing_error_arcmin = 3.0\noverlap = 0.5\n")
    wide, fine = (one.request.mosaic for one in read_shared_file(path).instruments)
    assert (wide.pointing_error_arcmin, fine.pointing_error_arcmin) == (0.0, 3.0)
    assert wide.overlap == fine.overlap == 0.15


def test_filters_of_the_setup_files_serve_where_the_plan_has_none(tmp_path):
    path = write_shared(tmp_path, wide="", fine="")
    text = path.read_text()
    path.write_text(text[: text.index("[[filters]]")] + text[text.index("[[setup_files]]") :])
    for name, chosen in (("wide", "Ha"), ("fine", "OIII")):
        table = f'\n[[filters]]\nname = "{chosen}"\nband = "narrow"\nexposure_s = 60\nexposures = 1\n'
        setup = tmp_path / f"{name}.toml"
        setup.write_text(setup.read_text() + table)
    assert [one.filters for one in read_shared_file(path).instruments] == [("Ha",), ("OIII",)]


def test_other_readers_refuse_it_in_one_sentence(tmp_path):
    path = write_shared(tmp_path)
    assert shares_mosaic(path) and not shares_mosaic(tmp_path / "wide.toml")
    assert not shares_mosaic(tmp_path / "nothing.toml")
    with pytest.raises(FileError, match=r"\[\[setup_files\]\] share the mosaic.*plan file of one of them"):
        read_plan_file(path)
    one = one_request_from_text(path.read_text(), path=path)
    assert (one.title, one.camera.focal_length_mm, one.path) == ("Shell, shared", 500.0, path)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (
            ('filters = ["L"]', 'filters = ["L", "Ha"]'),
            r"filters must not overlap, got \['Ha'\] for 'Wide pier' and 'Fi",
        ),
        (
            ('filters = ["L"]', 'filters = ["Lum"]'),
            r"\(Fine pier\): its filters name 'Lum', which \[\[filters\]\]",
        ),
        (('filters = ["L"]', "filters = []"), r"filters must name each of them once, at least one, got \[\]"),
        (('filters = ["L"]', 'panels = ["A1", "A1"]'), r"panels must name each of them once"),
        (('filters = ["L"]', 'filter = ["L"]'), r"2 filter is not known; did you mean 'filters'"),
        (('filters = ["Ha"]', ""), r"filters must not overlap, got \['L'\]"),
        (
            ('[[setup_files]]\nfile = "fine.toml"\nfilters = ["L"]', ""),
            r"leave \['L'\] of the plan's filters to nobody",
        ),
        (('file = "fine.toml"', 'file = "wide.toml"'), r"wide.toml stands twice; name each instrument once"),
        (('file = "fine.toml"', 'file = "none.toml"'), r"2 file names 'none\.toml', but .* does not exist"),
        (('file = "fine.toml"', 'file = "fin.toml"'), r"; did you mean 'fine\.toml'\?"),
        (('file = "fine.toml"', ""), r"2 file is missing; give a file name"),
        (
            ("[nights]", "[mount]\nkind = 'fork'\n[nights]"),
            r"\[mount\] and \[\[setup_files\]\] exclude each other",
        ),
        (
            ('title = "Shell', 'setup = "wide.toml"\ntitle = "Shell'),
            r"setup and \[\[setup_files\]\] exclude each other",
        ),
        (("[region]", "[regoin]"), r"regoin"),
    ],
)
def test_faults_are_one_sentence(tmp_path, change, said):
    path = write_shared(tmp_path)
    text = path.read_text()
    assert change[0] in text
    path.write_text(text.replace(*change))
    with pytest.raises(FileError, match=said) as raised:
        read_shared_file(path)
    assert "\n" not in str(raised.value)


def test_one_instrument_is_no_shared_mosaic(tmp_path):
    path = write_shared(tmp_path, wide='filters = ["Ha", "L"]')
    path.write_text(path.read_text().replace('[[setup_files]]\nfile = "fine.toml"\nfilters = ["L"]', ""))
    with pytest.raises(
        FileError, match=r"must name two instruments or more, got 1; for a single one write setup"
    ):
        read_shared_file(path)
