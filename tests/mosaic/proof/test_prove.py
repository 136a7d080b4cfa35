"""A plan that is only proven to give what was asked, against the same plan measured."""

import math
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from planner.mosaic.build import build_mosaic
from planner.mosaic.panel import Field, panel_bases
from planner.mosaic.proof.cover import find_gap
from planner.mosaic.proof.prove import prove
from planner.mosaic.region import Region
from planner.mosaic.terms import Layout, Terms
from tests.hard_fields import HARD_FIELDS

ERRORS = {"shift_arcmin": 1.2, "turn_deg": 0.2, "least_overlap_arcmin": 0.6}
"""Of panels 3.3 degrees wide; of others in proportion, so the shift and the least overlap."""


@cache
def laid_out(field):
    """Terms, and a grid of several panels that meets them."""
    size = field.width_deg / 3.3
    errors = {name: value * (1 if name == "turn_deg" else size) for name, value in ERRORS.items()}
    terms = Terms(Field(field.width_deg, field.height_deg), 0.1, **errors)
    center = (field.ra_deg, field.dec_deg)
    side = min(40.0, 2.4 * field.height_deg)
    region = Region.rectangle(center, side, side, field.position_angle_deg)
    layout = Layout("grid", angle_deg=field.position_angle_deg)
    return region, terms, build_mosaic(region, terms, layout)


def both(region, terms, panels):
    return [prove(region, terms, panels, measure=measure) for measure in (False, True)]


@pytest.mark.parametrize("field", HARD_FIELDS, ids=str)
def test_a_plan_that_is_only_proven_promises_what_was_asked_and_no_more_than_is_there(field):
    region, terms, mosaic = laid_out(field)
    proven, measured = both(region, terms, mosaic.panels)
    assert len(mosaic.panels) > 1 and not measured.shortfalls
    assert proven.overlap_found == terms.overlap_asked <= measured.overlap_found
    assert proven.overlap_after_errors_arcmin == terms.least_overlap_arcmin
    assert terms.least_overlap_arcmin <= measured.overlap_after_errors_arcmin
    assert not find_gap(region, panel_bases(proven.panels), terms.demands)
    found = {
        name: getattr(measured, name) for name in ("overlap_found", "overlap_after_errors_arcmin", "seams")
    }
    assert replace(proven, **found) == measured
    assert [one.corners.tolist() for one in proven.seams] == [one.corners.tolist() for one in measured.seams]


@pytest.mark.parametrize("field", HARD_FIELDS, ids=str)
def test_what_falls_short_is_measured_all_the_same(field):
    region, terms, mosaic = laid_out(field)
    shakier = replace(terms, least_overlap_arcmin=1.01 * mosaic.overlap_after_errors_arcmin)
    cases = {
        "a gap": (terms, mosaic.panels[len(mosaic.panels) // 2 :]),
        "the overlap found": (replace(terms, overlap=1.01 * mosaic.overlap_found), mosaic.panels),
        "remain after errors": (shakier, mosaic.panels),
    }
    for words, (asked, panels) in cases.items():
        proven, measured = both(region, asked, panels)
        assert words in measured.shortfalls[0]
        assert proven.shortfalls == measured.shortfalls
        assert proven.gap_center_deg == measured.gap_center_deg
        assert proven.overlap_found == measured.overlap_found
        assert proven.overlap_after_errors_arcmin == measured.overlap_after_errors_arcmin


def test_errors_that_open_a_gap_are_told():
    region, terms, mosaic = laid_out(HARD_FIELDS[0])
    proven, measured = both(
        region, replace(terms, shift_arcmin=30.0, least_overlap_arcmin=0.0), mosaic.panels
    )
    assert "can open gaps" in measured.shortfalls[-1] and proven.shortfalls == measured.shortfalls
    assert proven.gap_after_errors_deg2 == measured.gap_after_errors_deg2 > 0


def test_overlap_in_arc_minutes_without_errors():
    terms = Terms(Field(3.3, 2.2), overlap_arcmin=12.0)
    region = Region.rectangle((10.0, 20.0), 5.0, 4.0, 0.0)
    mosaic = build_mosaic(region, terms, Layout("sliding", angle_deg=0.0, measure=False))
    half = math.tan(math.radians(0.2) / 2) / math.tan(math.radians(2.2) / 2)
    assert mosaic.overlap_found == pytest.approx(half, rel=1e-12)
    assert mosaic.overlap_after_errors_arcmin is None and not mosaic.shortfalls
    assert np.isclose(mosaic.gap_area_deg2, 0.0, atol=0.0)
