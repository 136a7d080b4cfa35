"""The region of a request: what the plan file says of the part of the sky to cover."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from planner.checks import check_position, check_position_angle, check_positive, check_within, require
from planner.errors import InputError

__all__ = ["JOINS", "LEVELS", "MOST_CORNERS", "LonLat", "RegionRequest"]

LonLat = tuple[float, float]
"""Right ascension and declination, ICRS, degrees."""

FORMS = ("object", "objects", "parts", "center", "earlier_picture", "outline")
"""The keys of which a region has exactly one."""
JOINS = ("apart", "hull")
LEVELS = ("faint", "middle", "bright")
"""Levels of an object's outline, the largest first."""
SIZES = ("radius_deg", "width_deg", "height_deg")
MOST_CORNERS = 2000
MOST_PARTS = 100
GREATEST_RADIUS_DEG = 35.0
GREATEST_SIDE_DEG = 70.0
GREATEST_MARGIN_ARCMIN = 1800.0


@dataclass(frozen=True)
class RegionRequest:
    """The part of the sky to cover; exactly one form is set. Angles in degrees, ICRS.

    Exactly one of: ``object``; ``center`` with ``radius_deg`` (circle) or with ``width_deg`` and
    ``height_deg`` (rectangle); ``earlier_picture`` (a plate-solved
    picture taken before); ``outline``. An ``outline_file`` has been
    read into ``outline`` by the reader.

    Parameters
    ----------
    object : str, optional
        Catalogue name.
    size_arcmin : (float, float), optional
        Full axes (major, minor) of an object's ellipse.
    level : {'faint', 'middle', 'bright'}, optional
        Which level of an object's outline; left out, the faintest that is not far larger than catalogues say.
    center : (float, float), optional
    radius_deg : float, optional
        In (0, 35].
    width_deg, height_deg : float, optional
        In (0, 70].
    position_angle_deg : float
        Of a rectangle's height or an ellipse's major axis, degrees east of north.
    earlier_picture : Path, optional
    outline : tuple of (float, float), optional
        3 to 2000 different corners.
    outline_file : Path, optional
        Where the outline was read from.
    margin_arcmin : float
        In [0, 1800]; of a region of several parts, added to the margin of each.
    parts : tuple of RegionRequest, optional
        1 to 100 things that are covered together, each of one of the forms above.
    objects : tuple of str, optional
        Catalogue names, short for parts that are objects.
    join : {'apart', 'hull'}
        Whether parts alone are covered, or what lies between them too.
    name : str, optional
        Of a part; left out, its object's, or its number.

    Raises
    ------
    InputError
        If there is no form or more than one, or a value is out of range.

    >>> RegionRequest(center=(128.5, -45.8), radius_deg=4.0).margin_arcmin
    0.0
    """

    object: str | None = None
    size_arcmin: tuple[float, float] | None = None
    level: Literal["faint", "middle", "bright"] | None = None
    center: LonLat | None = None
    radius_deg: float | None = None
    width_deg: float | None = None
    height_deg: float | None = None
    position_angle_deg: float = 0.0
    earlier_picture: Path | None = None
    outline: tuple[LonLat, ...] | None = None
    outline_file: Path | None = None
    margin_arcmin: float = 0.0
    parts: tuple[RegionRequest, ...] | None = None
    objects: tuple[str, ...] | None = None
    join: Literal["apart", "hull"] = "apart"
    name: str | None = None

    def __post_init__(self) -> None:
        _check_form([name for name in FORMS if getattr(self, name) is not None])
        self._check_object()
        self._check_center()
        check_position_angle("region.position_angle_deg", self.position_angle_deg)
        check_within(
            "region.margin_arcmin", self.margin_arcmin, 0.0, GREATEST_MARGIN_ARCMIN, "give arc minutes"
        )
        if self.outline is not None:
            _check_outline(self.outline)
        self._check_parts()

    @property
    def all_parts(self) -> tuple[RegionRequest, ...]:
        """The parts, those given by name alone too; empty where the region is one thing."""
        if self.objects is not None:
            return tuple(RegionRequest(object=name) for name in self.objects)
        return self.parts or ()

    @property
    def part_names(self) -> tuple[str, ...]:
        """A name for each of the parts."""
        return tuple(
            part.name or part.object or f"part {number}"
            for number, part in enumerate(self.all_parts, start=1)
        )

    def _check_parts(self) -> None:
        key, given = ("objects", self.objects) if self.objects is not None else ("parts", self.parts)
        if given is None:
            require(self.join == "apart", "region.join belongs to parts or objects; leave it out")
            return
        require(self.name is None, "region.name belongs to a part; leave it out")
        require(self.join in JOINS, f"region.join must be 'apart' or 'hull', got {self.join!r}; choose one")
        require(
            1 <= len(given) <= MOST_PARTS,
            f"region.{key} must be 1 to {MOST_PARTS} things to cover, got {len(given) or 'none'}; "
            + ("split the plan" if given else "name at least one"),
        )
        require(
            not any(part.all_parts for part in self.all_parts),
            "region.parts must not hold parts of their own; list all parts beside each other",
        )
        seen: dict[str, int] = {}
        for number, name in enumerate(self.part_names, start=1):
            first = seen.setdefault(" ".join(name.split()).casefold(), number)
            require(
                first == number,
                f"region.{key} {first} and {number} are both {name!r}; "
                + ("keep one" if key == "objects" else "keep one, or give each a name of its own"),
            )

    def _check_object(self) -> None:
        if self.object is not None:
            require(bool(self.object.strip()), "region.object must be a catalogue name, got ''; fill it in")
        if self.level is not None:
            require(
                self.level in LEVELS, f"region.level must be one of {', '.join(LEVELS)}, got {self.level!r}"
            )
            require(self.object is not None, "region.level belongs to an object; name one or leave it out")
            require(
                self.size_arcmin is None,
                "region.level and size_arcmin exclude each other; keep the outline or your own size",
            )
        if self.size_arcmin is not None:
            require(
                self.object is not None, "region.size_arcmin belongs to an object; name one or leave it out"
            )
            for size in self.size_arcmin:
                check_positive("region.size_arcmin", size, 120.0 * GREATEST_RADIUS_DEG, "give arc minutes")
            major, minor = self.size_arcmin
            require(
                major >= minor,
                f"region.size_arcmin must be [major, minor], got [{major:g}, {minor:g}]; write "
                f"[{minor:g}, {major:g}], and the longer axis's position_angle_deg",
            )
        if self.position_angle_deg != 0.0:
            require(
                self.width_deg is not None or self.size_arcmin is not None,
                "region.position_angle_deg belongs to a rectangle or to an object with size_arcmin; leave it "
                "out (the panels' own angle is position_angle_deg in [mosaic])",
            )

    def _check_center(self) -> None:
        sizes = [name for name in SIZES if getattr(self, name) is not None]
        if self.center is None:
            require(not sizes, f"region.{' and '.join(sizes)} needs a center; give center = [ra, dec]")
            return
        require(
            sizes in (["radius_deg"], ["width_deg", "height_deg"]),
            "region.center needs radius_deg (circle) or width_deg and height_deg (rectangle), "
            f"got {' and '.join(sizes) or 'neither'}{_missing_side(sizes)}",
        )
        check_position("region.center", self.center)
        check_positive("region.radius_deg", self.radius_deg, GREATEST_RADIUS_DEG, "give degrees")
        check_positive("region.width_deg", self.width_deg, GREATEST_SIDE_DEG, "give degrees")
        check_positive("region.height_deg", self.height_deg, GREATEST_SIDE_DEG, "give degrees")


def _check_form(forms: Sequence[str]) -> None:
    require(
        len(forms) == 1,
        "region must have exactly one of object, objects, parts, center, earlier_picture, outline and outline_file, "
        + (f"got {' and '.join(forms)}; keep one" if forms else "got none; say what to cover"),
    )


def _check_outline(outline: Sequence[LonLat]) -> None:
    require(
        3 <= len(outline) <= MOST_CORNERS,
        f"region.outline must have 3 to {MOST_CORNERS} corners, got {len(outline)}; list them along the rim",
    )
    seen: dict[LonLat, int] = {}
    for number, corner in enumerate(outline, start=1):
        check_position(f"region.outline's corner {number}", corner)
        first = seen.setdefault(_place(*corner), number)
        if first != number:
            raise InputError(f"region.outline's corners {first} and {number} are the same place; keep one")


def _place(ra_deg: float, dec_deg: float) -> LonLat:
    """Return one pair for one place: right ascension modulo 360, none at the poles; to 1e-9 degrees."""
    ra_deg = 0.0 if abs(dec_deg) == 90.0 else round(ra_deg % 360.0, 9) % 360.0
    return ra_deg, round(dec_deg, 9)


def _missing_side(sizes: Sequence[str]) -> str:
    """Say which side of a rectangle is missing beside the one that was given; nothing where that is not it."""
    missing = {"width_deg": "height_deg", "height_deg": "width_deg"}
    return f"; {missing[sizes[0]]} is missing" if len(sizes) == 1 and sizes[0] in missing else ""
