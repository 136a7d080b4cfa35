"""How fast angles come to have the next bound, and whether what is left of the effort is likely to be enough."""

from __future__ import annotations

__all__ = ["Pace"]

PATIENCE = 45
"""So much at most may be spent without another interval that reaches the aim."""
SHARE = 8
"""Nor more than this part of the whole effort; where no interval has reached it yet, this part counts alone."""
PATIENT_SHARE = 4
"""The same where the pace does not count."""
WINDOW = 24
"""The pace is that of the last so much that was spent."""
RUN_UP = 36
"""So much is spent on an aim before the pace counts: wide intervals are halved first, which gains nothing."""
SLACK = 1.4
"""What is left may fall short of what the pace asks for by this factor."""


class Pace:
    """Open angles against effort, for one aim after the other.

    Parameters
    ----------
    most : int
        The whole effort.
    is_patient : bool
        Whether the pace does not count: the hardest angles come first, so it says little where they can be done.
    """

    def __init__(self, most: int, *, is_patient: bool = False) -> None:
        self.most, self.is_patient, self.aim = most, is_patient, 0
        self._steps: list[tuple[int, float]] = []

    def note(self, aim: int, spent: int, open_deg: float) -> None:
        """Note how wide, in degrees, the angles are that have not reached an aim once so much has been spent."""
        if aim != self.aim:
            self.aim, self._steps = aim, []
        if not self._steps or open_deg < self._steps[-1][1]:
            self._steps.append((spent, open_deg))

    def is_enough(self, spent: int) -> bool:
        """Whether what is left is likely to be enough for the aim, once so much has been spent."""
        (began, _), (last, open_deg) = self._steps[0], self._steps[-1]
        if self.is_patient:
            return spent - last <= self.most // PATIENT_SHARE
        patience = self.most // SHARE
        if spent - last > (patience if last == began else min(PATIENCE, patience)):
            return False
        if spent - began < RUN_UP:
            return True
        before = [wide for at, wide in self._steps if at <= spent - WINDOW]
        closed_deg = (before or [self._steps[0][1]])[-1] - open_deg
        return open_deg * WINDOW <= SLACK * closed_deg * (self.most - spent)
