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
    angles : int
        So many are tried at first, half as many where moves are costly, and fewer in large regions.
    fronts : int
        From so many sides panels are laid at each angle before they are moved.
    widenings : int
        Tries to make the guaranteed overlap larger at an equal count.
    most_cores : int
        Regions of more panel cores than this are left as they are.
    fine_parts : int
        Points along each side of a panel's core that bounds may take in.
    closely : bool
        Whether bounds look between the edges of panels too.
    first_share : float, optional
        Of the linear programs, the share that may be spent before the first round of moves; left out, all rounds
        get like shares.
    """

    steps: int
    relaxations: int
    programs: int
    tries: tuple[int, ...]
    angles: int
    fronts: int
    widenings: int
    most_cores: int
    fine_parts: int = 9
    closely: bool = False
    first_share: float | None = None

    def relaxations_until(self, stage: int) -> int:
        """What may be spent on the bound up to a stage: 0 before the first round of moves, one more after each.

        Shares grow evenly, or by a constant factor where the first one is given.
        """
        stages = len(self.tries)
        if self.first_share is None:
            return self.relaxations * (stage + 1) // (stages + 1)
        return int(self.relaxations * self.first_share ** (1 - stage / stages))


EFFORTS = {
    "quick": Effort(
        steps=1000, relaxations=30, programs=0, tries=(150,), angles=4, fronts=5, widenings=0, most_cores=60
    ),
    "usual": Effort(
        steps=3000,
        relaxations=240,
        programs=0,
        tries=(100, 160, 160),
        angles=10,
        fronts=5,
        widenings=4,
        most_cores=400,
    ),
    "thorough": Effort(
        steps=100_000,
        relaxations=5000,
        programs=40,
        tries=(160, 600, 2000, 6000),
        angles=60,
        fronts=5,
        widenings=12,
        most_cores=1500,
        fine_parts=12,
        closely=True,
        first_share=0.01,
    ),
}
"""By name; `usual` takes some seconds for 15 panels."""
