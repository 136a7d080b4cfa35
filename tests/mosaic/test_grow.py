"""Growing: what stays stays, what is added serves the rest by brute force, and bounds hold for every way to add."""

from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.mosaic import Field, Layout, Region, Terms, build_mosaic
from planner.mosaic.grow import grow_mosaic
from planner.mosaic.naming import renamed
from planner.mosaic.panel import Panel, own_shapes, panel_bases
from planner.mosaic.proof.cover import Cover
from planner.mosaic.proof.left_open import left_open
from planner.mosaic.proof.prove import prove
from tests.hard_fields import HARD_FIELDS
from tests.mosaic import oracle

TERMS = Terms(Field(3.3, 2.2))
PLACE = (130.0, -30.0)


def rows(region, terms=TERMS, angle_deg=20.0):
    return build_mosaic(region, terms, Layout("sliding", angle_deg=angle_deg))


def grown(region, kept, terms=TERMS, angle_deg=20.0, **layout):
    return grow_mosaic(
        region, terms, Layout(angle_deg=angle_deg, effort="quick", **layout), kept, used_names=["Q7", "east"]
    )


def added(mosaic):
    return [panel for panel in mosaic.panels if not panel.kept]


def place(panel):
    return panel.name, panel.ra_deg, panel.dec_deg, panel.position_angle_deg, panel.field


@pytest.mark.parametrize("field", HARD_FIELDS, ids=str)
def test_every_second_panel_stays_and_the_rest_is_served_again(field):
    terms = Terms(Field(field.width_deg / 3, field.height_deg / 3))
    share = 0.55 if "pole" in field.name else 0.75
    size = share * field.width_deg, share * field.height_deg
    region = Region.rectangle((field.ra_deg, field.dec_deg), *size, field.position_angle_deg)
    before = rows(region, terms, field.position_angle_deg)
    kept, gone = before.panels[::2], before.panels[1::2]
    kind = "sliding" if "pole" in field.name else "free"  # there a move costs much more
    mosaic = grown(region, kept, terms, field.position_angle_deg, kind=kind)
    assert sorted(map(place, mosaic.panels[: len(kept)])) == sorted(map(place, kept))
    assert not mosaic.shortfalls and mosaic.overlap_found >= 0.15
    assert mosaic.panel_count_bound <= len(before.panels)  # those that went would do
    assert len(mosaic.panels) >= mosaic.panel_count_bound
    assert len(added(mosaic)) <= len(before.panels)
    names = [panel.name for panel in mosaic.panels]
    assert len(set(names)) == len(names) and not {one.name for one in added(mosaic)} & {
        *(one.name for one in kept)
    }
    assert sorted(panel.order for panel in mosaic.panels) == list(range(1, len(names) + 1))
    assert len(gone) > 1


@pytest.mark.parametrize(("center", "seed"), [(PLACE, 1), ((20.0, 84.0), 2), ((359.5, 60.0), 3)])
def test_brute_force_finds_nothing_unserved(center, seed):
    """Kept panels at angles and of sizes of their own, and the added ones: each point by some panel alone."""
    region = Region.rectangle(center, 6.0, 4.0, 20.0)
    inner = rows(Region.rectangle(center, 4.0, 2.5, 70.0), angle_deg=70.0).panels[:2]
    kept = [inner[0], replace(inner[1], field=Field(2.6, 2.9))]
    mosaic = grown(region, kept)
    assert not mosaic.shortfalls
    half = (TERMS.field.half_width, TERMS.field.half_height)
    box = (0.15 * half[0], 0.15 * half[1])
    points = oracle.spread_over(region.outline_deg, 900, np.random.default_rng(seed))
    for own in (False, True):
        panels = [
            (p.ra_deg, p.dec_deg, p.position_angle_deg) for p in mosaic.panels if (p.field is not None) == own
        ]
        size = half if not own else (kept[1].field.half_width, kept[1].field.half_height)
        points = oracle.unserved(points, panels, size, box, region.outline_deg)
    assert len(points) == 0
    assert added(mosaic) and all(panel.field is None for panel in added(mosaic))


def test_what_serves_all_gets_nothing_added():
    before = rows(Region.rectangle(PLACE, 6.0, 5.0, 20.0))
    inside = Region.rectangle(PLACE, 5.5, 4.5, 20.0)
    mosaic = grown(inside, before.panels)
    assert list(map(place, mosaic.panels)) == list(
        map(place, sorted(before.panels, key=lambda one: one.order))
    )
    assert mosaic.panel_count_bound == len(mosaic.panels) and not mosaic.shortfalls


def test_the_bound_of_rows_at_one_angle_holds_for_plans_with_two():
    arms = [
        shapely.LineString([(0.0, 0.0), (5.5 * x, 4.2)]).buffer(0.5, cap_style="flat") for x in (-0.64, 0.64)
    ]
    corners = np.array(shapely.union_all(arms).exterior.coords)[:-1] / [np.cos(np.radians(PLACE[1])), 1.0]
    region, terms = Region(tuple(map(tuple, corners + PLACE))), Terms(Field(3.3, 1.4))
    places = [
        (*PLACE, 0),
        (133.16, -26.78, 124),
        (131.51, -28.47, 124),
        (129.14, -28.86, 49),
        (127.19, -26.93, 49),
    ]
    five = [Panel(f"A{number}", number, 1, number, *one) for number, one in enumerate(places, start=1)]
    assert not prove(region, terms, five, angles=2).shortfalls
    mosaic = grown(region, five[:1], terms, None, kind="sliding", angles=2)
    assert mosaic.panel_count_bound <= 5 < len(mosaic.panels)


def test_errors_of_the_mount_ask_their_own_ground():
    terms = Terms(Field(3.3, 2.2), shift_arcmin=6.0, turn_deg=1.0, least_overlap_arcmin=5.0)
    region = Region.rectangle(PLACE, 7.0, 4.0, 20.0)
    before = rows(region, terms)
    mosaic = grown(region, before.panels[::2], terms)
    assert not mosaic.shortfalls and mosaic.overlap_after_errors_arcmin >= 5.0
    exact = replace(before.panels[0], field=terms.field)
    shifted = prove(region, terms, [before.panels[0]])
    taken = prove(region, terms, [exact])
    assert (
        taken.gap_after_errors_deg2 < shifted.gap_after_errors_deg2
    )  # frames that were taken are where they are
    assert taken.gap_after_errors_deg2 == taken.gap_area_deg2


@given(seed=st.integers(0, 10_000))
@settings(max_examples=3, deadline=None)
def test_no_bound_is_above_what_some_panels_manage(seed):
    """Take panels out of a plan: those taken out are one way to add, so no bound may be above their number."""
    random = np.random.default_rng(seed)
    center = (random.uniform(0, 360), np.degrees(np.arcsin(random.uniform(-1, 1))))
    region = Region.rectangle(center, *random.uniform(3, 6, 2), random.uniform(0, 180))
    before = rows(region, angle_deg=random.uniform(0, 180))
    stays = random.random(len(before.panels)) < 0.6
    kept = [panel for panel, stay in zip(before.panels, stays, strict=True) if stay] or [before.panels[0]]
    angle = before.panels[0].position_angle_deg if seed % 2 else None
    mosaic = grown(region, kept, angle_deg=angle)
    assert mosaic.panel_count_bound - len(kept) <= len(before.panels) - len(kept)
    assert not mosaic.shortfalls and mosaic.panel_count_bound <= len(mosaic.panels)


def test_where_two_are_the_least_no_single_panel_serves():
    """Two panels proven to be the least that can be added: no single one of many thousand serves what is open."""
    region = Region.rectangle(PLACE, 6.5, 1.6, 0.0)
    kept = build_mosaic(
        Region.rectangle(PLACE, 2.0, 1.6, 0.0), TERMS, Layout("sliding", angle_deg=0.0)
    ).panels
    mosaic = grown(region, kept, angle_deg=None)
    assert (len(kept), mosaic.panel_count_bound, len(mosaic.panels)) == (1, 3, 3)
    ground = left_open(Cover(region, panel_bases(kept), own_shapes(kept)), TERMS.demands)
    open_points = ground.part(TERMS.demands[0]).corner_vectors
    random = np.random.default_rng(5)
    for _ in range(1000):
        ra, dec = PLACE[0] + random.uniform(-5, 5), PLACE[1] + random.uniform(-2, 2)
        panel = (ra, dec, random.uniform(0, 180))
        half = (TERMS.field.half_width, TERMS.field.half_height)
        assert not oracle.in_panel(open_points, panel, half).all()
    assert len(open_points) > 4


def test_growing_never_takes_more_than_a_plan_of_the_whole():
    """Kept panels that stand badly: what is added is no more than everything anew."""
    region = Region.rectangle(PLACE, 6.0, 4.0, 20.0)
    kept = [replace(rows(region).panels[0], ra_deg=130.9, dec_deg=-30.4, position_angle_deg=63.0)]
    anew = build_mosaic(region, TERMS, Layout(angle_deg=20.0, effort="quick"))
    assert len(added(grown(region, kept))) <= len(anew.panels)


@pytest.mark.parametrize(
    "layout",
    [
        {"kind": "grid"},
        {"kind": "sliding"},
        {"angles": "per_panel"},
        {"angles": 2, "angle_range_deg": (0.0, 90.0)},
    ],
    ids=str,
)
def test_every_layout_grows(layout):
    region = Region.rectangle(PLACE, 6.0, 4.0, 20.0)
    kept = rows(region).panels[:2]
    angle = None if layout.get("angles") == 2 else 20.0
    mosaic = grown(region, kept, angle_deg=angle, **layout)
    assert not mosaic.shortfalls and len(mosaic.panels) >= mosaic.panel_count_bound
    assert (mosaic.axes is not None) == (layout.get("angles") == "per_panel")


def test_a_region_in_pieces_grows():
    parts = [Region.rectangle((ra, -30.0), 2.0, 1.5) for ra in (128.0, 133.0, 138.0)]
    region = Region.from_parts(parts)
    kept = rows(region, angle_deg=0.0).panels[:1]
    mosaic = grown(region, kept, angle_deg=0.0)
    assert not mosaic.shortfalls and len(mosaic.panels) == mosaic.panel_count_bound == 3


def test_names_go_on_after_the_last_row_that_was_named():
    mosaic = grown(Region.rectangle(PLACE, 6.0, 4.0, 20.0), rows(Region.rectangle(PLACE, 2.0, 1.5)).panels)
    assert {panel.name[0] for panel in added(mosaic)} <= set("RSTU")  # after Q7
    first = added(mosaic)[0]
    assert renamed([first], ["NGC7000"])[0].name == first.name  # not a row's name
    assert renamed([replace(first, row=1, column=1)], ["ZZ1", "AAA1"])[0].name == "AAB1"


def test_the_present_angle_is_kept_unless_another_takes_fewer():
    """A strip along the position angle 90: one row of panels lies square with it, or stands across in vain."""
    region = Region.rectangle(PLACE, 9.0, 2.0, 0.0)
    for present, fewer in ((0.0, False), (55.0, True)):
        kept = [replace(rows(region, angle_deg=0.0).panels[0], position_angle_deg=present)]
        layout = Layout(effort="quick")
        mosaic = grow_mosaic(region, TERMS, layout, kept, present_deg=present)
        pinned = grow_mosaic(region, TERMS, replace(layout, angle_deg=present), kept)
        (angle,) = {panel.position_angle_deg for panel in added(mosaic)}
        assert (angle != present) == fewer == (len(mosaic.panels) < len(pinned.panels))
        assert not mosaic.shortfalls
