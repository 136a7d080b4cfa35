"""Plan and setup files (TOML), read strictly into requests.

What a file cannot mean is refused with one sentence that names table and key; unknown names are errors.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from planner.errors import InputError
from planner.files.text_file import parse_toml, read_text
from planner.night.settings import Filter, Nights, Site
from planner.request.request import MosaicRequest, PanelRequest, PictureRequest, RegionRequest, Request, Setup
from planner.request.settled import SettledRequest
from planner.rig.angle_device import AngleDevice
from planner.rig.camera import Camera
from planner.rig.mount import Mount

from .faults import Faults, PlanFileError
from .named_file import refuse_missing
from .other_kind import PLAN, SETUP, SHARED, refuse_other_kind, setup_hint
from .outline import read_outline_file
from .typed_table import Where, read_table, shown, unknown

__all__ = [
    "PlanFileError",
    "check_names",
    "read_plan_file",
    "read_setup_file",
    "request_from_document",
    "request_from_text",
    "tables_of",
    "text_of",
    "values_of",
]

SINGLE: dict[str, type] = {
    "camera": Camera,
    "region": RegionRequest,
    "picture": PictureRequest,
    "mosaic": MosaicRequest,
    "angle_device": AngleDevice,
    "mount": Mount,
    "nights": Nights,
    "settled": SettledRequest,
}
"""Tables that stand once."""
SEVERAL: dict[str, tuple[str, type]] = {
    "site": ("sites", Site),
    "filters": ("filters", Filter),
    "panels": ("panels", PanelRequest),
}
"""Lists of tables, and where their values go."""
FORMS = ("object", "objects", "parts", "center", "earlier_picture", "outline", "outline_file")
TABLES = (*SINGLE, *SEVERAL, "tables")
ONE_INSTRUMENT = "this needs the plan file of one of them: `plan FILE --out FOLDER` writes one for each"


def read_plan_file(path: str | Path) -> Request:
    """Read a plan file, and the setup file that it names.

    Raises
    ------
    FileError
        If a file cannot be read or has faults; the sentence names table and key.
    """
    path = Path(path)
    return request_from_text(read_text(path, PLAN), path=path)


def read_setup_file(path: str | Path) -> Setup:
    """Read a setup file: tables that plan files share.

    Raises
    ------
    FileError
        If the file cannot be read, has faults or names a setup file of its own.
    """
    path = Path(path)
    document = parse_toml(read_text(path, SETUP), path, SETUP)
    faults = Faults(path)
    refuse_other_kind(document, SETUP, faults)
    for name, place in (("panels", "[[panels]]"), ("settled", "[settled]")):
        if name in document:
            faults.add(place, "belongs in a plan file; a setup file holds what plans share")
    faults.stop()
    values = tables_of(document, ("title",), path, faults)
    faults.stop()
    return Setup(**values, path=path)


def request_from_text(text: str, *, path: Path | None = None) -> Request:
    """Read the text of a plan file.

    Parameters
    ----------
    text : str
    path : Path, optional
        Where it stands: file names in it are relative to that; left out, to the working folder.

    Raises
    ------
    FileError
        If it has faults.
    """
    return request_from_document(parse_toml(text, path, PLAN), path=path)


def request_from_document(document: Mapping[str, Any], *, path: Path | None = None) -> Request:
    """Read the tables of a plan file, as `tomllib` or the command line gives them.

    Parameters
    ----------
    document : mapping
        Tables by name, keys as in a plan file.
    path : Path, optional
        Where it stands: file names in it are relative to that; left out, to the working folder.

    Raises
    ------
    FileError
        If there are faults; `PlanFileError.faults` holds each with its place.

    >>> camera = {"focal_length_mm": 380.0, "sensor_px": [6000, 4000], "pixel_um": 3.9}
    >>> region = {"center": ["08h34m", "-45d50m"], "radius_deg": 4}
    >>> request_from_document({"camera": camera, "region": region}).region.center
    (128.5, -45.833333333333336)
    """
    faults = Faults(path)
    if SHARED in document:
        faults.add(f"[[{SHARED}]]", "share the mosaic among instruments; " + ONE_INSTRUMENT)
        faults.stop()
    refuse_other_kind(document, PLAN, faults)
    values = tables_of(document, ("title", "setup", "names_used"), path, faults)
    if "names_used" in document:
        values["names_used"] = _names_used(document["names_used"], faults)
    setup = _setup_path(document, path, faults)
    faults.stop()
    if setup:
        values = {**values_of(read_setup_file(setup)), **values}
    for name in ("camera", "region"):
        if name not in values:
            faults.add(f"[{name}]", f"is missing; a {PLAN} needs it{setup_hint(document)}")
    faults.stop()
    values.setdefault("title", default_title(values["region"], path))
    try:
        return Request(**values, path=path, setup_path=setup)
    except InputError as error:
        faults.add_error("", error)
    raise PlanFileError(tuple(faults.found), path)


def _names_used(names: object, faults: Faults) -> tuple[str, ...]:
    if isinstance(names, list) and all(isinstance(name, str) and name for name in names):
        return tuple(names)
    faults.add(
        "names_used", f"must be a list of names, got {shown(names)}; list names of panels that were let go"
    )
    return ()


def values_of(setup: Setup) -> dict[str, Any]:
    """Tables of a setup file, which serve where the plan file has none of that name."""
    values = {name: getattr(setup, name) for name in _targets()}
    return {name: value for name, value in values.items() if value}


def _targets() -> tuple[str, ...]:
    several = (name for name, _ in SEVERAL.values() if name != "panels")
    return (*(name for name in SINGLE if name != "settled"), *several, "tables")


def default_title(region: RegionRequest, path: Path | None) -> str:
    return (path.stem if path else region.object or " and ".join(region.part_names[:2])) or "mosaic"


def _setup_path(document: Mapping[str, Any], path: Path | None, faults: Faults) -> Path | None:
    name = document.get("setup")
    if name is None or (isinstance(name, str) and name):
        found = _folder(path) / name if name else None
        if path is not None and found is not None and found.resolve() == path.resolve():
            faults.add("setup", "names this file itself; name a setup file, or leave it out")
            return None
        if name and found:
            refuse_missing("setup", name, found, faults)
        return found
    faults.add("setup", f"must be a file name, got {shown(name)}; name a setup file or leave it out")
    return None


def _folder(path: Path | None) -> Path:
    return path.parent if path else Path()


def text_of(document: Mapping[str, Any], key: str, default: str, faults: Faults) -> str:
    """Return a text at the top of a document; one that is none goes to the faults."""
    value = document.get(key, default)
    if isinstance(value, str):
        return value
    faults.add(key, f"must be text, got {shown(value)}")
    return default


def tables_of(
    document: Mapping[str, Any], others: tuple[str, ...], path: Path | None, faults: Faults
) -> dict[str, Any]:
    """Values of all tables that the document has, by the names they have in a request."""
    check_names(document, (*others, *TABLES), faults)
    values: dict[str, Any] = {}
    for name, kind in SINGLE.items():
        if name in document:
            values[name] = _read_single(name, kind, document[name], _folder(path), faults)
    for name, (target, kind) in SEVERAL.items():
        if name in document:
            values[target] = _read_several(name, kind, document[name], _folder(path), faults)
    if "tables" in document:
        values["tables"] = tuple(_plain_tables(document["tables"], faults))
    if "title" in document:
        values["title"] = text_of(document, "title", "", faults)
    return values


def check_names(document: Mapping[str, Any], known: tuple[str, ...], faults: Faults) -> None:
    """Note names at the top of a document that are not known."""
    for name in document:
        if name not in known:
            place = f"[{name}]" if isinstance(document[name], Mapping) else name
            faults.add(place, unknown(name, known))


def _read_single(name: str, kind: type, table: object, folder: Path, faults: Faults) -> Any:
    if isinstance(table, Mapping):
        if name == "region":
            return _read_region(table, folder, faults)
        if "overlap" in table and "overlap_arcmin" in table:
            faults.add(f"[{name}] overlap", "and overlap_arcmin exclude each other; keep one of them")
    return read_table(kind, table, Where(f"[{name}]", folder, faults))


def _read_region(table: Mapping[str, Any], folder: Path, faults: Faults) -> RegionRequest | None:
    table = dict(table)
    if isinstance(table.get("parts"), list):
        table["parts"] = _read_parts(table["parts"], folder, faults)
        if None in table["parts"]:
            return None
    elif "name" in table:
        faults.add("[region] name", "belongs to a part; the plan's own name is title")
    return _read_one_region(table, Where("[region]", folder, faults))


def _read_parts(parts: list[object], folder: Path, faults: Faults) -> tuple[RegionRequest | None, ...]:
    """Values of the parts of a region; none for those with faults."""
    found: list[RegionRequest | None] = []
    for number, part in enumerate(parts, start=1):
        where = Where(f"[region] parts {number}", folder, faults)
        nested = [key for key in ("parts", "objects", "join") if isinstance(part, Mapping) and key in part]
        if nested:
            faults.add(where.place, f"must not hold {nested[0]}; list all parts beside each other")
        table = {key: part[key] for key in part if key not in nested} if isinstance(part, Mapping) else part
        found.append(None if nested else _read_one_region(table, where))
    return tuple(found)


def _read_one_region(table: object, where: Where) -> RegionRequest | None:
    if not isinstance(table, Mapping):
        where.faults.add(where.place, f"must be a table such as {{ object = 'M 31' }}, got {shown(table)}")
        return None
    forms = [name for name in FORMS if name in table]
    if len(forms) > 1:
        where.faults.add(
            where.place, f"must have exactly one of {', '.join(FORMS)}, got {' and '.join(forms)}; keep one"
        )
        return None
    table = dict(table)
    if isinstance(table.get("outline_file"), str):
        try:
            table["outline"] = read_outline_file(where.folder / table["outline_file"])
        except InputError as error:
            where.faults.add(f"{where.place} outline_file:", str(error))
            return None
    region = read_table(RegionRequest, table, where)
    if region:
        _check_sky(region, where)
    return region


def _check_sky(region: RegionRequest, where: Where) -> None:
    """Note an outline that is no simple polygon on the sphere, and an earlier picture that is not there."""
    if region.earlier_picture and not region.earlier_picture.is_file():
        where.faults.add(
            f"{where.place} earlier_picture:",
            f"{region.earlier_picture} is no file; give a plate-solved picture",
        )
    if region.outline:
        from planner.mosaic.region import Region

        try:
            Region(region.outline)
        except InputError as error:
            where.faults.add(
                f"{where.place} {'outline_file' if region.outline_file else 'outline'}:", str(error)
            )


def _read_several(name: str, kind: type, tables: object, folder: Path, faults: Faults) -> tuple[Any, ...]:
    if isinstance(tables, Mapping) and name == "site":
        return (read_table(kind, tables, Where("[site]", folder, faults)),)
    if not isinstance(tables, list):
        faults.add(
            f"[[{name}]]", f"must be a list of tables, got {shown(tables)}; write [[{name}]] above each"
        )
        return ()
    places = [Where(f"[[{name}]] {number}", folder, faults) for number in range(1, len(tables) + 1)]
    return tuple(read_table(kind, table, place) for table, place in zip(tables, places, strict=True))


def _plain_tables(tables: object, faults: Faults) -> list[dict[str, Any]]:
    if isinstance(tables, list) and all(isinstance(table, Mapping) for table in tables):
        from planner.files.user_table.table import read_tables

        try:
            read_tables(tables)
        except InputError as error:
            faults.add("[[tables]]", str(error).removeprefix("[[tables]] "))
        return [dict(table) for table in tables]
    faults.add("[[tables]]", f"must be a list of tables, got {shown(tables)}; write [[tables]] above each")
    return []
