"""Charts: what is drawn, where it lies, and the page about it."""

import hashlib
import io
import itertools
import math
import subprocess
import sys
from dataclasses import replace
from functools import cache

import matplotlib
import numpy as np
import pytest
from astropy import units as u
from astropy.coordinates import SkyCoord
from astropy.wcs import WCS
from matplotlib.backends.backend_pdf import FigureCanvasPdf
from matplotlib.figure import Figure
from PIL import Image

from planner.catalogue import find_object
from planner.catalogue.constellation import constellation_of
from planner.catalogue.nebulae import all_nebulae, find_nebula
from planner.draw import DARK, LIGHT, chart_axes, chart_figure, chart_png
from planner.draw.map.map_nebulae import HATCHES
from planner.draw.map.wording import angle_text, panel_line
from planner.mosaic.panel import Panel
from tests.draw.chart_plans import HARD_FIELDS, grid_plan


@cache
def hard_plan(name):
    return grid_plan(*HARD_FIELDS[name])


@cache
def hard_figure(name):
    return chart_figure(hard_plan(name))


def map_axes(figure):
    return next(axes for axes in figure.axes if axes.get_label() == "map")


def drawn(axes, kind):
    return [artist for artist in axes.get_children() if artist.get_gid() == kind]


def outlines(axes, kind):
    """Corners of the polygons of one kind, without the repeated first corner."""
    return [path.vertices[:-1] for artist in drawn(axes, kind) for path in artist.get_paths()]


def to_plane(plan, coordinates):
    """Tangent plane by astropy's FITS projection: x to the left, radians at the centre."""
    wcs = WCS(naxis=2)
    wcs.wcs.ctype, wcs.wcs.crval = ["RA---TAN", "DEC--TAN"], plan.picture.center_deg
    wcs.wcs.cd, wcs.wcs.lonpole = np.degrees(np.eye(2)), 180.0
    return np.stack(wcs.wcs_world2pix(coordinates.ra.deg, coordinates.dec.deg, 1), axis=-1)


def corners_by_offsets(center, width_deg, height_deg, angle_deg):
    """Corners SE, SW, NW, NE by position angle and distance, without the product's geometry."""
    half_w, half_h = (math.tan(math.radians(size) / 2) for size in (width_deg, height_deg))
    left, up = np.array([1, -1, -1, 1]) * half_w, np.array([-1, -1, 1, 1]) * half_h
    distance = np.arctan(np.hypot(left, up)) * u.rad
    return SkyCoord(*center, unit="deg").directional_offset_by(
        (math.radians(angle_deg) + np.arctan2(left, up)) * u.rad, distance
    )


@pytest.mark.parametrize("name", HARD_FIELDS)
def test_panels_are_drawn_where_they_lie_on_the_sky(name):
    plan, axes = hard_plan(name), map_axes(hard_figure(name))
    parts = outlines(axes, "panel")
    assert len(parts) == len(plan.mosaic.panels) == len(outlines(axes, "panel fill"))
    field = plan.mosaic.field
    for part, panel in zip(parts, plan.mosaic.panels, strict=True):
        center = (panel.ra_deg, panel.dec_deg)
        sky = corners_by_offsets(center, field.width_deg, field.height_deg, panel.position_angle_deg)
        np.testing.assert_allclose(part, to_plane(plan, sky), atol=1e-8)


@pytest.mark.parametrize("name", HARD_FIELDS)
def test_region_and_picture_are_drawn_where_they_lie_on_the_sky(name):
    plan, axes = hard_plan(name), map_axes(hard_figure(name))
    (region,), (picture,) = outlines(axes, "region"), outlines(axes, "picture")
    outline = SkyCoord(plan.mosaic.region.outline_deg, unit="deg")
    np.testing.assert_allclose(region, to_plane(plan, outline), atol=1e-8)
    shown = plan.picture
    sky = corners_by_offsets(shown.center_deg, shown.width_deg, shown.height_deg, shown.position_angle_deg)
    np.testing.assert_allclose(picture, to_plane(plan, sky), atol=1e-8)


@pytest.mark.parametrize("name", HARD_FIELDS)
def test_every_panel_is_named_at_its_centre(name):
    plan, axes = hard_plan(name), map_axes(hard_figure(name))
    names = drawn(axes, "panel name")
    assert [text.get_text() for text in names] == [panel.name for panel in plan.mosaic.panels]
    centers = SkyCoord([(p.ra_deg, p.dec_deg) for p in plan.mosaic.panels], unit="deg")
    np.testing.assert_allclose([text.get_position() for text in names], to_plane(plan, centers), atol=1e-8)


@pytest.mark.parametrize("name", HARD_FIELDS)
def test_everything_that_counts_is_in_the_window_east_left_and_undistorted(name):
    axes = map_axes(hard_figure(name))
    (left, right), (bottom, top) = axes.get_xlim(), axes.get_ylim()
    assert left > right
    box = axes.get_window_extent()
    assert (left - right) / box.width == pytest.approx((top - bottom) / box.height)
    for part in (*outlines(axes, "panel"), *outlines(axes, "region"), *outlines(axes, "picture")):
        assert part[:, 0].max() < left
        assert part[:, 0].min() > right
        assert part[:, 1].max() < top
        assert part[:, 1].min() > bottom


@pytest.mark.parametrize("name", HARD_FIELDS)
def test_arrows_point_north_and_east_and_the_bar_has_its_length(name):
    axes = map_axes(hard_figure(name))
    (north,), (east,) = drawn(axes, "N arrow"), drawn(axes, "E arrow")
    north, east = (np.diff(np.array(arrow._posA_posB), axis=0)[0] for arrow in (north, east))
    assert abs(north[0]) < 1e-9 * north[1]
    assert abs(east[1]) < 1e-9 * east[0]
    (bar,), (label,) = drawn(axes, "scale bar"), drawn(axes, "scale")
    half = np.ptp(bar.get_xdata()) / 2
    text = label.get_text()
    arcsec = int(text[:-1]) * {"°": 3600, "′": 60, "″": 1}[text[-1]]
    assert 2 * math.degrees(math.atan(half)) * 3600 == pytest.approx(arcsec)


@pytest.mark.parametrize("name", HARD_FIELDS)
def test_names_cover_neither_each_other_nor_the_plate(name):
    figure = hard_figure(name)
    axes, renderer = map_axes(figure), figure.canvas.get_renderer()
    texts = [*drawn(axes, "panel name"), *drawn(axes, "object name")]
    boxes = [text.get_window_extent(renderer) for text in texts]
    boxes += [plate.get_window_extent(renderer) for plate in drawn(axes, "ornaments")]
    for one, other in itertools.combinations(boxes, 2):
        assert not one.padded(-2).overlaps(other.padded(-2))


def test_the_arrows_follow_a_chart_that_is_turned():
    figure = Figure(figsize=(6, 4), dpi=100)
    axes = figure.add_axes((0.1, 0.1, 0.8, 0.8))
    chart_axes(axes, hard_plan("right ascension 0"), up_deg=30.0)
    (north,) = drawn(axes, "N arrow")
    dx, dy = np.diff(np.array(north._posA_posB), axis=0)[0]
    # up is 30 degrees east of north, so north lies 30 degrees to the right of up (x grows to the left)
    assert math.degrees(math.atan2(-dx, dy)) == pytest.approx(30.0, abs=1e-6)


def test_stars_stand_in_their_places_the_brighter_the_larger():
    plan = grid_plan((247.0, -26.0), (6.0, 4.0), (3.2, 2.14), 0.0)
    (stars,) = drawn(map_axes(chart_figure(plan)), "stars")
    # Antares: 16 29 24.45970 -26 25 55.2094 (J2000, van Leeuwen 2007, A&A 474, 653), moving 0.026 arcsec a year
    antares = SkyCoord("16h29m24.4597s", "-26d25m55.209s")
    sizes, places = stars.get_sizes(), stars.get_offsets()
    largest = np.argmax(sizes)
    np.testing.assert_allclose(places[largest], to_plane(plan, antares), atol=math.radians(1 / 3600))
    assert np.all(np.diff(sizes) >= 0), "bright stars are drawn last, upon faint ones"
    assert 100 < len(sizes) < 1600


def test_objects_are_ellipses_of_the_catalogue_s_size_and_turn():
    plan = grid_plan((10.68, 41.27), (4.0, 3.0), (3.2, 2.14), 0.0)
    axes = map_axes(chart_figure(plan))
    andromeda = find_object("M 31")
    largest = max(outlines(axes, "object"), key=lambda rim: np.ptp(rim[:, 0]))
    middle = (largest.max(axis=0) + largest.min(axis=0)) / 2
    reach = np.linalg.norm(largest - middle, axis=1)
    assert np.degrees(np.arctan(reach.max())) * 120 == pytest.approx(andromeda.major_arcmin, rel=1e-3)
    assert np.degrees(np.arctan(reach.min())) * 120 == pytest.approx(andromeda.minor_arcmin, rel=1e-3)
    tip = largest[np.argmax(reach)] - middle
    assert math.degrees(math.atan2(*tip)) % 180 == pytest.approx(andromeda.position_angle_deg, abs=1.0)
    assert "M 31" in [text.get_text() for text in drawn(axes, "object name")]


def test_an_ellipse_of_unknown_turn_is_a_dotted_circle_and_the_legend_says_so():
    gecko = find_nebula("LBN 437")
    plan = grid_plan((gecko.ra_deg, gecko.dec_deg), (4.0, 3.0), (3.2, 2.14), 0.0)
    figure = chart_figure(plan)
    # LBN 437: 75 x 20 arc minutes (Lynds 1965)
    reaches = [
        np.linalg.norm(rim, axis=1)
        for rim in outlines(map_axes(figure), "object of unknown turn")
        if np.abs(rim.mean(axis=0)).max() < 1e-3
    ]
    assert any(np.allclose(reach, math.tan(math.radians(37.5 / 60)), rtol=1e-3) for reach in reaches)
    assert "entry, orientation unknown" in legend_texts(figure)


def test_outlines_are_drawn_at_their_depths_where_they_lie():
    nebula = find_nebula("NGC 7000")
    plan = grid_plan((314.8, 44.5), (4.0, 3.0), (3.2, 2.14), 0.0)
    figure = chart_figure(plan)
    axes = map_axes(figure)
    for level in nebula.levels:
        (ring,) = all_nebulae().outline(nebula.index, level)
        there = to_plane(plan, SkyCoord(ring.ring_deg, unit="deg"))
        drawn_rings = outlines(axes, f"nebula {level}")
        assert any(rim.shape == there.shape and np.allclose(rim, there, atol=1e-8) for rim in drawn_rings)
    assert "NGC 7000" in [text.get_text() for text in drawn(axes, "object name")]
    assert "emission nebula" in legend_texts(figure)
    assert any("outlines of nebulae: OpenNGC (CC BY-SA 4.0)" in text for text in page_texts(figure))


def test_kinds_of_nebulae_differ_in_texture_and_the_legend_names_those_that_are_drawn():
    figure = chart_figure(grid_plan((275.0, -17.0), (5.0, 4.0), (3.2, 2.14), 0.0))
    assert {"emission nebula", "dark nebula"} <= set(legend_texts(figure))
    assert len(set(HATCHES.values())) == len(HATCHES)


def test_the_heading_says_in_which_constellation_the_centre_lies():
    # Delporte 1930, Delimitation scientifique des constellations, as astropy has it (Roman 1987, PASP 99, 695)
    for place, name in [
        ((161.26, -59.87), "Carina"),
        ((83.82, -5.39), "Orion"),
        ((314.75, 44.33), "Cygnus"),
        ((0.0, 90.0), "Ursa Minor"),
        ((0.0, -90.0), "Octans"),
    ]:
        assert constellation_of(*place) == name == SkyCoord(*place, unit="deg").get_constellation()
    assert any("(ICRS), Carina" in text for text in page_texts(hard_figure("one panel")))


def legend_texts(figure):
    return [text.get_text() for legend in figure.legends for text in legend.get_texts()]


def test_the_legend_names_what_is_drawn_and_nothing_else():
    texts = legend_texts(hard_figure("one panel"))
    assert {"region to cover", "picture (the print)", "panel", "emission nebula"} <= set(texts)
    assert "overlap of panels" not in texts
    assert "largest gap" not in texts
    assert "overlap of panels" in legend_texts(hard_figure("tall"))


def page_texts(figure):
    return [text.get_text() for text in figure.texts]


def test_the_page_says_title_panels_overlap_angle_and_sources():
    figure = hard_figure("right ascension 0")
    title, panels, details, credits = (text for text in page_texts(figure) if text)
    assert title == "Grid"
    assert panels.startswith("9 panels · overlap 16.2 % (asked 15 %) · square with the picture")
    assert "centre 23ʰ59.6ᵐ +12°00′ (ICRS), Pegasus · panel 3.20° × 2.14°" in details
    assert "CC BY-SA 3.0 IGO" in credits
    assert "CC BY-SA 4.0" in credits


def test_a_gap_is_marked_and_said_in_words():
    plan = grid_plan(
        (100.0, 20.0),
        (6, 4),
        (3.2, 2.14),
        0,
        overlap_found=0.0,
        gap_area_deg2=0.4,
        gap_center_deg=(101.0, 20.5),
    )
    figure = chart_figure(plan)
    (cross,) = drawn(map_axes(figure), "gap")
    there = to_plane(plan, SkyCoord(101.0, 20.5, unit="deg"))
    np.testing.assert_allclose(np.ravel(cross.get_data()), there, atol=1e-8)
    assert any("a gap of 0.4 square degrees is left" in text for text in page_texts(figure))
    assert "largest gap" in legend_texts(figure)


@pytest.mark.parametrize("title", ["W" * 200, "x" * 200, "$\\frac{1}{2}$ 100 %", "\u661f\U0001f52d", "A"])
def test_any_title_fits_the_page_on_one_line(title):
    plan = hard_plan("tiny")
    figure = chart_figure(replace(plan, request=replace(plan.request, title=title)))
    text = figure.texts[0]
    box = text.get_window_extent(figure.canvas.get_renderer())
    assert box.x1 <= map_axes(figure).get_window_extent().x1 + 1
    assert text.get_text().startswith(title[:20]) or "□" in text.get_text()


def test_hundreds_of_panels_keep_their_names_and_thousands_leave_them_out():
    many = grid_plan((275.0, -20.0), (28.0, 24.0), (1.72, 1.6), 35.0)
    assert len(many.mosaic.panels) > 300
    figure = chart_figure(many)
    names = drawn(map_axes(figure), "panel name")
    assert len(names) == len(many.mosaic.panels)
    assert names[0].get_size() >= 4.0
    crowd = grid_plan((275.0, -20.0), (28.0, 24.0), (0.65, 0.6), 35.0)
    assert len(crowd.mosaic.panels) > 2400
    figure = chart_figure(crowd)
    assert not drawn(map_axes(figure), "panel name")
    assert "panel (names too small to print)" in legend_texts(figure)


def pixels(content):
    return np.asarray(Image.open(io.BytesIO(content)).convert("RGB"), dtype=int)


@pytest.mark.parametrize("dark", [False, True])
def test_overlaps_show_stronger_than_panels_and_panels_than_paper(dark):
    plan = grid_plan((100.0, 20.0), (6, 4), (3.2, 2.14), 0.0)
    figure = chart_figure(plan, dark=dark)
    axes, image = map_axes(figure), pixels(chart_png(plan, dark=dark))
    paper = np.array([int((DARK if dark else LIGHT).paper[i : i + 2], 16) for i in (1, 3, 5)])
    field = plan.mosaic.field

    def shade(xy):
        x, y = axes.transData.transform(xy)
        patch = image[image.shape[0] - int(y) - 12 : image.shape[0] - int(y) + 12, int(x) - 3 : int(x) + 3]
        return float(np.abs(np.median(patch.reshape(-1, 3), axis=0) - paper).sum())

    step = 2 * field.half_width * 0.85
    # three columns and three rows: the middle panel, and its seam with the one to the left
    up = 0.3 * field.half_height
    seam, panel = shade([step / 2, up]), shade([0.4 * field.half_width, up])
    outside = shade([axes.get_xlim()[0] * 0.97, axes.get_ylim()[1] * 0.9])
    assert len(plan.mosaic.panels) == 9
    assert seam > 1.5 * panel > 10
    assert outside == 0.0


def test_the_png_has_its_size_its_mark_and_the_same_bytes_each_time():
    plan = hard_plan("over the north pole")
    first = chart_png(plan)
    image = Image.open(io.BytesIO(first))
    assert sorted(image.size) == [1654, 2338]
    assert image.text == {"Software": "mosaic planner"}
    assert chart_png(plan) == first
    assert chart_png(plan, dark=True) != first
    code = (
        "import sys, hashlib; import planner.draw; assert 'matplotlib' not in sys.modules\n"
        "from tests.draw.chart_plans import HARD_FIELDS, grid_plan\n"
        "png = planner.draw.chart_png(grid_plan(*HARD_FIELDS['over the north pole']))\n"
        "assert 'matplotlib.pyplot' not in sys.modules\n"
        "print(hashlib.sha256(png).hexdigest())"
    )
    done = subprocess.run(
        [sys.executable, "-W", "error", "-c", code], capture_output=True, text=True, check=True
    )
    assert done.stdout.strip() == hashlib.sha256(first).hexdigest()


def test_settings_of_the_user_change_nothing_and_stay():
    plan = hard_plan("tiny")
    first = chart_png(plan)
    with matplotlib.rc_context(
        {"font.size": 30, "lines.linewidth": 9, "axes.linewidth": 5, "savefig.bbox": "tight"}
    ):
        assert chart_png(plan) == first
        assert matplotlib.rcParams["font.size"] == 30


def test_a_tall_field_turns_the_page_and_a_wide_one_does_not():
    tall, wide = hard_figure("tall"), hard_figure("wide")
    assert tall.get_figheight() > tall.get_figwidth()
    assert wide.get_figwidth() > wide.get_figheight()


def test_the_map_can_be_drawn_small_and_as_vectors():
    figure = Figure(figsize=(8.27, 11.69))
    FigureCanvasPdf(figure)
    axes = figure.add_axes((0.1, 0.6, 0.5, 0.3))
    facts = chart_axes(axes, hard_plan("wide"), dark=True)
    assert len(drawn(axes, "panel name")) == len(hard_plan("wide").mosaic.panels)
    assert len(drawn(axes, "stars")[0].get_sizes()) < 400
    assert facts.objects > 0
    stream = io.BytesIO()
    figure.savefig(stream, metadata={"CreationDate": None})
    assert stream.getvalue().startswith(b"%PDF")


def turned(angles, **changes):
    panels = tuple(Panel(f"A{i}", i + 1, 1, i + 1, 10.0 * i, 0.0, angle) for i, angle in enumerate(angles))
    return replace(hard_plan("wide").mosaic, panels=panels, **changes)


def test_position_angles_are_said_as_one_few_or_a_run():
    assert angle_text(turned([20.0, 20.01], axes=None)) == "position angle 20.0°"
    assert angle_text(turned([359.99, 0.02], axes=None)) == "position angle 0.0°"
    assert angle_text(turned([20, 35.5], axes=None)) == "position angles 20.0°, 35.5°"
    assert angle_text(turned([350, 355, 1, 5, 9], axes=None)) == "position angles 350.0° to 9.0°"
    assert angle_text(turned(range(0, 360, 40))) == "square with the picture: position angles all round"


def test_the_overlap_is_never_said_larger_than_it_was_found():
    mosaic = replace(hard_plan("wide").mosaic, overlap_found=0.14999)
    assert "overlap 14.9 % (asked 15 %)" in panel_line(mosaic)
    assert panel_line(hard_plan("one panel").mosaic) == "1 panel · position angle 10.0°"
