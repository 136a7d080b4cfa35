"""Headers of solved frames: position angle and scale of each, ours against opening with astropy and a WCS."""

from __future__ import annotations

import gzip
import math
import tempfile
import time
import warnings
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import numpy as np
from astropy.io import fits
from astropy.wcs import WCS

from planner.frames.header.header import read_solution
from tests.frames.solved_file import solved_header

OURS, OTHERS = 10_000, 200
"""Frames read by either side; astropy's time is scaled to a frame."""
EXTRA_KEYS = 40
CAPTURE = {
    "RADESYS": "ICRS",
    "EQUINOX": 2000.0,
    "DATE__OBS": "2027-01-08T21:14:03.125",
    "EXPTIME": 600.0,
    "FILTER": "Ha",
    "IMAGETYP": "LIGHT",
    "OBJECT": "shell",
    "XBINNING": 1,
    "YBINNING": 1,
}
"""Cards of a typical capture besides the solution."""


def run() -> list[dict[str, Any]]:
    """Return rows of name, seconds a frame for ours and the other, and other / ours."""
    with tempfile.TemporaryDirectory() as folder:
        return [_row(name, _frames(Path(folder), name)) for name in ("CD", "PC", "SIP", "gzip")]


def _row(name: str, paths: list[Path]) -> dict[str, Any]:
    count = OURS // len(paths)
    ours, mine = _timed(_ours, paths * count)
    other, theirs = _timed(_astropy, (paths * count)[:OTHERS])
    angle_off = max(abs(math.remainder(m[0] - t[0], 360.0)) for m, t in zip(mine, theirs, strict=False))
    scale_off = max(abs(m[1] / t[1] - 1.0) for m, t in zip(mine, theirs, strict=False))
    assert angle_off < 1e-4 and scale_off < 1e-6, (name, angle_off, scale_off)
    title = f"10,000 headers, {name}: {ours * OURS:.2f} s"
    return {"name": title, "ours_s": ours, "other_s": other, "ratio": other / ours}


def _timed(
    read: Callable[[Path], tuple[float, float]], paths: Sequence[Path]
) -> tuple[float, list[tuple[float, float]]]:
    start = time.perf_counter()
    found = [read(path) for path in paths]
    return (time.perf_counter() - start) / len(paths), found


def _ours(path: Path) -> tuple[float, float]:
    solution = read_solution(path)
    return solution.position_angle_deg, solution.scale_y_arcsec_px


def _astropy(path: Path) -> tuple[float, float]:
    """Open, build a WCS, take the angle and scale of +y at the middle by a central difference."""
    with warnings.catch_warnings(), fits.open(path) as files:
        warnings.simplefilter("ignore")
        header = files[0].header
        wcs = WCS(header)
        x, y = (header["NAXIS1"] - 1) / 2, (header["NAXIS2"] - 1) / 2
        middle, above, below = (wcs.pixel_to_world(x, y + dy) for dy in (0.0, 0.05, -0.05))
        up = middle.position_angle(above).deg
        angle = up + math.remainder(middle.position_angle(below).deg + 180.0 - up, 360.0) / 2
        return angle, below.separation(above).arcsec / 0.1


def _frames(folder: Path, kind: str, count: int = 100) -> list[Path]:
    rng = np.random.default_rng(7)
    paths = []
    for number in range(count):
        header = solved_header(
            center=(rng.uniform(0, 360), rng.uniform(-80, 80)),
            position_angle_deg=rng.uniform(0, 360),
            size=(620, 410),
            form="PC" if kind == "PC" else "CD",
            **CAPTURE,
        )
        header.update({f"KEY{key}": (float(key), "a number of the capture") for key in range(EXTRA_KEYS)})
        if kind == "SIP":
            _add_sip(header)
        paths.append(_written(folder / f"{kind}{number}.fits", header, packed=kind == "gzip"))
    return paths


def _add_sip(header: fits.Header) -> None:
    header["CTYPE1"], header["CTYPE2"] = "RA---TAN-SIP", "DEC--TAN-SIP"
    header["A_ORDER"] = header["B_ORDER"] = 3
    for p in range(4):
        for q in range(4 - p):
            if p + q > 1:
                header[f"A_{p}_{q}"] = header[f"B_{q}_{p}"] = 1e-5 / 300 ** (p + q)


def _written(path: Path, header: fits.Header, *, packed: bool) -> Path:
    fits.PrimaryHDU(np.zeros((410, 620), np.uint16), header).writeto(path)
    if packed:
        path.write_bytes(gzip.compress(path.read_bytes(), compresslevel=1))
    return path


if __name__ == "__main__":
    for row in run():
        print(
            f"{row['name']:32} ours {row['ours_s'] * 1e6:7.1f} us, astropy {row['other_s'] * 1e6:8.1f} us, "
            f"{row['ratio']:6.1f} times"
        )
