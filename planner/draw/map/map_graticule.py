"""The graticule on a map: lines below everything, names outside the rim."""

from __future__ import annotations

from matplotlib.collections import LineCollection

from .graticule import GraticuleLabel, graticule_labels, graticule_lines
from .map_view import FONT, MapView

__all__ = ["draw_graticule"]


def draw_graticule(view: MapView, *, label_pt: float = 7.5) -> None:
    """Lines of right ascension and declination, named outside the rim."""
    lines = graticule_lines(view.window)
    net = [line.xy for line in lines]
    view.axes.add_collection(
        LineCollection(net, colors=view.palette.grid, linewidths=0.55, zorder=1, gid="graticule"),
        autolim=False,
    )
    width, height = 5.2 * label_pt * view.unit, 1.6 * label_pt * view.unit
    blocked = [box.bounds for box in view.taken]
    labels = graticule_labels(lines, view.window, label_width=width, label_height=height, blocked=blocked)
    for label in labels:
        _write_graticule_label(view, label, label_pt)


def _write_graticule_label(view: MapView, label: GraticuleLabel, size: float) -> None:
    if label.side == "inside":
        color = view.palette.muted
        view.write(label.text, label.x, label.y, size=size, color=color, kind="graticule label", zorder=8.5)
        view.taken.append(view.box(label.x, label.y, 4 * size, 1.4 * size))
        return
    offset = {"left": (-5, 0), "right": (5, 0), "bottom": (0, -5), "top": (0, 5)}[label.side]
    view.axes.annotate(
        label.text,
        (label.x, label.y),
        offset,
        textcoords="offset points",
        ha={"left": "right", "right": "left"}.get(label.side, "center"),
        va={"bottom": "top", "top": "bottom"}.get(label.side, "center"),
        size=size,
        color=view.palette.muted,
        family=FONT,
        parse_math=False,
        annotation_clip=False,
        gid="graticule label",
    )
