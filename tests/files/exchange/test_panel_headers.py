import numpy as np
import pytest
from astropy.coordinates import SkyCoord
from astropy.io import fits
from astropy.wcs import WCS

from planner.files.exchange.panel_headers import panel_headers
from planner.geometry import vector_to_sky
from planner.mosaic.panel import Panel, panel_corners
from planner.rig.camera import Camera
from tests.handover.handover_plan import CAMERA, HARD_CENTERS, handover_plan, panels_at


def read_header(content):
    return fits.Header.fromstring(content.decode("ascii"), sep="\n")


def corners_by_astropy(header, low=(0.5, 0.5), high=None):
    """Corners SE, SW, NW, NE at position angle 0: east is left, row 1 is below."""
    columns, rows = high or (header["NAXIS1"] + 0.5, header["NAXIS2"] + 0.5)
    pixels = [(low[0], low[1]), (columns, low[1]), (columns, rows), (low[0], rows)]
    return SkyCoord(WCS(header).all_pix2world(pixels, 1), unit="deg")


def corners_of_plan(plan):
    return SkyCoord(*vector_to_sky(panel_corners(plan.mosaic.panels, plan.mosaic.field)), unit="deg")


def test_corners_by_astropy_are_those_of_the_plan():
    plan = handover_plan(panels_at(HARD_CENTERS))
    for (name, content), wanted in zip(panel_headers(plan), corners_of_plan(plan), strict=True):
        got = corners_by_astropy(read_header(content))
        # a ten-thousandth of an arc second: rounding of the numbers on the cards
        assert got.separation(wanted).arcsec.max() < 1e-4, name


def test_published_corners():
    # 36 x 24 mm at 500 mm, centre 100, +60, position angle 30: corners by the plain TAN formula
    camera = Camera(500.0, (3600, 2400), 10.0)
    plan = handover_plan([Panel("A1", 1, 1, 1, 100.0, 60.0, 30.0)], camera=camera)
    got = corners_by_astropy(read_header(dict(panel_headers(plan))["A1"]))
    wanted = [
        (102.058297, 57.762236),
        (95.088107, 59.748798),
        (97.645561, 62.201123),
        (104.959267, 60.066707),
    ]
    np.testing.assert_allclose(np.stack([got.ra.deg, got.dec.deg], axis=-1), wanted, atol=1.1e-6)


def test_usable_window_is_the_planned_field():
    camera = Camera(380.0, (6000, 4000), 3.9, binning=2, usable=(0.7501, 0.4997))
    plan = handover_plan([Panel("A1", 1, 1, 1, 10.0, 80.0, 77.0)], camera=camera)
    header = read_header(dict(panel_headers(plan))["A1"])
    assert [header[key] for key in ("USECOL1", "USECOL2", "USEROW1", "USEROW2")] == [376, 2625, 502, 1499]
    assert (header["NAXIS1"], header["NAXIS2"]) == (3000, 2000)
    got = corners_by_astropy(header, (375.5, 501.5), (2625.5, 1499.5))
    # the window is drawn inwards to whole pixels: less than one binned pixel of 4.2 arc seconds
    assert 0 < got.separation(corners_of_plan(plan)[0]).arcsec.max() < 4.2


def test_position_angle_scale_and_parity():
    # CD matrix of the identities: 2 arc seconds a pixel, up at 30 degrees, sky parity
    camera = Camera(206264.80624709636 * 1e-3 * 10 / 2, (100, 100), 10.0)
    plan = handover_plan([Panel("A1", 1, 1, 1, 100.0, 60.0, 30.0)], camera=camera)
    header = read_header(dict(panel_headers(plan))["A1"])
    cd = [[header["CD1_1"], header["CD1_2"]], [header["CD2_1"], header["CD2_2"]]]
    np.testing.assert_allclose(cd, [[-4.811252e-4, 2.777778e-4], [2.777778e-4, 4.811252e-4]], atol=1e-10)
    assert np.linalg.det(cd) == pytest.approx(-3.08642e-7, abs=1e-12)


def test_cards_are_those_that_astropy_would_write():
    plan = handover_plan([Panel("A1", 1, 1, 1, 128.0, -45.0, 20.0)], title="It's a 'shell'")
    content = dict(panel_headers(plan))["A1"]
    lines = content.decode("ascii").splitlines()
    assert all(len(line) == 80 for line in lines)
    header = read_header(content)
    assert header["OBJECT"] == "It's a 'shell' A1"
    assert header["LONPOLE"] == 180.0
    for card, line in zip(header.cards, lines, strict=False):
        card.verify("exception")
        again = fits.Card(card.keyword, card.value, card.comment)
        numbers = isinstance(card.value, float)
        assert numbers or str(again) == line
    assert "mosaic planner" in header["CREATOR"]


@pytest.mark.parametrize(
    ("title", "wanted"),
    [
        ("Ω nébuleuse", "? nebuleuse A1"),
        ("x" * 100, "x" * 66),
        ("'" * 80, "'" * 33),
        ("a" * 65 + "''", "a" * 65),
    ],
)
def test_titles_become_fits_strings(title, wanted):
    header = read_header(dict(panel_headers(handover_plan(title=title)))["A1"])
    assert header["OBJECT"] == wanted
    assert header["PANEL"] == "A1"


def test_names_and_order():
    plan = handover_plan()
    assert [name for name, _ in panel_headers(plan)] == ["A1", "B1"]
    assert CAMERA.binned_px == (6000, 4000)
