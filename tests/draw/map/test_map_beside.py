"""Several layouts on one chart: told apart by dashes and frames, in either palette."""

import numpy as np
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from planner.answers.shared.shared_plan import make_shared_plan
from planner.draw.map.map_beside import BESIDE_DASHES, Beside, beside_handles
from planner.draw.map.sky_map import draw_map
from planner.draw.palette import DARK, LIGHT
from tests.answers.shared.shared_files import shared_request


@pytest.mark.parametrize("place", [(129.0, -45.0), (10.0, 88.0)])
def test_both_layouts_are_drawn_and_named(tmp_path, place):
    shared = make_shared_plan(shared_request(tmp_path, at=place))
    wide, fine = shared.instruments
    figure = Figure(figsize=(8, 6), dpi=80)
    FigureCanvasAgg(figure)
    axes = figure.add_axes((0.1, 0.1, 0.8, 0.8))
    draw_map(axes, shared.finest_shown, beside=Beside(fine.name, ((wide.name, wide.plan.mosaic),)))
    artists = {artist.get_gid(): artist for artist in axes.collections}
    own, others = artists["panel"], artists["panel beside"]
    assert len(own.get_paths()) == len(fine.panels)
    assert len(others.get_paths()) == len(wide.panels)
    assert own.get_linestyle() != others.get_linestyle()
    framed = [text for text in axes.texts if text.get_gid() == "panel name beside"]
    assert {text.get_text() for text in framed} <= set(wide.panels) and framed
    assert all(text.get_bbox_patch() is not None for text in framed)
    assert all(text.get_bbox_patch() is None for text in axes.texts if text.get_gid() == "panel name")


def test_a_third_and_a_fourth_layout_have_other_dashes(tmp_path):
    mosaic = make_shared_plan(shared_request(tmp_path)).instruments[0].plan.mosaic
    beside = Beside("One", tuple((name, mosaic) for name in ("Two", "Three", "Four")))
    for palette in (LIGHT, DARK):
        handles = beside_handles(beside, palette)
        assert [one.get_label() for one in handles] == [
            f"panel of {name} (framed name)" for name in ("Two", "Three", "Four")
        ]
        styles = {str(np.round(one._unscaled_dash_pattern[1], 3)) for one in handles}
        assert len(styles) == len(BESIDE_DASHES) == 3
