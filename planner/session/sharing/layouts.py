"""Several instruments on one mosaic in a session: whose part is shown, what stands beside it. Knows no screen."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Any, TypeVar

from planner.answers.shared.shared_plan import InstrumentPlan, SharedPlan, over_picture, part_of_whole
from planner.errors import PlannerError
from planner.files.plan_file.shared_settled import settled_shared_text
from planner.request.request import Request
from planner.request.shared import Instrument, SharedRequest
from planner.session.scene import panels_data

if TYPE_CHECKING:
    from planner.answers.plan import Draft, Plan
    from planner.request.picture import Picture

MOST_PICTURED = 8
"""Layouts that are at hand with the picture of all: whole ones, and what instruments take of them."""
Shown = TypeVar("Shown", bound="Draft")
__all__ = ["AllParts", "Beside", "Pictured", "own_plan", "parts_of_all", "requests_beside", "settled_text"]


def own_plan(plan: Plan, instrument: Instrument | None) -> Plan:
    """Return what an instrument takes of its whole layout, under its own title.

    Where one has the mosaic alone (None) the plan is as it is.

    Raises
    ------
    InputError
        If it takes a panel that the layout does not have.
    """
    if instrument is None:
        return plan
    part = part_of_whole(instrument, plan)
    return replace(part, request=replace(part.request, title=instrument.request.title))


class Pictured:
    """Layouts with the picture of the mosaic, which is the finest instrument's, made anew only for other ones."""

    def __init__(self) -> None:
        self._made: dict[int, tuple[Draft, Picture, Draft]] = {}

    def with_picture(
        self, shared: SharedRequest | None, plan: Shown, find: Callable[[Request], Draft]
    ) -> Shown:
        """Return an instrument's layout with the picture of all.

        Parameters
        ----------
        shared : SharedRequest or None
            None where one instrument has the mosaic alone.
        plan : Draft or Plan
            Of any of the instruments.
        find : callable
            Finds the plan of a request.
        """
        if shared is None:
            return plan
        try:
            picture = find(shared.finest.request).picture
        except PlannerError:
            return plan  # told where that instrument is chosen
        if picture == plan.picture:
            return plan
        made = self._made.pop(id(plan), None)
        if made is None or made[0] is not plan or made[1] != picture:
            made = plan, picture, replace(plan, picture=picture)
            known = vars(plan).get("full_picture")  # it hangs on the panels alone, and takes its time
            vars(made[2]).update({} if known is None else {"full_picture": known})
        self._made[id(plan)] = made
        while len(self._made) > MOST_PICTURED:
            self._made.pop(next(iter(self._made)))
        return made[2]  # type: ignore[return-value]


def requests_beside(
    shared: SharedRequest, shown: Instrument, picture: Picture
) -> Iterator[tuple[Instrument, Request]]:
    """Yield the other instruments with what is asked of them.

    Parameters
    ----------
    shared : SharedRequest
    shown : Instrument
        Whose layout is shown: the finest, where the picture is to be full.
    picture : Picture
        Its picture, which all others cover then.
    """
    for one in shared.instruments:
        if one is not shown:
            yield one, over_picture(one.request, picture)


class Beside:
    """Layouts that the sky shows beside that of the chosen instrument, made anew only for other plans."""

    def __init__(self) -> None:
        self._made: dict[str, tuple[Draft, dict[str, Any]]] = {}

    def data(
        self,
        shared: SharedRequest | None,
        shown: Instrument | None,
        plan: Draft,
        find: Callable[[Request], Draft],
    ) -> dict[str, Any]:
        """Return the layouts of the other instruments as the canvas takes them, and whose is shown.

        Parameters
        ----------
        shared, shown
            As for `requests_beside`; None where one instrument has the mosaic alone.
        plan : Draft
            Of the instrument that is shown.
        find : callable
            Finds the plan of a request.
        """
        if shared is None or shown is None:
            return {"shows": "", "left": [], "beside": []}
        rows = []
        for one, request in requests_beside(shared, shown, plan.picture):
            try:
                rows.append(self._row(one, find(request)))
            except PlannerError:
                continue  # told where that instrument is chosen
        return {"shows": shown.name, "left": [*_left(shown, plan)], "beside": rows}

    def _row(self, one: Instrument, plan: Draft) -> dict[str, Any]:
        made = self._made.get(one.name)
        if made is None or made[0] is not plan:
            data = {"name": one.name, "left": [*_left(one, plan)], **panels_data(plan)}
            made = self._made[one.name] = plan, data
        return made[1]


def _left(one: Instrument, plan: Draft) -> Iterator[str]:
    """Names of panels of its layout that an instrument leaves to others."""
    for panel in plan.mosaic.panels:
        if one.panels is not None and panel.name not in one.panels:
            yield panel.name


def parts_of_all(shared: SharedRequest, shown: Instrument, find: Callable[[Request], Plan]) -> SharedPlan:
    """Return the plans of all instruments, each with what it takes of its layout.

    Parameters
    ----------
    shared : SharedRequest
    shown : Instrument
        Whose layout is shown.
    find : callable
        Finds the plan of a request.

    Raises
    ------
    PlannerError
        If an instrument cannot be planned, or takes a panel that its layout does not have.
    """
    return _parts(shared, _whole(shared, shown, find))


def _parts(shared: SharedRequest, whole: Mapping[str, Plan]) -> SharedPlan:
    """Return what each instrument takes of its layout."""
    parts = (
        InstrumentPlan(one, whole[one.name], own_plan(whole[one.name], one)) for one in shared.instruments
    )
    return SharedPlan(shared, tuple(parts))


class AllParts:
    """The plans of all instruments as `parts_of_all` gives them, the same ones as long as nothing has changed."""

    def __init__(self) -> None:
        self._made: tuple[SharedRequest, dict[str, Plan], SharedPlan] | None = None

    def plan(self, shared: SharedRequest, shown: Instrument, find: Callable[[Request], Plan]) -> SharedPlan:
        """Return the plans of all; parameters and errors as for `parts_of_all`."""
        whole = _whole(shared, shown, find)
        made = self._made
        if (
            made is None
            or made[0] != shared
            or any(made[1].get(name) is not one for name, one in whole.items())
        ):
            made = self._made = shared, whole, _parts(shared, whole)
        return made[2]


def _whole(shared: SharedRequest, shown: Instrument, find: Callable[[Request], Plan]) -> dict[str, Plan]:
    """Names of the instruments to their layouts."""
    first = find(shown.request)
    beside = requests_beside(shared, shown, first.picture)
    return {shown.name: first, **{one.name: find(request) for one, request in beside}}


def settled_text(
    text: str, shared: SharedRequest, shown: Instrument, find: Callable[[Request], Plan]
) -> tuple[str, int]:
    """Return a plan file's text, the panels of all instruments kept in it, and how many these are.

    Parameters and errors as for `parts_of_all`.
    """
    whole = _whole(shared, shown, find)
    parts = tuple(InstrumentPlan(one, whole[one.name], whole[one.name]) for one in shared.instruments)
    count = sum(len(plan.mosaic.panels) for plan in whole.values())
    return settled_shared_text(text, SharedPlan(shared, parts)), count
