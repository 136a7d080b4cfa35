"""The heart: regions, layouts, searches and the proof of coverage. Knows no files, no clock, no screen."""

from .build import build_mosaic
from .demand import Demand
from .mosaic import Axes, Mosaic, Seam
from .orientation import Orientation
from .panel import Field, Panel
from .proof.cover import Cover, Gap, find_gap
from .proof.prove import prove
from .rectangle import Rectangle, smallest_rectangle
from .region import Region
from .terms import Layout, Terms

__all__ = [
    "Axes",
    "Cover",
    "Demand",
    "Field",
    "Gap",
    "Layout",
    "Mosaic",
    "Orientation",
    "Panel",
    "Rectangle",
    "Region",
    "Seam",
    "Terms",
    "build_mosaic",
    "find_gap",
    "prove",
    "smallest_rectangle",
]
