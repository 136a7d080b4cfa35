"""The page for the wall: each panel is filled as far as it is done, whatever part of the sky it stands in."""

import datetime as dt
import tempfile
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shapely

from planner.answers.progress import progress_of
from planner.draw.map.window import Window
from planner.draw.palette import LIGHT
from planner.draw.paper.panel_fill import level, mosaic_aspect
from planner.draw.paper.progress_sheet import MOST_MAPS, _page, progress_pdf, progress_png
from planner.geometry import footprint_vectors, sky_basis
from planner.mosaic.panel import Field, Panel
from planner.mosaic.region import Region
from planner.night.settings import Filter
from tests.answers.progress.scene import FILTERS, plan_at, reviewed
from tests.draw.paper.pdf_text import pdf_text
from tests.frames.small_plan import write_solved
from tests.hard_fields import HARD_FIELDS


@pytest.fixture(scope="module")
def standing(tmp_path_factory):
    """A1 is done through Ha, B2 half, B3 has more than is wanted; nothing through L."""
    folder, plan = tmp_path_factory.mktemp("frames"), plan_at()
    for name, count in (("A1", 4), ("B2", 2), ("B3", 6)):
        panel = next(one for one in plan.mosaic.panels if one.name == name)
        for number in range(count):
            write_solved(folder / f"{name}{number}.fits", panel)
    return progress_of(plan, reviewed(plan, folder), now=dt.date(2027, 1, 10))


def parts(page, number, kind):
    axes = page.figure.axes[number]
    return [one for one in axes.collections if one.get_gid() == kind]


def test_a_panel_is_filled_as_far_as_it_is_done(standing):
    page = _page(standing)
    assert len(page.figure.axes) == len(FILTERS)
    (empty,), (done,) = parts(page, 0, "panel empty"), parts(page, 0, "panel done")
    whole = [shapely.Polygon(path.vertices) for path in empty.get_paths()]
    filled = [shapely.Polygon(path.vertices) for path in done.get_paths()]
    assert len(whole) == 6 and len(filled) == 3
    for part, share in zip(filled, (1.0, 0.5, 1.0), strict=True):
        cell = max(whole, key=lambda one: one.intersection(part).area)
        assert cell.buffer(1e-9).contains(part)
        assert part.area / cell.area == pytest.approx(share, abs=0.01)
        assert part.bounds[1] == pytest.approx(cell.bounds[1], abs=1e-9)
    colours = [tuple(round(255 * one) for one in colour[:3]) for colour in done.get_facecolors()]
    green, blue = (tuple(bytes.fromhex(colour[1:])) for colour in (LIGHT.picture, LIGHT.panel))
    assert colours == [green, blue, green]
    assert not parts(page, 1, "panel done")[0].get_paths()
    assert "B3\n1.00/0.67 h" in [text.get_text() for text in page.figure.axes[0].texts]


@pytest.mark.parametrize("moved_deg", [0.0, 0.8])
def test_cells_of_neighbours_stay_apart(standing, moved_deg):
    """As in a grid; and where a panel stands far over its neighbour, the cells of both are smaller."""
    first, *others = standing.plan.mosaic.panels
    panels = (replace(first, ra_deg=first.ra_deg - moved_deg), *others)
    plan = replace(standing.plan, mosaic=replace(standing.plan.mosaic, panels=panels))
    (empty,) = parts(_page(replace(standing, plan=plan)), 0, "panel empty")
    whole = [shapely.Polygon(path.vertices) for path in empty.get_paths()]
    shared = sum(a.intersection(b).area for a in whole for b in whole if a is not b)
    assert shared < 0.01 * sum(one.area for one in whole)
    smaller = sum(one.area < 0.9 * max(cell.area for cell in whole) for one in whole)
    assert smaller >= 2 if moved_deg else smaller == 0


@pytest.mark.parametrize("field", HARD_FIELDS, ids=str)
def test_the_shape_of_what_is_shown_is_that_of_its_rim(field):
    """One panel at its own angle: as wide by high as its sides in the tangent plane."""
    sides = [np.tan(np.radians(side) / 2) for side in (field.width_deg, field.height_deg)]
    place = (field.ra_deg, field.dec_deg)
    panel = Panel("A1", 1, 1, 1, *place, field.position_angle_deg)
    region = Region.rectangle(place, field.width_deg / 2, field.height_deg / 2, field.position_angle_deg)
    plan = plan_at()
    picture = replace(
        plan.picture,
        center_deg=place,
        width_deg=field.width_deg / 2,
        height_deg=field.height_deg / 2,
        position_angle_deg=field.position_angle_deg,
    )
    mosaic = replace(
        plan.mosaic, panels=(panel,), field=Field(field.width_deg, field.height_deg), region=region
    )
    found = mosaic_aspect(replace(plan, mosaic=mosaic, picture=picture))
    assert found == pytest.approx(sides[0] / sides[1], rel=1e-6)


def test_a_wide_mosaic_of_one_filter_lies_a_high_one_stands():
    for angle_deg, lies in ((20.0, True), (110.0, False)):
        plan = plan_at(filters=FILTERS[:1])
        picture = replace(plan.picture, position_angle_deg=angle_deg)
        page = _page(_nothing(replace(plan, picture=picture)))
        assert (page.width > page.height) is lies
        assert page.figure.get_size_inches().tolist() == [page.width, page.height]


def _nothing(plan):
    """Where a plan stands without any frame."""
    with tempfile.TemporaryDirectory() as folder:
        return progress_of(plan, reviewed(plan, Path(folder)), now=dt.date(2027, 1, 10))


def test_words_stand_on_the_page(standing):
    text = pdf_text(progress_pdf(standing))
    for words in (
        "Shell",
        "Done before the evening of 2027-01-10: Ha 41 %, L 0 %",
        "1.67 of 4.00 hours, 41 %",
        "0.00 of 2.00 hours, 0 %",
        "Clear share",
        "ZAR to come",
    ):
        assert words in text, words


def test_the_same_standing_gives_the_same_bytes(standing):
    assert progress_png(standing) == progress_png(standing)
    assert progress_pdf(standing) == progress_pdf(standing)


def test_many_filters_fill_the_page_and_the_rest_is_counted(tmp_path):
    filters = tuple(Filter(f"F{number}", "narrow", 60.0, 1) for number in range(MOST_MAPS + 2))
    plan = plan_at(filters=filters, nights=None)
    page = _page(progress_of(plan, reviewed(plan, tmp_path), now=dt.date(2027, 1, 10)))
    assert len(page.figure.axes) == MOST_MAPS
    assert any(text.get_text() == "and 2 more filters" for text in page.figure.texts)
    boxes = [shapely.box(*axes.get_position().extents) for axes in page.figure.axes]
    assert not any(a.intersection(b).area for a in boxes for b in boxes if a is not b)


def test_without_filters_one_map_tells_which_panels_have_a_frame(tmp_path):
    plan = plan_at(filters=())
    write_solved(tmp_path / "a.fits", plan.mosaic.panels[2])
    page = _page(progress_of(plan, reviewed(plan, tmp_path), now=dt.date(2027, 1, 10)))
    assert len(page.figure.axes) == 1
    assert len(parts(page, 0, "panel done")[0].get_paths()) == 1


@pytest.mark.parametrize("share", [0.0, 0.3, 1.0])
@pytest.mark.parametrize("field", HARD_FIELDS, ids=str)
@pytest.mark.parametrize("angle_deg", [0.0, 70.0, 200.0])
def test_the_level_is_the_lowest_part_of_that_size(field, share, angle_deg):
    """Areas of a rectangle and of its part, in the plane of the window about its own centre."""
    wide, high = (np.tan(np.radians(side) / 2) for side in (field.width_deg, field.height_deg))
    cell = footprint_vectors(sky_basis(field.ra_deg, field.dec_deg, angle_deg), wide, high)
    window = Window.around(cell, center_deg=(field.ra_deg, field.dec_deg), aspect=1.0, smallest_deg=0.0)
    part, whole = shapely.Polygon(level(cell, window, share)), shapely.Polygon(window.project(cell))
    assert part.area == pytest.approx(share * whole.area, rel=1e-6, abs=1e-15)
    above = whole.difference(part)
    if 0.0 < share < 1.0:
        assert part.centroid.y < above.centroid.y
