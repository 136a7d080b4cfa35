"""The guide's pages: all there, linked, shown on a terminal and in a pipe."""

import re
from pathlib import Path

import pytest

from planner.cli import VERBS, main
from planner.errors import InputError
from planner.guide.pages import OTHER_NAMES, SUBJECTS, guide_page, guide_pages
from tests.guide.examples import fenced

ROOT = Path(__file__).resolve().parents[2]
FOLDER = ROOT / "planner" / "guide"
PAPERS = [ROOT / "README.md", *(FOLDER / f"{subject}.md" for subject in SUBJECTS)]


def test_the_list_of_pages_is_the_folder():
    assert sorted(SUBJECTS) == sorted(path.stem for path in FOLDER.glob("*.md"))
    assert all(page.text.startswith("# ") and page.title for page in guide_pages())


def test_every_verb_has_a_page_and_stands_on_the_front_page():
    front = PAPERS[0].read_text(encoding="utf-8")
    for verb in VERBS:
        assert OTHER_NAMES.get(verb, verb) in SUBJECTS
        assert re.search(rf"^\| `{verb}[ `]", front, re.MULTILINE), verb
    for subject in SUBJECTS:
        assert f"planner/guide/{subject}.md" in front


def test_the_front_page_is_short():
    assert len(PAPERS[0].read_text(encoding="utf-8").splitlines()) <= 150


def test_the_first_two_commands_plan_a_sample_and_run_the_tests():
    blocks = [" ".join(lines) for _, lines in fenced(PAPERS[0], "sh")]
    assert len(blocks) == 2
    install = "python3 -m venv .venv && . .venv/bin/activate && pip install -q -r requirements.txt && "
    assert blocks[0] == install + "python -m planner plan sample_targets/vela_shell.toml --out out"
    assert blocks[1] == install + "python -m pytest"
    assert "\npython -m pytest\n" in (ROOT / ".ci" / "run").read_text(encoding="utf-8")


@pytest.mark.parametrize("paper", PAPERS, ids=lambda path: path.name)
def test_links_lead_somewhere(paper):
    for target in re.findall(r"\]\(([^)]+)\)", paper.read_text(encoding="utf-8")):
        assert (paper.parent / target.partition("#")[0]).exists(), target


def test_a_pipe_gets_the_page_as_it_is_written(capsys):
    assert main(["guide", "seasons"]) == 2
    assert "did you mean 'season'" in capsys.readouterr().err
    assert main(["guide", "Plan", "file"]) == 0
    assert capsys.readouterr().out == (FOLDER / "plan-file.md").read_text(encoding="utf-8")
    assert main(["guide", "Seam"]) == 0
    assert capsys.readouterr().out.startswith("**seam**: the strip")
    assert main(["guide"]) == 0
    listed = capsys.readouterr().out
    assert all(re.search(rf"^{subject} ", listed, re.MULTILINE) for subject in SUBJECTS)


def test_an_unknown_subject_is_told_what_there_is():
    with pytest.raises(InputError, match="the subjects are first-mosaic, words"):
        guide_page("zzz")


def test_samples_are_copied_and_changes_to_them_are_kept(tmp_path, capsys):
    folder = tmp_path / "practice"
    assert main(["guide", "--samples", str(folder)]) == 0
    copied = {path.name: path.read_bytes() for path in folder.iterdir()}
    kept = [path for path in (ROOT / "sample_targets").iterdir() if path.suffix in (".toml", ".csv")]
    assert copied == {path.name: path.read_bytes() for path in kept}
    (folder / "vela_shell.toml").unlink()
    assert main(["guide", "--samples", str(folder)]) == 0
    assert (folder / "vela_shell.toml").is_file()
    (folder / "karoo_pier.toml").write_text("# mine")
    (folder / "vela_shell.toml").unlink()
    assert main(["guide", "--samples", str(folder)]) == 2
    assert "karoo_pier.toml is there and no sample any more" in capsys.readouterr().err
    assert not (folder / "vela_shell.toml").exists()
    assert main(["guide", "panels", "--samples", str(folder)]) == 2
