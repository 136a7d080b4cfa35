"""Something that keeps a state and is asked, in a second process beside what goes on here, or here.

A row of questions gets the same answers either way: they are asked in one order, and nothing that is answered hangs
on when. So a program's results do not depend on whether there is a second processor.
"""

from __future__ import annotations

import os
import select
import signal
from collections.abc import Callable, Generator
from typing import TYPE_CHECKING, Any, Generic, TypeVar

from .halves import forked, may_fork

if TYPE_CHECKING:
    from multiprocessing.connection import Connection

__all__ = ["Beside"]

S = TypeVar("S")
T = TypeVar("T")
A = TypeVar("A")
Question = Callable[..., Generator[T, None, A]]


class Beside(Generic[S, T, A]):
    """A thing that is made and asked beside what goes on here.

    Where no second process may be (see `halves.two_processes`), or where it ends too early, each question is answered
    here, when its answer is wanted.

    Parameters
    ----------
    make : callable
        Makes the thing.
    """

    def __init__(self, make: Callable[[], S]) -> None:
        self._make = make
        self._asked: list[tuple[Question[T, A], tuple[Any, ...]]] = []
        self._answered = 0
        self._thing: S | None = None
        self._line: _Line[T, A] | None = _Line(make) if may_fork() else None

    @property
    def is_apart(self) -> bool:
        """Whether a second process is at work."""
        return self._line is not None

    @property
    def is_asked(self) -> bool:
        """Whether there is a question whose answer nobody has begun to take."""
        return self._answered < len(self._asked)

    def ask(self, question: Question[T, A], *given: Any) -> None:
        """Ask something; questions wait for each other.

        Parameters
        ----------
        question : callable
            A function of a module; gets the thing and what is given, yields what is to be told, returns the answer.
        *given
            Values that can be pickled.
        """
        self._asked.append((question, given))
        if self._line is not None and not self._line.sent(question, given):
            self._end_line()

    def answer(self) -> Generator[T, None, A]:
        """Yield what is told on the way to the answer of the first question that has none yet; return the answer."""
        number, self._answered = self._answered, self._answered + 1
        if self._line is not None:
            try:
                return (yield from self._line.received())
            except (EOFError, OSError):
                self._end_line()
                self._answer_again(number)
        return (yield from self._answer_here(number))

    def close(self) -> None:
        """End the second process, whatever it does."""
        self._end_line()

    def _answer_here(self, number: int) -> Generator[T, None, A]:
        if self._thing is None:
            self._thing = self._make()
        question, given = self._asked[number]
        return (yield from question(self._thing, *given))

    def _answer_again(self, count: int) -> None:
        """Answer the first questions here, which brings the thing to where it was."""
        for number in range(count):
            for _ in self._answer_here(number):
                pass

    def _end_line(self) -> None:
        if self._line is not None:
            self._line.end()
        self._line = None


class _Line(Generic[T, A]):
    """The line to a second process that makes a thing and answers what it is asked."""

    def __init__(self, make: Callable[[], Any]) -> None:
        from multiprocessing import Pipe

        self._here, there = Pipe()
        self._process = forked(_serve, there, self._here, make)
        there.close()

    def sent(self, question: Question[T, A], given: tuple[Any, ...]) -> bool:
        """Whether a question could be sent."""
        try:
            self._here.send((question, given))
        except OSError:
            return False
        return True

    def received(self) -> Generator[T, None, A]:
        """Yield what is told, and return the answer."""
        is_answer, said = self._here.recv()
        while not is_answer:
            yield said
            is_answer, said = self._here.recv()
        answer: A = said
        return answer

    def end(self) -> None:
        self._process.kill()
        self._process.join()
        self._here.close()


def _serve(there: Connection, here: Connection, make: Callable[[], Any]) -> None:
    """Answer questions until nobody asks any more; a failure ends this, and is met again where it was asked."""
    try:
        signal.signal(signal.SIGINT, signal.SIG_IGN)  # who asks decides what becomes of Ctrl-C
        here.close()
        thing = make()
        while True:
            question, given = there.recv()
            there.send((True, _worked_out(there, question(thing, *given))))
    finally:
        os._exit(0)


def _worked_out(there: Connection, steps: Generator[Any, None, Any]) -> Any:
    """Return the answer; what is told on the way is left out where nobody takes it."""
    parent = os.getppid()
    while True:
        try:
            said = next(steps)
        except StopIteration as end:
            return end.value
        if os.getppid() != parent:
            raise SystemExit
        if select.select([], [there], [], 0)[1]:
            there.send((False, said))
