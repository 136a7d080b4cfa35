"""`import planner` as a process, beside `import numpy`: what a script pays before its first line."""

from __future__ import annotations

import statistics
import subprocess
import sys
import time
from typing import Any

RUNS = 9


def run() -> list[dict[str, Any]]:
    """Return the imports' median seconds, ours and numpy's, run in turn; the ratio is numpy's over ours."""
    statements = {
        "import planner": "import planner",
        "import planner; a request": (
            "import planner; planner.request(camera={'focal_length_mm': 380, 'sensor_px': (6000, 4000), "
            "'pixel_um': 3.9}, region={'center': (128.5, -45.8), 'radius_deg': 2.0})"
        ),
        "import planner, astropy.coordinates": "import planner, astropy.coordinates",
    }
    return [_row(name, statement) for name, statement in statements.items()]


def _row(name: str, statement: str) -> dict[str, Any]:
    pairs = [(_seconds(statement), _seconds("import numpy")) for _ in range(RUNS)]
    ours, other = (statistics.median(column) for column in zip(*pairs, strict=True))
    return {
        "name": f"{name}: {ours / other:.1f} times import numpy",
        "ours_s": ours,
        "other_s": other,
        "ratio": other / ours,
    }


def _seconds(statement: str) -> float:
    start = time.perf_counter()
    subprocess.run([sys.executable, "-c", statement], check=True)
    return time.perf_counter() - start
