"""The house has floors: each imports only from floors below it, and start stays light."""

import ast
import subprocess
import sys
from functools import cache
from pathlib import Path

import pytest

import planner

ROOT = Path(__file__).resolve().parents[1]
FLOORS = [
    "exit_codes",
    "errors early_stop progress halves words plain_names",
    "checks beside",
    "geometry",
    "mosaic",
    "rig night catalogue",
    "request",
    "frames",
    "answers",
    "files",
    "session draw",
    "handover bridge guide watch",
    "cli screen",
    "pages app server __main__",
]
"""From the ground up; what stands in one line does not see each other."""
ROOMS = {
    "mosaic": ["(values)", "proof", "layout", "bound", "search", "choose", "build", "grow"],
    "frames": ["header", "made_up", "solve", "review", "preview"],
    "files": ["text_file output", "user_table", "plan_file", "documents pointings", "exchange", "(values)"],
    "draw": ["palette", "figure_png", "map", "paper pictures"],
}
"""The same inside folders: subfolders and single modules; `(values)` are all modules that are not named."""
HEAVY = ["astropy", "matplotlib", "streamlit", "scipy", "reproject", "dask"]


def modules():
    """Module name -> file, of everything that the project runs."""
    found = {}
    for path in sorted([*ROOT.glob("planner/**/*.py"), *ROOT.glob("pages/*.py")]):
        parts = path.relative_to(ROOT).with_suffix("").parts
        found[".".join(parts[:-1] if parts[-1] == "__init__" else parts)] = path
    return found


KNOWN = modules()


@cache
def imports_of(name):
    """Modules of the project that a module imports anywhere: at its top, in functions, for types."""
    return list(_imports_in(name))


def _imports_in(name):
    path = KNOWN[name]
    package = name.split(".") if path.name == "__init__.py" else name.split(".")[:-1]
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            wanted = [(alias.name, "") for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            base = package[: len(package) - node.level + 1] if node.level else []
            base = ".".join([*base, *([node.module] if node.module else [])])
            wanted = [(base, alias.name) for alias in node.names]
        else:
            continue
        for base, item in wanted:
            target = f"{base}.{item}" if f"{base}.{item}" in KNOWN else base
            if target in KNOWN and target != name:
                yield target


def floor_of(name):
    """Number of the floor on which a module stands; None for the package itself, the door for everybody outside."""
    parts = name.split(".")
    place = parts[0] if parts[0] != "planner" else parts[1] if len(parts) > 1 else ""
    return next((number for number, places in enumerate(FLOORS) if place in places.split()), None), place


def room_of(name, folder):
    """Number of the room inside a folder of the planner, and its name."""
    parts = name.split(".")[2:]
    room = parts[0] if parts else "(values)"
    number = next((number for number, rooms in enumerate(ROOMS[folder]) if room in rooms.split()), None)
    return (ROOMS[folder].index("(values)"), "(values)") if number is None else (number, room)


@pytest.mark.parametrize("name", KNOWN)
def test_every_module_imports_only_from_floors_below_its_own(name):
    floor, place = floor_of(name)
    if not place:
        return
    assert floor is not None, f"{name} stands on no floor"
    for target in imports_of(name):
        below, other = floor_of(target)
        assert below is not None, f"{name} imports the door {target}"
        assert other == place or below < floor, f"{name} imports {target}, which is not below it"


@pytest.mark.parametrize("folder", ROOMS)
def test_inside_a_folder_too_imports_go_one_way(folder):
    prefix = f"planner.{folder}"
    for name in (name for name in KNOWN if name.startswith(prefix + ".")):
        room, own = room_of(name, folder)
        for target in (target for target in imports_of(name) if target.startswith(prefix + ".")):
            below, other = room_of(target, folder)
            assert other == own or below < room, f"{name} imports {target}, which is not below it"


def test_no_module_imports_itself_by_a_detour():
    graph = {name: set(imports_of(name)) for name in KNOWN}
    clear = set()
    while free := {name for name, targets in graph.items() if name not in clear and targets <= clear}:
        clear |= free
    assert not set(graph) - clear


def test_the_check_sees_imports_in_functions_and_for_types():
    assert "planner.draw.map.page" in set(imports_of("planner.draw.map.chart"))
    assert "planner.draw.map.sky_map" in set(imports_of("planner.draw.map.chart"))


def test_no_drawer_is_too_full():
    for folder in {path.parent for path in KNOWN.values()}:
        assert len(list(folder.glob("*.py"))) <= 26, folder


PINNED = (
    "from planner.files.plan_file.read import request_from_document as r; "
    "from planner.answers.plan import make_plan; "
    "make_plan(r({'camera': {'focal_length_mm': 380.0, 'sensor_px': [6000, 4000], 'pixel_um': 3.9}, "
    "'region': {'center': ['08h34m', '-45d50m'], 'radius_deg': 1.0}, "
    "'mosaic': {'position_angle_deg': 20, 'layout': 'sliding', 'angles': 'per_panel'}}))"
)
"""A plan at a pinned camera angle about a position."""
NEBULA = "from planner.catalogue.nebulae.lookup import find_nebula; find_nebula('RCW 32')"


@cache
def loaded_modules(statement):
    """Names of all modules that a statement loads, in a process of its own."""
    code = f"import sys; {statement}; print(' '.join(sys.modules))"
    result = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True
    )
    return frozenset(result.stdout.split())


def loaded_by(statement):
    """Packages that a statement loads."""
    return {name.split(".")[0] for name in loaded_modules(statement)}


@pytest.mark.parametrize(
    "statement", ["import planner", "import planner.mosaic", "import planner.mosaic.build"]
)
def test_the_core_loads_no_heavy_library(statement):
    assert not loaded_by(statement) & set(HEAVY)


def test_a_plan_with_a_pinned_angle_loads_no_heavy_library():
    assert not loaded_by(PINNED) & set(HEAVY)


def test_a_search_for_panels_loads_no_masked_arrays():
    statement = (
        "from planner.mosaic.build import build_mosaic; from planner.mosaic.terms import Layout, Terms; "
        "from planner.mosaic.panel import Field; from planner.mosaic.region import Region; "
        "region = Region(((10.0, -2.0), (14.0, -2.0), (14.0, 2.0), (12.0, 1.0))); "
        "build_mosaic(region, Terms(Field(3.0, 2.0)), Layout(effort='quick')); "
        "assert 'numpy.ma' not in sys.modules and 'planner.mosaic.search.moves' in sys.modules"
    )
    assert not loaded_by(statement) & set(HEAVY)


def test_public_names_are_listed():
    helpers = {"Any", "TYPE_CHECKING", "annotations"}
    visible = {
        name
        for name in vars(planner)
        if not name.startswith("_") and not isinstance(vars(planner)[name], type(sys))
    }
    assert visible - helpers <= set(planner.__all__) <= set(dir(planner))
    assert all(getattr(planner, name) is not None for name in planner.__all__)
    assert sorted(planner.__all__) == planner.__all__


def test_the_nebulae_are_read_only_when_asked_for():
    assert not [name for name in loaded_modules(PINNED) if name.startswith("planner.catalogue.nebulae")]
    assert "planner.catalogue.nebulae.data" in loaded_modules(NEBULA)
