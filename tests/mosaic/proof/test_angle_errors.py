"""Plans made for an angle error hold under it, panel by panel or for all alike: brute force at every hard field."""

import numpy as np
import pytest

from planner.mosaic.build import build_mosaic
from planner.mosaic.panel import Field
from planner.mosaic.region import Region
from planner.mosaic.terms import Layout, Terms
from tests.hard_fields import HARD_FIELDS
from tests.mosaic import oracle

ERROR_DEG = 3.0
OVERLAP = 0.01
"""So little that it would not make up for the error."""


def planned(field, kind, error_deg, angles=1):
    terms = Terms(Field(field.width_deg, field.height_deg), overlap=OVERLAP, turn_deg=error_deg)
    radius = (0.75 if field.width_deg < 20 else 0.55) * field.height_deg
    region = Region.circle((field.ra_deg, field.dec_deg), radius)
    layout = Layout(kind, angles, angle_deg=field.position_angle_deg, effort="quick")
    return build_mosaic(region, terms, layout)


def errors_of(count):
    """Errors of every panel: common to all, at the ends for each on its own, and anything between."""
    rng = np.random.default_rng(17)
    common = [np.full(count, error) for error in np.linspace(-ERROR_DEG, ERROR_DEG, 7)]
    ends = [rng.choice([-ERROR_DEG, ERROR_DEG], count) for _ in range(30)]
    return [*common, *ends, *(rng.uniform(-ERROR_DEG, ERROR_DEG, count) for _ in range(10))]


def gaps(mosaic):
    """How many of the errors leave one of the sampled points without a panel."""
    points = oracle.spread_over(mosaic.region.outline_deg, 400, np.random.default_rng(5))
    half = (mosaic.field.half_width, mosaic.field.half_height)
    panels = [(p.ra_deg, p.dec_deg, p.position_angle_deg) for p in mosaic.panels]
    return sum(
        len(
            oracle.uncovered(
                points, [(ra, dec, a + off) for (ra, dec, a), off in zip(panels, errors, strict=True)], half
            )
        )
        > 0
        for errors in errors_of(len(panels))
    )


@pytest.mark.parametrize("field", HARD_FIELDS, ids=str)
@pytest.mark.parametrize("kind", ["free", "sliding", "grid"])
def test_no_error_within_what_was_said_opens_a_gap(field, kind):
    mosaic = planned(field, kind, ERROR_DEG)
    assert mosaic.shortfalls == () and len(mosaic.panels) > 1
    assert gaps(mosaic) == 0


@pytest.mark.parametrize("kind", ["free", "sliding", "grid"])
def test_panels_squared_with_the_picture_hold_too(kind):
    near_pole = next(field for field in HARD_FIELDS if field.name == "near_south_pole")
    mosaic = planned(near_pole, kind, ERROR_DEG, angles="per_panel")
    assert mosaic.shortfalls == () and gaps(mosaic) == 0


@pytest.mark.parametrize("kind", ["free", "sliding", "grid"])
def test_plans_made_for_no_error_would_not(kind):
    assert gaps(planned(HARD_FIELDS[0], kind, 0.0)) > 0
