"""Plans are the same, byte for byte, whatever instructions a processor has.

Libraries are told by their own settings to leave instructions out: numpy (NPY_DISABLE_CPU_FEATURES, with the names
that it gives of what it found), OpenBLAS (OPENBLAS_CORETYPE) and the C library (GLIBC_TUNABLES, where it has that).
"""

import os
import subprocess
import sys

import numpy as np
import pytest

FOUND = np.show_config(mode="dicts")["SIMD Extensions"].get("found", [])
"""Groups of instructions that numpy uses here beside those that it needs, from old to new."""
PLAN = """
[camera]
focal_length_mm = 380.0
sensor_px = [6000, 4000]
pixel_um = 3.9

[region]
outline = [[156.0, -52.9], [163.5, -52.5], [160.5, -49.6]]

[mosaic]
overlap = 0.15
angles = 1
"""
BARE = "-AVX2,-FMA,-AVX512F,-AVX512VL,-AVX512DQ,-AVX512BW,-AVX512CD"
OLDER = {
    "without the newest": ({"OPENBLAS_CORETYPE": "Haswell"}, [f for f in FOUND if f != "X86_V3"]),
    "without any": ({"OPENBLAS_CORETYPE": "Nehalem", "GLIBC_TUNABLES": f"glibc.cpu.hwcaps={BARE}"}, FOUND),
}


def _planned(path, settings):
    """What `plan --json` prints at usual effort in a process of its own."""
    usual = {k: v for k, v in os.environ.items() if not k.startswith(("OPENBLAS_", "NPY_", "GLIBC_"))}
    done = subprocess.run(
        [sys.executable, "-m", "planner", "plan", str(path), "--json"],
        env=usual | settings,
        capture_output=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr.decode()
    return done.stdout


@pytest.fixture(scope="module")
def planned(tmp_path_factory):
    """A small plan file, and its plan as this processor makes it."""
    path = tmp_path_factory.mktemp("any") / "triangle.toml"
    path.write_text(PLAN, encoding="utf-8")
    return path, _planned(path, {})


@pytest.mark.parametrize("name", OLDER)
def test_a_processor_with_fewer_instructions_plans_the_same(planned, name):
    settings, missing = OLDER[name]
    if not missing:
        pytest.skip("numpy found no instructions here that could be left out")
    path, expected = planned
    assert b'"panels"' in expected
    assert _planned(path, settings | {"NPY_DISABLE_CPU_FEATURES": " ".join(missing)}) == expected
