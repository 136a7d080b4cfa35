"""What targets count for, from a CSV file of names and weights."""

import pytest

from planner.errors import FileError
from planner.files.weights_file import read_weights_file

NAMES = [["NGC 7380", "Sh2-142", "Wizard Nebula"], ["IC 1396", "Sh2-131"], ["LDN 1622", "Boogeyman Nebula"]]


def written(folder, text):
    """The text in a file."""
    path = folder / "weights.csv"
    path.write_text(text, encoding="utf-8")
    return path


def test_any_name_in_any_spelling(tmp_path):
    text = "name,weight\n# mine\nthe Wizard nebula, 3\n\nsharpless 131,0.5\nLDN1622,2\n"
    assert read_weights_file(written(tmp_path, text), NAMES).weights == (3.0, 0.5, 2.0)


def test_what_is_not_named_counts_nothing(tmp_path):
    found = read_weights_file(written(tmp_path, '"IC 1396",2\nM 42,5\n'), NAMES)
    assert found.weights == (0.0, 2.0, 0.0)
    assert found.others == ("M 42",)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("name,weight\n", "holds no weights"),
        ("IC 1396\n", "line 1 must be name,weight with a weight of 0 or more, got 'IC 1396'"),
        ("IC 1396,much\n", "got 'IC 1396,much'"),
        ("IC 1396,-1\n", "got 'IC 1396,-1'"),
        ("IC 1396,nan\n", "got 'IC 1396,nan'"),
        ("IC 1396,1\nSh2-131,1\n", "line 2 gives 'Sh2-131' a weight again, after 'IC 1396'"),
        ("Wizzard Nebula,1\n", "line 1 names 'Wizzard Nebula', .*; did you mean 'Wizard Nebula'"),
        ("Nowhere at all,1\n", "of which the catalogue has no nebula; mend the name or leave the line out"),
    ],
)
def test_faults_are_one_sentence(tmp_path, text, said):
    with pytest.raises(FileError, match=said) as caught:
        read_weights_file(written(tmp_path, text), NAMES)
    assert "\n" not in str(caught.value)


def test_no_file(tmp_path):
    with pytest.raises(FileError, match="does not exist; check the name of the weights file"):
        read_weights_file(tmp_path / "none.csv", NAMES)
