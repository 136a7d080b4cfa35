"""Speed of refusing frames that fit nowhere in a rich field, beside a search whose guesses are not bounded so."""

from __future__ import annotations

from typing import Any
from unittest import mock

import numpy as np

from planner.frames.solve import solve
from planner.frames.solve.star_detection import detect_stars
from planner.frames.solve.star_ground import StarGround
from planner.geometry import sky_to_vector
from planner.mosaic.panel import Field
from tests.frames.synthetic import Sky, frame_pixels

from .timing import seconds

WIDER_GUESSES = 6000


def refusal(columns: int, rows: int) -> dict[str, Any]:
    """A frame of one rich field against a plan over another."""
    centers = np.array(
        [sky_to_vector(270.0 + 2.3 * i, -25.0 + 1.6 * j) for i in range(columns) for j in range(rows)]
    )
    ground = StarGround.about(centers, Field(2.67, 2.0))
    stars = detect_stars(frame_pixels(Sky(305.0, 40.0, 33.0)))

    def refuse() -> None:
        if not isinstance(solve.solve_stars(stars, (800, 600), 12.0, ground), solve.Refusal):
            raise RuntimeError("the frame was not refused")

    refuse()  # triangles of the catalogue are made once a plan
    ours_s = seconds(refuse, 1)
    with mock.patch.object(solve, "GUESSES", WIDER_GUESSES):
        refuse()
        other_s = seconds(refuse, 1)
    return {
        "name": f"refusal of a frame, {columns * rows} panels in a rich field",
        "ours_s": ours_s,
        "other_s": other_s,
        "ratio": other_s / ours_s,
        "note": f"other: {WIDER_GUESSES} guesses an attempt instead of {solve.GUESSES}",
    }


def run() -> list[dict[str, Any]]:
    """Return one row for each size of plan."""
    return [refusal(2, 2), refusal(8, 5)]
