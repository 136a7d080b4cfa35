import tomllib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.errors import FileError
from planner.files.plan_file.write import (
    new_plan_text,
    replace_text,
    save_new_text,
    update_document,
    update_file,
)

TEXT = """\
# my shell
title = "Shell"   # a name

[camera]  # the refractor
focal_length_mm = 380.0   # with flattener
sensor_px = [6000, 4000]

# how to cover it
[mosaic]
overlap = 0.15            # usual
angles = 1

[[filters]]
name = "Ha"  # narrow
[[filters]]
name = "L"
"""


def test_a_change_touches_its_line_alone():
    changed = update_document(TEXT, {"mosaic": {"overlap": 0.2}}).splitlines()
    differing = [(a, b) for a, b in zip(TEXT.splitlines(), changed, strict=True) if a != b]
    assert differing == [("overlap = 0.15            # usual", "overlap = 0.2            # usual")]


def test_nothing_changed_is_nothing_changed():
    same = {"title": "Shell", "mosaic": {"overlap": 0.15}, "camera": {"sensor_px": [6000, 4000]}}
    assert update_document(TEXT, same) == TEXT


def test_line_ends_and_byte_order_mark_stay():
    text = "\ufeff" + TEXT.replace("\n", "\r\n")
    changed = update_document(text, {"mosaic": {"overlap": 0.2}})
    assert changed.startswith("\ufeff") and changed.count("\r\n") == changed.count("\n") == text.count("\n")


MERGES = st.fixed_dictionaries(
    {},
    optional={
        "title": st.sampled_from(["Other", None]),
        "setup": st.sampled_from(["pier.toml", None]),
        "camera": st.sampled_from(
            [None, {"focal_length_mm": 500.0}, {"usable": [0.9, 0.9], "sensor_px": None}]
        ),
        "mosaic": st.sampled_from([None, {}, {"angles": 2}, {"overlap": None, "overlap_arcmin": 12}]),
        "filters": st.sampled_from(
            [None, [], [{"name": "R"}], [{"name": "G"}, {"name": "B"}, {"name": "L"}]]
        ),
        "site": st.sampled_from([{"latitude_deg": -32.4}, [{"name": "a"}, {"name": "b"}]]),
        "region": st.sampled_from([{"outline": [[1.0, 2.0], [3.0, 4.0], [5.0, 6.5]]}]),
    },
)


def merged(document, changes):
    result = dict(document)
    for key, value in changes.items():
        if value is None:
            result.pop(key, None)
        elif isinstance(value, dict) and isinstance(result.get(key), dict):
            result[key] = merged(result[key], value)
        else:
            result[key] = merged({}, value) if isinstance(value, dict) else value
    return result


@settings(deadline=None)
@given(MERGES, MERGES)
def test_changed_text_means_the_changed_tables(first, second):
    once = update_document(TEXT, first)
    assert tomllib.loads(once) == merged(tomllib.loads(TEXT), first)
    twice = update_document(once, second)
    assert tomllib.loads(twice) == merged(tomllib.loads(once), second)


LISTS = """\
[[filters]]
name = "Ha"      # the deep one
exposure_s = 600
exposures = 18   # per panel

# only near new Moon
[[filters]]
name = "L"
exposure_s = 60

[[tables]]
file = "mine.csv"          # for the mount
columns = [
  { name = "PA", field = "position_angle" },   # as set
  # the place
  { name = "RA", field = "ra" },
]
[site]
name = "pier"
"""


def entries(text, name):
    return tomllib.loads(text)[name]


def test_comments_stay_with_the_entries_of_lists_that_remain():
    ha, luminance = entries(LISTS, "filters")
    more = update_document(LISTS, {"filters": [ha | {"exposures": 20}, {"name": "OIII"}, luminance]})
    assert entries(more, "filters") == [ha | {"exposures": 20}, {"name": "OIII"}, luminance]
    assert "# the deep one" in more and "exposures = 20   # per panel" in more
    assert more.index("OIII") < more.index("# only near new Moon") < more.index('"L"')
    fewer = update_document(more, {"filters": [ha, luminance]})
    assert fewer == LISTS
    renamed = update_document(LISTS, {"filters": [{"name": "H", "exposure_s": 600.0}, luminance]})
    assert entries(renamed, "filters") == [{"name": "H", "exposure_s": 600.0}, luminance]
    assert 'name = "H"      # the deep one\nexposure_s = 600\n' in renamed and "per panel" not in renamed
    assert update_document(LISTS, {"filters": (ha, luminance)}) == LISTS


def test_comments_in_a_list_of_inline_tables_stay_too():
    table = entries(LISTS, "tables")[0]
    angle, place = table["columns"]
    columns = [angle | {"decimals": 1}, place, {"name": "Dec", "field": "dec"}]
    text = update_document(LISTS, {"tables": [table | {"columns": columns}]})
    assert entries(text, "tables") == [table | {"columns": columns}]
    for comment in ("# for the mount", "# as set", "# the place"):
        assert comment in text
    assert update_document(text, {"tables": [table]}).replace(" ", "") == LISTS.replace(" ", "")


ENTRIES = st.lists(
    st.fixed_dictionaries(
        {"name": st.sampled_from(["Ha", "L", "OIII"])}, optional={"exposures": st.integers(1, 3)}
    ),
    min_size=1,
    max_size=4,
)


@settings(deadline=None)
@given(ENTRIES, ENTRIES)
def test_changed_lists_mean_what_they_should(first, second):
    once = update_document(LISTS, {"filters": first})
    assert tomllib.loads(once) == tomllib.loads(LISTS) | {"filters": first}
    twice = update_document(once, {"filters": second})
    assert tomllib.loads(twice) == tomllib.loads(LISTS) | {"filters": second}


def test_text_that_is_no_toml_is_refused():
    with pytest.raises(FileError, match="no valid TOML"):
        update_document("title = ", {})


def test_a_new_file_means_its_document_and_carries_comments():
    document = {
        "title": 'a "name"',
        "camera": {"focal_length_mm": 380.0, "sensor_px": (6000, 4000), "aperture_mm": None},
        "mosaic": {"angles": 2},
        "filters": [{"name": "Ha"}, {"name": "L"}],
    }
    text = new_plan_text(document)
    assert text.startswith("# A plan file of the mosaic planner")
    assert "# columns, rows" in text
    assert tomllib.loads(text) == {
        "title": 'a "name"',
        "camera": {"focal_length_mm": 380.0, "sensor_px": [6000, 4000]},
        "mosaic": {"angles": 2},
        "filters": [{"name": "Ha"}, {"name": "L"}],
    }


def test_a_new_file_never_replaces_one(tmp_path):
    path = tmp_path / "plan.toml"
    save_new_text(path, "a = 1\n")
    with pytest.raises(FileError, match="exists already"):
        save_new_text(path, "a = 2\n")
    assert path.read_text() == "a = 1\n"


def test_a_file_is_changed_in_place_through_a_link(tmp_path):
    path, link = tmp_path / "setup.toml", tmp_path / "link.toml"
    path.write_bytes(b"[angle_device]\r\nzero_deg = 1.0 # mine\r\n")
    link.symlink_to(path)
    update_file(link, {"angle_device": {"zero_deg": 112.4}})
    assert link.is_symlink()
    assert path.read_bytes() == b"[angle_device]\r\nzero_deg = 112.4 # mine\r\n"
    assert sorted(one.name for one in tmp_path.iterdir()) == ["link.toml", "setup.toml"]


def test_a_folder_that_cannot_be_written_is_said(tmp_path):
    (tmp_path / "file").write_text("")
    with pytest.raises(FileError, match="cannot write"):
        replace_text(tmp_path / "file" / "x.toml", "")


SAID = """\
[mosaic]
overlap = 0.2

# filters of the pier

# hydrogen,
# the long one
[[filters]]
name = "Ha"
exposure_s = 600  # long

# oxygen
[[filters]]
name = "OIII"

# sulphur
[[filters]]
name = "SII"

# the site
[site]
name = "here"
"""
HYDROGEN = '# hydrogen,\n# the long one\n[[filters]]\nname = "Ha"\nexposure_s = 600  # long\n\n'
OXYGEN, SULPHUR = '# oxygen\n[[filters]]\nname = "OIII"\n\n', '# sulphur\n[[filters]]\nname = "SII"\n\n'


@pytest.mark.parametrize(
    ("kept", "gone"), [((1, 2), HYDROGEN), ((0, 2), OXYGEN), ((0, 1), SULPHUR), ((2,), HYDROGEN + OXYGEN)]
)
def test_an_entry_that_goes_takes_its_own_comment_along_and_no_other(kept, gone):
    filters = tomllib.loads(SAID)["filters"]
    assert update_document(SAID, {"filters": [filters[k] for k in kept]}) == SAID.replace(gone, "")


def test_a_new_first_entry_leaves_what_is_said_of_the_next_with_it():
    filters = tomllib.loads(SAID)["filters"]
    text = update_document(SAID, {"filters": [{"name": "L"}, *filters]})
    assert HYDROGEN + OXYGEN + SULPHUR in text and text.index('"L"') < text.index("# hydrogen")


def test_the_first_entry_of_a_file_that_begins_with_it_goes_alone():
    text = '# first\n[[filters]]\nname = "a"\n# second\n[[filters]]\nname = "b"\n'
    assert update_document(text, {"filters": [{"name": "b"}]}) == '# second\n[[filters]]\nname = "b"\n'
