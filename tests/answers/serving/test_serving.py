"""What angles serve, against brute force over every angle, pair and three that can be set."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.answers.serving import FittingAngles, changes_beside, serve_most
from planner.answers.serving.cells import cells_of
from planner.answers.serving.few_sets import _shared_weights, best_few, undominated
from planner.answers.serving.served_curve import curve_over
from planner.errors import InputError
from planner.rig.angle_device import AngleDevice

from .made_up import divisions, fits, most_of, some_fitting, table


def curve_of(fitting):
    return curve_over(cells_of(fitting), fitting)


DEVICES = {
    "adjuster": AngleDevice("adjuster", zero_deg=112.4, division_deg=7.5),
    "falling": AngleDevice("adjuster", zero_deg=30.0, sense=-1, division_deg=5.0),
    "short_travel": AngleDevice("adjuster", zero_deg=350.0, range_deg=(-20.0, 70.0), division_deg=2.5),
    "over_a_turn": AngleDevice("rotator", zero_deg=3.3, range_deg=(-90.0, 400.0), division_deg=11.0),
}


def test_curve_at_random_angles_and_ends():
    """Every target is looked at anew, at random angles and at exactly the ends of all stretches."""
    for seed, period in ((0, 180.0), (1, 180.0), (2, 90.0)):
        fitting = some_fitting(60, seed, period=period)
        curve = curve_of(fitting)
        angles = np.concatenate([np.random.default_rng(seed).uniform(0, period, 200), curve.angles_deg])
        wanted = table(fitting, angles) @ np.array(fitting.weights)
        assert np.allclose([curve.value(angle) for angle in angles], wanted, atol=1e-9)
        assert np.allclose([fitting.served_by([angle]) for angle in angles], wanted, atol=1e-9)


def test_steps_are_where_the_value_changes():
    fitting = some_fitting(40, 0)
    steps = curve_of(fitting).steps
    angles, values = zip(*steps, strict=True)
    assert list(angles) == sorted(angles) and 0 <= angles[0] and angles[-1] < 180
    assert all(one != other for one, other in zip(values, (*values[1:], values[0]), strict=True))
    for low, high, value in zip(angles, (*angles[1:], angles[0] + 180), values, strict=True):
        assert table(fitting, [(low + high) / 2]).sum() == value


def test_nothing_and_all():
    """Nothing fits, all fit always, no targets at all: one step, and still angles to set."""
    for stretches, wanted in (((), 0.0), (((0.0, 180.0),), 2.0), (((20.0, 200.0),), 2.0)):
        service = serve_most(FittingAngles(("A", "B"), (stretches, stretches), (1.0, 1.0)))
        assert service.curve.steps == ((0.0, wanted),)
        assert [row.served for row in service.best] == [wanted] * 3
        assert [len(set(row.angles_deg)) for row in service.best] == [1, 2, 3]
    assert [row.served for row in serve_most(FittingAngles((), (), ())).best] == [0.0] * 3


def test_ends_belong_to_their_stretch():
    """Two stretches that only touch, and the same over the end of the period, are served by one angle."""
    for end in (20.0, 180.0, 0.0):
        fitting = FittingAngles(("A", "B"), (((end - 10, end),), ((end, end + 10),)), (1.0, 1.0))
        best = serve_most(fitting).best[0]
        assert best.angles_deg == (end % 180,) and best.served == 2
        assert curve_of(fitting).value(end) == 2


def test_square_sensor_knows_half_the_angles():
    """Angles a quarter turn apart are the same: stretches written for half a turn fold."""
    fitting = FittingAngles(("A",), (((80.0, 95.0), (170.0, 185.0)),), (1.0,), 90.0)
    assert fitting.joined_deg == (((80.0, 95.0),),)
    assert curve_of(fitting).steps == ((5.0, 0.0), (80.0, 1.0))


@pytest.mark.parametrize("name", DEVICES)
@pytest.mark.parametrize(("seed", "period"), [(0, 180.0), (1, 180.0), (3, 90.0)])
def test_best_on_divisions_within_travel(name, seed, period):
    """One, two and three angles against every choice of divisions; readings show them."""
    device = DEVICES[name]
    fitting = some_fitting(40, seed, period=period)
    angles = divisions(device, period)
    held, weights = table(fitting, angles), np.array(fitting.weights)
    best = serve_most(fitting, device).best
    for size, row in enumerate(best, start=1):
        assert row.served == pytest.approx(most_of(held, weights, size), abs=1e-9)
        assert row.served == pytest.approx(
            weights[table(fitting, row.angles_deg).any(axis=0)].sum(), abs=1e-9
        )
        assert row.targets == table(fitting, row.angles_deg).any(axis=0).sum()
        assert all(np.abs(angles - angle).min() < 1e-7 for angle in row.angles_deg)
        for angle, reading in zip(row.angles_deg, row.readings_deg, strict=True):
            assert device.holds(reading)
            assert abs(reading / device.division_deg - round(reading / device.division_deg)) < 1e-7
            assert (device.position_angle_of(reading) - angle + 1e-7) % period < 2e-7


@pytest.mark.parametrize("seed", range(4))
def test_best_of_all_angles(seed):
    """Without a device: the best sets change only at ends, so ends and middles between them are all there is."""
    fitting = some_fitting(24, seed, whole=True)
    ends = np.unique([end % 180 for one in fitting.stretches_deg for pair in one for end in pair])
    angles = np.concatenate([ends, (ends + np.append(ends[1:], ends[0] + 180)) / 2 % 180])
    held, weights = table(fitting, angles), np.array(fitting.weights)
    for size, row in enumerate(serve_most(fitting).best, start=1):
        assert row.served == pytest.approx(most_of(held, weights, size), abs=1e-9)
        assert row.angles_deg == tuple(sorted(row.angles_deg))


def test_fine_steps_of_a_motor_are_all_looked_at():
    """A stretch a two-hundredth of a degree wide, hit by one step of a thousandth among 360,000."""
    device = AngleDevice("rotator", zero_deg=0.0, division_deg=0.003)
    fitting = FittingAngles(("A", "B"), (((10.0, 10.002),), ((10.0005, 10.1),)), (1.0, 1.0))
    best = serve_most(fitting, device).best[0]
    assert best.served == 2 and best.angles_deg == (pytest.approx(10.002, abs=1e-9),)


def test_the_middle_is_taken():
    """Of all angles that serve the same, that which a slip of the hand harms least."""
    fitting = FittingAngles(("A", "B"), (((10.0, 51.0),), ((20.0, 80.0),)), (1.0, 1.0))
    assert serve_most(fitting, AngleDevice("adjuster")).best[0].angles_deg in ((35.0,), (36.0,))


def test_least_travel_among_equal_readings():
    fitting = FittingAngles(("A",), (((9.0, 11.0),),), (1.0,))
    device = AngleDevice("adjuster")
    assert serve_most(fitting, device).best[0].readings_deg == (10.0,)
    assert serve_most(fitting, device, reading_deg=200.0).best[0].readings_deg == (190.0,)


def test_fixed_camera_has_one_row_and_a_present_angle():
    fitting = some_fitting(30, 0)
    service = serve_most(fitting, AngleDevice("fixed", zero_deg=215.0))
    assert service.now_deg == 35.0
    assert [(row.angles_deg, row.readings_deg) for row in service.best] == [((35.0,), (0.0,))]
    assert service.best[0].served == table(fitting, [35.0]).sum() == service.served_at(35.0)


def test_present_reading_says_the_present_angle():
    service = serve_most(some_fitting(5, 0), AngleDevice("adjuster", zero_deg=112.4), reading_deg=100.0)
    assert service.now_deg == pytest.approx(32.4)


def test_travel_without_a_division_is_refused():
    device = AngleDevice("adjuster", range_deg=(10.2, 10.8))
    with pytest.raises(InputError, match="must hold a division"):
        serve_most(some_fitting(5, 0), device)


def test_travel_with_two_divisions_gives_two_rows():
    device = AngleDevice("adjuster", range_deg=(10.0, 11.5))
    assert [row.angles_deg for row in serve_most(some_fitting(5, 0), device).best][1:] == [(10.0, 11.0)]


def test_weights_below_nothing_are_refused():
    with pytest.raises(InputError, match="the weight of A must be 0 or more, got -1"):
        FittingAngles(("A",), ((),), (-1.0,))


@given(
    st.lists(st.lists(st.booleans(), min_size=7, max_size=7), min_size=3, max_size=9),
    st.lists(st.integers(0, 5), min_size=7, max_size=7),
)
def test_few_sets(rows, weights):
    """One, two, three sets of few, with ties, empty sets and weights of nothing, against all choices."""
    sets, weights = np.array(rows, dtype=bool), np.array(weights, dtype=float)
    for size, chosen in enumerate(best_few(sets, weights, np.ones(len(sets))), start=1):
        assert len(set(chosen)) == size
        assert weights[sets[list(chosen)].any(axis=0)].sum() == most_of(sets, weights, size)


@given(
    st.lists(st.lists(st.booleans(), min_size=6, max_size=6), min_size=1, max_size=9),
    st.lists(st.floats(0, 5), min_size=6, max_size=6),
)
def test_what_sets_have_in_common(rows, weights):
    """Sums over rectangles against the product of matrices."""
    sets, weights = np.array(rows, dtype=bool), np.array(weights)
    assert np.allclose(_shared_weights(sets, weights), (sets * weights) @ sets.T, atol=1e-12)


@given(st.lists(st.lists(st.booleans(), min_size=5, max_size=5), min_size=1, max_size=9))
def test_undominated_sets(rows):
    sets = np.array(rows, dtype=bool)
    kept = undominated(sets, np.ones(len(sets)))
    for number, one in enumerate(sets):
        assert any(not (one & ~sets[other]).any() for other in kept)
        if number in kept:
            assert not any((one & ~sets[other]).sum() == 0 for other in kept if other != number)


@pytest.mark.parametrize("angle", [0.0, 45.5, 179.0])
def test_changes_are_what_a_turn_loses_and_wins(angle):
    """Turned until just before and just behind each change, a target fits or does not."""
    fitting = some_fitting(40, 0)
    changes = changes_beside(fitting, angle)
    assert [abs(one.past_deg) for one in changes] == sorted(abs(one.past_deg) for one in changes)
    for change in changes:
        stretches = fitting.stretches_deg[fitting.names.index(change.name)]
        before, behind = (angle + change.past_deg + np.sign(change.past_deg) * step for step in (-1e-6, 1e-6))
        assert fits(stretches, angle + change.past_deg, 180.0)
        assert fits(stretches, behind, 180.0) is not change.lost or stretches[0][0] == stretches[0][1]
        assert fits(stretches, before, 180.0) is change.lost
        assert fits(stretches, angle, 180.0) is change.lost
    told = {(one.name, one.past_deg > 0) for one in changes}
    assert len(told) == len(changes)
    for name, stretches in zip(fitting.names, fitting.stretches_deg, strict=True):
        for side in (True, False):
            steps = angle + np.arange(0.05, 90, 0.1) * (1 if side else -1)
            looks = {fits(stretches, step, 180.0) for step in steps} | {fits(stretches, angle, 180.0)}
            if len(looks) == 2:
                assert (name, side) in told


def test_changes_at_an_end():
    """At exactly the end of a stretch the next touch to one side loses it."""
    fitting = FittingAngles(("A",), (((10.0, 20.0),),), (1.0,))
    assert [(one.past_deg, one.lost) for one in changes_beside(fitting, 20.0)] == [(0.0, True), (-10.0, True)]
