"""Names of nebulae as people write them, brought to one form."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator

__all__ = ["catalogue_number", "index_keys", "loose_key", "loose_keys", "name_key"]

QUOTES = dict.fromkeys(map(ord, "'`´‘’‛′ʼ＇"), "'")
LIGATURES = {ord("æ"): "ae", ord("œ"): "oe", ord("ø"): "o", ord("ł"): "l"}
DASHES = dict.fromkeys(map(ord, "‐‑‒–—―−﹣－"), "-")

GREEK = dict(
    zip(
        "αβγδεζηθικλμνξοπρσςτυφχψω",
        "alpha beta gamma delta epsilon zeta eta theta iota kappa lambda mu nu xi omicron pi rho sigma sigma "
        "tau upsilon phi chi psi omega".split(),
        strict=True,
    )
)
"""Letters and their names, which most people type."""

GAP = r"[^\w+]*"
NUMBER = rf"{GAP}0*([1-9]\d*|0)"
LETTER = rf"(?:{GAP}([a-z]))?"

CATALOGUES = [
    ("sh2-", rf"(?:sharpless|sh){GAP}2[^\w+]+0*([1-9]\d*|0)"),
    ("sh1-", r"sh1[^\w+]+0*([1-9]\d*|0)"),
    ("sh2-", r"sh20*([1-9]\d*|0)"),
    ("sh2-", rf"(?:sharpless|sh){NUMBER}"),
    ("lbn", rf"(?:lbn|lynds bright(?: nebula)?){NUMBER}"),
    ("ldn", rf"(?:ldn|l|lynds dark(?: nebula| cloud)?){NUMBER}"),
    ("b", rf"(?:barnard|b){NUMBER}{LETTER}"),
    ("vdbh", rf"(?:vdb{GAP}h|van den bergh(?:{GAP}and)?{GAP}herbst){NUMBER}{LETTER}"),
    ("vdb", rf"(?:vdb|van den bergh){NUMBER}"),
    ("rcw", rf"rcw{NUMBER}"),
    ("gum", rf"gum{NUMBER}{LETTER}"),
    ("ced", rf"(?:ced|cederblad){NUMBER}{LETTER}"),
    ("ngc", rf"ngc{NUMBER}{LETTER}"),
    ("ic", rf"ic{NUMBER}{LETTER}"),
    ("m", rf"(?:messier|m){NUMBER}"),
    ("c", rf"(?:caldwell|c){NUMBER}"),
    ("simeis", rf"(?:simeis|sim){NUMBER}"),
]
"""How the entries of numbered catalogues are written; the first that fits the whole name counts."""

PATTERNS = [(prefix, re.compile(pattern)) for prefix, pattern in CATALOGUES]
REMNANT = re.compile(r"(?:snr\W*g?|g)\W*0*(\d+(?:\.\d+)?)\s*([+-])\s*0*(\d+(?:\.\d+)?)")
ARTICLE = re.compile(r"\bthe\b")
KIND_WORDS = re.compile(r"\b(?:nebulae|nebula|neb)\b")


def name_key(name: str) -> str:
    """Return the form that all spellings of a name share.

    Case, spaces, dashes, accents, apostrophes, leading zeros and "the" make no difference; Greek letters are
    spelt out; a catalogue's name may be written out or not.

    >>> [name_key(text) for text in ("Sh2-132", "sh 2 132", "Sharpless 132", "SNR G180.0-1.7")]
    ['sh2-132', 'sh2-132', 'sh2-132', 'snr180.0-1.7']
    >>> name_key("the Witch Head Nebula") == name_key("Wítch-Head nebula")
    True
    """
    text = _plain(name)
    if number := _numbered(text):
        return "".join(number)
    if match := REMNANT.fullmatch(text):
        return f"snr{float(match[1]):.1f}{match[2]}{float(match[3]):.1f}"
    if any(letter.isdigit() for letter in text):
        text = re.sub(r"(?<=\d)[^\w.]+(?=\d)", "-", text)
        return re.sub(r"[^\w.-]|(?<!\d)[.-]|[.-](?!\d)|_", "", text)
    return _letters(ARTICLE.sub(" ", KIND_WORDS.sub("nebula", text))) or _letters(text)


def loose_key(name: str) -> str:
    """Return the form of a name in words without "Nebula", for those who leave it out or add it.

    >>> loose_key("the Soul Nebula"), loose_key("Soul")
    ('soul', 'soul')
    """
    text = _plain(name)
    if any(letter.isdigit() for letter in text):
        return name_key(name)
    return _letters(ARTICLE.sub(" ", KIND_WORDS.sub(" ", text))) or name_key(name)


def index_keys(name: str) -> Iterator[str]:
    """Forms under which a name is found: its own, and that without the s of a possessive."""
    yield name_key(name)
    plain = name.translate(QUOTES)
    if (without := re.sub(r"'s\b", "", plain)) != plain:
        yield name_key(without)


def loose_keys(name: str) -> Iterator[str]:
    """Yield forms under which a name is found where no other is meant: those of `index_keys` without "Nebula"."""
    plain = name.translate(QUOTES)
    yield loose_key(plain)
    yield loose_key(re.sub(r"'s\b", "", plain))


def catalogue_number(name: str) -> tuple[str, str] | None:
    """Return catalogue and number of a name that is an entry of a numbered catalogue, else None.

    >>> catalogue_number("LDN1622"), catalogue_number("B 44a"), catalogue_number("Soul Nebula")
    (('ldn', '1622'), ('b', '44a'), None)
    """
    return _numbered(_plain(name))


def _numbered(text: str) -> tuple[str, str] | None:
    for prefix, pattern in PATTERNS:
        if match := pattern.fullmatch(text):
            return prefix, "".join(group or "" for group in match.groups())
    return None


def _plain(name: str) -> str:
    """Lower case without accents, with one kind of dash, apostrophe and space; Greek letters spelt out."""
    text = (
        unicodedata.normalize("NFKC", name)
        .casefold()
        .translate(QUOTES)
        .translate(DASHES)
        .translate(LIGATURES)
    )
    text = "".join(
        letter for letter in unicodedata.normalize("NFKD", text) if not unicodedata.combining(letter)
    )
    text = "".join(GREEK.get(letter, letter) for letter in text)
    return re.sub(r"[\s_]+", " ", text).strip()


def _letters(text: str) -> str:
    return "".join(letter for letter in text if letter.isalnum())
