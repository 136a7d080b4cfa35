"""Where a mosaic stands: what is done, what is left, until when.

`mosaic_progress` is the whole; `rows` holds what is done beside what is wanted, `so_far` what the evenings came to,
`ahead` the season that is left, `tonight` what to shoot on the coming evening and why.
"""

from .mosaic_progress import MosaicProgress, check_progress, progress_of
from .rows import PanelProgress
from .so_far import SoFar
from .tonight import TonightWork

__all__ = ["PanelProgress", "SoFar", "MosaicProgress", "TonightWork", "check_progress", "progress_of"]
