"""Elementary functions and short sums whose results are the same to the last bit on every processor.

Libraries choose other instructions for other processors, and the last bit of a sine or of a product of matrices
changes with them; a search that asks which of two numbers is larger then goes another way. What stands here is made
of sums, products, quotients, square roots and powers of two alone, each a step of its own: IEEE 754-2019, section
5.4.1, rounds those correctly everywhere. Results are right to some two units of the last place, or of that of 1 where
they are smaller.

Series: Abramowitz & Stegun 1964, 4.1.27 (logarithm), 4.2.1 (exponential), 4.3.65 and 4.3.66 (sine, cosine); for the
arctangent arctan(x tan 2f) = 2 sum (-1)^k tan(f)^(2k+1) / (2k+1) T_(2k+1)(x) with f = pi / 16, up to T_23, as powers.
Angles are brought near zero by pi / 2 in three parts (Cody & Waite 1980).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any, overload

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = [
    "arccos",
    "arcsin",
    "arcsinh",
    "arctan",
    "arctan2",
    "arctanh",
    "cos",
    "cos_sin",
    "dot",
    "exp",
    "hypot",
    "log",
    "sin",
    "tan",
    "times",
]

Array = NDArray[np.float64]
Numbers = NDArray[Any]
QUARTER = tuple(
    map(float.fromhex, ("0x1.921fb54400000p+0", "0x1.0b4611a600000p-34", "0x1.3198a2e037073p-69"))
)
"""pi / 2 in parts; whole multiples of the first two are exact up to a million quarters."""
LOG_2 = float.fromhex("0x1.62e42fee00000p-1"), float.fromhex("0x1.a39ef35793c76p-33")
SINE = [(-1.0) ** k / math.factorial(2 * k + 1) for k in range(1, 9)]
COSINE = [(-1.0) ** k / math.factorial(2 * k) for k in range(2, 9)]
EXPONENTIAL = [1.0 / math.factorial(k) for k in range(14)]
AREA_TANGENT = [1.0 / (2 * k + 1) for k in range(1, 11)]
"""Of the inverse hyperbolic tangent, for arguments up to `NEAR`."""
NEAR = 3.0 - math.sqrt(8.0)
ARCTANGENT = [
    -0.3333333333333243,
    0.1999999999983741,
    -0.14285714272042474,
    0.11111110465849684,
    -0.09090890205164943,
    0.07691944938571023,
    -0.06661951161621596,
    0.058403740045694916,
    -0.05008550701328832,
    0.03734732216833096,
    -0.017180029701564188,
]
"""Of the odd powers from the third on, for arguments up to tan(pi / 8)."""
EIGHTH = math.sqrt(2.0) - 1.0
"""tan(pi / 8)."""
HIGHEST_POWER = 709.0
SIGNS = np.array([[1.0, -1.0, -1.0, 1.0], [1.0, 1.0, -1.0, -1.0]])
"""Of cosine and sine after 0 to 3 quarter turns, once these have changed places."""
FEW = 16
"""So many numbers go faster one by one."""


@overload
def sin(angle_rad: float) -> float: ...
@overload
def sin(angle_rad: Numbers) -> Array: ...
def sin(angle_rad: Any) -> Any:
    """Sine of angles in radians, up to a million."""
    return _cos_sin(_floats(angle_rad))[1]


@overload
def cos(angle_rad: float) -> float: ...
@overload
def cos(angle_rad: Numbers) -> Array: ...
def cos(angle_rad: Any) -> Any:
    """Cosine of angles in radians, up to a million."""
    return _cos_sin(_floats(angle_rad))[0]


@overload
def cos_sin(angle_rad: float) -> tuple[float, float]: ...
@overload
def cos_sin(angle_rad: Numbers) -> tuple[Array, Array]: ...
def cos_sin(angle_rad: Any) -> Any:
    """Cosine and sine of angles in radians, in about the time of one of them."""
    return _cos_sin(_floats(angle_rad))


@overload
def tan(angle_rad: float) -> float: ...
@overload
def tan(angle_rad: Numbers) -> Array: ...
def tan(angle_rad: Any) -> Any:
    """Tangent of angles in radians, up to a million."""
    cosine, sine = _cos_sin(_floats(angle_rad))
    return sine / cosine


@overload
def arctan(x: float) -> float: ...
@overload
def arctan(x: Numbers) -> Array: ...
def arctan(x: Any) -> Any:
    """Arctangent, radians."""
    x = _floats(x)
    return arctan2(x, 1.0)


@overload
def arcsin(x: float) -> float: ...
@overload
def arcsin(x: Numbers) -> Array: ...
def arcsin(x: Any) -> Any:
    """Arcsine, radians; NaN beyond [-1, 1]."""
    x = _floats(x)
    return arctan2(x, _root((1.0 - x) * (1.0 + x)))


@overload
def arccos(x: float) -> float: ...
@overload
def arccos(x: Numbers) -> Array: ...
def arccos(x: Any) -> Any:
    """Arccosine, radians; NaN beyond [-1, 1]."""
    x = _floats(x)
    return arctan2(_root((1.0 - x) * (1.0 + x)), x)


@overload
def arctan2(y: float, x: float) -> float: ...
@overload
def arctan2(y: Numbers, x: Numbers | float) -> Array: ...
@overload
def arctan2(y: float, x: Numbers) -> Array: ...
def arctan2(y: Any, x: Any) -> Any:
    """Angle of a point (x, y) from the x axis, radians, in [-pi, pi]; zeros with signs as in C."""
    if isinstance(y, np.ndarray) or isinstance(x, np.ndarray):
        return _arctan2_of_any(np.asarray(y, dtype=float), np.asarray(x, dtype=float))
    return _arctan2_alone(float(y), float(x))


@overload
def exp(x: float) -> float: ...
@overload
def exp(x: Numbers) -> Array: ...
def exp(x: Any) -> Any:
    """E to the power of x; exponents beyond 709 count as that."""
    powers = np.clip(np.asarray(x, dtype=float), -HIGHEST_POWER, HIGHEST_POWER)
    twos = np.rint(powers / LOG_2[0])
    rest = (powers - twos * LOG_2[0]) - twos * LOG_2[1]
    return _like(np.ldexp(_polynomial(rest, EXPONENTIAL), _whole(twos)), x)


@overload
def log(x: float) -> float: ...
@overload
def log(x: Numbers) -> Array: ...
def log(x: Any) -> Any:
    """Natural logarithm; NaN where x is not above 0."""
    numbers = np.asarray(x, dtype=float)
    part, twos = np.frexp(np.where(numbers > 0.0, numbers, np.nan))
    low = part < math.sqrt(0.5)
    part, twos = np.where(low, 2.0 * part, part), np.where(low, twos - 1, twos)
    share = (part - 1.0) / (part + 1.0)
    return _like((2.0 * _odd(share, AREA_TANGENT) + twos * LOG_2[1]) + twos * LOG_2[0], x)


@overload
def arcsinh(x: float) -> float: ...
@overload
def arcsinh(x: Numbers) -> Array: ...
def arcsinh(x: Any) -> Any:
    """Inverse hyperbolic sine."""
    size = np.abs(np.asarray(x, dtype=float))
    return _like(np.copysign(log(size + np.sqrt(size * size + 1.0)), x), x)


@overload
def arctanh(x: float) -> float: ...
@overload
def arctanh(x: Numbers) -> Array: ...
def arctanh(x: Any) -> Any:
    """Inverse hyperbolic tangent; NaN beyond (-1, 1)."""
    numbers = np.asarray(x, dtype=float)
    if bool((np.abs(numbers) <= NEAR).all()):
        return _like(_odd(numbers, AREA_TANGENT), x)
    return _like(0.5 * np.asarray(log((1.0 + numbers) / (1.0 - numbers))), x)


@overload
def hypot(x: float, y: float) -> float: ...
@overload
def hypot(x: Numbers, y: Numbers | float) -> Array: ...
def hypot(x: Any, y: Any) -> Any:
    """Length of the hypotenuse, of legs whose squares do not overflow."""
    return _root(x * x + y * y)


def dot(first: ArrayLike, second: ArrayLike) -> Array:
    """Sum of products along the last axis, of two or three, which is written out; the others broadcast."""
    a, b = np.asarray(first, dtype=float), np.asarray(second, dtype=float)
    total = a[..., 0] * b[..., 0]
    for k in range(1, a.shape[-1]):
        total += a[..., k] * b[..., k]
    return np.asarray(total)


def times(vectors: ArrayLike, matrix: ArrayLike) -> Array:
    """Vectors (..., K) times a matrix (K, M), or matrices (..., K, M): shape (..., M), for K of 2 or 3."""
    v, m = np.asarray(vectors, dtype=float), np.asarray(matrix, dtype=float)
    total = v[..., :1] * m[..., 0, :]
    for k in range(1, v.shape[-1]):
        total += v[..., k : k + 1] * m[..., k, :]
    return np.asarray(total)


def _floats(x: Any) -> Any:
    """Return an array of floats, or a float, with which the same steps go faster."""
    return np.asarray(x, dtype=float) if isinstance(x, np.ndarray) else float(x)


def _like(found: Array, given: Any) -> Any:
    """Return a float where no array was given."""
    return found if isinstance(given, np.ndarray) else float(found)


def _root(square: Any) -> Any:
    return np.sqrt(square) if isinstance(square, np.ndarray) else float(np.sqrt(square))


def _whole(numbers: Array) -> NDArray[np.int64]:
    """Whole numbers as such; 0 for what is not known."""
    return np.where(np.isnan(numbers), 0.0, numbers).astype(np.int64)


def _polynomial(x: Any, coefficients: Sequence[float]) -> Any:
    """Sum of coefficients times powers of x, the constant first."""
    total = x * coefficients[-1]
    for one in coefficients[-2:0:-1]:
        total += one
        total *= x
    total += coefficients[0]
    return total


def _cos_sin(angle: Any) -> tuple[Any, Any]:
    if isinstance(angle, float):
        return _cos_sin_alone(angle)
    if angle.size > FEW:
        return _cos_sin_of_many(angle)
    found = np.array([_cos_sin_alone(one) for one in angle.ravel().tolist()]).reshape(-1, 2).T
    return found[0].reshape(angle.shape), found[1].reshape(angle.shape)


def _cos_sin_alone(angle: float) -> tuple[float, float]:
    """Do with one number what `_cos_sin_of_many` does with each."""
    if not math.isfinite(angle):
        return math.nan, math.nan
    quarters = round(angle * (2.0 / math.pi))
    if quarters:
        angle = ((angle - quarters * QUARTER[0]) - quarters * QUARTER[1]) - quarters * QUARTER[2]
    square = angle * angle
    cosine, sine = _cosine(square), _odd(angle, SINE)
    return ((cosine, sine), (-sine, cosine), (-cosine, -sine), (sine, -cosine))[quarters & 3]


def _cos_sin_of_many(angle: Array) -> tuple[Array, Array]:
    quarters = np.rint(angle * (2.0 / math.pi))
    turned = bool(quarters.any())
    if turned:
        angle = ((angle - quarters * QUARTER[0]) - quarters * QUARTER[1]) - quarters * QUARTER[2]
    cosine, sine = _cosine(angle * angle), _odd(angle, SINE)
    return _turned(_whole(quarters) & 3, cosine, sine) if turned else (cosine, sine)


def _cosine(square: Any) -> Any:
    """Cosine of an angle of this square, up to an eighth of a turn."""
    cosine = _polynomial(square, COSINE)
    cosine *= square
    cosine -= 0.5
    cosine *= square
    cosine += 1.0
    return cosine


def _turned(quarter: NDArray[np.int64], cosine: Array, sine: Array) -> tuple[Array, Array]:
    """Cosines and sines of angles and so many quarter turns."""
    odd = (quarter & 1) == 1
    cosine, sine = np.where(odd, sine, cosine), np.where(odd, cosine, sine)
    cosine *= SIGNS[0, quarter]
    sine *= SIGNS[1, quarter]
    return cosine, sine


def _arctan2_of_any(y: Array, x: Array) -> Array:
    each = np.broadcast(y, x)
    if each.size > FEW:
        return _arctan2(y, x)
    return np.array([_arctan2_alone(float(a), float(b)) for a, b in each]).reshape(each.shape)


def _arctan2(y: Array, x: Array) -> Array:
    tall = np.abs(y)
    if bool((tall < EIGHTH * x).all()):  # so all x are above 0
        return np.asarray(_odd(y / x, ARCTANGENT))
    wide = np.abs(x)
    large, small = np.maximum(tall, wide), np.minimum(tall, wide)
    past = small > EIGHTH * large
    whole = np.where(past, small + large, np.where(large > 0.0, large, 1.0))
    angle = _odd(np.where(past, small - large, small) / whole, ARCTANGENT)
    angle = np.where(past, angle + math.pi / 4, angle)
    angle = np.where(tall > wide, math.pi / 2 - angle, angle)
    return np.asarray(np.copysign(np.where(np.signbit(x), math.pi - angle, angle), y))


def _arctan2_alone(y: float, x: float) -> float:
    """Do with two numbers what `_arctan2` does with many."""
    tall, wide = abs(y), abs(x)
    if math.isnan(y + x) or tall == wide == 0.0:
        return y + x if math.isnan(y + x) else math.copysign(math.pi if math.copysign(1.0, x) < 0 else 0.0, y)
    large, small = max(tall, wide), min(tall, wide)
    if small > EIGHTH * large:
        angle = _odd((small - large) / (small + large), ARCTANGENT) + math.pi / 4
    else:
        angle = _odd(small / large, ARCTANGENT)
    angle = math.pi / 2 - angle if tall > wide else angle
    return math.copysign(math.pi - angle if math.copysign(1.0, x) < 0 else angle, y)


def _odd(x: Any, coefficients: Sequence[float]) -> Any:
    """X and coefficients times its odd powers from the third on."""
    square = x * x
    total = _polynomial(square, coefficients)
    total *= square
    total *= x
    total += x
    return total
