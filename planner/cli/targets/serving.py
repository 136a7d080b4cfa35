"""Which camera angle serves most of a list, on screen and as a picture."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from planner.cli._show import print_fact, print_facts, print_line, say

if TYPE_CHECKING:
    from planner.answers.serving import AngleService
    from planner.answers.targets.served import Weighing
    from planner.answers.targets.target import TargetList

__all__ = ["Served", "print_served", "served_of"]

OWN_UNIT = "by your weights"


@dataclass(frozen=True, eq=False)
class Served:
    """What angles serve of a list, and what sums are called."""

    service: AngleService
    unit: str

    def png(self, found: TargetList, *, dark: bool) -> bytes:
        """Return the content of angles.png."""
        from planner.draw.pictures.served_angles import served_angles_png

        title = f"{found.setup.name}, {found.nights.first} to {found.nights.last}"
        return served_angles_png(self.service, title=title, unit=self.unit or "targets", dark=dark)


def served_of(found: TargetList, weigh: Weighing, weights: Path | None) -> Served:
    """Return what angles serve, each target weighed as asked.

    Raises
    ------
    InputError
        If the weights file cannot be read or names what the catalogue does not know, or the device's travel holds no
        division.
    """
    from planner.answers.targets.served import UNITS, angle_service

    if weights is None:
        return Served(angle_service(found, weigh), UNITS[weigh])
    from planner.files.weights_file import read_weights_file

    own = read_weights_file(weights, [one.names for one in found.nebulae])
    if own.others:
        say(f"{weights} also names {', '.join(own.others)}, not in this list: left out")
    return Served(angle_service(found, weights=own.weights), OWN_UNIT)


def print_served(found: TargetList, served: Served) -> None:
    """Print what angles serve, and the cautions that belong to a turn."""
    from planner.answers.serving import service_words
    from planner.rig.cautions import cautions_for

    if not served.service.fitting.count_fitting:
        return
    print_line()
    print_facts(service_words(served.service, unit=served.unit, evenings=found.nights.evenings))
    for caution in cautions_for(found.setup.angle_device, found.setup.mount):
        print_fact("Caution", caution)
