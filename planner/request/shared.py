"""One mosaic that several instruments share: what each of them takes of it."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from planner.checks import check_position_angle, check_title, require
from planner.errors import InputError, nearest_names
from planner.words import counted

from .panels import PanelRequest
from .request import Request
from .settled import SettledRequest, panels_mark

__all__ = ["Instrument", "SetupFile", "SharedRequest"]


@dataclass(frozen=True)
class SetupFile:
    """A table ``[[setup_files]]``: an instrument, and what it takes of the mosaic.

    Parameters
    ----------
    file : Path
        Its setup file.
    filters : tuple of str, optional
        Filters that it takes; left out, all that it has.
    panels : tuple of str, optional
        Panels of its own layout that it takes; left out, all of them.
    position_angle_deg : float, optional
        Its panels' own angle, in the place of the one in ``mosaic``.
    own_panels : tuple of PanelRequest
        Its layout, where the plan file keeps or lists it; empty: a search finds it.
    settled : SettledRequest, optional
        What belongs to panels that the plan file keeps.
    """

    file: Path
    filters: tuple[str, ...] | None = None
    panels: tuple[str, ...] | None = None
    position_angle_deg: float | None = None
    own_panels: tuple[PanelRequest, ...] = ()
    settled: SettledRequest | None = None

    def __post_init__(self) -> None:
        check_position_angle("setup_files.position_angle_deg", self.position_angle_deg)
        self._check_own_panels()
        for key in ("filters", "panels"):
            names = getattr(self, key)
            require(
                names is None or (len(names) > 0 and len(set(names)) == len(names)),
                f"setup_files.{key} must name each of them once, at least one, got {list(names or ())}; "
                "correct the list, or leave it out for all",
            )

    def _check_own_panels(self) -> None:
        """Refuse panels changed by another hand beside what belongs to settled ones, and panels to grow around."""
        require(
            self.settled is None or self.settled.panels == panels_mark(self.own_panels),
            "setup_files.settled must belong to the own_panels beside it, got "
            f"{counted(len(self.own_panels), 'panel')} that "
            "were changed by hand; let them go and settle anew, or take settled out to list panels of your own",
        )
        kept = [one.name for one in self.own_panels if one.keep]
        require(
            not kept,
            f"setup_files.own_panels must not have keep = true, got it for {kept[:1]}: a layout grows around kept "
            "panels in the plan file of one instrument alone; leave keep out",
        )


@dataclass(frozen=True)
class Instrument:
    """One of the instruments that share a mosaic.

    Parameters
    ----------
    name : str
        Title of its setup file, or the file's name.
    request : Request
        The whole region asked of this instrument, through the filters that it takes.
    panels : tuple of str or None
        Names of the panels of its own layout that it takes; None: all of them.
    """

    name: str
    request: Request
    panels: tuple[str, ...] | None = None

    @property
    def filters(self) -> tuple[str, ...]:
        """Names of the filters that it takes."""
        return tuple(one.name for one in self.request.filters)


@dataclass(frozen=True)
class SharedRequest:
    """A plan file with ``[[setup_files]]``: one region, several instruments.

    Parameters
    ----------
    title : str
    instruments : tuple of Instrument
        In the order of the file.
    path : Path, optional

    Raises
    ------
    InputError
        If there are fewer than two, or two would shoot the same panels through the same filter.
    """

    title: str
    instruments: tuple[Instrument, ...]
    path: Path | None = None

    def __post_init__(self) -> None:
        check_title(self.title)
        require(
            len(self.instruments) > 1,
            f"setup_files must name two instruments or more, got {len(self.instruments)}; for a single one "
            "write setup = FILE",
        )
        for number, one in enumerate(self.instruments):
            for other in self.instruments[:number]:
                _check_apart(other, one)

    @property
    def filters(self) -> tuple[str, ...]:
        """Names of all filters, in the order of the instruments."""
        return tuple(dict.fromkeys(name for one in self.instruments for name in one.filters))

    @property
    def finest(self) -> Instrument:
        """The instrument with the finest image scale, the first of equals: the picture has its scale."""
        return min(self.instruments, key=lambda one: one.request.camera.scale_arcsec_px)

    def named(self, name: str) -> Instrument:
        """Return an instrument by its name, or by that of its setup file with or without its ending.

        Raises
        ------
        InputError
            If none is called so.
        """
        for one in self.instruments:
            path = one.request.setup_path
            if name in (one.name, *((path.name, path.stem) if path else ())):
                return one
        names = [one.name for one in self.instruments]
        raise InputError(
            f"{name!r} is none of the instruments that share the mosaic"
            + (nearest_names(name, names) or f"; they are {', '.join(names)}")
        )

    def takers(self, chosen: str | None) -> tuple[Instrument, ...]:
        """Instruments that take a filter; all of them for None."""
        return tuple(one for one in self.instruments if chosen is None or chosen in one.filters)


def _check_apart(first: Instrument, second: Instrument) -> None:
    """Refuse two instruments of which one would do over again what the other does."""
    if first.panels is not None and second.panels is not None:
        return
    both = f"{first.name!r} and {second.name!r}"
    if not first.filters and not second.filters:
        raise InputError(
            f"setup_files must say what {both} take, got neither filters nor panels of both; give each its own"
        )
    common = [name for name in first.filters if name in second.filters]
    require(
        not common,
        f"setup_files.filters must not overlap, got {common[:1]} for {both}; give it to one of them, or "
        "list the panels that each of them takes",
    )
