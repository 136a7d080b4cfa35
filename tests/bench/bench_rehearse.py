"""A rehearsal of 504 frames: ours against a plain loop with astropy (world coordinates, a stamp a star, writing)."""

from __future__ import annotations

import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

import numpy as np
from astropy.io import fits

from planner.answers.rehearsal.rehearsal import Rehearsal
from planner.catalogue.stars import stars_within
from planner.files.rehearsal.folder import write_rehearsal
from planner.geometry import vector_to_sky
from tests.answers.rehearsal.small_rehearsal import small_rehearsal
from tests.frames.synthetic import Sky, draw_stars, frame_wcs

EVENINGS, OTHERS = 21, 40
"""Evenings of 24 exposures; frames written by the plain loop, whose time is scaled to a frame."""
MEMORY = """
import resource, sys
from pathlib import Path
from tests.answers.rehearsal.small_rehearsal import small_rehearsal
from planner.files.rehearsal.folder import write_rehearsal
rehearsal = small_rehearsal(evenings={evenings}, faults="some")
before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
write_rehearsal(Path(sys.argv[1]), rehearsal)
print(before // 1024, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024)
"""


def run() -> list[dict[str, Any]]:
    """Return one row: seconds a frame for ours and the other, other / ours; memory and size."""
    rehearsal = small_rehearsal(evenings=EVENINGS, faults="some")
    with tempfile.TemporaryDirectory() as place:
        start = time.perf_counter()
        write_rehearsal(Path(place) / "ours", rehearsal)
        ours_s = (time.perf_counter() - start) / len(rehearsal.written)
        start = time.perf_counter()
        for number, frame in enumerate(rehearsal.written[:OTHERS]):
            _plain_frame(Path(place) / f"{number}.fits", rehearsal, frame.aim, number)
        other_s = (time.perf_counter() - start) / OTHERS
        memory = _memory(Path(place) / "apart")
    count, megabytes = len(rehearsal.written), rehearsal.frames_bytes / 1e6
    name = (
        f"{count} made-up frames of {rehearsal.size_px[0]} x {rehearsal.size_px[1]}: {ours_s * count:.1f} s"
    )
    note = f"{megabytes:.0f} MB on disk; process {memory[0]} MB before, {memory[1]} MB at most"
    return [{"name": name, "ours_s": ours_s, "other_s": other_s, "ratio": other_s / ours_s, "note": note}]


def _plain_frame(path: Path, rehearsal: Rehearsal, aim: Any, seed: int) -> None:
    """Draw and write one frame the plain way: the same stars, sky and noise."""
    random = np.random.default_rng(seed)
    size = rehearsal.size_px
    scale = rehearsal.plan.request.camera.scale_arcsec_px * rehearsal.binning
    sky = Sky(aim.ra_deg, aim.dec_deg, aim.position_angle_deg, scale_arcsec_px=scale, size_px=size)
    wcs = frame_wcs(sky)
    stars = stars_within(aim.basis[2], np.radians(scale / 3600.0) * float(np.hypot(*size)) / 2 * 1.05)
    xy = wcs.all_world2pix(np.column_stack(vector_to_sky(stars.vectors)), 0)
    pixels = 800.0 + random.normal(0.0, 12.0, size[::-1])
    draw_stars(pixels, xy, 10.0 ** (0.4 * (19.0 - stars.magnitude)), 2.5)
    header = wcs.to_header()
    header["MADEUP"] = (True, "made up")
    header["EXPTIME"], header["FILTER"], header["IMAGETYP"] = 600.0, "Ha", "Light Frame"
    fits.PrimaryHDU(np.clip(pixels, 0, 65535).astype(np.uint16), header).writeto(path)


def _memory(folder: Path) -> tuple[int, int]:
    """Megabytes that a process of its own has before it draws, and at most."""
    code = MEMORY.format(evenings=EVENINGS)
    found = subprocess.run(
        [sys.executable, "-c", code, str(folder)], capture_output=True, text=True, check=True
    ).stdout.split()
    return int(found[0]), int(found[1])
