"""Data flows one way, and start stays light."""

import ast
import subprocess
import sys
from pathlib import Path

import pytest

import planner

ROOT = Path(__file__).resolve().parents[1]
ORDER = [
    "errors",
    "checks",
    "geometry",
    "mosaic",
    "rig night catalogue",
    "region_request panel_request request",
    "frames",
    "files draw",
]
HEAVY = ["astropy", "matplotlib", "streamlit", "scipy", "reproject", "dask"]


def loaded_by(statement):
    code = f"import sys; {statement}; print(' '.join(sys.modules))"
    result = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True
    )
    return {name.split(".")[0] for name in result.stdout.split()}


@pytest.mark.parametrize(
    "statement", ["import planner", "import planner.mosaic", "import planner.mosaic.build"]
)
def test_the_core_loads_no_heavy_library(statement):
    assert not loaded_by(statement) & set(HEAVY)


def test_a_plan_with_a_pinned_angle_loads_no_heavy_library():
    statement = (
        "from planner.files.plan_file import request_from_document as r; from planner.plan import make_plan; "
        "make_plan(r({'camera': {'focal_length_mm': 420, 'sensor_px': [6248, 4176], 'pixel_um': 3.76}, "
        "'region': {'center': ['08h34m', '-45d50m'], 'radius_deg': 1.0}, "
        "'mosaic': {'position_angle_deg': 20, 'layout': 'sliding', 'turns': 'per_panel'}}))"
    )
    assert not loaded_by(statement) & set(HEAVY)


def imports_of(path):
    """Parts of the planner that a module imports when it is loaded (not in functions or for types only)."""
    package = ("planner", *path.relative_to(ROOT / "planner").parts[:-1])
    for node in ast.parse(path.read_text(encoding="utf-8")).body:
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            base = package[: len(package) - node.level + 1] if node.level else ()
            yield ".".join([*base, *([node.module] if node.module else [])])


def layer_of(part):
    return next((number for number, names in enumerate(ORDER) if part in names.split()), None)


@pytest.mark.parametrize("folder", ["geometry", "mosaic", "rig", "night", "catalogue", "frames", "files", "draw"])
def test_nothing_imports_from_a_layer_to_its_right(folder):
    own = layer_of(folder)
    for path in (ROOT / "planner" / folder).rglob("*.py"):
        for module in imports_of(path):
            parts = module.split(".")
            if parts[0] != "planner" or len(parts) < 2:
                continue
            other = layer_of(parts[1])
            if own < layer_of("files"):
                assert other is not None and other <= own, f"{path} imports {module}"
            assert parts[1] not in ("cli", "app"), f"{path} imports {module}"


def test_public_names_are_listed():
    visible = {
        name
        for name in vars(planner)
        if not name.startswith("_") and not isinstance(vars(planner)[name], type(sys))
    }
    assert sorted(planner.__all__) == sorted(visible | {"__version__"} & set(planner.__all__))
