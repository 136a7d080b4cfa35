"""The guide's page on Python: its examples run, and it names all public names and no other."""

import re
from pathlib import Path

import planner

PAGE = (Path(planner.__file__).parent / "guide" / "python.md").read_text(encoding="utf-8")


def test_every_example_runs(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    blocks = re.findall(r"```python\n(.*?)```", PAGE, re.DOTALL)
    assert len(blocks) >= 5
    names = {}
    for block in blocks:
        exec(compile(block, "python.md", "exec"), names)
    assert (tmp_path / "panels_against_focal_length.png").stat().st_size > 5000
    said = capsys.readouterr().out
    assert "panels;" in said and "True" in said and "2.0" in said


def test_public_names_stand_on_the_page_and_no_others():
    written = set(re.findall(r"`(?:planner\.)?(\w+)[`(]", PAGE))
    assert set(planner.__all__) <= written
    rows = re.findall(r"^\| (`.*?) \|", PAGE, re.MULTILINE)
    for row in rows:
        for name in re.findall(r"`(\w+)", row):
            assert name in planner.__all__, name
    for name in re.findall(r"planner\.(\w+)", PAGE):
        assert name in planner.__all__, name
