"""Where a mosaic stands: what is done, what is left, until when.

`standing` is the whole; `rows` holds what is done beside what is wanted, `so_far` what the evenings came to, `ahead`
the season that is left, `tonight` what to shoot on the coming evening and why.
"""

from .rows import PanelProgress
from .so_far import SoFar
from .standing import Standing, check_progress, progress_of
from .tonight import TonightWork

__all__ = ["PanelProgress", "SoFar", "Standing", "TonightWork", "check_progress", "progress_of"]
