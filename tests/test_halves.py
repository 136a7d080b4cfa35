"""Work in two halves: the same results, in their order, whatever happens to the second process."""

import os

import pytest

from planner.halves import in_halves, may_fork, two_processes


def squares(numbers, here):
    return [(number * number, os.getpid()) for number in numbers]


@pytest.mark.parametrize("count", [1, 2, 7])
def test_results_stand_in_the_order_of_the_items(count):
    with two_processes():
        found = in_halves(squares, range(count), least=2)
    assert [value for value, _ in found] == [number * number for number in range(count)]
    assert found[0][1] == os.getpid()


def test_nothing_is_shared_out_unless_a_program_says_so():
    assert {process for _, process in in_halves(squares, range(10), least=2)} == {os.getpid()}


def test_a_second_process_that_fails_is_made_good():
    def work(numbers, here):
        if not here:
            os._exit(3)
        return [number + 1 for number in numbers]

    with two_processes():
        assert in_halves(work, range(6), least=2) == [1, 2, 3, 4, 5, 6]


def test_what_is_wrong_with_an_item_is_told():
    def work(numbers, here):
        return [1 // number for number in numbers]

    with two_processes(), pytest.raises(ZeroDivisionError):
        in_halves(work, [1, 1, 1, 0], least=2)


def test_a_second_process_starts_no_third_one():
    with two_processes():
        if not may_fork():
            pytest.skip("there is one processor")
        assert (
            in_halves(lambda numbers, here: [may_fork()] * len(numbers), range(4), least=2)
            == [True] * 2 + [False] * 2
        )
