"""To which side of its pier a telescope looks."""

from __future__ import annotations

from typing import Literal

__all__ = ["Looking"]

Looking = Literal["east", "west"]
"""The telescope of a German mount looks east before its flip at the upper transit, and west after it."""
