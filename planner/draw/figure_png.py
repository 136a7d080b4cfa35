"""Figures as PNG."""

from __future__ import annotations

import io
import threading
from collections.abc import Callable

import matplotlib
from matplotlib.figure import Figure

__all__ = ["figure_png"]

ONE_AT_A_TIME = threading.RLock()
"""The settings belong to the whole process."""
METADATA = {"Software": "mosaic planner"}


def figure_png(draw: Callable[[], Figure]) -> bytes:
    """Draw a figure as PNG, with its own dots per inch and paper.

    The same drawing gives the same bytes, whatever the user's own settings are.

    Parameters
    ----------
    draw : callable
        Makes the figure; settings that it changes are put back.
    """
    with ONE_AT_A_TIME, matplotlib.rc_context():
        matplotlib.rcdefaults()
        stream = io.BytesIO()
        draw().savefig(stream, format="png", metadata=METADATA)
    return stream.getvalue()
