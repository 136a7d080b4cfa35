"""What fits the frame together with a nebula, looked for behind the page; the edits and the picture of a group."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from planner.answers.fit_around import AroundAnswer, GroupAround, fit_around
from planner.geometry import sky_basis, vector_to_plane
from planner.progress import Progress
from planner.session.fitting import frame_edits
from planner.session.gestures import Edits, region_edits
from planner.session.making import Making

if TYPE_CHECKING:
    from planner.mosaic.panel import Field
    from planner.request.request import Request

__all__ = ["AroundDesk", "around_key", "group_edits", "group_svg"]

WIDTH_PX = 132
LEAST_STEP = 0.004
"""Of the frame's width: corners of outlines closer to each other than this are left out of a picture."""


class AroundDesk:
    """One search for groups: what it has found so far, and the whole answer when it is there.

    Parameters
    ----------
    request : Request
    name : str
        Of the nebula.
    """

    def __init__(self, request: Request, name: str) -> None:
        self.name, self.key = name, around_key(request)
        self.found: list[GroupAround] = []
        self.stopped = False
        self._making = Making(self.key, lambda report: self._search(request, report))

    def _search(self, request: Request, report: Progress) -> AroundAnswer:
        return fit_around(request, self.name, request.title, progress=report, partial=self.found.append)

    @property
    def waits(self) -> bool:
        """Whether more groups may come."""
        return self._making.is_alive()

    @property
    def progress(self) -> tuple[str, float]:
        """What is being done, and the share of it that is done."""
        return self._making.progress

    @property
    def answer(self) -> AroundAnswer:
        """The whole answer, waiting for it.

        Raises
        ------
        PlannerError
            If there is none, or it was given up.
        """
        answer: AroundAnswer = self._making.made
        return answer

    def rest(self) -> None:
        """Give the search up; what was found stays."""
        self.stopped = True
        self._making.give_up()


def around_key(request: Request) -> tuple[Any, ...]:
    """What groups depend on besides the nebula."""
    return request.camera, request.angle_device


def group_edits(group: GroupAround) -> Edits:
    """Return the edits that make a group's nebulae the parts of the region, and its frame the one panel."""
    return region_edits(objects=[one.name for one in group.members]) | frame_edits(group.placement)


def group_svg(group: GroupAround, field: Field) -> str:
    """Draw a group as the frame sees it: its up is up, the named nebula first, the others over it."""
    basis = sky_basis(*group.placement.center_deg, group.placement.position_angle_deg)
    scale = WIDTH_PX / (2 * 1.06 * field.half_width)
    height = round(2 * 1.06 * field.half_height * scale)
    drawn = []
    for number, member in enumerate(group.members):
        for ring in member.region.ring_vectors:
            points = _thinned([(float(x), float(y)) for x, y in vector_to_plane(ring, basis)], field)
            path = " ".join(f"{WIDTH_PX / 2 - x * scale:.1f},{height / 2 - y * scale:.1f}" for x, y in points)
            colour = "#c2410c" if number == 0 else "#0e7490"
            drawn.append(
                f'<polygon points="{path}" fill="{colour}" fill-opacity="0.3" stroke="{colour}" stroke-width="1"/>'
            )
    half = (field.half_width * scale, field.half_height * scale)
    frame = (
        f'<rect x="{WIDTH_PX / 2 - half[0]:.1f}" y="{height / 2 - half[1]:.1f}" width="{2 * half[0]:.1f}" '
        f'height="{2 * half[1]:.1f}" fill="none" stroke="#808080" stroke-width="1.5"/>'
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH_PX} {height}" width="{WIDTH_PX}" '
        f'height="{height}">{"".join(drawn)}{frame}</svg>'
    )


def _thinned(points: list[tuple[float, float]], field: Field) -> list[tuple[float, float]]:
    taken = points[:1]
    for point in points[1:]:
        if math.dist(point, taken[-1]) > LEAST_STEP * 2 * field.half_width:
            taken.append(point)
    return taken
