"""Filters by any of the names that people write into headers."""

from __future__ import annotations

from collections.abc import Iterable

__all__ = ["FilterNames", "wavelength_nm"]

KINDS = {
    "ha": (656.3, ("halpha", "hydrogenalpha", "h")),
    "hb": (486.1, ("hbeta", "hydrogenbeta")),
    "oiii": (500.7, ("o3", "o", "oxygeniii", "oxygen")),
    "sii": (671.6, ("s2", "s", "sulphurii", "sulfurii", "sulphur", "sulfur")),
    "nii": (658.3, ("n2", "n", "nitrogenii")),
    "r": (620.0, ("red",)),
    "g": (530.0, ("green",)),
    "b": (450.0, ("blue",)),
    "l": (550.0, ("lum", "luminance", "clear", "c")),
}
"""Usual short names, wavelengths in nanometres and other spellings. Lines: in air, NIST Atomic
Spectra Database; broad bands: the middle of the usual photographic filters, common practice, no source."""

_SPELLINGS = {other: name for name, (_, others) in KINDS.items() for other in (name, *others)}


def _plain(name: str) -> str:
    """Letters and digits of a name in small letters, Greek ones spelt, widths such as '3nm' left out."""
    text = name.casefold().replace("α", "alpha").replace("β", "beta")
    words = "".join(sign if sign.isalnum() else " " for sign in text).split()
    kept = [word for word in words if not (word.removesuffix("nm").isdigit() and word.endswith("nm"))]
    return "".join(word for word in kept if word != "filter") or "".join(words)


def _key(name: str) -> str:
    plain = _plain(name)
    return _SPELLINGS.get(plain, plain)


def wavelength_nm(name: str) -> float | None:
    """Middle wavelength of a filter known by name; None of any other.

    >>> wavelength_nm("H-alpha 3nm"), wavelength_nm("X2")
    (656.3, None)
    """
    known = KINDS.get(_key(name))
    return known[0] if known else None


class FilterNames:
    """Lays the names in headers on those of a plan.

    >>> names = FilterNames(["Ha", "OIII"])
    >>> names.of_header(" H-Alpha "), names.of_header("O3"), names.of_header("Slide"), names.of_header(None)
    ('Ha', 'OIII', 'Slide', None)
    """

    def __init__(self, plan_names: Iterable[str]) -> None:
        self._names = list(plan_names)
        self._exact = {_plain(name): name for name in self._names}
        self._same = {_key(name): name for name in self._names}

    def of_header(self, name: str | None) -> str | None:
        """Return the plan's name of a header's filter, or the header's own.

        A frame that names no filter belongs to the plan's only one.
        """
        if name is None or not name.strip():
            return self._names[0] if len(self._names) == 1 else None
        return self._exact.get(_plain(name)) or self._same.get(_key(name)) or name.strip()
