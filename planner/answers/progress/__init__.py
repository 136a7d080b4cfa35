"""Where a mosaic stands: what is done, what is left, until when.

`mosaic_progress` is the whole; `rows` holds what is done beside what is wanted, `so_far` what the evenings came to,
`ahead` the season that is left, `remaining` both by the one rule that `nights` shares, `tonight` what to shoot on the
coming evening and why.
"""

from .mosaic_progress import MosaicProgress, check_progress, progress_of
from .remaining import Remaining, remaining_nights
from .rows import PanelProgress
from .so_far import SoFar
from .tonight import TonightWork

__all__ = [
    "MosaicProgress",
    "PanelProgress",
    "Remaining",
    "SoFar",
    "TonightWork",
    "check_progress",
    "progress_of",
    "remaining_nights",
]
