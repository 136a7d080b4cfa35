"""A list of targets on screen: the first rows of the table, what was looked at, why there is nothing."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from planner.answers.margin_words import rounded_margin, shortage
from planner.cli._show import print_facts, print_line, print_table
from planner.cli.fit.report import stretch_of
from planner.cli.tables.folding import KEEP

if TYPE_CHECKING:
    from planner.answers.targets.target import Arc, Target, TargetList

__all__ = ["MOST_ROWS", "nothing_found", "print_targets"]

MOST_ROWS = 40
"""So many rows are shown."""
SHORT_KINDS = {"supernova remnant": "remnant", "planetary nebula": "planetary", "star cluster": "cluster"}
UNITS = (
    "area: square degrees; margins, at best and now: arc minutes, short: so much is cut; angles: position angles, "
    "degrees; then hours in the season; highest: degrees"
)


def print_targets(found: TargetList) -> None:
    """Print the list on standard output."""
    filters = [name for one in found.targets[:1] for name in one.hours]
    now = found.now_deg is not None
    columns = [">Rank", "~Name", "~Kind", ">Area", ">Margin", ">Angle", "Angles that do"]
    columns += [">Now"] if now else []
    columns += [f">{_hours_of(name)}" for name in filters]
    costs = found.wish.by == "cost"
    columns += [">Highest", ">Panels", *([f">{_cost_of(found)}"] if costs else [])]
    shown = found.targets[:MOST_ROWS]
    rows = [_row(rank, one, filters, now, costs) for rank, one in enumerate(shown, start=1)]
    field = found.field
    title = f"Targets for {found.setup.name}, {found.nights.first} to {found.nights.last}"
    title += f", one frame of {field.width_deg:.2f} x {field.height_deg:.2f} degrees"
    print_table(columns, rows, title=title, keys=2)
    print_line(f"({UNITS})")
    print_line()
    print_facts(_facts(found))


def _cost_of(found: TargetList) -> str:
    """Head the column of costs, with the site's currency."""
    return f"Cost {found.setup.sites[0].currency}".rstrip()


def _hours_of(name: str) -> str:
    return "Hours" if name == "any" else name


def _row(rank: int, one: Target, filters: list[str], now: bool, costs: bool) -> list[str]:
    row = [
        str(rank),
        _name(one) + (" *" if one.planned_as else ""),
        SHORT_KINDS.get(one.kind, one.kind),
        f"{one.area_deg2:.2f}",
        _margin(one.margin_arcmin),
        f"{round(one.position_angle_deg, 1) % 180.0:.1f}",
        _stretches(one.fits_at_deg, one.position_angle_deg),
    ]
    row += [_margin(one.margin_now_arcmin)] if now else []
    row += [f"{one.hours[name]:.0f}" for name in filters]
    row += [f"{one.greatest_altitude_deg:.0f}", _panels(one)]
    return row + (["-" if one.cost is None else f"{one.cost:.0f}"] if costs else [])


def _name(one: Target) -> str:
    return ", ".join(name.replace(" ", KEEP) for name in one.parts or (one.name,))


def _margin(arcmin: float | None) -> str:
    if arcmin is None:
        return "-"
    return rounded_margin(arcmin) if arcmin >= 0 else f"short {shortage(arcmin)}"


def _panels(one: Target) -> str:
    now = one.panels_now
    return f"{one.panels}" if now in (None, one.panels) else f"{one.panels}, now {now}"


def _stretches(found: tuple[Arc, ...], best_deg: float) -> str:
    """Tell the stretch of angles that holds the best one, and how many more there are."""
    if not found:
        return "none"
    if any(stop - start >= 180.0 for start, stop in found):
        return "all"
    start, stop = stretch_of(found, best_deg)
    more = f", +{len(found) - 1}" if len(found) > 1 else ""
    decimals = 0 if stop - start >= 2.0 else 1
    ends = (f"{round(end, decimals) % 180.0:.{decimals}f}" for end in (start, stop))
    return " to ".join(ends) + more


def _facts(found: TargetList) -> Iterator[tuple[str, str]]:
    cuts, more = found.cuts, len(found.targets) - MOST_ROWS
    if more > 0:
        yield "Not shown", f"{more:,} more; --json prints all of them, --out writes them"
    yield (
        "Looked at",
        f"{cuts.known:,} nebulae that have a size; {', '.join(_cut_words(found)) or 'none is left out'}",
    )
    if found.groups_note:
        yield "Groups", f"{found.groups_note}; not counted in what the angles below serve"
    yield (
        "Angles",
        f"those that leave {found.margin_asked_arcmin:.1f} arc minutes at all sides"
        + (f"; the camera stands at {found.now_deg:.2f} now" if found.now_deg is not None else ""),
    )
    if found.wish.by == "cost":
        yield "Cost", _cost_words(found)
    if any(one.planned_as for one in found.targets):
        count = sum(one.planned_as is not None for one in found.targets)
        yield "Done", f"{count:,} marked * are in plans that exist"
    if any(panels not in (None, 1) for one in found.targets for panels in (one.panels, one.panels_now)):
        yield "Panels", "of mosaics are counted in rows as if the sky were flat; `plan` proves them"


def _cost_words(found: TargetList) -> str:
    """Say what costs are of, and which of it is only taken for granted."""
    nights, currency = found.nights, found.setup.sites[0].currency
    told = (
        f"clear share {nights.clear_fraction:g}, overheads {nights.overhead_per_panel_min:g} min a panel and "
        f"{nights.overhead_per_exposure_s:g} s an exposure"
    )
    untold = (
        "" if found.setup.nights else ": the setup has no [nights] that tells them, so more is to be expected"
    )
    return f"least for all exposures{f', {currency}' if currency else ''}; {told}{untold}"


def _cut_words(found: TargetList) -> Iterator[str]:
    cuts = found.cuts
    if cuts.narrowed:
        yield f"{cuts.narrowed:,} are not asked for"
    if cuts.too_large:
        yield f"{cuts.too_large:,} {_too_large(found, cuts.too_large)}"
    if cuts.low:
        yield f"{cuts.low:,} never {_rise(cuts.low)} above {_limits(found)}"
    if cuts.by_day:
        yield f"{cuts.by_day:,} {_rise(cuts.by_day)} so high in the season only while it is not dark"


def _rise(count: int) -> str:
    return "rises" if count == 1 else "rise"


def _too_large(found: TargetList, count: int) -> str:
    panels, one = found.wish.panels, count == 1
    if panels == 1:
        return "does not fit one frame" if one else "do not fit one frame"
    return f"{'needs' if one else 'need'} more than {panels} panels"


def _limits(found: TargetList) -> str:
    lowest = min(site.lowest_altitude_deg for site in found.setup.sites)
    horizon = " and the horizon" if any(site.horizon_deg for site in found.setup.sites) else ""
    return f"{lowest:g} degrees{horizon}"


def nothing_found(found: TargetList) -> str:
    """Say why there is nothing: the reason that cut most of what was asked for."""
    cuts = found.cuts
    asked = cuts.known - cuts.narrowed
    if not asked:
        return f"of {cuts.known:,} nebulae none is asked for; leave out some of what narrows the list"
    if asked == 1 and cuts.too_large:
        return f"the nebula asked for {_too_large(found, 1)}"
    if cuts.too_large > cuts.low + cuts.by_day:
        return f"of {asked:,} nebulae asked for, {cuts.too_large:,} {_too_large(found, cuts.too_large)}" + (
            f" and none of the other {cuts.fit:,} rises above {_limits(found)} while it is dark"
            if cuts.fit
            else ""
        )
    return f"of {cuts.fit:,} that fit, none rises above {_limits(found)} while it is dark"
