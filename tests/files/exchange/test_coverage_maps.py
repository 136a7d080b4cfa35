import io
import json

import numpy as np
import pytest
from astropy import units
from astropy.coordinates import SkyCoord
from astropy.io import fits
from mocpy import MOC

from planner.files.exchange.coverage_maps import coverage_of_mosaic, coverage_of_region, map_order
from planner.geometry import plane_to_vector, vector_to_sky
from planner.mosaic.panel import Field, panel_bases
from planner.mosaic.region import Region
from tests.handover.handover_plan import HARD_CENTERS, handover_plan, panels_at


def as_moc(coverage):
    return MOC.from_fits(io.BytesIO(coverage.fits)), MOC.from_json(json.loads(coverage.json))


def inside_and_outside(plan, reach):
    """Sky positions on a rectangle `reach` times as large as each panel."""
    field = plan.mosaic.field
    along = np.linspace(-1, 1, 21)
    rim = [(x, y) for x in along for y in along if max(abs(x), abs(y)) == 1]
    xy = np.array(rim) * reach * [field.half_width, field.half_height]
    ra_deg, dec_deg = vector_to_sky(plane_to_vector(xy, panel_bases(plan.mosaic.panels)[:, None]))
    return SkyCoord(ra_deg.ravel(), dec_deg.ravel(), unit="deg")


@pytest.mark.parametrize("center", HARD_CENTERS)
def test_panel_lies_inside_its_map_and_little_else(center):
    plan = handover_plan(panels_at([center], [33.0]))
    moc, same = as_moc(coverage_of_mosaic(plan.mosaic))
    assert moc == same
    inside, outside = inside_and_outside(plan, 0.9999), inside_and_outside(plan, 1.1)
    assert np.all(moc.contains_lonlat(inside.ra, inside.dec))
    # a tenth further out is more than one cell, a 32nd of the short side at most
    assert not np.any(moc.contains_lonlat(outside.ra, outside.dec))


def test_map_of_two_panels_has_the_area_of_their_union():
    plan = handover_plan(panels_at([(10.0, -30.0), (40.0, -30.0)], [0.0, 45.0]))
    moc, _ = as_moc(coverage_of_mosaic(plan.mosaic))
    area = moc.sky_fraction * 4 * np.pi * units.sr.to(units.deg**2)
    wanted = 2 * plan.mosaic.field.area_deg2
    assert wanted < area < 1.12 * wanted


def test_map_of_a_concave_region_over_a_pole():
    outline = ((0.0, 84.0), (90.0, 84.0), (180.0, 84.0), (225.0, 89.0), (270.0, 84.0))
    region = Region(outline)
    moc, same = as_moc(coverage_of_region(region, Field(3.2, 2.1)))
    assert moc == same
    area = moc.sky_fraction * 4 * np.pi * units.sr.to(units.deg**2)
    assert region.area_deg2 < area < 1.1 * region.area_deg2
    probes = SkyCoord([90.0, 225.0, 225.0], [86.0, 89.5, 87.5], unit="deg")
    assert moc.contains_lonlat(probes.ra, probes.dec).tolist() == [True, True, False]


def test_cells_are_a_32nd_of_the_short_side_or_less():
    # MOC 2.0 (2022-07-27), order table: cells of order 10 measure 3.435 arc minutes, of order 11 1.718
    assert map_order(Field(3.0, 32 * 3.4361 / 60)) == 10
    assert map_order(Field(3.0, 32 * 3.4340 / 60)) == 11


def test_files_are_marked_and_the_same_on_every_run():
    mosaic = handover_plan().mosaic
    first = coverage_of_mosaic(mosaic)
    assert first == coverage_of_mosaic(mosaic)
    header = fits.getheader(io.BytesIO(first.fits), 1)
    assert header["CREATOR"] == "mosaic planner"
    assert (header["MOCVERS"], header["COORDSYS"]) == ("2.0", "C")


@pytest.mark.parametrize("dec_deg", [-45.8, 89.0])
def test_map_of_a_region_of_parts_with_a_hole(dec_deg):
    ring = Region.from_rings(
        [Region.circle((120.0, dec_deg), radius_deg).outline_vectors for radius_deg in (2.0, 1.0)]
    )
    region = Region.from_parts([ring, Region.circle((128.0, dec_deg - 6.0), 0.5)])
    moc, _ = as_moc(coverage_of_region(region, Field(3.3, 2.2)))
    area_deg2 = moc.sky_fraction * 4 * np.pi * np.degrees(1) ** 2
    assert region.area_deg2 < area_deg2 < 1.1 * region.area_deg2
    basis = ring.basis
    away = np.tan(np.radians(np.array([0.0, 0.5, 0.85, 1.1, 1.5, 1.9, 2.2])))
    places = SkyCoord(*vector_to_sky(plane_to_vector(np.stack([away, 0 * away], axis=-1), basis)), unit="deg")
    inside = moc.contains_lonlat(places.ra, places.dec)
    assert inside.tolist() == [False, False, False, True, True, True, False]
