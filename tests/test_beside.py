"""What is asked beside: the same answers wherever they are worked out, and no process that stays behind."""

import contextlib
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from planner.beside import Beside
from planner.halves import two_processes

HERE = os.getpid()
ABANDONED = """
import os, signal, time
from planner.beside import Beside
from planner.halves import two_processes

def slow(numbers):
    while True:
        yield os.getpid()
        time.sleep(0.02)

with two_processes():
    beside = Beside(list)
    beside.ask(slow)
    print(next(beside.answer()) if beside.is_apart else 0, flush=True)
    os.kill(os.getpid(), signal.SIGKILL)
"""


@pytest.fixture(params=["here", "apart"])
def allowed(request):
    """Whether a second process may be: nothing else may differ."""
    if request.param == "apart" and len(os.sched_getaffinity(0)) < 2:
        pytest.skip("there is one processor")
    with two_processes() if request.param == "apart" else contextlib.nullcontext():
        yield request.param == "apart"


def appended(numbers, number):
    """Keep a number, tell how many there are, and answer with all and who did it."""
    numbers.append(number)
    yield len(numbers)
    return list(numbers), os.getpid()


def dies_apart(numbers, number):
    if os.getpid() != HERE:
        os._exit(3)
    yield from ()
    numbers.append(number)
    return list(numbers), os.getpid()


def fails(numbers):
    yield 1 // len(numbers)


def heard(beside):
    """What is told, and the answer."""
    told, steps = [], beside.answer()
    while True:
        try:
            told.append(next(steps))
        except StopIteration as end:
            return told, end.value


def test_questions_are_answered_in_their_order_by_one_thing(allowed):
    with contextlib.closing(Beside(lambda: [7])) as beside:
        beside.ask(appended, 8)
        beside.ask(appended, 9)
        assert beside.is_asked
        first, second = heard(beside), heard(beside)
        assert not beside.is_asked
    assert (first[0], first[1][0]) == ([2], [7, 8])
    assert (second[0], second[1][0]) == ([3], [7, 8, 9])
    assert all((pid != HERE) == allowed for _, (_, pid) in (first, second))


def test_a_second_process_that_ends_is_made_good(allowed):
    with contextlib.closing(Beside(list)) as beside:
        for question, number in ((appended, 1), (dies_apart, 2), (appended, 3)):
            beside.ask(question, number)
        answers = [heard(beside)[1] for _ in range(3)]
        beside.ask(appended, 4)
        answers.append(heard(beside)[1])
    assert [numbers for numbers, _ in answers] == [[1], [1, 2], [1, 2, 3], [1, 2, 3, 4]]
    assert [pid for _, pid in answers[1:]] == [HERE] * 3


def test_what_is_wrong_is_told_where_it_was_asked(allowed):
    with contextlib.closing(Beside(list)) as beside, pytest.raises(ZeroDivisionError):
        beside.ask(fails)
        heard(beside)


def test_nothing_is_made_here_before_an_answer_is_wanted():
    made = []
    with contextlib.closing(Beside(lambda: made.append(1))) as beside:
        beside.ask(appended, 1)
        assert not made and not beside.is_apart


def test_to_close_ends_the_second_process_in_the_middle_of_its_work():
    with two_processes(), contextlib.closing(Beside(list)) as beside:
        if not beside.is_apart:
            pytest.skip("there is one processor")
        beside.ask(endless)
        pid = next(beside.answer())
    assert is_gone(pid)


def test_a_second_process_does_not_outlive_a_killed_one():
    done = subprocess.run([sys.executable, "-c", ABANDONED], capture_output=True, text=True, check=False)
    pid = int(done.stdout)
    if pid == 0:
        pytest.skip("there is one processor")
    assert done.returncode == -signal.SIGKILL
    ends = time.monotonic() + 60
    while time.monotonic() < ends:
        if is_gone(pid):
            return
        time.sleep(0.01)
    os.kill(pid, signal.SIGKILL)
    pytest.fail("it went on")


def endless(_):
    yield os.getpid()
    time.sleep(60.0)


def is_gone(pid):
    """Whether a process has ended, though nobody may have asked how."""
    try:
        state = Path(f"/proc/{pid}/stat").read_text(encoding="utf-8").rpartition(")")[2].split()[0]
    except (FileNotFoundError, ProcessLookupError):
        return True
    return state in "ZX"
