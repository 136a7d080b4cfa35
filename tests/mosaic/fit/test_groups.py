"""Groups that fit one field, against every set there is; fields that are moved into the middle."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest

from planner.geometry import plane_to_vector, sky_basis
from planner.mosaic.fit import Opening, Shape, best_placement, evened
from planner.mosaic.fit.groups import ALIKE, Group, find_groups
from planner.mosaic.panel import Field
from tests.hard_fields import HARD_FIELDS, HardField

from .sets import about, margins_at, opening_of

OPENING = Opening.margins(Field(3.2, 2.1))


def things_about(
    ra_deg: float, dec_deg: float, seed: int, count: int = 5
) -> tuple[list[np.ndarray], list[float]]:
    """Triangles strewn about a first one, and areas for them."""
    random = np.random.default_rng(seed)
    basis = sky_basis(ra_deg, dec_deg, 0.0)
    places = np.concatenate([[[0.0, 0.0]], random.uniform(-0.035, 0.035, (count, 2))])
    sizes = random.uniform(0.001, 0.006, count + 1)
    corners = np.array([[1, 0], [-0.5, 0.8], [-0.5, -0.8]])
    things = [
        plane_to_vector(place + size * corners, basis) for place, size in zip(places, sizes, strict=True)
    ]
    return things, (sizes**2).tolist()


def every_set(things: list[np.ndarray], areas: list[float]) -> dict[frozenset[int], float]:
    """Worth of every set that fits, and that no other thing could join at no cost."""
    others = range(1, len(things))
    rooms = {
        frozenset(members): best_placement(
            Shape.around([things[0], *(things[k] for k in members)]), OPENING
        ).room
        for size in range(len(things))
        for members in combinations(others, size)
    }
    return {
        members: room * sum(areas[k] for k in members)
        for members, room in rooms.items()
        if members
        and room >= 0
        and not any(rooms[members | {k}] >= room - 1e-7 for k in others if k not in members)
    }


@pytest.mark.parametrize(("ra_deg", "dec_deg", "seed"), [(0.1, 59.0, 1), (80.0, -5.0, 2), (200.0, 89.0, 3)])
def test_no_set_is_missed(ra_deg: float, dec_deg: float, seed: int) -> None:
    things, areas = things_about(ra_deg, dec_deg, seed)
    worth = every_set(things, areas)
    assert len(worth) > 2
    best = best_apart(worth, areas)
    found = find_groups(things, areas, OPENING, most=4)
    assert found.complete and found.looked_at > len(worth)
    assert [frozenset(group.members) for group in found.groups] == best[:4]
    for group in found.groups:
        assert group.worth == pytest.approx(worth[frozenset(group.members)], rel=1e-3)


def best_apart(worth: dict[frozenset[int], float], areas: list[float]) -> list[frozenset[int]]:
    """The most worthy sets, no two alike, by looking at all."""
    best: list[frozenset[int]] = []
    for one in sorted(worth, key=lambda one: -worth[one]):
        apart = (sum(areas[k] for k in one ^ other) for other in best)
        size = [max(sum(areas[k] for k in s) for s in (one, other)) for other in best]
        if all(a >= ALIKE * s for a, s in zip(apart, size, strict=True)):
            best.append(one)
    return best


@pytest.mark.parametrize("height", [0.0145, 0.012])
def test_things_that_cost_nothing_alone_but_do_together(height: float) -> None:
    """Beside a slim first thing each of two fits at no cost of margin, both at once do not: three groups."""
    basis = sky_basis(40.0, 30.0, 0.0)
    slim = np.array([[0.002, height], [-0.002, height], [-0.002, -height], [0.002, -height]])
    square = 0.003 * np.array([[1.0, 1.0], [-1.0, 1.0], [-1.0, -1.0], [1.0, -1.0]])
    things = [
        plane_to_vector(one, basis) for one in (slim, square + [0.022, 0.0], 0.9 * square - [0.022, 0.0])
    ]
    areas = [1.0, 36e-6, 29e-6]
    found = find_groups(things, areas, OPENING)
    worth = every_set(things, areas)
    assert {frozenset({1}), frozenset({2}), frozenset({1, 2})} == set(worth)
    assert [frozenset(group.members) for group in found.groups] == best_apart(worth, areas)


def test_an_interrupt_keeps_what_was_found() -> None:
    things, areas = things_about(80.0, -5.0, 2)
    whole = find_groups(things, areas, OPENING)
    got: list[tuple[int, ...]] = []

    def stop(group: Group) -> None:
        got.append(group.members)
        if len(got) == 2:
            raise KeyboardInterrupt

    found = find_groups(things, areas, OPENING, partial=stop)
    assert not found.complete and whole.complete
    assert found.groups == whole.groups[:2] and got == [one.members for one in found.groups]


def test_nothing_fits_with_what_is_too_large() -> None:
    things, areas = things_about(10.0, 10.0, 4)
    large = plane_to_vector([[0.04, 0.04], [-0.04, 0.04], [0.0, -0.04]], sky_basis(10.0, 10.0, 0.0))
    found = find_groups([large, *things[1:]], areas, OPENING)
    assert found.groups == () and found.candidates == 0


def test_only_allowed_angles() -> None:
    things, areas = things_about(80.0, -5.0, 2)
    found = find_groups(things, areas, OPENING, arcs=[(0.3, 0.2)])
    for group in found.groups:
        assert 0.3 - 1e-9 <= np.radians(group.placement.position_angle_deg) <= 0.5 + 1e-9


@pytest.mark.parametrize("field", HARD_FIELDS, ids=str)
def test_a_field_is_moved_into_the_middle(field: HardField) -> None:
    corners, opening = about(field, 9, size=0.5), opening_of(field)
    shape = Shape.around([corners])
    best = best_placement(shape, opening)
    even = evened(shape, opening, best, loss=1e-3 * opening.half[1])
    sides = margins_at(corners, opening, even.center_deg, even.position_angle_deg)
    assert even.rooms == pytest.approx(sides, abs=1e-9)
    assert min(sides) >= best.room - 1e-3 * opening.half[1] - 1e-12
    assert abs(sides[0] - sides[1]) <= abs(best.rooms[0] - best.rooms[1]) + 1e-3 * opening.half[1]
