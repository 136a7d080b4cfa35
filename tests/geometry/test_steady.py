"""Elementary functions that come out the same everywhere: right, of known bits, and used where plans are made."""

import ast
import hashlib
import math
from pathlib import Path

import numpy as np
import pytest

import planner
from planner.geometry import steady

NUMBERS = np.concatenate([np.linspace(-7.0, 7.0, 2801), np.linspace(-0.2, 0.2, 401), [0.0, 1e-9, 1e3, -1e5]])
SHARES = np.linspace(-1.0, 1.0, 2001)
LAST_PLACES = 4.0
"""How many units of the last place results may be off, of theirs or of that of 1 if they are smaller."""

# Abramowitz & Stegun 1964, tables 4.6 (sin 1, cos 1), 4.4 (e), 4.2 (ln 2), 4.14 (arcsin 0.5, arctan 1): from memory.
HANDBOOK = [
    (steady.sin, 1.0, 0.84147098480789650665),
    (steady.cos, 1.0, 0.54030230586813971740),
    (steady.tan, 1.0, 1.55740772465490223051),
    (steady.exp, 1.0, 2.71828182845904523536),
    (steady.log, 2.0, 0.69314718055994530942),
    (steady.arcsin, 0.5, math.pi / 6),
    (steady.arccos, 0.5, math.pi / 3),
    (steady.arctan, 1.0, math.pi / 4),
    (steady.arcsinh, 1.0, 0.88137358701954302523),
    (steady.arctanh, 0.5, 0.54930614433405484570),
]


@pytest.mark.parametrize(("function", "x", "value"), HANDBOOK)
def test_values_of_the_handbook(function, x, value):
    assert function(x) == pytest.approx(value, rel=3e-16 * LAST_PLACES)
    assert isinstance(function(x), float)
    assert function(np.array([x]))[0] == function(x)


def _off(found, expected):
    """Units of the last place between results."""
    return np.max(np.abs(found - expected) / np.spacing(np.maximum(1.0, np.abs(expected))))


@pytest.mark.parametrize(
    ("function", "other", "numbers"),
    [
        (steady.sin, np.sin, NUMBERS),
        (steady.cos, np.cos, NUMBERS),
        (steady.arctan, np.arctan, NUMBERS),
        (steady.arcsin, np.arcsin, SHARES),
        (steady.arccos, np.arccos, SHARES),
        (steady.exp, np.exp, NUMBERS[:-2]),
        (steady.log, np.log, np.abs(NUMBERS) + 1e-12),
        (steady.arcsinh, np.arcsinh, NUMBERS),
        (steady.arctanh, np.arctanh, 0.999 * SHARES),
        (steady.tan, np.tan, 1.5 * SHARES),
    ],
)
def test_functions_agree_with_those_of_numpy_in_extended_precision(function, other, numbers):
    expected = np.asarray(other(numbers.astype(np.longdouble)), dtype=float)
    assert _off(function(numbers), expected) <= LAST_PLACES


@pytest.mark.parametrize("count", [1, 5, steady.FEW, steady.FEW + 1])
def test_few_numbers_come_out_as_many_do(count):
    """Few go one by one: with the same bits, in the same shape."""
    numbers = NUMBERS[: len(NUMBERS) // count * count].reshape(-1, count)
    for many, few in [
        (steady.cos_sin(NUMBERS)[0], [steady.cos_sin(some)[0] for some in numbers]),
        (steady.cos_sin(NUMBERS)[1], [steady.cos_sin(some)[1] for some in numbers]),
        (steady.arctan2(NUMBERS, -0.3), [steady.arctan2(some, -0.3) for some in numbers]),
    ]:
        assert np.array_equal(many[: numbers.size], np.ravel(few))
    for shape in [(), (0,), (1, 1), (2, 3)]:
        assert steady.cos(np.ones(shape)).shape == steady.arctan2(np.ones(shape), 2.0).shape == shape


def test_angles_of_points_on_all_sides_and_on_the_axes():
    y, x = np.meshgrid(NUMBERS[::7], NUMBERS[::5])
    expected = np.asarray(np.arctan2(y.astype(np.longdouble), x.astype(np.longdouble)), dtype=float)
    assert _off(steady.arctan2(y, x), expected) <= LAST_PLACES
    for corner in [(0.0, 0.0), (0.0, -0.0), (-0.0, 0.0), (-0.0, -0.0), (1.0, 0.0), (-1.0, 0.0), (0.0, -1.0)]:
        assert math.copysign(1.0, steady.arctan2(*corner)) == math.copysign(1.0, math.atan2(*corner))
        assert steady.arctan2(*corner) == math.atan2(*corner)


def test_what_is_not_known_stays_unknown():
    nothing = np.array([np.nan])
    for function in (steady.sin, steady.cos, steady.arctan, steady.exp, steady.log, steady.arcsinh):
        assert np.isnan(function(nothing)).all()
    assert np.isnan(steady.arctan2(nothing, np.ones(1))).all()
    assert np.isnan(steady.log(np.array([0.0, -1.0]))).all()


def test_sums_of_products_are_those_of_matrices():
    chance = np.random.default_rng(5)
    vectors, matrices = chance.normal(size=(7, 3)), chance.normal(size=(7, 3, 3))
    assert steady.times(vectors, matrices[0]) == pytest.approx(vectors @ matrices[0], abs=1e-14)
    assert steady.times(matrices, matrices[0]) == pytest.approx(matrices @ matrices[0], abs=1e-14)
    assert steady.dot(vectors, vectors[0]) == pytest.approx(vectors @ vectors[0], abs=1e-14)
    assert steady.hypot(3.0, 4.0) == 5.0


def test_every_bit_is_as_it_was_on_the_first_processor():
    """The digest was made on an x86-64 processor with AVX-512; it is the same without, and with any library."""
    found = [steady.sin(NUMBERS), steady.cos(NUMBERS), steady.tan(SHARES), steady.exp(NUMBERS[:-2])]
    found += [steady.log(np.abs(NUMBERS) + 1e-12), steady.arcsin(SHARES), steady.arccos(SHARES)]
    found += [steady.arctan2(NUMBERS, NUMBERS[::-1]), steady.arcsinh(NUMBERS), steady.arctanh(0.9 * SHARES)]
    found += [steady.times(NUMBERS[:2100].reshape(-1, 3), np.array([[0.1, 0.2, 0.3]] * 3)).ravel()]
    bits = np.concatenate(found).astype("<f8").tobytes()
    assert hashlib.sha256(bits).hexdigest()[:16] == "59d36e94195848f6"


SEARCHED = ("geometry", "mosaic")
APART = ("mosaic/fit",)
"""Frames that hold everything: not on the way of a plan."""
UNSTEADY = {
    "np": "sin cos tan arcsin arccos arctan arctan2 sinh cosh tanh arcsinh arccosh arctanh exp exp2 log log2 log10 "
    "hypot power dot matmul inner tensordot linalg",
    "math": "sin cos tan asin acos atan atan2 sinh cosh tanh asinh acosh atanh exp log log10 pow hypot dist",
}


def _unsteady(path):
    """Places of a module where last bits hang on the processor."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.BinOp | ast.AugAssign) and isinstance(node.op, ast.MatMult):
            yield node.lineno, "@"
        if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name):
            if node.attr in UNSTEADY.get(node.value.id, "").split():
                yield node.lineno, f"{node.value.id}.{node.attr}"


def test_what_plans_are_searched_with_takes_its_functions_and_sums_from_here(tmp_path):
    root = Path(planner.__file__).parent
    paths = [path for folder in SEARCHED for path in sorted((root / folder).rglob("*.py"))]
    paths = [path for path in paths if not path.relative_to(root).as_posix().startswith(APART)]
    assert len(paths) > 50
    assert {
        str(path.relative_to(root)): list(_unsteady(path)) for path in paths if list(_unsteady(path))
    } == {}
    (tmp_path / "bad.py").write_text("import numpy as np\nx = np.sin(1.0)\ny = x @ x\n", encoding="utf-8")
    assert sorted(_unsteady(tmp_path / "bad.py")) == [(2, "np.sin"), (3, "@")]
