"""Examples that the front page and the guide show: blocks of fenced `console`, each a command and what it prints.

The first line of a block is the command after a dollar sign, the others are its output. A line of three dots
stands for lines left out, three dots at the end of a line for the rest of the line.
`python -m tests.guide.regenerate` writes all of them anew; the tests hold each to the code that is there.
"""

import contextlib
import difflib
import io
import os
import re
import shlex
import subprocess
from dataclasses import dataclass
from pathlib import Path
from unittest.mock import patch

from planner.cli import main
from planner.guide.pages import SUBJECTS

ROOT = Path(__file__).resolve().parents[2]
PAPERS = [ROOT / "README.md", *(ROOT / "planner" / "guide" / f"{subject}.md" for subject in SUBJECTS)]
FIRST = ROOT / "planner" / "guide" / "first-mosaic.md"
"""The page whose commands run in order in an empty folder."""
DOTS = "..."
WRITING = {"--out", "--save-as", "--samples", "--reshoot", "--sheet", "rehearse"}
"""Options and verbs that make a command write files: it runs wherever it stands."""
PRINTED: dict[tuple[str, ...], tuple[int, list[str], list[str]]] = {}
"""What commands printed that write nothing."""
MAY_VARY = {
    r"^[A-Z]{1,2}\d+ +\d\dh\d\dm": "where a search puts its panels may differ from machine to machine",
    r"^Overlap ": "and with it how much more overlap it finds than was asked",
    r"^After errors ": "and what of it remains",
    r"^Note +(seams|panels fill)": "and which stars stand in the seams",
}
"""Lines of which only the words are compared, not the digits; and why."""


@dataclass(frozen=True)
class Example:
    """A command as a page prints it, commands of the shell before it, and the output shown under it."""

    paper: Path
    line: int
    command: str
    shown: tuple[str, ...]
    before: tuple[str, ...] = ()

    @property
    def name(self):
        return f"{self.paper.name}:{self.line}"


def fenced(paper, *languages):
    """Yield (number of the first line inside, lines) of every fenced block of some languages."""
    language, begun, start = "", None, 0
    for number, line in enumerate(paper.read_text(encoding="utf-8").split("\n"), start=1):
        if begun is None and line.startswith("```"):
            language, begun, start = line[3:], [], number + 1
        elif line == "```":
            if language in languages:
                yield start, begun
            begun = None
        elif begun is not None:
            begun.append(line)


def examples_of(paper):
    """All examples of a page."""
    for start, lines in fenced(paper, "console"):
        assert lines[0].startswith("$ "), f"{paper.name}:{start} shows no command"
        commands, taken = [], 0
        while taken < len(lines) and (lines[taken].startswith("$ ") or lines[taken - 1].endswith("\\")):
            if lines[taken].startswith("$ "):
                commands.append("")
            commands[-1] += lines[taken].removeprefix("$ ").rstrip("\\").strip() + " "
            taken += 1
        *before, command = (command.strip() for command in commands)
        yield Example(paper, start + taken, command, tuple(lines[taken:]), tuple(before))


def arguments_of(command):
    """What follows `python -m planner` in a command."""
    words = shlex.split(command)
    assert words[:3] == ["python", "-m", "planner"], command
    return words[3:]


def output_of(example, folder):
    """Run an example in a folder; return exit code, lines printed, lines on standard error.

    What only prints is run once, whether it is asked of the samples or of copies to practise with.
    """
    for command in example.before:
        subprocess.run(command, shell=True, check=True, cwd=folder)
    words = arguments_of(example.command)
    if any(word in WRITING for word in words):
        return _run(words, folder)
    key = tuple(word.replace("practice/", "sample_targets/") for word in words)
    if key not in PRINTED:
        PRINTED[key] = _run(words, folder)
    return PRINTED[key]


def _run(words, folder):
    paper, errors = io.TextIOWrapper(io.BytesIO(), encoding="utf-8", newline=""), io.StringIO()
    with (
        contextlib.chdir(folder),
        contextlib.redirect_stdout(paper),
        contextlib.redirect_stderr(errors),
        patch.dict(os.environ, {"COLUMNS": "120"}),
    ):
        code = main(words)
        paper.flush()
    text = paper.buffer.getvalue().decode("utf-8").replace("\r\n", "\n")
    return code, [line.rstrip() for line in text.rstrip("\n").split("\n")], errors.getvalue().splitlines()


def refreshed(shown, lines):
    """Return what a block shows, made of new output: the same dots, the same number of lines between them."""
    chunks = _chunks(shown)
    if len(chunks) == 1 and not any(line.endswith(DOTS) for line in shown):
        return list(lines)
    found, begin = [], 0
    for number, chunk in enumerate(chunks):
        if number:
            found.append(DOTS)
        if number == len(chunks) - 1 and number and chunk:
            begin = max(begin, len(lines) - len(chunk))
        elif number and chunk:
            begin = _most_like(chunk[0], lines, begin)
        found += [
            _cut_alike(old, new) for old, new in zip(chunk, lines[begin : begin + len(chunk)], strict=False)
        ]
        begin += len(chunk)
    return found


def _chunks(shown):
    chunks = [[]]
    for line in shown:
        if line == DOTS:
            chunks.append([])
        else:
            chunks[-1].append(line)
    return chunks


def _most_like(line, lines, begin):
    """Number of the line that is most like another, from a number on."""
    ratios = [difflib.SequenceMatcher(None, line, other).ratio() for other in lines[begin:]]
    return begin + ratios.index(max(ratios)) if ratios else begin


def _cut_alike(old, new):
    if not old.endswith(DOTS) or len(new) <= len(old):
        return new
    cut = new[: len(old) - len(DOTS)]
    return cut.rsplit(" ", 1)[0].rstrip() + " " + DOTS if not old.startswith(cut) else old


def compared(line):
    """The part of a line that is compared: all of it, or its words where it may vary."""
    if any(re.search(pattern, line) for pattern in MAY_VARY):
        return re.sub(r"\d+|\s+", " ", line)
    return line
