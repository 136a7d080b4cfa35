"""A rehearsal of a mosaic that several instruments share: each one's timetable played, all frames together."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from planner.answers.rehearsal.choices import LARGEST_SEED, FaultLevel, Solutions
from planner.answers.rehearsal.exposures import check_rehearsal
from planner.answers.rehearsal.rehearsal import MOST_BYTES, Rehearsal, make_rehearsal
from planner.errors import InputError
from planner.request.shared import SharedRequest

from .shared_nights import SharedNights
from .shared_plan import SharedPlan

__all__ = ["SharedRehearsal", "check_shared_rehearsal", "make_shared_rehearsal"]


@dataclass(frozen=True, eq=False)
class SharedRehearsal:
    """Rehearsals of all instruments; make it with `make_shared_rehearsal`.

    Parameters
    ----------
    shared : SharedPlan
    parts : tuple of Rehearsal
        Of each instrument, in their order.
    seed : int
        As asked for; each part has its own, made of it.
    """

    shared: SharedPlan
    parts: tuple[Rehearsal, ...]
    seed: int

    @property
    def title(self) -> str:
        """Of the plan."""
        return self.shared.title

    @property
    def named(self) -> Iterator[tuple[str, Rehearsal]]:
        """Names of the instruments with their rehearsals."""
        for one, part in zip(self.shared.instruments, self.parts, strict=True):
            yield one.name, part


def check_shared_rehearsal(request: SharedRequest) -> None:
    """Refuse instruments that have no timetable.

    Raises
    ------
    InputError
        In one sentence that names the instrument without filters.
    """
    for one in request.instruments:
        try:
            check_rehearsal(one.request)
        except InputError as error:
            raise InputError(f"{one.name}: {error}") from None


def make_shared_rehearsal(
    nights: SharedNights,
    *,
    evenings: int | None = None,
    faults: FaultLevel = "some",
    solutions: Solutions = "half",
    seed: int = 1,
) -> SharedRehearsal:
    """Make up the frames of every instrument's timetable.

    Parameters
    ----------
    nights : SharedNights
    evenings : int, optional
        The first evenings of each timetable that have entries; left out, all.
    faults, solutions, seed
        As for `make_rehearsal`.

    Raises
    ------
    InputError
        In one sentence that names the instrument, as for `make_rehearsal`.
    """
    parts, most_bytes = [], MOST_BYTES // len(nights.nights)
    for number, (one, own) in enumerate(nights.each):
        try:
            parts.append(
                make_rehearsal(
                    own,
                    evenings=evenings,
                    faults=faults,
                    solutions=solutions,
                    seed=(seed + number) % (LARGEST_SEED + 1) if number else seed,
                    most_bytes=most_bytes,
                )
            )
        except InputError as error:
            raise InputError(f"{one.name}: {error}") from None
    return SharedRehearsal(nights.shared, tuple(parts), seed)
