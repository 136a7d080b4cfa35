"""Quick answers to whether panels serve a region, against the proof itself."""

import pytest

from planner.geometry import sky_basis, vector_to_sky
from planner.mosaic.demand import Demand
from planner.mosaic.layout.grid import grid_centers
from planner.mosaic.orientation import Orientation
from planner.mosaic.panel import Field
from planner.mosaic.proof.cover import Cover
from planner.mosaic.proof.shown import all_shown, deep_inside, lacks_deep
from planner.mosaic.region import Region
from tests.hard_fields import HARD_FIELDS

TURNS_DEG = (0.0, 2.0, 5.0, 9.0, 14.0, 25.0)
OVERLAP = 0.15


def grid(field, turn_deg):
    """A grid of 3 x 2 panels, each turned about its own centre, over a disc that it holds unturned."""
    system = Orientation.square_with(field.ra_deg, field.dec_deg, 0.0)
    core = Demand(Field(field.width_deg, field.height_deg).shape, box(field, 0.2)).core
    centers = system.centers(0.0, 0.0)[None] if field.width_deg > 20 else grid_centers(system, core, 3, 2)
    angles = system.position_angles_deg(centers) + turn_deg
    radius = 0.3 if field.width_deg > 20 else 0.85
    region = Region.circle((field.ra_deg, field.dec_deg), radius * field.height_deg)
    return Cover(region, sky_basis(*vector_to_sky(centers), angles))


def box(field, overlap):
    size = Field(field.width_deg, field.height_deg)
    return overlap * size.half_width, overlap * size.half_height


@pytest.mark.parametrize("field", HARD_FIELDS, ids=str)
def test_what_panels_show_is_what_the_proof_finds_without_a_box(field):
    shape = Field(field.width_deg, field.height_deg).shape
    covers = [grid(field, turn) for turn in TURNS_DEG]
    covers += [Cover(covers[0].region, covers[0].bases[1:])]
    shown = [all_shown(cover, shape) for cover in covers]
    assert shown == [not cover.gap(Demand(shape, (0.0, 0.0))) for cover in covers]
    assert shown[0] and not shown[-1]


@pytest.mark.parametrize("field", HARD_FIELDS, ids=str)
def test_what_lacks_deep_inside_is_a_gap(field):
    demand = Demand(Field(field.width_deg, field.height_deg).shape, box(field, OVERLAP))
    covers = [grid(field, turn) for turn in TURNS_DEG]
    deep = deep_inside(covers[0].region, demand.box)
    lacks = [lacks_deep(cover, demand, deep) for cover in covers]
    assert not lacks[0]
    assert all(cover.gap(demand) for cover, lack in zip(covers, lacks, strict=True) if lack)
    assert field.width_deg > 20 or lacks[-1]


def test_a_region_smaller_than_the_box_has_no_inside():
    region = Region.circle((10.0, 20.0), 0.1)
    assert deep_inside(region, (0.01, 0.01)).is_empty
