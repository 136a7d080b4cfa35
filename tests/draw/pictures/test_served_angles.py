"""The picture of what angles serve: steps, marks and bars stand where the answer has them."""

import numpy as np
from matplotlib.patches import Rectangle

from planner.answers.serving import FittingAngles, serve_most
from planner.draw.pictures.served_angles import served_angles_figure, served_angles_png
from planner.rig.angle_device import AngleDevice

FITTING = FittingAngles(
    ("A", "B", "$C_1"), (((10.0, 30.0),), ((25.0, 60.0),), ((170.0, 200.0),)), (1.0, 1.0, 2.0)
)
DEVICE = AngleDevice("adjuster", zero_deg=112.4)


def test_steps_marks_and_bars():
    service = serve_most(FITTING, DEVICE, now_deg=40.4)
    figure = served_angles_figure(service, title="What it serves")
    above, below = figure.axes
    lines = {line.get_label(): line for line in above.get_lines()}
    assert lines["now: 1 at reading 108"].get_xydata().tolist() == [[40.4, 1.0]]
    best = service.best[0]
    assert lines[f"best one: 3 at reading {best.readings_deg[0]:g}"].get_xdata().tolist() == list(
        best.angles_deg
    )
    steps = max(above.get_lines(), key=lambda line: len(line.get_xdata())).get_xydata()
    for angle in np.arange(0.5, 180.0):
        assert steps[np.searchsorted(steps[:, 0], angle, side="right") - 1, 1] == service.served_at(angle)
    bars = {
        (round(bar.get_x(), 6), round(bar.get_width(), 6))
        for bar in below.patches
        if isinstance(bar, Rectangle)
    }
    assert {(10.0, 20.0), (25.0, 35.0), (170.0, 30.0), (-10.0, 30.0)} <= bars
    assert [label.get_text() for label in below.get_yticklabels()] == ["B", "A", "$C_1"]


def test_same_bytes_and_other_looks():
    """Also where nothing fits, for a fixed camera and for a square sensor."""
    service = serve_most(FITTING)
    assert served_angles_png(service, title="A") == served_angles_png(service, title="A")
    empty = FittingAngles(("A",), ((),), (1.0,), 90.0)
    others = [served_angles_png(serve_most(empty, AngleDevice("fixed")), title="A", unit="hours", dark=True)]
    assert all(png.startswith(b"\x89PNG") for png in others)
