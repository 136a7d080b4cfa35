"""Tables on screen: whatever the width of a line, every word and every digit stands there."""

import os
import pty
import re
import subprocess
import sys
from unittest.mock import patch

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.cli._show import LABEL_WIDTH, print_fact, print_table
from planner.cli.tables.folding import KEEP, Column, folded

COLUMNS = ("~Setup", "Dark", ">Right ascension", ">Hours", ">Cost, least to most", "~Timetable")
ROWS = [
    ("Pier in the far south", "20:14-04:31", "08h49m36.0s", "8.3", "12,340 to 19,880 ZAR", f"Ha: A1{KEEP}18"),
    ("B", "21:14-03:31", "08h49m36.0s", "123.4", "9 to 9 EUR", f"O: A1{KEEP}9, AB12{KEEP}144; Ha: C3{KEEP}7"),
]


def in_room(width):
    """Say how wide a line is, or nothing of it."""
    clear = {name: value for name, value in os.environ.items() if name != "COLUMNS"}
    return patch.dict(os.environ, clear | ({"COLUMNS": str(width)} if width else {}), clear=True)


def printed(capsys, width):
    with in_room(width):
        print_table(COLUMNS, ROWS, title="A title")
    return capsys.readouterr().out


@pytest.mark.parametrize("width", [30, 40, 60, 80, 100, 120, 300, None])
def test_no_digit_is_lost_and_lines_keep_to_the_width(capsys, width):
    text = printed(capsys, width)
    for row in ROWS:
        for cell in row[1:5]:
            assert cell in text
    assert {"A1 18", "A1 9", "AB12 144", "C3 7"} <= set(re.findall(r"[A-Z]+\d+ \d+", text))
    assert "..." not in text and "\u2026" not in text
    assert not width or max(map(len, text.splitlines())) <= max(width, 37)  # a text beside what cannot fold


@pytest.mark.parametrize("width", [40, 60, 80, None])
def test_facts_fold_at_words_beside_their_label(capsys, width):
    text = f"seams hold few stars, so assembling may want {'long/' * 12}path and a well-kept solution"
    with in_room(width):
        print_fact("Note", text)
    first, *more = capsys.readouterr().out.splitlines()
    assert first.startswith("Note ") and first[LABEL_WIDTH:].startswith("seams hold few")
    assert bool(more) == bool(width)
    assert all(line[:LABEL_WIDTH].isspace() and not line[LABEL_WIDTH].isspace() for line in more)
    assert " ".join([first[LABEL_WIDTH:], *(line.strip() for line in more)]) == text
    assert all(
        len(line) <= width or line.split() == [f"{'long/' * 12}path"] for line in (first, *more) if width
    )


@pytest.mark.parametrize("width", range(40, 76))
def test_numbers_keep_to_their_units(capsys, width):
    with in_room(width):
        print_fact(
            "Picture",
            "2.31 x 1.54 degrees, 7.1 arc minutes wide, 99.0 per cent of 12 panels at 70.1° or 15 %",
        )
    text = capsys.readouterr().out
    for whole in ("2.31 x 1.54 degrees", "7.1 arc minutes", "99.0 per cent", "12 panels", "15 %"):
        assert whole in text


def test_a_title_folds_and_names_of_files_stay_whole(capsys):
    title, name = (
        "A bridge between the Magellanic Clouds, seen from the pier in the far south",
        "tables/pier_list.csv",
    )
    with in_room(44):
        print_table(
            ("Kind", "~File", "~Standard"), [("tables", name, "one that is described at length")], title=title
        )
    lines = capsys.readouterr().out.splitlines()
    assert max(map(len, lines)) <= 44 and name in "\n".join(lines)
    assert " ".join(line.strip() for line in lines).startswith(title)


UNDER_A_BAR = """
import planner.cli._show as show
show.PATIENCE_S = 0.0
with show.progress_shown() as progress:
    progress("at work", 0.5)
    show.print_line("the answer")
    show.print_table(("Name",), [("A1",)])
"""


def test_what_is_printed_under_a_bar_goes_where_standard_output_goes(tmp_path):
    """Standard error is a terminal and has a bar; standard output is a file."""
    screen, end = pty.openpty()
    with (tmp_path / "out.txt").open("w") as out:
        done = subprocess.run([sys.executable, "-c", UNDER_A_BAR], stdout=out, stderr=end, check=True)
    shown = os.read(screen, 65536).decode()
    os.close(end)
    os.close(screen)
    assert done.returncode == 0 and "at work" in shown and "the answer" not in shown
    assert (tmp_path / "out.txt").read_text().split() == ["the", "answer", "Name", "A1"]


def test_where_there_is_room_each_row_is_one_line(capsys):
    assert len(printed(capsys, 300).splitlines()) == 2 + len(ROWS)
    assert "21:14-03:31      08h49m36.0s  123.4" in printed(capsys, None)


def test_heads_fold_before_columns_go_below(capsys):
    assert "Right ascension" not in printed(capsys, 90) and printed(capsys, 90).count("Setup") == 1
    assert printed(capsys, 60).count("Setup") == 2, "the first column stands in both tables"


@given(
    st.lists(st.lists(st.from_regex(r"[0-9]{1,12}", fullmatch=True), min_size=4, max_size=4), min_size=1),
    st.integers(14, 60),
)
def test_numbers_are_whole_in_any_room(rows, room):
    columns = [Column.of(f">Head {index}", cells) for index, cells in enumerate(zip(*rows, strict=True))]
    parts = folded(columns, room, text_room=120)
    seen = [column for part in parts for column in part]
    assert {column.cells for column in columns} == {column.cells for column in seen}
    for part in parts:
        lines = [max(map(len, (*column.name.split("\n"), *column.cells))) for column in part]
        assert len(part) <= 2 or sum(lines) + 2 * (len(lines) - 1) <= room
