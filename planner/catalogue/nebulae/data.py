"""The packed data of all nebulae: read once, when something first asks for it.

The file is made from the published tables by ``python -m planner.catalogue.nebulae.build``. Its arrays:

============== ============== =================================================================
name           shape          what
============== ============== =================================================================
records        bytes          one line for each nebula: names, outline, levels, sizes
keys           bytes          one line for each name: its form (see `spelling`) and its nebulae
center         (N, 2) int32   right ascension and declination, tenths of an arc second
major_arcmin   (N,) float32   longer axis of the size that is taken; 0 where there is none
kind           (N,) uint8     index into `KINDS`
ring_nebula    (R,) int16     whose outline a ring is part of
ring_level     (R,) uint8     index into `LEVELS`
ring_start     (R + 1,) int32 where its points begin
ring_cap       (R, 4) float32 circle about a ring: middle as a unit vector, radius in radians
points         (P, 2) int32   right ascension and declination, tenths of an arc second
============== ============== =================================================================
"""

from __future__ import annotations

import zipfile
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache, cached_property
from pathlib import Path

import numpy as np
from numpy.typing import ArrayLike, NDArray

from planner.errors import FileError
from planner.geometry import separation_rad, sky_to_vector

from .nebula import KINDS, LEVELS, Nebula, NebulaSize

__all__ = ["NEBULAE_LICENCE", "NEBULAE_SOURCES", "Nebulae", "Outline", "all_nebulae"]

NEBULAE_LICENCE = "Outlines of nebulae: OpenNGC (Mattia Verga, CC BY-SA 4.0)"
"""Named wherever outlines are shown."""

NEBULAE_SOURCES = "Catalogues of nebulae: CDS, Strasbourg"
"""Named wherever entries are shown; the papers stand in the guide."""

DATA_FILE = Path(__file__).parent / "data" / "nebulae.npz"
TENTH_ARCSEC = 36_000.0
"""Positions are kept in whole tenths of an arc second."""


@dataclass(frozen=True, eq=False)
class Outline:
    """One ring of a nebula's outline.

    Parameters
    ----------
    nebula : int
        Index of the nebula.
    level : str
        ``faint``, ``middle`` or ``bright``.
    ring_deg : ndarray, shape (K, 2)
        Corners, ICRS degrees; the last is joined to the first. Edges are great circles.
    """

    nebula: int
    level: str
    ring_deg: NDArray[np.float64]

    @property
    def vectors(self) -> NDArray[np.float64]:
        """Corners as unit vectors, shape (K, 3)."""
        return sky_to_vector(self.ring_deg[:, 0], self.ring_deg[:, 1])


class Nebulae:
    """All nebulae of the data; made once by `all_nebulae`."""

    def __init__(self, path: Path = DATA_FILE) -> None:
        try:
            with path.open("rb") as stream, np.load(stream) as file:
                arrays = {name: file[name] for name in file.files}
            self._lines = arrays["records"].tobytes().decode().split("\n")
            self._keys = arrays["keys"].tobytes()
            self._center = arrays["center"]
            self.major_arcmin: NDArray[np.float32] = arrays["major_arcmin"]
            self._kind = arrays["kind"]
            self._ring_nebula, self._ring_level = arrays["ring_nebula"], arrays["ring_level"]
            self._ring_start, self._ring_cap = arrays["ring_start"], arrays["ring_cap"]
            self._points = arrays["points"]
        except (OSError, EOFError, KeyError, ValueError, zipfile.BadZipFile) as error:
            raise FileError(
                f"the data of the nebulae, {path.name}, is damaged or missing; install again"
            ) from error

    def __len__(self) -> int:
        return len(self._lines)

    def __getitem__(self, index: int) -> Nebula:
        """Return one nebula by its index, [0, count)."""
        name, names, near, outline_name, levels, sizes = self._lines[index].split("\t")
        pairs = [text.split(":") for text in levels.split(";") if text]
        ra_deg, dec_deg = (self._center[index] / TENTH_ARCSEC).tolist()
        return Nebula(
            index,
            name,
            tuple(names.split(";")),
            KINDS[self._kind[index]],
            ra_deg,
            dec_deg,
            tuple(_size(text) for text in sizes.split(";") if text),
            tuple(near.split(";")) if near else (),
            tuple(level for level, _ in pairs),
            tuple(float(area) for _, area in pairs),
            outline_name,
        )

    @cached_property
    def vectors(self) -> NDArray[np.float64]:
        """Centres as unit vectors, shape (N, 3)."""
        ra_deg, dec_deg = self._center.T / TENTH_ARCSEC
        return sky_to_vector(ra_deg, dec_deg)

    def with_key(self, key: str) -> tuple[tuple[int, ...], bool]:
        """Return indices of the nebulae that have a name of this form, and whether all are meant together."""
        start = self._keys.find(f"\n{key}\t".encode()) if key else -1
        if start < 0:
            return (), False
        start = self._keys.index(b"\t", start) + 1
        text = self._keys[start : self._keys.index(b"\n", start)].decode()
        return tuple(int(part) for part in text.removeprefix("+").split(",")), text.startswith("+")

    def indices_beginning(self, text: str) -> list[int]:
        """Return indices of the nebulae that have a name whose form begins with a text."""
        found: dict[int, None] = {}
        start = self._keys.find(f"\n{text}".encode())
        while start >= 0:
            line = self._keys[start + 1 : self._keys.index(b"\n", start + 1)].decode()
            found.update(
                dict.fromkeys(int(part) for part in line.split("\t")[1].removeprefix("+").split(","))
            )
            start = self._keys.find(f"\n{text}".encode(), start + 1)
        return list(found)

    def indices_mentioning(self, text: str) -> list[int]:
        """Return indices of the nebulae whose entries hold a text anywhere, in whatever case."""
        wanted = text.lower()
        return [index for index, line in enumerate(self._lines) if wanted in line.lower()]

    def names_in_words(self) -> Iterator[tuple[str, int]]:
        """Yield every name without a number, with the index of its nebula."""
        for index, line in enumerate(self._lines):
            for name in line.split("\t")[1].split(";"):
                if not any(sign.isdigit() for sign in name):
                    yield name, index

    def outline(self, index: int, level: str | None = None) -> list[Outline]:
        """Return rings of one nebula: of one level, or of all."""
        chosen = self._ring_nebula == index
        if level is not None:
            chosen = chosen & (self._ring_level == LEVELS.index(level))
        return [self._outline(int(ring)) for ring in np.flatnonzero(chosen)]

    def outlines_within(self, center: ArrayLike, radius_rad: float) -> list[Outline]:
        """Return rings that may reach into a circle on the sky, faint levels first.

        Parameters
        ----------
        center : array_like, shape (3,)
            Unit vector.
        radius_rad : float
        """
        reach = np.arccos(np.clip(self._ring_cap[:, :3] @ np.asarray(center, np.float32), -1.0, 1.0))
        near = np.flatnonzero(reach <= self._ring_cap[:, 3] + radius_rad + 1e-3)
        return [self._outline(int(ring)) for ring in near[np.argsort(self._ring_level[near], kind="stable")]]

    def within(self, center: ArrayLike, radius_rad: float, *, smallest_arcmin: float = 0.0) -> list[int]:
        """Return indices of the nebulae whose circle reaches into a circle on the sky, largest first.

        Parameters
        ----------
        center : array_like, shape (3,)
            Unit vector.
        radius_rad : float
        smallest_arcmin : float
            Leaves out what is smaller; above 0 also what has no size.
        """
        half_rad = np.radians(self.major_arcmin / 120.0)
        chosen = np.flatnonzero(self.major_arcmin >= smallest_arcmin)
        distance = separation_rad(self.vectors[chosen], np.asarray(center, dtype=float))
        near = chosen[distance <= radius_rad + half_rad[chosen]]
        return [int(index) for index in near[np.argsort(-self.major_arcmin[near], kind="stable")]]

    def kind(self, index: int) -> str:
        """Return the kind of one nebula without reading the rest."""
        return KINDS[self._kind[index]]

    def _outline(self, ring: int) -> Outline:
        first, last = self._ring_start[ring], self._ring_start[ring + 1]
        points = self._points[first:last] / TENTH_ARCSEC
        return Outline(int(self._ring_nebula[ring]), LEVELS[self._ring_level[ring]], points)


def _size(text: str) -> NebulaSize:
    source, *numbers, wrong, doubt = text.split("|")
    ra_deg, dec_deg, major, minor, angle = (float(number) if number else None for number in numbers)
    assert ra_deg is not None and dec_deg is not None
    return NebulaSize(source, ra_deg, dec_deg, major, minor, doubt, bool(wrong), angle)


@cache
def all_nebulae() -> Nebulae:
    """Return all nebulae, read at the first call (a few milliseconds)."""
    return Nebulae()
