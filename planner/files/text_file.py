"""Small text files in: bounded in size, UTF-8 with or without a byte order mark, any line ends."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from typing import Any

from planner.errors import FileError
from planner.words import shortened

__all__ = ["parse_toml", "read_bytes", "read_text"]

LARGEST_BYTES = 10_000_000
MOST_SHOWN = 40
"""Letters of a faulty line that are shown."""
TOML_FAULTS = (
    (
        "Expected '='",
        "has no = behind its key",
        "write key = value; a key is one word, such as focal_length_mm",
    ),
    (
        "Expected newline",
        "goes on behind its value",
        "write numbers as 12.5, dates as 2027-01-08, text in quotes",
    ),
    ("Expected ']", "is no name of a table", "close its brackets, as in [mosaic] or [[filters]]"),
    ("Invalid value", "has no value as TOML writes them", "put text in quotes, write numbers as 12.5"),
    ("Invalid statement", "begins with neither a key nor [", "write key = value or [table]"),
    ("Invalid initial character", "has no key where one is wanted", "a key is one word of letters and _"),
    ("Cannot overwrite", "gives a key that stands above already", "leave one of them out"),
    ("Duplicate inline", "gives a key twice", "leave one of them out"),
    ("Cannot declare", "opens a table that stands above already", "put its keys together in one"),
    ("Cannot ", "adds to a table that is complete already", "put its keys together in one"),
    ("Unclosed array", "comes while a list is open", "close it with ], and put commas between its parts"),
    ("Unclosed inline", "comes while a table in braces is open", "close it with }, and put commas between its parts"),
    ("Unterminated string", "leaves a text open", "close it with the quotes that it begins with"),
    ("Illegal character '\\n'", "leaves a text open", "close it with the quotes that it begins with"),
    ("Found invalid character '\\n'", "leaves a text open", "close it with the quotes that it begins with"),
    ("Expected \"'", "comes while a text in single quotes is open", "close that on its own line"),
    ("Found invalid", "has a sign that no text may hold", "type that line anew"),
    ("Illegal", "has a sign that no text may hold", "type that line anew"),
    ("Unescaped '\\'", "has a backslash in a text", "put that text in single quotes"),
    ("Invalid hex value", "has a backslash in a text", "put that text in single quotes"),
    ("Escaped character", "has a backslash in a text", "put that text in single quotes"),
    ("Invalid date", "has a date that no calendar has", "give one such as 2027-01-08"),
)
"""How the parser's sentences begin, what is wrong in plain words, and the cure."""
UNREAL_DATE = re.compile(r"=\s*\d{4}-\d{1,2}-\d{1,2}\s*(#|$)")
"""A value that was meant as a date; the parser reads its year alone where the rest is none."""
LISTED_TABLE = re.compile(r"\[\[?(filters|panels|site|tables|setup_files)\]")
"""Tables of which a file may have several."""


def read_bytes(path: Path, what: str, largest_bytes: int = LARGEST_BYTES) -> bytes:
    """Content of a regular file that is not too large.

    Parameters
    ----------
    path : Path
    what : str
        What the file is, for the sentence if it cannot be read: ``plan file``.
    largest_bytes : int

    Raises
    ------
    FileError
        If it is missing, no regular file, too large or unreadable.
    """
    try:
        if path.is_dir():
            raise FileError(f"{path} is a folder; give the {what} in it")
        if not path.exists():
            raise FileError(f"{path} does not exist; check the name of the {what}")
        if not path.is_file():
            raise FileError(f"{path} is no regular file; give a {what}")
        with path.open("rb") as stream:
            content = stream.read(largest_bytes + 1)
    except FileError:
        raise
    except OSError as error:
        raise FileError(
            f"cannot read {str(path)[:200]}: {error.strerror or error}; check the {what}"
        ) from error
    except ValueError as error:  # a name that no file can have
        raise FileError(f"{str(path)!r} is no file name; check the name of the {what}") from error
    if len(content) > largest_bytes:
        raise FileError(f"{path} is larger than {largest_bytes // 10**6} MB; it is no {what}")
    return content


def read_text(path: Path, what: str) -> str:
    """Text of a UTF-8 file, its byte order mark left out.

    Raises
    ------
    FileError
        If it cannot be read or is not text.
    """
    content = read_bytes(path, what)
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise FileError(
            f"{path} is not UTF-8 text (byte {error.start + 1}); a {what} is plain text, save it as UTF-8"
        ) from error
    if "\0" in text:
        raise FileError(f"{path} is not text but binary; give a {what}")
    return text


def parse_toml(text: str, path: Path | None, what: str) -> dict[str, Any]:
    """Tables and keys of a TOML text.

    Raises
    ------
    FileError
        If it is no TOML; names the line.
    """
    where = str(path) if path else f"the {what}"
    if text.lstrip().startswith("{"):
        raise FileError(f"{where} is JSON{_json_cure(what)}")
    try:
        return tomllib.loads(text.replace("\r\n", "\n"))
    except RecursionError as error:
        raise FileError(f"{where} is nested too deeply; a {what} has plain tables") from error
    except tomllib.TOMLDecodeError as error:
        raise FileError(f"{where} is no valid TOML: {_toml_words(str(error), text)}") from error
    except ValueError as error:
        raise FileError(f"{where} holds a number of thousands of digits; mend it") from error


def _json_cure(what: str) -> str:
    """Say what is wanted in the place of JSON, such as a plan.json."""
    plan = what == "plan file"
    takes = "; the panels of a plan.json are taken by `plan` with --from-table" if plan else ""
    return f", such as a plan.json, but a {what} is wanted, which is TOML: give that{takes}"


def _toml_words(fault: str, text: str) -> str:
    """Say in plain words which line is wrong, how, and what mends it."""
    lines = text.splitlines() or [""]
    found = re.search(r"line (\d+)", fault)
    number = (
        int(found[1]) if found else max((k for k, line in enumerate(lines, 1) if line.strip()), default=1)
    )
    shown = shortened(lines[min(number, len(lines)) - 1].strip(), MOST_SHOWN)
    known = ((what, cure) for begins, what, cure in TOML_FAULTS if fault.startswith(begins))
    what, cure = _of_line(shown, fault) or next(known, ("cannot be read", "write key = value"))
    return f"line {number}, {shown!r}, {what}; {cure}"


def _of_line(line: str, fault: str) -> tuple[str, str] | None:
    """Return what is wrong and the cure where the line tells more than the parser does."""
    if fault.startswith("Expected newline") and UNREAL_DATE.search(line):
        return "has no date of the calendar", "write year-month-day, such as 2027-01-08"
    listed = LISTED_TABLE.match(line)
    if listed and fault.startswith(("Cannot declare", "Cannot overwrite")):
        return "is one of several such tables", f"write [[{listed[1]}]], in double brackets, above each of them"
    return None
