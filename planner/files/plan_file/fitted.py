"""The plan file of what fits: the same region with the one frame, or the panels, that were found for it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from planner.errors import InputError
from planner.files.text_file import parse_toml, read_text

from .request_text import moved_names, seen_from
from .reshoot import LAYOUT_KEYS
from .write import BYTE_ORDER_MARK, update_document

if TYPE_CHECKING:
    from planner.answers.fit import SetupFit
    from planner.answers.fit_around import GroupAround
    from planner.mosaic.fit import Placement

__all__ = ["fitted_text", "group_text"]

DECIMALS = 8
EQUIPMENT = ("camera", "angle_device", "mount", "site", "tables")
"""Tables that the setup file gives instead."""
ERRORS = ("pointing_error_arcmin", "angle_error_deg", "dither_arcmin", "least_overlap_arcmin")


def fitted_text(plan_file: Path, found: SetupFit, setup_file: Path | None, folder: Path) -> str:
    """Return the plan file's text with the frame that holds everything, or else the panels found, listed.

    Parameters
    ----------
    plan_file : Path
    found : SetupFit
    setup_file : Path or None
        The setup file that was fitted; None for the plan file's own camera.
    folder : Path
        Where the new file will stand: names of other files are given relative to it.

    Raises
    ------
    InputError
        If no panels were found, or parts of the region name files that stand elsewhere.
    """
    _check_parts(found, plan_file, folder)
    changes: dict[str, Any] = moved_names(found.request, folder)
    mosaic = _errors(found) | (_angle(found.fit.placement) if found.fit.fits else {})
    return _changed(plan_file, changes, mosaic, _panels(found), setup_file, folder)


def group_text(plan_file: Path, group: GroupAround, setup_file: Path | None, folder: Path) -> str:
    """Return the plan file's text with a group's nebulae for its region, and its frame; see `fitted_text`."""
    from .read import read_plan_file

    moved = moved_names(read_plan_file(plan_file), folder)
    names = [one.name for one in group.members]
    changes = {"region": None, **({"setup": moved["setup"]} if "setup" in moved else {})}
    text = _changed(
        plan_file, changes, _angle(group.placement), [_frame(group.placement)], setup_file, folder
    )
    told = f"# {names[0]} and what fits one frame with it, found by the mosaic planner.\n"
    return update_document(
        told + _without_lead(text), {"title": " and ".join(names[:2]), "region": {"objects": names}}
    )


def _without_lead(text: str) -> str:
    """Take the comment out that a file begins with: it speaks of another region."""
    lines = text.removeprefix(BYTE_ORDER_MARK).splitlines(keepends=True)
    lead = next((k for k, line in enumerate(lines) if not line.lstrip().startswith("#")), len(lines))
    return "".join(lines[lead:])


def _changed(
    plan_file: Path,
    changes: dict[str, Any],
    mosaic: dict[str, Any],
    panels: list[dict[str, Any]],
    setup_file: Path | None,
    folder: Path,
) -> str:
    text = read_text(plan_file, "plan file")
    document = parse_toml(text, plan_file, "plan file")
    if setup_file is not None:
        changes |= {"setup": seen_from(folder, setup_file)}
        changes |= {name: None for name in EQUIPMENT if name in document}
    if "settled" in document:
        changes["settled"] = None
    changes |= {"mosaic": dict.fromkeys(LAYOUT_KEYS) | mosaic, "panels": panels}
    return update_document(text, changes)


def _check_parts(found: SetupFit, plan_file: Path, folder: Path) -> None:
    region = found.request.region
    named = any(part.earlier_picture or part.outline_file for part in region.all_parts)
    if named and folder.resolve() != plan_file.parent.resolve():
        raise InputError(
            f"parts of the region name files beside {plan_file.name}; write the new plan file into the same folder"
        )


def _errors(found: SetupFit) -> dict[str, float]:
    values = {name: getattr(found.request.mosaic, name) for name in ERRORS}
    return {name: value for name, value in values.items() if value}


def _angle(placement: Placement) -> dict[str, Any]:
    """The frame's own angle, to go on from where its panel is let go."""
    return {"position_angle_deg": round(placement.position_angle_deg, DECIMALS)}


def _panels(found: SetupFit) -> list[dict[str, Any]]:
    if found.fit.fits:
        return [_frame(found.fit.placement)]
    if found.plan is None:
        raise InputError(
            "there is nothing to save: neither a frame nor a mosaic does; see what fit says of it"
        )
    panels = sorted(found.plan.mosaic.panels, key=lambda one: one.order)
    return [_panel(one.name, one.ra_deg, one.dec_deg, one.position_angle_deg) for one in panels]


def _frame(placement: Placement) -> dict[str, Any]:
    return _panel("A1", *placement.center_deg, placement.position_angle_deg)


def _panel(name: str, ra_deg: float, dec_deg: float, angle_deg: float) -> dict[str, Any]:
    return {
        "name": name,
        "ra_deg": round(ra_deg, DECIMALS),
        "dec_deg": round(dec_deg, DECIMALS),
        "position_angle_deg": round(angle_deg, DECIMALS),
    }
