"""How long searches go on, counted in steps: the same task ends in the same plan on any machine."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["EFFORTS", "Effort"]


@dataclass(frozen=True)
class Effort:
    """Budgets of a search.

    Parameters
    ----------
    steps : int
        Moves of panels in all, on flat ground; on curved ground a move counts as several.
    relaxations : int
        Linear programs for the bound, in programs of about 15 panels and few points each.
    programs : int
        Integer programs that may settle what the linear ones leave open.
    tries : tuple of int
        Moves that each angle gets, round by round; from round to round the worse half of the angles drop out.
    widenings : int
        Tries to make the guaranteed overlap larger at an equal count.
    most_cores : int
        Regions of more panel cores than this are left as they are.
    """

    steps: int
    relaxations: int
    programs: int
    tries: tuple[int, ...]
    widenings: int
    most_cores: int


EFFORTS = {
    "quick": Effort(steps=600, relaxations=30, programs=0, tries=(60,), widenings=0, most_cores=60),
    "usual": Effort(
        steps=3600, relaxations=160, programs=0, tries=(100, 300, 900), widenings=4, most_cores=150
    ),
    "thorough": Effort(
        steps=100_000,
        relaxations=3000,
        programs=600,
        tries=(300, 1000, 3000, 8000),
        widenings=12,
        most_cores=1500,
    ),
}
"""By name; `usual` takes about two seconds for 15 panels."""
