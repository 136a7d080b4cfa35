"""What inputs are told: runs are broken off at any line, and clicks name inputs that the browser has let go."""

import pytest

from planner.screen.inputs import mirror as inputs

KEY = "panels:mosaic.overlap"


class State(dict):
    """A session's state that notes what was set by the page: only that reaches the browser."""

    told = None

    def __setitem__(self, key, value):
        super().__setitem__(key, value)
        if key == KEY:
            self.told = value


@pytest.fixture
def state(monkeypatch):
    found = State()
    monkeypatch.setattr(inputs.st, "session_state", found)
    return found


def run(state, *values, whole=True):
    """A run of the page with the input or without it; return what the browser was told."""
    state.told = None
    inputs.begin_inputs()
    for value in values:
        inputs.mirror(KEY, value)
    if whole:
        inputs.end_inputs()
    return state.told


def test_an_input_that_is_there_keeps_what_is_typed(state):
    assert run(state, 0.15) == 0.15
    dict.__setitem__(state, KEY, 0.25)  # the browser's own
    assert run(state, 0.15) is None
    assert run(state, 0.15, whole=False) is None
    assert state[KEY] == 0.25


def test_an_input_that_was_left_out_is_told_its_value_though_a_click_still_names_it(state):
    run(state, 0.15)
    run(state)
    assert KEY in state  # sent along with a click, made before the browser let it go
    assert run(state, 0.15) == 0.15


def test_what_was_typed_comes_back_with_its_input(state):
    run(state, 0.15)
    dict.__setitem__(state, KEY, 0.25)
    run(state, 0.15)
    run(state)
    assert run(state, 0.15) == 0.25


def test_a_run_without_the_input_that_was_broken_off_lets_nothing_go(state):
    run(state, 0.15)
    run(state, whole=False)
    assert run(state, 0.15) is None


def test_a_value_of_a_run_that_was_broken_off_before_its_input_was_made_is_told_again(state):
    run(state, 0.15)
    run(state, 0.25, whole=False)
    dict.__setitem__(state, KEY, 0.15)  # what the browser still has
    assert run(state, 0.25) == 0.25


def test_what_is_to_be_typed_again_waits_for_an_input_that_is_made(state):
    run(state, 0.15)
    inputs.type_again(KEY, 0.3)
    assert run(state, 0.15, whole=False) == 0.3
    assert run(state, 0.15) == 0.3
    assert run(state, 0.15) is None
