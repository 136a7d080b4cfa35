"""Cards of FITS headers, set by hand: thousands of headers by a general library take longer than all else.

Source: FITS Standard 4.0 (IAU FITS Working Group 2018), section 4.
"""

from __future__ import annotations

import math
import unicodedata

from planner.frames.header.cards import CARD

__all__ = ["CARD", "header_card", "matrix_cards", "opening_cards", "text_value"]

LONGEST_TEXT = 66


def text_value(text: str) -> str:
    """Return a FITS string: ASCII, accents off, other letters as question marks, quotes doubled.

    >>> text_value("Ha"), text_value("l'été")
    ("'Ha      '", "'l''ete  '")
    """
    plain = unicodedata.normalize("NFKD", text)
    plain = "".join(sign for sign in plain if not unicodedata.combining(sign))
    plain = plain.encode("ascii", "replace").decode()
    plain = "".join(sign if sign.isprintable() else " " for sign in plain).replace("'", "''")[:LONGEST_TEXT]
    odd = (len(plain) - len(plain.rstrip("'"))) % 2
    return f"'{plain[: len(plain) - odd]:8}'"


def header_card(key: str, value: str, comment: str) -> str:
    """Return keyword, value and comment as a card, not padded to its length."""
    value = f"{value:20}" if value.startswith("'") else f"{value:>20}"
    card = f"{key:8}= {value} / {comment}" if comment else f"{key:8}= {value}"
    return card[:CARD]


def opening_cards(columns: int, rows: int, about: str) -> list[str]:
    """Return the cards with which the header of an image of 16 bits begins (FITS Standard 4.0, 4.4.1)."""
    return [
        header_card("SIMPLE", "T", about),
        header_card("BITPIX", "16", "bits of a pixel"),
        header_card("NAXIS", "2", "image"),
        header_card("NAXIS1", str(columns), "columns"),
        header_card("NAXIS2", str(rows), "rows"),
    ]


def matrix_cards(position_angle_deg: float, scale_deg: float) -> list[str]:
    """Return the cards of how pixels lie on the sky, degrees a pixel.

    Sky parity: east lies 90 degrees left of up, row numbers grow upwards.
    """
    angle = math.radians(position_angle_deg)
    across, along = scale_deg * math.cos(angle), scale_deg * math.sin(angle)
    return [
        header_card("CD1_1", f"{-across:.13E}", "degrees east, per column"),
        header_card("CD1_2", f"{along:.13E}", "degrees east, per row"),
        header_card("CD2_1", f"{along:.13E}", "degrees north, per column"),
        header_card("CD2_2", f"{across:.13E}", "degrees north, per row"),
    ]
