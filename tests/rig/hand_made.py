"""Mosaics and solutions made by hand, for tests of the rig."""

import math

from planner.geometry import plane_to_vector, sky_basis, vector_to_sky
from planner.mosaic.mosaic import Mosaic
from planner.mosaic.panel import Panel
from planner.mosaic.region import Region
from planner.rig.camera import Camera
from planner.rig.plate_solution import PlateSolution

CAMERA = Camera(380.0, (6000, 4000), 3.9)
FIELD = CAMERA.field


def panels_at(angles, *, ra_deg=100.0, dec_deg=20.0):
    """Panels in a row, one for each angle."""
    return tuple(
        Panel(f"A{k}", k, 1, k, ra_deg - 3.0 * k, dec_deg, angle) for k, angle in enumerate(angles, start=1)
    )


def grid_mosaic(columns=2, rows=2, *, overlap=0.15, center=(128.0, -20.0), angle=20.0, field=FIELD, fill=0.9):
    """Panels of one position angle on a lattice; the region fills a part of the lattice's extent."""
    basis = sky_basis(*center, angle)
    panels = []
    for row in range(rows):
        for column in range(columns):
            x = ((columns - 1) / 2 - column) * 2 * field.half_width * (1 - overlap)
            y = ((rows - 1) / 2 - row) * 2 * field.half_height * (1 - overlap)
            ra, dec = (float(value) for value in vector_to_sky(plane_to_vector([x, y], basis)))
            panels.append(
                Panel(f"{chr(65 + row)}{column + 1}", len(panels) + 1, row + 1, column + 1, ra, dec, angle)
            )
    sides = [
        2 * math.degrees(math.atan(fill * half * ((count - 1) * (1 - overlap) + 1)))
        for half, count in ((field.half_width, columns), (field.half_height, rows))
    ]
    region = Region.rectangle(center, *sides, angle)
    count = columns * rows
    return Mosaic(region, field, tuple(panels), 1, None, overlap, overlap, None, 0.0, 0.0, count)


def solution_at(angle_deg=30.0, **more):
    """Plate solution of a whole frame of the camera at a place in Vela."""
    values = {
        "ra_deg": 128.5,
        "dec_deg": -45.8,
        "position_angle_deg": angle_deg,
        "scale_x_arcsec_px": CAMERA.scale_arcsec_px,
        "scale_y_arcsec_px": CAMERA.scale_arcsec_px,
        "parity": "sky",
        "size_px": CAMERA.sensor_px,
        "axis_skew_deg": 0.0,
    } | more
    if "corners" not in values:
        from planner.geometry import footprint_vectors

        basis = sky_basis(values["ra_deg"], values["dec_deg"], values["position_angle_deg"])
        corners = footprint_vectors(basis, FIELD.half_width, FIELD.half_height)
        values["corners"] = tuple(tuple(corner) for corner in corners.tolist())
    return PlateSolution(**values)
