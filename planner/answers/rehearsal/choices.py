"""What a rehearsal may be asked for."""

from __future__ import annotations

from typing import Literal, get_args

__all__ = ["FAULTS", "FAULT_LEVELS", "LARGEST_SEED", "SOLUTIONS", "Fault", "FaultLevel", "Solutions"]

Fault = Literal["pointing", "turned", "drift", "clouds", "flip", "trailed", "missing", "stack", "filter"]
FAULTS: tuple[Fault, ...] = get_args(Fault)
"""What may go wrong with a frame."""
FaultLevel = Literal["none", "some", "many"]
FAULT_LEVELS: tuple[FaultLevel, ...] = get_args(FaultLevel)
"""How much goes wrong."""
Solutions = Literal["all", "half", "none"]
SOLUTIONS: tuple[Solutions, ...] = get_args(Solutions)
"""Which headers hold a plate solution: all, every second, none."""
LARGEST_SEED = 2**63 - 1
