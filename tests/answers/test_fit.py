"""How well a request fits one frame, from the region to the answer."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely

from planner.answers.find_region import find_region
from planner.answers.fit import ARCMIN, fit_field, fit_setups
from planner.files.plan_file.read import request_from_document
from planner.geometry import sky_basis, vector_to_plane
from planner.mosaic.fit import Shape
from planner.mosaic.region import Region
from planner.request.request import Request, Setup
from planner.rig.angle_device import AngleDevice
from planner.rig.camera import Camera

CAMERA = {"focal_length_mm": 380.0, "sensor_px": [6000, 4000], "pixel_um": 3.9}
PAIR = [
    {"center": [359.6, 62.0], "radius_deg": 0.3, "margin_arcmin": 3.0},
    {"center": [2.9, 62.6], "width_deg": 0.5, "height_deg": 0.2},
]


def asked(**tables: object) -> Request:
    return request_from_document({"camera": CAMERA, "region": {"parts": PAIR}, **tables})


def test_margins_are_those_of_every_part() -> None:
    [one] = fit_setups(asked())
    placement, margins, field = one.fit.placement, one.fit.margins_arcmin, one.field
    region = Region.from_parts(
        [Region.circle((359.6, 62.0), 0.3).grown(0.05), Region.rectangle((2.9, 62.6), 0.5, 0.2)]
    )
    x, y = vector_to_plane(
        region.corner_vectors, sky_basis(*placement.center_deg, placement.position_angle_deg)
    ).T
    assert margins.left == pytest.approx((field.half_width - x.max()) * ARCMIN, abs=1e-5)
    assert margins.right == pytest.approx((field.half_width + x.min()) * ARCMIN, abs=1e-5)
    assert margins.top == pytest.approx((field.half_height - y.max()) * ARCMIN, abs=1e-5)
    assert margins.bottom == pytest.approx((field.half_height + y.min()) * ARCMIN, abs=1e-5)
    assert one.fit.fits and one.panels is None and one.fit.bound_arcmin is not None
    assert one.fit.margin_arcmin <= one.fit.bound_arcmin <= one.fit.margin_arcmin + 0.02
    assert [part.share for part in one.inside] == pytest.approx([1.0, 1.0], abs=1e-9)


def test_the_longest_focal_length_just_fits() -> None:
    request = asked()
    [one] = fit_setups(request)
    for factor, fits in ((0.9999, True), (1.0001, False)):
        length = factor * one.longest_focal_length_mm
        shape = Shape.around([Region.from_parts(_parts(request)).outline_vectors])
        camera = replace(request.camera, focal_length_mm=length)
        assert fit_field(shape, camera.field, prove=False).fits is fits


def _parts(request: Request) -> list[Region]:
    return [part.region for part in find_region(request.region).region.parts]


def test_a_hull_fits_where_its_parts_do() -> None:
    apart, hull = (fit_setups(asked(region={"parts": PAIR, "join": join}))[0] for join in ("apart", "hull"))
    assert apart.fit.margin_arcmin == pytest.approx(hull.fit.margin_arcmin, abs=1e-6)


def test_where_one_frame_is_too_small() -> None:
    camera = {**CAMERA, "focal_length_mm": 700.0}
    [one] = fit_setups(asked(camera=camera))
    assert not one.fit.fits and one.fit.fits_at_deg == () and one.fit.scale > 1
    assert one.panels == 2 and one.grid is not None
    assert one.longest_focal_length_mm < 700
    region = Region.from_parts(_parts(asked()))
    basis = sky_basis(*one.fit.placement.center_deg, one.fit.placement.position_angle_deg)
    wide, high = one.field.half_width, one.field.half_height
    seen = region.parts[0].region.seen_from(basis)
    share = seen.intersection(shapely.box(-wide, -high, wide, high)).area / seen.area
    assert one.inside[0].share == pytest.approx(share) and share < 1


def test_a_fixed_camera_looks_at_its_angle_alone() -> None:
    [free] = fit_setups(asked())
    device = AngleDevice("fixed", zero_deg=200.0)
    [fixed] = fit_setups(replace(asked(), angle_device=device))
    assert fixed.fit.placement.position_angle_deg == pytest.approx(20.0)
    assert fixed.fit.margin_arcmin < free.fit.margin_arcmin
    assert fixed.fit.margin_arcmin <= fixed.fit.bound_arcmin < free.fit.margin_arcmin
    assert fixed.fit.fits_at_deg == (((20.0, 20.0),) if fixed.fit.fits else ())
    assert any("fixed at position angle 200" in note for note in fixed.notes)


def test_a_travel_looks_at_what_it_reaches() -> None:
    [free] = fit_setups(asked())
    best = free.fit.placement.position_angle_deg
    inside = AngleDevice("rotator", zero_deg=0.0, range_deg=(best - 5.0, best + 20.0))
    [within] = fit_setups(replace(asked(), angle_device=inside))
    assert within.fit.margin_arcmin == pytest.approx(free.fit.margin_arcmin, abs=1e-4)
    beside = AngleDevice("rotator", zero_deg=0.0, range_deg=(best + 10.0, best + 20.0))
    [off] = fit_setups(replace(asked(), angle_device=beside))
    assert (off.fit.placement.position_angle_deg - best) % 180 == pytest.approx(10.0, abs=1e-4)
    for start, stop in off.fit.fits_at_deg:
        assert (start - best) % 180 >= 10 - 1e-6 and (stop - best) % 180 <= 20 + 1e-6


def test_setups_in_their_order_and_the_pinned_angle() -> None:
    cameras = [Camera(length, (6000, 4000), 3.9) for length in (700.0, 300.0)]
    setups = [Setup(title=f"{one.focal_length_mm:g} mm", camera=one) for one in cameras]
    found = fit_setups(asked(mosaic={"position_angle_deg": 33.0}), setups)
    assert [one.name for one in found] == ["700 mm", "300 mm"]
    assert [one.fit.fits for one in found] == [False, True]
    for one in found:
        assert one.asked_arcmin is not None and one.asked_arcmin <= one.fit.margin_arcmin
    angles, margins = found[1].fit.curve
    assert np.interp(33.0, angles, margins) == pytest.approx(found[1].asked_arcmin, abs=0.5)


def test_a_circle_has_north_up() -> None:
    [one] = fit_setups(asked(region={"center": [10.0, 20.0], "radius_deg": 0.7}))
    assert one.fit.any_angle and one.fit.placement.position_angle_deg == 0.0
    assert one.fit.fits_at_deg == ((0.0, 180.0),)
    exact = (one.field.half_height - np.tan(np.radians(0.7))) * ARCMIN
    assert one.fit.margin_arcmin == pytest.approx(exact, abs=0.02)
    assert exact - 0.02 <= one.fit.bound_arcmin <= exact + 0.1
    assert not fit_setups(asked())[0].fit.any_angle
