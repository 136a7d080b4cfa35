"""Colours: contrast by WCAG 2.1, and distance as colour-blind people see it."""

import itertools

import numpy as np
import pytest

from planner.draw import DARK, LIGHT

# Machado, Oliveira & Fernandes 2009, IEEE Trans. Vis. Comput. Graph. 15, 1291, severity 1.0, on linear RGB
# (their table 1; the library colorspacious 1.1.2 ships the same; each row sums to 1, which keeps greys grey)
VISIONS = {
    "normal": np.eye(3),
    "protanopia": np.array(
        [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]]
    ),
    "deuteranopia": np.array(
        [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]]
    ),
    "tritanopia": np.array(
        [[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602], [0.004733, 0.691367, 0.303900]]
    ),
}
# IEC 61966-2-1 (sRGB) to XYZ, white D65
TO_XYZ = np.array(
    [[0.4124564, 0.3575761, 0.1804375], [0.2126729, 0.7151522, 0.0721750], [0.0193339, 0.1191920, 0.9503041]]
)
NEBULAE = ("emission", "reflection", "dark_nebula", "remnant")
DRAWN = ("ink", "panel", "region", "picture", "sky_object", "grid")


def linear(color):
    value = np.array([int(color[i : i + 2], 16) for i in (1, 3, 5)]) / 255
    return np.where(value <= 0.04045, value / 12.92, ((value + 0.055) / 1.055) ** 2.4)


def lab(rgb):
    """CIE 1976 L*a*b* of linear RGB."""
    xyz = TO_XYZ @ np.clip(rgb, 0, 1) / [0.95047, 1.0, 1.08883]
    f = np.where(xyz > (6 / 29) ** 3, np.cbrt(xyz), xyz * (29 / 6) ** 2 / 3 + 4 / 29)
    return np.array([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])


def contrast(one, other):
    """Contrast ratio of WCAG 2.1."""
    low, high = sorted(float(TO_XYZ[1] @ linear(color)) for color in (one, other))
    return (high + 0.05) / (low + 0.05)


@pytest.mark.parametrize("vision", VISIONS)
def test_the_simulations_keep_greys(vision):
    np.testing.assert_allclose(VISIONS[vision].sum(axis=1), 1.0, atol=2e-6)


@pytest.mark.parametrize("palette", [LIGHT, DARK], ids=["light", "dark"])
@pytest.mark.parametrize("vision", VISIONS)
def test_every_pair_of_colours_stays_apart(palette, vision):
    # a difference of 2.3 is just noticeable (common practice); lines on paper need many times that
    for one, other in itertools.combinations(DRAWN, 2):
        seen = [lab(VISIONS[vision] @ linear(getattr(palette, name))) for name in (one, other)]
        assert np.linalg.norm(seen[0] - seen[1]) > 15.0, (one, other)


@pytest.mark.parametrize("palette", [LIGHT, DARK], ids=["light", "dark"])
def test_contrast_on_paper(palette):
    # WCAG 2.1: 4.5 for text (1.4.3), 3 for graphics (1.4.11); the graticule is a quiet ground on purpose
    for name in ("ink", "muted", "panel_name", "sky_object", "warning", *NEBULAE):
        assert contrast(getattr(palette, name), palette.paper) >= 4.5, name
    for name in ("panel", "region", "picture"):
        assert contrast(getattr(palette, name), palette.paper) >= 3.0, name
    assert 1.4 < contrast(palette.grid, palette.paper) < 3.0
