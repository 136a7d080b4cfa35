"""How long work takes, and the row that says so."""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Any

Row = dict[str, Any]


def seconds(work: Callable[[], object], repeats: int = 3) -> float:
    """Shortest time of a few runs, seconds."""
    times = []
    for _ in range(repeats):
        started = time.perf_counter()
        work()
        times.append(time.perf_counter() - started)
    return min(times)


def ratio_row(name: str, ours_s: float, other_s: float, note: str) -> Row:
    """Our time beside the other's."""
    return {"name": name, "ours_s": ours_s, "other_s": other_s, "ratio": other_s / ours_s, "note": note}
