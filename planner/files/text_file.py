"""Small text files in: bounded in size, UTF-8 with or without a byte order mark, any line ends."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

from planner.errors import FileError

__all__ = ["parse_toml", "read_bytes", "read_text"]

LARGEST_BYTES = 10_000_000


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
    try:
        return tomllib.loads(text.replace("\r\n", "\n"))
    except RecursionError as error:
        raise FileError(f"{where} is nested too deeply; a {what} has plain tables") from error
    except tomllib.TOMLDecodeError as error:
        raise FileError(f"{where} is no valid TOML: {error}; mend that line") from error
    except ValueError as error:
        raise FileError(f"{where} holds a number of thousands of digits; mend it") from error
