"""How long work may go on, and how it tells what it does."""

from __future__ import annotations

from collections.abc import Callable
from typing import Literal, get_args

__all__ = ["EFFORTS", "Effort", "Progress", "silent"]

Progress = Callable[[str, float], None]
"""Called with what is being done and the share of it that is done, in [0, 1]."""
Effort = Literal["quick", "usual", "thorough"]
"""How long a search goes on, counted in steps: the same request gives the same answer anywhere."""
EFFORTS: tuple[Effort, ...] = get_args(Effort)


def silent(what: str, share: float) -> None:
    """Tell nothing: stands where nobody listens to progress."""
