"""Small FITS files with plate solutions, written by astropy, for tests of what is read back."""

import numpy as np
from astropy.io import fits


def cd_matrix(scale_arcsec, position_angle_deg, *, mirrored=False, aspect=1.0):
    """CD matrix (CD1_1, CD1_2, CD2_1, CD2_2) in degrees; `aspect` stretches the columns' scale."""
    up = np.radians(position_angle_deg)
    across = up + np.pi / 2 if mirrored else up - np.pi / 2
    x, y = scale_arcsec / 3600.0, aspect * scale_arcsec / 3600.0
    return x * np.sin(across), y * np.sin(up), x * np.cos(across), y * np.cos(up)


def solved_header(
    *,
    center=(128.5, -45.8),
    position_angle_deg=30.0,
    scale_arcsec=1.8465,
    size=(62, 42),
    reference=None,
    mirrored=False,
    form="CD",
    **more,
):
    """Header of a frame solved in a tangent plane; `form` is CD, PC or CROTA; other keys as given."""
    header = fits.Header()
    header["CTYPE1"], header["CTYPE2"] = "RA---TAN", "DEC--TAN"
    header["CRVAL1"], header["CRVAL2"] = center
    header["CRPIX1"], header["CRPIX2"] = reference or ((size[0] + 1) / 2, (size[1] + 1) / 2)
    matrix = cd_matrix(scale_arcsec, position_angle_deg, mirrored=mirrored)
    header.update(linear_cards(matrix, form, scale_arcsec, position_angle_deg, mirrored))
    for key, value in more.items():
        header[key.replace("__", "-")] = value
    return header


def linear_cards(matrix, form, scale_arcsec, position_angle_deg, mirrored):
    names = ("1_1", "1_2", "2_1", "2_2")
    if form == "CD":
        return {f"CD{name}": value for name, value in zip(names, matrix, strict=True)}
    step_x = (1 if mirrored else -1) * scale_arcsec / 3600.0
    step_y = scale_arcsec / 3600.0
    steps = {"CDELT1": step_x, "CDELT2": step_y}
    if form == "PC":
        scaled = np.array(matrix) / [step_x, step_x, step_y, step_y]
        return steps | {f"PC{name}": value for name, value in zip(names, scaled.tolist(), strict=True)}
    return steps | {"CROTA2": -position_angle_deg}


def write_solved(path, *, size=(62, 42), **more):
    """Write a small solved frame and return its path; arguments as for `solved_header`."""
    data = np.zeros(size[::-1], dtype=np.uint16)
    fits.PrimaryHDU(data, solved_header(size=size, **more)).writeto(path, output_verify="silentfix")
    return path
