"""Memory that has been freed stays with the process, up to some megabytes, for the arrays to come.

Long rows of steps on arrays of some hundred kilobytes go a tenth to a third quicker so: otherwise the C library gives
each array back to the system, and the next one is filled with zeros page by page.
"""

from __future__ import annotations

from functools import cache

import numpy as np

__all__ = ["keep_freed_memory"]

KEPT_BYTES = 16 * 2**20


@cache
def keep_freed_memory() -> None:
    """Free one large array, which is never touched: from then on as much is kept. The first call does all.

    Source: the GNU C library, mallopt(3), on M_MMAP_THRESHOLD: the threshold follows the largest block that has been
    freed, up to 32 MiB, and that of trimming is twice as large. Elsewhere this does nothing.
    """
    np.empty(KEPT_BYTES, dtype=np.uint8)
