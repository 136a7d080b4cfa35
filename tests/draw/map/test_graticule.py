"""The graticule against the FITS TAN projection of astropy, and its labels against the sky."""

import itertools
import math

import numpy as np
import pytest
from astropy.wcs import WCS

from planner.draw.map.graticule import graticule_labels, graticule_lines
from planner.draw.map.window import Window
from planner.geometry import plane_to_vector, sky_to_vector, vector_to_sky

# centre, height of the window in degrees, position angle of its up direction
WINDOWS = [
    ((130.0, -45.0), 12.0, 0.0),
    ((0.02, 20.0), 5.0, 0.0),
    ((359.99, -0.01), 0.2, 0.0),
    ((88.0, 10.0), 40.0, 0.0),
    ((10.0, 60.0), 40.0, 30.0),
    ((40.0, 89.2), 9.0, 0.0),
    ((77.0, 90.0), 14.0, 0.0),
    ((77.0, -90.0), 2.0, 200.0),
    ((200.0, -75.0), 24.0, 110.0),
    ((20.0, 88.0), 1.0, 0.0),
]


def window_of(center, height_deg, up_deg):
    half = math.tan(math.radians(height_deg) / 2)
    return Window(center, up_deg, 1.6 * half, -1.6 * half, -half, half)


@pytest.fixture(scope="module", params=WINDOWS, ids=lambda case: f"{case[0]} {case[1]}")
def window(request):
    return window_of(*request.param)


def tangent_wcs(window):
    """Projection of the same plane by the FITS standard: pixels of one radian, x to the left."""
    wcs = WCS(naxis=2)
    wcs.wcs.ctype = ["RA---TAN", "DEC--TAN"]
    wcs.wcs.crval = window.center_deg
    up = math.radians(window.position_angle_deg)
    wcs.wcs.cd = np.degrees([[math.cos(up), math.sin(up)], [-math.sin(up), math.cos(up)]])
    wcs.wcs.lonpole = 180.0
    return wcs


def on_the_sky(line):
    """Positions of a line's points, found from its value alone."""
    vary = np.linspace(-90, 90, len(line.xy)) if line.axis == "ra" else np.linspace(0, 360, len(line.xy))
    fixed = np.full(len(line.xy), line.value_deg)
    return (fixed, vary) if line.axis == "ra" else (vary, fixed)


def test_lines_lie_where_the_fits_projection_puts_them(window):
    wcs = tangent_wcs(window)
    for line in graticule_lines(window):
        seen = line.xy[window.holds(line.xy)]
        ra_deg, dec_deg = wcs.wcs_pix2world(seen, 1).T
        values = ra_deg if line.axis == "ra" else dec_deg
        scale = np.cos(np.radians(dec_deg)) if line.axis == "ra" else 1.0
        off_deg = ((values - line.value_deg + 180) % 360 - 180) * scale
        assert np.abs(off_deg).max(initial=0.0) * 3600 < 1e-5


def test_no_line_of_the_step_is_left_out(window):
    # every position in the window has a parallel within one step, and steps are even
    parallels = sorted(line.value_deg for line in graticule_lines(window) if line.axis == "dec")
    steps = np.diff(parallels)
    np.testing.assert_allclose(steps, steps[0])
    _, dec_deg = vector_to_sky(window.border_vectors())
    assert parallels[0] - dec_deg.min() < steps[0]
    assert dec_deg.max() - parallels[-1] < steps[0]


def test_a_useful_number_of_lines_crosses_the_window(window):
    seen = [line for line in graticule_lines(window) if window.holds(line.xy).any()]
    for axis in ("ra", "dec"):
        assert 2 <= sum(line.axis == axis for line in seen) <= 25


def test_labels_stand_on_the_rim_where_their_line_leaves_it(window):
    lines = graticule_lines(window)
    labels = graticule_labels(lines, window, label_width=window.width / 16, label_height=window.height / 30)
    values = {(line.axis, line.text): line.value_deg for line in lines}
    rims = {"left": window.left, "right": window.right, "bottom": window.bottom, "top": window.top}
    for label in labels:
        if label.side != "inside":
            at = label.x if label.side in ("left", "right") else label.y
            assert at == pytest.approx(rims[label.side], abs=1e-9)
        ra_deg, dec_deg = vector_to_sky(plane_to_vector([label.x, label.y], window.basis))
        off_deg = (ra_deg if label.axis == "ra" else dec_deg) - values[label.axis, label.text]
        if label.axis == "ra":
            off_deg = ((off_deg + 180) % 360 - 180) * math.cos(math.radians(dec_deg))
        # crossings are interpolated between the points of a line
        assert abs(math.radians(off_deg)) < window.width / 2000


def test_both_coordinates_are_named_and_no_label_covers_another(window):
    width, height = window.width / 16, window.height / 30
    labels = graticule_labels(graticule_lines(window), window, label_width=width, label_height=height)
    assert len({label.text for label in labels if label.axis == "ra"}) >= 2
    assert len({label.text for label in labels if label.axis == "dec"}) >= 1
    for one, other in itertools.combinations(labels, 2):
        if one.side == other.side and one.side in ("bottom", "top"):
            assert abs(one.x - other.x) >= width
        if one.side == other.side and one.side in ("left", "right"):
            assert abs(one.y - other.y) >= height


@pytest.mark.parametrize("height_deg", [0.9, 5.7, 8.0, 20.0])
@pytest.mark.parametrize("pole_deg", [90.0, -90.0])
def test_lines_thin_out_towards_the_pole_and_four_reach_it(pole_deg, height_deg):
    window = window_of((10.0, pole_deg), height_deg, 0.0)
    meridians = [line for line in graticule_lines(window) if line.axis == "ra"]
    ends = np.array([np.linalg.norm(line.xy, axis=-1).min() for line in meridians])
    at_pole = [line.text for line, end in zip(meridians, ends, strict=True) if end < 1e-9]
    assert at_pole == ["0ʰ", "6ʰ", "12ʰ", "18ʰ"]
    assert len(meridians) == 24
    # at the distance where a line ends, all that reach it keep apart
    for end in ends[ends > 1e-9]:
        count = np.count_nonzero(ends <= end * (1 + 1e-9))
        assert 2 * end * math.sin(math.pi / count) > 0.035 * window.width


def test_a_circle_that_never_meets_the_rim_is_named_inside_clear_of_blocked_places():
    window = window_of((10.0, 90.0), 20.0, 0.0)
    lines = graticule_lines(window)

    def inside(blocked=()):
        room = {"label_width": window.width / 16, "label_height": window.height / 30}
        labels = graticule_labels(lines, window, blocked=blocked, **room)
        return {label.text: label for label in labels if label.side == "inside"}

    first = inside()["+85°"]
    moved = inside([(first.x - 0.01, first.y - 0.01, first.x + 0.01, first.y + 0.01)])["+85°"]
    assert abs(moved.x - first.x) > 0.01 or abs(moved.y - first.y) > 0.01
    assert not inside([(-9, -9, 9, 9)])


def test_labels_across_right_ascension_zero_count_on_from_24_h():
    texts = [line.text for line in graticule_lines(window_of((0.02, 20.0), 5.0, 0.0)) if line.axis == "ra"]
    assert "0ʰ00ᵐ" in texts
    assert "23ʰ50ᵐ" in texts
    assert "24ʰ00ᵐ" not in texts


@pytest.mark.parametrize("aspect", [0.5, 1.7])
@pytest.mark.parametrize("center", [(0.0, 90.0), (359.9, 10.0), (20.0, -70.0)])
def test_a_window_shows_its_content_and_keeps_the_aspect(center, aspect):
    rng = np.random.default_rng(2)
    content = sky_to_vector(
        center[0] + rng.uniform(-4, 4, 20), np.clip(center[1] + rng.uniform(-3, 3, 20), -90, 90)
    )
    window = Window.around(content, center_deg=center, aspect=aspect)
    assert window.holds(window.project(content)).all()
    assert window.width / window.height == pytest.approx(aspect)
    wider = Window.around(content, center_deg=center, aspect=aspect, margin=0.2)
    assert wider.width > window.width


def test_a_tiny_field_gets_surroundings_but_stays_visible():
    for size_deg in (0.3, 0.01):
        content = sky_to_vector([10.0, 10.0], [0.0, size_deg])
        window = Window.around(content, center_deg=(10.0, 0.0), aspect=1.0)
        share = math.radians(size_deg) / window.height
        assert 0.24 < share < 0.5
    point = Window.around(sky_to_vector([10.0], [0.0]), center_deg=(10.0, 0.0), aspect=1.0)
    assert point.height > 0.0


def test_content_behind_the_plane_is_left_out():
    content = sky_to_vector([0.0, 1.0, 180.0, 100.0], 0.0)
    window = Window.around(content, center_deg=(0.0, 0.0), aspect=1.0)
    assert window.width < 0.1
