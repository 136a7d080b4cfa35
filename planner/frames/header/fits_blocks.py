"""FITS files by blocks: the header of the image is found and read, its pixels are not.

Source: FITS Standard 4.0 (IAU FITS Working Group 2018): blocks of 2880 bytes and END (3.1, 3.3.1), size of
the data (4.4.1, 7.3), tile-compressed images (10.1).
"""

from __future__ import annotations

import re
import zlib
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import NamedTuple

from planner.errors import FileError

from .cards import CARD, ImageHeader, card_values
from .file_sources import Source, open_source

__all__ = ["BLOCK", "read_image_header"]

BLOCK = 2880
"""Bytes of a block of a FITS file (FITS Standard 4.0, section 3.1)."""
FIRST_READ = 4 * BLOCK
LARGEST_HEADER = 4000 * BLOCK
"""About 11 MB: beyond it a file without END is taken for no FITS file."""

_END = "END" + " " * 77
_OWN = re.compile(
    r"SIMPLE|XTENSION|BITPIX|NAXIS\d*|EXTEND|PCOUNT|GCOUNT|EXTNAME|BSCALE|BZERO|CHECKSUM|DATASUM|WCSAXES.?|"
    r"C(RVAL|RPIX|DELT|TYPE|UNIT|ROTA)\d+.?|(CD|PC|PV|PS)\d+_\d+.?|(LONPOLE|LATPOLE|EQUINOX|EPOCH|RADESYS|RADECSYS).?|"
    r"[AB]P?_(ORDER|DMAX|\d_\d)"
)
"""Keywords that describe one image alone: never taken over from the primary header."""


class _Part(NamedTuple):
    """One header and data unit: keywords, header text, where its data begin and how long they are."""

    values: Mapping[str, str]
    repeats: bool
    text: str
    data_start: int
    data_size: int
    place: int


def read_image_header(path: Path) -> ImageHeader:
    """Header of the first image with sky coordinates, or of the first image, in a FITS file.

    Files packed by gzip or bzip2 are read as they are, whatever their names.

    Raises
    ------
    FileError
        If the file is missing, truncated or no FITS file, or holds no image.
    """
    try:
        source = open_source(path)
        try:
            return _choose(path, source)
        finally:
            source.close()
    except FileError:
        raise
    except FileNotFoundError:
        raise FileError(f"{path} does not exist; check the name of the FITS file") from None
    except EOFError:
        raise _truncated(path) from None
    except (OSError, zlib.error) as error:
        reason = getattr(error, "strerror", None) or error
        raise FileError(f"{path} cannot be read ({reason}); copy it again") from error
    except ValueError as error:
        if "\0" in str(path):
            raise FileError(f"{str(path)!r} is no file name; check the name of the FITS file") from None
        raise FileError(f"{path} is no proper FITS file ({error}); copy it again") from error


def _choose(path: Path, source: Source) -> ImageHeader:
    first: _Part | None = None
    primary: _Part | None = None
    for part in _parts(path, source):
        primary = primary or part
        if _has_image(part.values):
            first = first or part
            if "CTYPE1" in part.values:
                first = part
                break
    if first is None or primary is None:
        raise FileError(f"{path} holds no image; give the frame itself, not a table or an empty file")
    if not source.holds(first.data_start + first.data_size):
        raise _truncated(path)
    return _image_header(path, first, primary)


def _parts(path: Path, source: Source) -> Iterator[_Part]:
    start = place = 0
    while True:
        part = _read_part(path, source, start, place)
        if part is None:
            return
        yield part
        start, place = part.data_start + _whole_blocks(part.data_size), place + 1
        source.skip_to(start)


def _read_part(path: Path, source: Source, start: int, place: int) -> _Part | None:
    text = source.read(FIRST_READ).decode("latin-1")
    if place and not text.startswith("XTENSION"):
        return None
    if not place and not text.startswith("SIMPLE  ="):
        raise FileError(f"{path} is no FITS file (it does not begin with SIMPLE); give a FITS file")
    while (end := _find_end(text)) < 0:
        more = source.read(16 * BLOCK).decode("latin-1")
        if not more or len(text) > LARGEST_HEADER:
            raise _truncated(path)
        text += more
    values, repeats = card_values(text[:end])
    return _Part(
        values, repeats, text[:end], start + _whole_blocks(end + CARD), _data_size(path, values), place
    )


def _find_end(text: str) -> int:
    end = text.find(_END)
    while end > 0 and end % CARD:
        end = text.find(_END, end + 1)
    return end


def _whole_blocks(size: int) -> int:
    return -(-size // BLOCK) * BLOCK


def _data_size(path: Path, values: Mapping[str, str]) -> int:
    """Bytes of data behind a header: |BITPIX| / 8 * GCOUNT * (PCOUNT + NAXIS1 * ... * NAXISm)."""
    axes = [_integer(path, values, f"NAXIS{axis}") for axis in range(1, _integer(path, values, "NAXIS") + 1)]
    if not axes:
        return 0
    count = 1
    for length in axes:
        count *= length
    groups, more = _integer(path, values, "GCOUNT", 1), _integer(path, values, "PCOUNT", 0)
    return abs(_integer(path, values, "BITPIX", 8)) // 8 * groups * (more + count)


def _integer(path: Path, values: Mapping[str, str], key: str, default: int | None = None) -> int:
    text = values.get(key)
    try:
        number = default if text is None else int(text.split("/", 1)[0])
    except ValueError:
        number = None
    if number is None or (key != "BITPIX" and not 0 <= number < 1 << 62):
        raise FileError(f"{path} is no proper FITS file: {key} is missing or no whole number; copy it again")
    return number


def _has_image(values: Mapping[str, str]) -> bool:
    if values.get("ZIMAGE", "").split("/", 1)[0].strip() == "T":
        return True
    if "XTENSION" in values and not values["XTENSION"].lstrip().startswith("'IMAGE"):
        return False
    sizes = [values.get(f"NAXIS{axis}", "0").split("/", 1)[0].strip() for axis in (1, 2)]
    return "0" not in sizes


def _image_header(path: Path, part: _Part, primary: _Part) -> ImageHeader:
    values, text = part.values, part.text
    if "ZIMAGE" in values:
        text = _uncompressed(text)
        values, _ = card_values(text)
    if part is not primary:
        general = {key: value for key, value in primary.values.items() if not _OWN.fullmatch(key)}
        values = {**general, **values}
    return ImageHeader(path, values, text, part.place, part.repeats)


_TABLE_ONLY = re.compile(
    r"(XTENSION|BITPIX|NAXIS\d*|PCOUNT|GCOUNT|TFIELDS|(TTYPE|TFORM|TUNIT|TDIM|ZNAME|ZVAL|ZTILE)\d+|"
    r"ZIMAGE|ZCMPTYPE|ZSIMPLE|ZTENSION|ZEXTEND|ZQUANTIZ|ZDITHER0|ZBLANK)\Z"
)
"""Keywords of the table that a compressed image is kept in."""
_MOVED = re.compile(r"Z(BITPIX|NAXIS\d*|PCOUNT|GCOUNT)\Z")


def _uncompressed(text: str) -> str:
    """Return the cards of the image that a tile-compressed image stands for (FITS Standard 4.0, 10.1.1)."""
    cards = []
    for start in range(0, len(text), CARD):
        card = text[start : start + CARD]
        key = card[:8].rstrip()
        if _MOVED.match(key):
            card = key[1:].ljust(8) + card[8:]
        elif _TABLE_ONLY.match(key):
            continue
        cards.append(card)
    return "".join(cards)


def _truncated(path: Path) -> FileError:
    return FileError(f"{path} is truncated (it ends before its header or its data do); copy it again")
