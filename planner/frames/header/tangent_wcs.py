"""Plate solutions of the ordinary kind: a tangent plane (TAN), with or without SIP distortion.

Plain floating point arithmetic on a few numbers: a frame takes some tens of microseconds. What is no such
solution is left to astropy.

Sources: Calabretta & Greisen 2002, A&A 395, 1077 (Paper II), sections 2.2, 5.1.3, 6.1; Greisen & Calabretta
2002, A&A 395, 1061 (Paper I), section 2.1; Shupe et al. 2005, ASP Conf. Ser. 347, 491 (SIP).
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from typing import NamedTuple

from planner.errors import FileError
from planner.rig.plate_solution import PlateSolution

from .cards import ImageHeader
from .sky_systems import Matrix, equatorial_system, rotation_to_icrs, system_name
from .solution_facts import PixelView, make_solution

__all__ = ["linear_matrix", "tangent_solution"]

Vector = tuple[float, float, float]
_PLAIN_TYPES = {("RA---TAN", "DEC--TAN"), ("RA---TAN-SIP", "DEC--TAN-SIP")}
_ODD_KEY = re.compile(r"^(PV|PS|CPDIS|CQDIS|CPERR|DP|DQ|D2IMDIS|D2IMERR)\d", re.MULTILINE)
_TERM = re.compile(r"^(([AB])_(\d+)_(\d+))$", re.MULTILINE)


def tangent_solution(header: ImageHeader) -> PlateSolution | None:
    """Plate solution of a header of the ordinary kind; None where it is of another kind.

    Raises
    ------
    FileError
        If it is of the ordinary kind, but numbers are missing, faulty or contradict each other.
    """
    if not _is_plain(header):
        return None
    system, equinox = equatorial_system(header)
    rotation = rotation_to_icrs(system, equinox)
    if rotation is None:
        return None
    plane = _read_plane(header, rotation)
    distortion = "SIP" if plane.sip_x or plane.sip_y else "none"
    return make_solution(header, plane, system_name(system, equinox), distortion)


def _is_plain(header: ImageHeader) -> bool:
    """Whether two axes are a tangent plane in degrees, with no distortion but SIP."""
    if (header.string("CTYPE1"), header.string("CTYPE2")) not in _PLAIN_TYPES:
        return False
    if not (_in_degrees(header, "CUNIT1") and _in_degrees(header, "CUNIT2")):
        return False
    return header.number("WCSAXES", 2.0) == 2.0 and not _ODD_KEY.search(header.keys_by_line)


def _in_degrees(header: ImageHeader, key: str) -> bool:
    return header.string(key) in (None, "deg", "degree", "degrees")


class _Plane(NamedTuple):
    """A tangent plane on the sky and the way from pixels to it.

    `origin`, `east` and `north` are ICRS unit vectors at the reference point, along the axes of the system
    that the frame was solved in; `matrix` turns pixels into radians (east, north).
    """

    reference_px: tuple[float, float]
    matrix: tuple[float, float, float, float]
    origin: Vector
    east: Vector
    north: Vector
    sip_x: tuple[tuple[int, int, float], ...] = ()
    sip_y: tuple[tuple[int, int, float], ...] = ()

    def sight(self, x: float, y: float) -> Vector:
        """Where a FITS pixel looks: an ICRS unit vector."""
        u, v = x - self.reference_px[0], y - self.reference_px[1]
        if self.sip_x or self.sip_y:
            u, v = u + _polynomial(self.sip_x, u, v), v + _polynomial(self.sip_y, u, v)
        x, y, z = self._out(*self._turned(u, v))
        length = math.sqrt(x * x + y * y + z * z)
        return x / length, y / length, z / length

    def view(self, x: float, y: float) -> PixelView:
        """Where a FITS pixel looks and how that moves along rows and columns (radians a pixel)."""
        u, v = x - self.reference_px[0], y - self.reference_px[1]
        f, g = _polynomial(self.sip_x, u, v), _polynomial(self.sip_y, u, v)
        f_u, f_v = _slopes(self.sip_x, u, v)
        g_u, g_v = _slopes(self.sip_y, u, v)
        xi, eta = self._turned(u + f, v + g)
        along_x, along_y = self._turned(1.0 + f_u, g_u), self._turned(f_v, 1.0 + g_v)
        out = self._out(xi, eta)
        length = math.sqrt(_dot(out, out))
        sight = (out[0] / length, out[1] / length, out[2] / length)
        return PixelView(sight, self._tangent(along_x, sight, length), self._tangent(along_y, sight, length))

    def _turned(self, u: float, v: float) -> tuple[float, float]:
        a, b, c, d = self.matrix
        return a * u + b * v, c * u + d * v

    def _out(self, xi: float, eta: float, *, depth: float = 1.0) -> Vector:
        o, e, n = self.origin, self.east, self.north
        return (
            depth * o[0] + xi * e[0] + eta * n[0],
            depth * o[1] + xi * e[1] + eta * n[1],
            depth * o[2] + xi * e[2] + eta * n[2],
        )

    def _tangent(self, step: tuple[float, float], sight: Vector, length: float) -> Vector:
        """Change of the unit vector `sight` for a step in the plane: its part across the line of sight."""
        move = self._out(*step, depth=0.0)
        along = _dot(move, sight)
        return (
            (move[0] - along * sight[0]) / length,
            (move[1] - along * sight[1]) / length,
            (move[2] - along * sight[2]) / length,
        )


def _dot(a: Vector, b: Vector) -> float:
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def _polynomial(terms: Sequence[tuple[int, int, float]], u: float, v: float) -> float:
    """Sum of c u^p v^q."""
    value = 0.0
    for p, q, c in terms:
        value += c * u**p * v**q
    return value


def _slopes(terms: Sequence[tuple[int, int, float]], u: float, v: float) -> tuple[float, float]:
    """Slopes of the sum of c u^p v^q along u and along v."""
    by_u = by_v = 0.0
    for p, q, c in terms:
        by_u += c * p * u ** (p - 1) * v**q if p else 0.0
        by_v += c * q * u**p * v ** (q - 1) if q else 0.0
    return by_u, by_v


def _read_plane(header: ImageHeader, rotation: Matrix) -> _Plane:
    ra, dec = math.radians(header.needed("CRVAL1")), math.radians(header.needed("CRVAL2"))
    if abs(dec) > math.pi / 2:
        shown = f"{math.degrees(dec):g}"
        raise FileError(f"{header.path}: CRVAL2 must be in [-90, 90], got {shown}; solve the frame again")
    sin_ra, cos_ra, sin_dec, cos_dec = math.sin(ra), math.cos(ra), math.sin(dec), math.cos(dec)
    origin = _rotated(rotation, (cos_dec * cos_ra, cos_dec * sin_ra, sin_dec))
    east = _rotated(rotation, (-sin_ra, cos_ra, 0.0))
    north = _rotated(rotation, (-sin_dec * cos_ra, -sin_dec * sin_ra, cos_dec))
    reference = header.needed("CRPIX1"), header.needed("CRPIX2")
    sip_x, sip_y = _sip_terms(header)
    return _Plane(reference, _native_matrix(header), origin, east, north, sip_x, sip_y)


def _rotated(rotation: Matrix, axis: Vector) -> Vector:
    return _dot(rotation[0], axis), _dot(rotation[1], axis), _dot(rotation[2], axis)


def _native_matrix(header: ImageHeader) -> tuple[float, float, float, float]:
    """Pixels to radians east and north: the linear matrix, turned where LONPOLE is not 180.

    A point at native longitude phi has the position angle LONPOLE - phi (Paper II, section 2.2), and
    x = R sin phi, y = -R cos phi (eqs 12, 13). Default: 180, 0 if the reference point is the north pole.
    """
    a, b, c, d = (math.radians(value) for value in linear_matrix(header))
    pole = header.number("LONPOLE", 0.0 if header.number("CRVAL2", 0.0) >= 90.0 else 180.0)
    if pole == 180.0:
        return a, b, c, d
    sin, cos = math.sin(math.radians(pole)), math.cos(math.radians(pole))
    return -a * cos - c * sin, -b * cos - d * sin, a * sin - c * cos, b * sin - d * cos


def linear_matrix(header: ImageHeader) -> tuple[float, float, float, float]:
    """Matrix (CD1_1, CD1_2, CD2_1, CD2_2), degrees a pixel, from any of its three spellings.

    CD as it is; PC times CDELT; CDELT turned by CROTA2 (Paper II, section 6.1). CD and PC together must
    agree, and so must CROTA1 and CROTA2.

    Raises
    ------
    FileError
        If none is there, or they contradict each other, or the matrix is singular.
    """
    has_cd, has_pc = _has(header, "CD"), _has(header, "PC")
    matrix = _cd(header) if has_cd else _pc(header) if has_pc else _crota(header)
    if has_cd and has_pc and not _same(matrix, _pc(header)):
        raise FileError(f"{header.path} is contradictory: its CD and PC matrices differ; solve it again")
    a, b, c, d = matrix
    if not abs(a * d - b * c) > 1e-9 * (a * a + b * b + c * c + d * d):
        raise FileError(
            f"{header.path}: the matrix of its solution is singular (pixels without area); solve it again"
        )
    return matrix


def _has(header: ImageHeader, kind: str) -> bool:
    values = header.values
    return (
        f"{kind}1_1" in values or f"{kind}1_2" in values or f"{kind}2_1" in values or f"{kind}2_2" in values
    )


def _same(one: tuple[float, ...], other: tuple[float, ...]) -> bool:
    return math.dist(one, other) <= 1e-7 * math.hypot(*one)


def _cd(header: ImageHeader) -> tuple[float, float, float, float]:
    a, b, c, d = (header.number(f"CD{i}_{j}", 0.0) for i in (1, 2) for j in (1, 2))
    return a, b, c, d


def _steps(header: ImageHeader) -> tuple[float, float]:
    return header.needed("CDELT1"), header.needed("CDELT2")


def _pc(header: ImageHeader) -> tuple[float, float, float, float]:
    step_x, step_y = _steps(header)
    a, b, c, d = (header.number(f"PC{i}_{j}", float(i == j)) for i in (1, 2) for j in (1, 2))
    return step_x * a, step_x * b, step_y * c, step_y * d


def _crota(header: ImageHeader) -> tuple[float, float, float, float]:
    step_x, step_y = _steps(header)
    angle_deg, other_deg = header.number("CROTA2", 0.0), header.number("CROTA1", 0.0)
    if other_deg not in (0.0, angle_deg):
        raise FileError(
            f"{header.path} is contradictory: CROTA1 is {other_deg:g}, CROTA2 {angle_deg:g}; solve it again"
        )
    cos, sin = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
    return step_x * cos, -step_y * sin, step_x * sin, step_y * cos


def _sip_terms(header: ImageHeader) -> tuple[tuple[tuple[int, int, float], ...], ...]:
    """Terms of the SIP polynomials A (along rows) and B (along columns) as (power, power, coefficient)."""
    if "A_ORDER" not in header.values and "B_ORDER" not in header.values:
        return (), ()
    orders = {name: header.number(f"{name}_ORDER", -1.0) for name in "AB"}
    if min(orders.values()) < 0:
        raise FileError(f"{header.path}: SIP needs both A_ORDER and B_ORDER; solve the frame again")
    found: dict[str, list[tuple[int, int, float]]] = {"A": [], "B": []}
    for key, name, p, q in _TERM.findall(header.keys_by_line):
        if int(p) + int(q) <= orders[name] and orders[name] > 1:
            found[name].append((int(p), int(q), header.number(key, 0.0)))
    return tuple(found["A"]), tuple(found["B"])
