"""What a finished gesture on the sky means in the plan file: keys and values.

The picture is moved together with the region it shows:

* a rectangle or circle moves with its centre, an outline with all its corners;
* an object (or an earlier picture) stands where it stands: once the picture is moved away from it,
  the region becomes the rectangle that the picture shows;
* turning turns the picture, a rectangular region with it, and the panels where they were square with it;
* corners resize a rectangle, a circle or an outline; a drawn outline becomes the region.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from planner.errors import InputError
from planner.files.text_file import parse_toml

from .scene import angles_agree, form_of

if TYPE_CHECKING:
    from planner.answers.plan import Draft
    from planner.request.request import Request

__all__ = ["Edits", "added_edits", "gesture_edits", "region_edits", "square_edits"]

Edits = dict[str, Any]
"""Dotted keys of the plan file to new values; None takes a key out."""

REGION_KEYS = (
    "object",
    "level",
    "size_arcmin",
    "center",
    "radius_deg",
    "width_deg",
    "height_deg",
    "position_angle_deg",
    "earlier_picture",
    "outline",
    "outline_file",
    "parts",
    "objects",
    "join",
)
CENTER_DECIMALS, SIZE_DECIMALS, ANGLE_DECIMALS = 5, 4, 2
"""A hand is no finer: 0.036 and 0.36 arc seconds, 0.01 degrees."""
LEAST_TURN_DEG = 0.5 * 10**-ANGLE_DECIMALS


def gesture_edits(plan: Draft, message: Mapping[str, Any], request: Request | None = None) -> Edits:
    """Return what a gesture changes in the plan file.

    Parameters
    ----------
    plan : Draft
        The plan that the canvas showed.
    message : mapping
        What the canvas sends: the whole composition after the gesture, degrees.
    request : Request, optional
        What the plan file says now, where gestures came faster than plans; by default the plan's.
    """
    if message["form"] == "draw":
        return region_edits(outline=_corners(message["outline"]))
    request = request or plan.request
    edits = _region_edits(request, message)
    was_deg = _picture_angle(request, plan)
    if abs(_difference(message["position_angle_deg"], was_deg)) >= LEAST_TURN_DEG:
        edits |= _turn_edits(request, was_deg, message)
    return edits


def _picture_angle(request: Request, plan: Draft) -> float:
    """Return the picture's angle as stated, or as the plan has it."""
    stated = request.picture.position_angle_deg if request.picture else None
    return plan.picture.position_angle_deg if stated is None else stated


def region_edits(**keys: object) -> Edits:
    """Return the edits that put one form of region in the place of any other.

    >>> edits = region_edits(object="M 31")
    >>> edits["region.object"], edits["region.center"]
    ('M 31', None)
    """
    return {f"region.{name}": keys.get(name) for name in REGION_KEYS}


def added_edits(text: str, name: str) -> Edits:
    """Return the edits that add a catalogue object to the region of a plan file's text.

    What the region is becomes a part beside it; objects alone are listed by their names.

    Raises
    ------
    InputError
        If it belongs to the region already.

    >>> edits = added_edits('[region]\\nobject = "M 8"\\n', "M 20")
    >>> edits["region.objects"], edits["region.object"]
    (['M 8', 'M 20'], None)
    """
    region = parse_toml(text, None, "plan file").get("region", {})
    whole = {key: region[key] for key in ("join",) if key in region}
    own = {
        key: value
        for key, value in region.items()
        if key not in ("join", "margin_arcmin", "parts", "objects")
    }
    names = [*region.get("objects", ()), *([own["object"]] if own.keys() == {"object"} else [])]
    parts = [*region.get("parts", ()), *([own] if own and not names else [])]
    if name in names or any(part.get("object") == name for part in parts):
        raise InputError(f"{name} belongs to the region already; choose another object")
    if not parts:
        return region_edits(objects=[*names, name], **whole)
    parts += [{"object": one} for one in names if region.get("objects")]
    return region_edits(parts=[*parts, {"object": name}], **whole)


def square_edits(plan: Draft) -> Edits:
    """Return the edits that set the panels square with the picture; a rectangular region is the picture then."""
    region, picture = plan.request.region, plan.request.picture
    stated = picture.position_angle_deg if picture else None
    if stated is None and form_of(region) == "rectangle":
        angle = _angle(region.position_angle_deg)
        return {"picture.position_angle_deg": angle, "mosaic.position_angle_deg": angle}
    return {"mosaic.position_angle_deg": _angle(plan.picture.position_angle_deg)}


def _region_edits(request: Request, message: Mapping[str, Any]) -> Edits:
    form, center = message["form"], _center(message["center"])
    if form == "rectangle":
        return {"region.center": center, **_sizes(message), **_rectangle_angle(request, message)}
    if form == "circle":
        return {"region.center": center, **_sizes(message)}
    if not message["touched"]:
        return {}
    if form == "outline":
        return {"region.outline": _corners(message["outline"]), "region.outline_file": None}
    picture = message["picture"]
    return region_edits(
        center=_center(picture["center"]),
        position_angle_deg=_angle(message["position_angle_deg"]) or None,
        **{name: round(picture[name], SIZE_DECIMALS) for name in ("width_deg", "height_deg")},
    ) | {"region.margin_arcmin": None, "picture.position_angle_deg": _angle(message["position_angle_deg"])}


def _sizes(message: Mapping[str, Any]) -> Edits:
    names = ("width_deg", "height_deg", "radius_deg")
    return {f"region.{name}": round(message[name], SIZE_DECIMALS) for name in names if name in message}


def _rectangle_angle(request: Request, message: Mapping[str, Any]) -> Edits:
    if abs(_difference(message["region_angle_deg"], request.region.position_angle_deg)) < LEAST_TURN_DEG:
        return {}
    return {"region.position_angle_deg": _angle(message["region_angle_deg"])}


def _turn_edits(request: Request, was_deg: float, message: Mapping[str, Any]) -> Edits:
    """Return the picture's angle; the panels' too where they were square with it."""
    asked, panels = request.picture, request.mosaic.position_angle_deg
    stated = asked is not None and asked.position_angle_deg is not None
    free = stated or message["form"] != "rectangle"
    angle = _angle(message["position_angle_deg" if free else "region_angle_deg"])
    edits = {"picture.position_angle_deg": angle}
    if panels is not None and angles_agree(panels, was_deg):
        edits["mosaic.position_angle_deg"] = angle
    return edits


def _center(position: Sequence[float]) -> list[float]:
    ra_deg, dec_deg = position
    return [round(ra_deg, CENTER_DECIMALS) % 360.0, round(dec_deg, CENTER_DECIMALS)]


def _corners(outline: Iterable[Sequence[float]]) -> list[list[float]]:
    return [_center(corner) for corner in outline]


def _angle(angle_deg: float) -> float:
    return round(angle_deg, ANGLE_DECIMALS) % 360.0


def _difference(first_deg: float, second_deg: float) -> float:
    """Signed difference of two angles, [-180, 180)."""
    return float((first_deg - second_deg + 180.0) % 360.0 - 180.0)
