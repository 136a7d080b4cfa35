"""Speed of the review: headers against astropy, many files, the preview."""

from __future__ import annotations

import tempfile
import warnings
from pathlib import Path
from typing import Any

import numpy as np
from astropy.io import fits

from planner.answers.plan import Plan
from planner.frames.header.picture_wcs import PreviewGrid
from planner.frames.preview.preview import make_preview
from planner.frames.preview.preview_frame import preview_frame
from planner.frames.review.review import review_folder
from tests.frames.small_plan import small_plan, write_solved
from tests.frames.synthetic import Sky, frame_wcs

from .timing import seconds

HEADERS = 3000
MANY = 20_000
PREVIEW_FRAMES = 2
SENSOR = (6000, 4000)

USUAL_CARDS = {
    **{
        "CTYPE1": "RA---TAN-SIP",
        "CTYPE2": "DEC--TAN-SIP",
        "A_ORDER": 2,
        "B_ORDER": 2,
        "AP_ORDER": 2,
        "BP_ORDER": 2,
    },
    **{f"{name}_{powers}": 1e-7 for name in ("A", "B", "AP", "BP") for powers in ("0_2", "1_1", "2_0")},
    **{f"SENSOR{number}": (1.5 * number, "one of the things that cameras note") for number in range(40)},
}
"""A solution with distortion and as many other cards as headers of frames usually have (common practice)."""


def write_frames(folder: Path, plan: Plan, count: int) -> None:
    """Copies of one small solved frame for each panel, as many as wanted."""
    for number, panel in enumerate(plan.mosaic.panels):
        content = write_solved(folder / "one.fits", panel, **USUAL_CARDS).read_bytes()
        (folder / "one.fits").unlink()
        for copy in range(number, count, len(plan.mosaic.panels)):
            (folder / f"{copy:06d}.fits").write_bytes(content)


def review_headers() -> dict[str, Any]:
    """Headers read, judged and proven, against opening each and making its world coordinates."""
    from astropy.wcs import WCS

    plan = small_plan()
    with tempfile.TemporaryDirectory() as name:
        write_frames(Path(name), plan, HEADERS)

        def theirs() -> None:
            for path in sorted(Path(name).iterdir()):
                with fits.open(path) as parts:
                    WCS(parts[0].header).pixel_to_world(30.5, 20.5)

        review_folder(plan.request, plan.mosaic, Path(name))  # files into memory, libraries loaded
        ours_s = seconds(lambda: review_folder(plan.request, plan.mosaic, Path(name)), 1)
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            other_s = seconds(theirs, 1)
    note = "ours: also judged, counted, depth and coverage proven; other: astropy open, WCS, centre"
    return {
        "name": f"review of {HEADERS} frames",
        "ours_s": ours_s,
        "other_s": other_s,
        "ratio": other_s / ours_s,
        "note": note,
    }


def review_many() -> dict[str, Any]:
    """Files a second when there are many."""
    plan = small_plan()
    with tempfile.TemporaryDirectory() as name:
        write_frames(Path(name), plan, MANY)
        ours_s = seconds(lambda: review_folder(plan.request, plan.mosaic, Path(name)), 1)
    note = f"{100_000 / MANY * ours_s:.0f} s for 100,000 at this rate; wanted below 60 s"
    return {
        "name": f"review of {MANY} frames",
        "ours_s": ours_s,
        "other_s": None,
        "ratio": None,
        "note": note,
    }


def preview_quarter() -> dict[str, Any]:
    """Full-size frames at quarter scale, against reproject averaging full-size pixels, its own matching."""
    from reproject import reproject_adaptive
    from reproject.mosaicking import reproject_and_coadd

    from planner.frames.header.picture_wcs import wcs_of_cards

    random = np.random.default_rng(1)
    with tempfile.TemporaryDirectory() as name:
        frames = []
        for number in range(PREVIEW_FRAMES):
            sky = Sky(129.0 + number % 3 * 0.5, -45.0 + number // 3 * 1.5, 20.0, 1.8465, SENSOR)
            pixels = random.integers(500, 700, SENSOR[::-1], dtype=np.uint16)
            path = Path(name) / f"{number}.fits"
            fits.PrimaryHDU(pixels, frame_wcs(sky).to_header()).writeto(path)
            frames.append(preview_frame(path, "A1", "Ha", {}))
        grid = PreviewGrid((129.5, -44.3), 20.0, 4 * 1.8465, (2400, 2100))
        ours_s = seconds(lambda: make_preview(frames, grid), 1)
        inputs = [(str(frame.path), wcs_of_cards(frame.cards)) for frame in frames]
        other_s = seconds(
            lambda: reproject_and_coadd(
                [path for path, _ in inputs],
                wcs_of_cards(grid.cards()),
                shape_out=grid.size_px[::-1],
                reproject_function=reproject_adaptive,
                match_background=True,
            ),
            1,
        )
    note = f"{30 / PREVIEW_FRAMES * ours_s:.0f} s for 30 frames at this rate; wanted below 120 s"
    title = f"preview of {PREVIEW_FRAMES} frames of 26 megapixels"
    return {"name": title, "ours_s": ours_s, "other_s": other_s, "ratio": other_s / ours_s, "note": note}


def run() -> list[dict[str, Any]]:
    """Return one row for each comparison."""
    return [review_headers(), review_many(), preview_quarter()]


if __name__ == "__main__":
    for row in run():
        print(row)
