"""The parts of the region as a list: what a plan file's text says of them, and the keys that change them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from planner.errors import InputError
from planner.files.text_file import parse_toml

from .finding import find_position
from .gestures import Edits, added_edits, region_edits

__all__ = ["margin_edits", "named_edits", "removed_edits"]

DECIMALS = 4
"""Of margins that are added, arc minutes."""


def named_edits(text: str, name: str) -> Edits:
    """Return the edits that add to the region what a search text names; see `added_edits`.

    Raises
    ------
    InputError
        If it is no object of the catalogue, or belongs to the region already.
    """
    found, _ = find_position(name)
    if found is None:
        raise InputError(
            f"a part is added by a name of the catalogue, got the position {name.strip()!r}; write a circle there "
            "into parts (under As file)"
        )
    return added_edits(text, found)


def margin_edits(text: str, margins_arcmin: Sequence[float | None]) -> Edits:
    """Return the edits that give each part its margin; none, where None or 0.

    Parameters
    ----------
    text : str
        Of the plan file.
    margins_arcmin : sequence of float or None
        One for each part, in their order.

    >>> edits = margin_edits("[region]\\nobjects = ['M 8', 'M 20']\\n", [None, 5.0])
    >>> edits["region.parts"]
    [{'object': 'M 8'}, {'object': 'M 20', 'margin_arcmin': 5.0}]
    """
    parts = [_with_margin(part, margin) for part, margin in zip(_parts(text), margins_arcmin, strict=True)]
    return _listed(text, parts)


def removed_edits(text: str, index: int) -> Edits:
    """Return the edits that take one part out of the region; where one thing is left, it is the region.

    Raises
    ------
    InputError
        If the region has no other part.

    >>> edits = removed_edits("[region]\\nobjects = ['M 8', 'M 20']\\n", 0)
    >>> edits["region.object"], edits["region.objects"]
    ('M 20', None)
    """
    parts = [part for number, part in enumerate(_parts(text)) if number != index]
    if not parts:
        raise InputError("the region's only part stays; make something else the region")
    return _single(text, parts[0]) if len(parts) == 1 else _listed(text, parts)


def _single(text: str, part: dict[str, Any]) -> Edits:
    """Return the edits that make one part the region, its margin and the whole region's added."""
    own = {key: value for key, value in part.items() if key not in ("margin_arcmin", "name")}
    margin = part.get("margin_arcmin", 0.0) + _region(text).get("margin_arcmin", 0.0)
    return region_edits(**own) | {"region.margin_arcmin": round(margin, DECIMALS) or None}


def _listed(text: str, parts: list[dict[str, Any]]) -> Edits:
    """Names alone where that says everything and the file has it so; tables otherwise."""
    region = _region(text)
    join = {"join": region["join"]} if "join" in region else {}
    if "objects" in region and all(part.keys() == {"object"} for part in parts):
        return region_edits(objects=[part["object"] for part in parts], **join)
    return region_edits(parts=parts, **join)


def _with_margin(part: dict[str, Any], margin_arcmin: float | None) -> dict[str, Any]:
    rest = {key: value for key, value in part.items() if key != "margin_arcmin"}
    return rest | ({"margin_arcmin": margin_arcmin} if margin_arcmin else {})


def _parts(text: str) -> list[dict[str, Any]]:
    """The parts as the file has them, those given by name alone too."""
    region = _region(text)
    return [{"object": name} for name in region.get("objects", ())] or list(region.get("parts", ()))


def _region(text: str) -> dict[str, Any]:
    region: dict[str, Any] = parse_toml(text, None, "plan file").get("region", {})
    return region
