"""What to put together: groups of catalogue nebulae that fit one frame with a named one."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from planner.errors import InputError, UnknownObjectError
from planner.geometry import steady
from planner.mosaic.fit import Opening, Placement, Shape, best_placement, evened
from planner.mosaic.fit.groups import Group, find_groups
from planner.mosaic.region import Region
from planner.progress import Progress
from planner.request.region import RegionRequest
from planner.rig.reachable_arcs import arcs_rad

from .find_region import find_region
from .fit import ARCMIN, allowed_arcs
from .margin_words import rounded_margin

if TYPE_CHECKING:
    from planner.catalogue.nebulae import Nebula
    from planner.mosaic.panel import Field
    from planner.request.request import Request

__all__ = ["AroundAnswer", "GroupAround", "Member", "fit_around"]

MOST_GROUPS = 20
SMALLEST_ARCMIN = 5.0
"""Nebulae smaller than this are left out: they decide no frame."""
NO_NEBULAE = ("star cluster", "galaxy", "complex")


@dataclass(frozen=True, eq=False)
class Member:
    """One nebula of a group.

    Parameters
    ----------
    name : str
    kind : str
    region : Region
        Its outline, or its ellipse from a catalogue.
    """

    name: str
    kind: str
    region: Region


@dataclass(frozen=True, eq=False)
class GroupAround:
    """Nebulae that fit one frame together, the named one first.

    Parameters
    ----------
    members : tuple of Member
    area_deg2 : float
        Sum of the areas that the others bring in.
    placement : Placement
        Of the frame, with the largest margin.
    """

    members: tuple[Member, ...]
    area_deg2: float
    placement: Placement

    @property
    def margin_arcmin(self) -> float:
        """The least margin on the four sides."""
        return self.placement.room * ARCMIN

    @property
    def worth(self) -> float:
        """By which groups are ranked: area times margin."""
        return self.area_deg2 * self.margin_arcmin


@dataclass(frozen=True, eq=False)
class AroundAnswer:
    """Groups about a named nebula for one setup's frame.

    Parameters
    ----------
    name : str
        As it was asked for.
    setup : str
    field : Field
    margin_alone_arcmin : float
        Of the named nebula by itself; below 0 where it does not fit.
    groups : tuple of GroupAround
        The most worthy first, at most twenty, no two alike.
    candidates : int
        Nebulae of which each fits together with the named one.
    looked_at : int
        Sets whose margin was bounded or found.
    complete : bool
        Whether no set that could be worth a place was left out: false where the search was ended early.
    """

    name: str
    setup: str
    field: Field
    margin_alone_arcmin: float
    groups: tuple[GroupAround, ...]
    candidates: int
    looked_at: int
    complete: bool

    @property
    def looked_at_words(self) -> str:
        """Say how much was looked at, and whether a better group may be left."""
        nebulae = "1 nebula that fits" if self.candidates == 1 else f"{self.candidates} nebulae that each fit"
        if not self.candidates:
            return "no nebula fits with it"
        return f"{nebulae} with it, in {self.looked_at:,} sets and places of the frame; " + (
            "no better group is possible"
            if self.complete
            else "the search was ended early: these are the best ones, further ones may follow"
        )


def fit_around(
    request: Request,
    name: str,
    setup: str,
    *,
    progress: Progress | None = None,
    partial: Callable[[GroupAround], None] | None = None,
) -> AroundAnswer:
    """Return the groups of nebulae most worthy that fit the request's frame together with a named object.

    Parameters
    ----------
    request : Request
        Whose camera and angle device count; its region does not.
    name : str
        Of an object or nebula.
    setup : str
        What to call the equipment.
    progress : callable, optional
        An interrupt from the keyboard ends the search with the groups found so far.
    partial : callable, optional
        Gets each group as it is found, the most worthy first.

    Raises
    ------
    InputError
        If nothing has that name, or it has no size.
    """
    try:
        region = find_region(RegionRequest(object=name)).region
    except UnknownObjectError as error:
        raise InputError(f"{error.what}; correct the name") from None
    field = request.camera.field
    opening, arcs = Opening.margins(field), arcs_rad(allowed_arcs(request))
    things = [Member(name, "", region), *_near(name, region, field)]
    alone = best_placement(Shape.around([region.outline_vectors]), opening, arcs)
    found: list[GroupAround] = []

    def take(group: Group) -> None:
        found.append(_placed(group, things, opening, arcs))
        if partial is not None:
            partial(found[-1])

    search = find_groups(
        [one.region.outline_vectors for one in things],
        [one.region.area_deg2 for one in things],
        opening,
        most=MOST_GROUPS,
        arcs=arcs,
        progress=progress and (lambda what, share: progress(_so_far(what, found), share)),
        partial=take,
    )
    return AroundAnswer(
        name=name,
        setup=setup,
        field=field,
        margin_alone_arcmin=alone.room * ARCMIN,
        groups=tuple(sorted(found, key=lambda one: -one.worth)),
        candidates=search.candidates,
        looked_at=search.looked_at,
        complete=search.complete,
    )


def _so_far(what: str, found: Sequence[GroupAround]) -> str:
    """Say what is done and which group is the best."""
    if not found:
        return what
    best = max(found, key=lambda one: one.worth)
    names = ", ".join(one.name for one in best.members[1:4]) + (" ..." if len(best.members) > 4 else "")
    return f"{what}; the best: {names}, margin {rounded_margin(best.margin_arcmin)}'"


def _placed(
    group: Group, things: Sequence[Member], opening: Opening, arcs: Sequence[tuple[float, float]] | None
) -> GroupAround:
    """Return a group with its members' names, placed over all angles allowed."""
    members = (things[0], *(things[k] for k in group.members))
    shape = Shape.around([one.region.outline_vectors for one in members])
    best = best_placement(shape, opening, arcs)
    return GroupAround(members, group.area, best if arcs else evened(shape, opening, best))


def _near(name: str, region: Region, field: Field) -> Iterator[Member]:
    """Yield the nebulae, but for the named one, that lie within a frame's diagonal of it."""
    from planner.catalogue.nebulae import all_nebulae, nebula_region

    nebulae, named = all_nebulae(), _indices(name)
    diagonal = 2 * steady.arctan(steady.hypot(field.half_width, field.half_height))
    for index in nebulae.within(region.basis[2], diagonal, smallest_arcmin=SMALLEST_ARCMIN):
        if index in named or nebulae.kind(index) in NO_NEBULAE:
            continue
        nebula: Nebula = nebulae[index]
        taken = nebula_region(nebula)
        if min(float(steady.dot(part, region.basis[2]).min()) for part in taken.parts) > steady.cos(1.0):
            yield Member(nebula.name, nebula.kind, Region.from_rings(taken.parts, taken.center_deg))


def _indices(name: str) -> frozenset[int]:
    """Return the indices of the nebulae that a name means."""
    from planner.catalogue.nebulae import Nebula, find_group, find_named

    group = find_group(name)
    found = find_named(name) if not group else None
    return frozenset(one.index for one in group) | (
        {found.index} if isinstance(found, Nebula) else frozenset()
    )
