"""Plate solutions read from FITS headers, against published values and against astropy's own coordinates."""

import bz2
import gzip
import math
import os
import warnings

import numpy as np
import pytest
from astropy import units as u
from astropy.coordinates import FK4, FK5, Galactic, SkyCoord
from astropy.io import fits
from astropy.wcs import WCS

from planner.errors import FileError
from planner.frames.header.fits_blocks import read_image_header
from planner.frames.header.general_wcs import general_solution
from planner.frames.header.header import footprint_region, read_header, read_solution
from planner.frames.header.tangent_wcs import tangent_solution
from planner.geometry import separation_rad, sky_to_vector, vector_to_sky
from tests.frames.solved_file import cd_matrix, solved_header, write_solved

HARD_PLACES = [
    (0.0, 0.0),
    (359.9999, 12.0),
    (0.0, 89.9),
    (200.0, -89.97),
    (77.0, 90.0),
    (77.0, -90.0),
    (128.5, -45.8),
    (310.0, 64.3),
]
ARCSEC = math.radians(1 / 3600)


def apart_deg(angle, other):
    return (angle - other + 180.0) % 360.0 - 180.0


def astropy_wcs(header):
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return WCS(header).celestial


def oracle(header, size):
    """Centre, position angle and scale of +y by finite differences in astropy's coordinates, ICRS."""
    wcs, x, y, step = astropy_wcs(header), (size[0] - 1) / 2, (size[1] - 1) / 2, 0.05
    middle, above, below = (wcs.pixel_to_world(x, y + dy).icrs for dy in (0.0, step, -step))
    up, down = middle.position_angle(above).deg, middle.position_angle(below).deg
    angle = up + apart_deg(down + 180.0, up) / 2  # both ways, so that a curved column does not count
    return middle, angle, below.separation(above).arcsec / (2 * step)


# published numbers


@pytest.mark.parametrize(
    ("pixel", "sky"),
    [
        ((1, 2), (47.503264, 62.795111)),
        ((1, 512), (47.595581, 64.324332)),
        ((511, 512), (44.064419, 64.324332)),
    ],
)
def test_tangent_plane_example_of_calabretta_and_greisen(tmp_path, pixel, sky):
    """Calabretta & Greisen 2002, A&A 395, 1077, interpretation example 1; printed to 1e-6 degrees."""
    size = (2 * pixel[0] - 1, 2 * pixel[1] - 1)  # so that the pixel is the middle of the frame
    header = {"CTYPE1": "RA---TAN", "CTYPE2": "DEC--TAN", "CRPIX1": 256.0, "CRPIX2": 257.0}
    header |= {"CDELT1": -0.003, "CDELT2": 0.003, "CRVAL1": 45.83, "CRVAL2": 63.57, "LONPOLE": 180.0}
    path = tmp_path / "example.fits"
    fits.PrimaryHDU(np.zeros(size[::-1], np.uint8), fits.Header(header)).writeto(path)
    solution = read_solution(path)
    assert (solution.ra_deg, solution.dec_deg) == pytest.approx(sky, abs=1.1e-6)


def test_matrix_of_two_arcsec_pixels_at_position_angle_30():
    """Worked by hand: 2 arcsec a pixel, up at 30 degrees, sky parity."""
    matrix = cd_matrix(2.0, 30.0)
    assert matrix == pytest.approx([-4.811252e-4, 2.777778e-4, 2.777778e-4, 4.811252e-4], abs=1e-10)
    assert matrix[0] * matrix[3] - matrix[1] * matrix[2] == pytest.approx(-3.08642e-7, abs=1e-12)


@pytest.mark.parametrize("mirrored", [False, True])
@pytest.mark.parametrize("form", ["CD", "PC", "CROTA"])
@pytest.mark.parametrize("angle", [0.0, 30.0, 90.0, 179.9, 200.0, 359.5])
def test_position_angle_scale_and_parity_in_every_form(tmp_path, form, angle, mirrored):
    path = write_solved(tmp_path / "f.fits", position_angle_deg=angle, mirrored=mirrored, form=form)
    solution = read_solution(path)
    # CROTA2 turns the axes as they are: with east at the right the same CROTA2 is the opposite position angle
    assert apart_deg(solution.position_angle_deg, angle) == pytest.approx(0.0, abs=1e-9)
    assert solution.scale_x_arcsec_px == pytest.approx(1.8465, rel=1e-9)
    assert solution.scale_y_arcsec_px == pytest.approx(1.8465, rel=1e-9)
    assert solution.parity == ("mirrored" if mirrored else "sky")
    assert solution.axis_skew_deg == pytest.approx(0.0, abs=1e-9)
    assert (solution.ra_deg, solution.dec_deg) == pytest.approx((128.5, -45.8), abs=1e-9)


@pytest.mark.parametrize("step_y", [0.0005, -0.0005])
@pytest.mark.parametrize("crota", [0.0, 25.0, 170.0, -60.0])
def test_crota2_is_the_opposite_of_position_angle(tmp_path, crota, step_y):
    """PA(up) = -CROTA2 for CDELT2 > 0 and 180 - CROTA2 for CDELT2 < 0 (AIPS convention)."""
    header = solved_header(form="none-yet", CDELT1=-0.0005, CDELT2=step_y, CROTA2=crota)
    path = tmp_path / "f.fits"
    fits.PrimaryHDU(np.zeros((42, 62), np.uint8), header).writeto(path)
    expected = -crota if step_y > 0 else 180.0 - crota
    assert apart_deg(read_solution(path).position_angle_deg, expected) == pytest.approx(0.0, abs=1e-9)


# astropy as oracle


def random_header(rng, place):
    """Headers of every kind that is read without astropy."""
    size = tuple(int(n) for n in rng.integers(20, 90, 2))
    header = solved_header(
        center=place,
        position_angle_deg=rng.uniform(0, 360),
        scale_arcsec=rng.uniform(0.4, 40.0),
        size=size,
        reference=tuple(rng.uniform(-400, 500, 2)),
        mirrored=bool(rng.integers(2)),
        form=("CD", "PC")[rng.integers(2)],
    )
    extras = [{}, {"RADESYS": "ICRS"}, {"EQUINOX": 2000.0}, {"RADESYS": "FK5", "EQUINOX": 2021.5}]
    header.update(extras[rng.integers(4)])
    if rng.random() < 0.4:
        header["LONPOLE"] = rng.uniform(0, 360)
    if rng.random() < 0.5:
        header["CTYPE1"], header["CTYPE2"] = "RA---TAN-SIP", "DEC--TAN-SIP"
        header.update({"A_ORDER": 3, "B_ORDER": 2, "A_2_0": 1e-6, "A_0_3": -2e-9, "A_1_1": 1e-7})
        header.update({"B_1_1": 2e-6, "B_0_2": 1e-6})
    return header, size


@pytest.mark.parametrize("place", HARD_PLACES)
def test_random_headers_agree_with_astropy(tmp_path, place):
    rng = np.random.default_rng(int(abs(place[0] * 7 + place[1])))
    for number in range(12):
        header, size = random_header(rng, place)
        path = tmp_path / f"{number}.fits"
        fits.PrimaryHDU(np.zeros(size[::-1], np.uint8), header).writeto(path)
        raw = read_image_header(path)
        solution = read_solution(path)
        assert solution == tangent_solution(raw)  # not by astropy
        middle, angle, scale = oracle(header, size)
        here = SkyCoord(solution.ra_deg, solution.dec_deg, unit="deg")
        assert here.separation(middle).arcsec < 1e-6
        assert solution.scale_y_arcsec_px == pytest.approx(scale, rel=1e-7)
        assert apart_deg(solution.position_angle_deg, angle) == pytest.approx(0.0, abs=1e-5)
        slow = general_solution(raw)
        assert apart_deg(solution.position_angle_deg, slow.position_angle_deg) == pytest.approx(0, abs=2e-6)
        assert solution.scale_x_arcsec_px == pytest.approx(slow.scale_x_arcsec_px, rel=1e-7)
        assert solution.axis_skew_deg == pytest.approx(slow.axis_skew_deg, abs=2e-6)
        assert solution.parity == slow.parity
        assert solution.system == slow.system
        assert np.abs(solution.corner_vectors - slow.corner_vectors).max() < 1e-12
        assert solution.distortion_corner_arcsec == pytest.approx(slow.distortion_corner_arcsec, abs=1e-4)


def test_centre_counts_not_the_reference_pixel(tmp_path):
    """Near the pole a reference pixel off the frame has another position angle than the centre."""
    path = write_solved(
        tmp_path / "f.fits", center=(10.0, 89.0), reference=(-900.0, 400.0), scale_arcsec=10.0
    )
    solution = read_solution(path)
    assert abs(apart_deg(solution.position_angle_deg, 30.0)) > 20.0
    header = solved_header(center=(10.0, 89.0), reference=(-900.0, 400.0), scale_arcsec=10.0)
    middle, angle, _ = oracle(header, (62, 42))
    assert solution.ra_deg == pytest.approx(middle.ra.deg, abs=1e-9)
    assert apart_deg(solution.position_angle_deg, angle) == pytest.approx(0.0, abs=1e-5)


def test_corners_are_the_outer_corners_counter_clockwise_from_inside(tmp_path):
    for mirrored in (False, True):
        path = write_solved(tmp_path / f"{mirrored}.fits", mirrored=mirrored, position_angle_deg=0.0)
        solution = read_solution(path)
        wcs = astropy_wcs(fits.getheader(path))
        x = np.array([-0.5, 61.5, 61.5, -0.5])[:: -1 if mirrored else 1]
        y = np.array([-0.5, -0.5, 41.5, 41.5])[::1]
        if mirrored:
            x = np.array([61.5, -0.5, -0.5, 61.5])
        sky = wcs.pixel_to_world(x, y)
        expected = sky_to_vector(sky.ra.deg, sky.dec.deg)
        assert np.abs(solution.corner_vectors - expected).max() < 1e-12
        ra, dec = vector_to_sky(solution.corner_vectors)
        assert ra[0] > ra[1] and dec[3] > dec[0]  # SE, SW, NW, NE: east first, then north


def test_skewed_and_stretched_axes_are_told(tmp_path):
    header = solved_header(position_angle_deg=40.0)
    across, up = math.radians(40.0 - 90.0 - 0.7), math.radians(40.0)
    header["CD1_1"], header["CD2_1"] = 3e-4 * math.sin(across), 3e-4 * math.cos(across)
    header["CD1_2"], header["CD2_2"] = 5e-4 * math.sin(up), 5e-4 * math.cos(up)
    path = tmp_path / "f.fits"
    fits.PrimaryHDU(np.zeros((42, 62), np.uint8), header).writeto(path)
    solution = read_solution(path)
    assert solution.axis_skew_deg == pytest.approx(0.7, abs=1e-9)
    assert solution.position_angle_deg == pytest.approx(40.0, abs=1e-9)
    assert (solution.scale_x_arcsec_px, solution.scale_y_arcsec_px) == pytest.approx((1.08, 1.8), rel=1e-9)
    assert solution.scale_arcsec_px == pytest.approx(math.sqrt(1.08 * 1.8 * math.cos(math.radians(0.7))))


# systems


@pytest.mark.parametrize(
    ("keys", "frame", "words"),
    [
        ({"RADESYS": "FK5", "EQUINOX": 2000.0}, FK5(), "FK5, equinox 2000"),
        ({"RADESYS": "FK5", "EQUINOX": 1975.0}, FK5(equinox="J1975"), "FK5, equinox 1975"),
        ({"RADECSYS": "FK5", "EQUINOX": 2015.5}, FK5(equinox="J2015.5"), "FK5, equinox 2015.5"),
        ({"EQUINOX": 1950.0}, FK4(equinox="B1950"), "FK4, equinox 1950"),
        ({"RADESYS": "FK4", "EQUINOX": 1900.0}, FK4(equinox="B1900"), "FK4, equinox 1900"),
    ],
)
@pytest.mark.parametrize("place", [(128.5, -45.8), (40.0, 88.5)])
def test_other_systems_are_converted_and_turn_the_angle(tmp_path, keys, frame, words, place):
    solution = read_solution(write_solved(tmp_path / "f.fits", center=place, **keys))
    centre = SkyCoord(*place, unit="deg", frame=frame)
    above = centre.directional_offset_by(30 * u.deg, 10 * u.arcsec)
    angle = centre.icrs.position_angle(above.icrs).deg
    here = SkyCoord(solution.ra_deg, solution.dec_deg, unit="deg")
    assert here.separation(centre.icrs).arcsec < 1e-3
    assert apart_deg(solution.position_angle_deg, angle) == pytest.approx(0.0, abs=3e-3)
    assert solution.system == words


def test_galactic_solutions_are_converted(tmp_path):
    path = write_solved(tmp_path / "f.fits", center=(265.0, -2.0), CTYPE1="GLON-TAN", CTYPE2="GLAT-TAN")
    solution = read_solution(path)
    centre = SkyCoord(265.0, -2.0, unit="deg", frame=Galactic())
    above = centre.directional_offset_by(30 * u.deg, 10 * u.arcsec).icrs
    assert solution.ra_deg == pytest.approx(centre.icrs.ra.deg, abs=1e-8)
    assert apart_deg(solution.position_angle_deg, centre.icrs.position_angle(above).deg) == pytest.approx(
        0, abs=1e-3
    )
    assert solution.system == "galactic"


@pytest.mark.parametrize(
    "keys",
    [
        {"CTYPE1": "HPLN-TAN", "CTYPE2": "HPLT-TAN"},
        {"RADESYS": "GAPPT"},
        {"CTYPE1": "ELON-TAN", "CTYPE2": "ELAT-TAN"},
    ],
)
def test_systems_that_cannot_be_converted_are_refused(tmp_path, keys):
    with pytest.raises(FileError, match=r"f\.fits"):
        read_solution(write_solved(tmp_path / "f.fits", **keys))


# other forms, through astropy


def test_axes_in_the_other_order(tmp_path):
    header = solved_header(position_angle_deg=30.0)
    swapped = header.copy()
    for key in ("CTYPE", "CRVAL"):
        swapped[f"{key}1"], swapped[f"{key}2"] = header[f"{key}2"], header[f"{key}1"]
    for j in (1, 2):
        swapped[f"CD1_{j}"], swapped[f"CD2_{j}"] = header[f"CD2_{j}"], header[f"CD1_{j}"]
    path = tmp_path / "f.fits"
    fits.PrimaryHDU(np.zeros((42, 62), np.uint8), swapped).writeto(path)
    solution = read_solution(path)
    assert solution.position_angle_deg == pytest.approx(30.0, abs=1e-6)
    assert solution.parity == "sky"


@pytest.mark.parametrize("projection", ["SIN", "ARC", "ZEA", "STG"])
def test_other_projections(tmp_path, projection):
    types = {"CTYPE1": f"RA---{projection}", "CTYPE2": f"DEC--{projection}"}
    solution = read_solution(write_solved(tmp_path / "f.fits", **types))
    assert solution.position_angle_deg == pytest.approx(30.0, abs=1e-5)
    assert solution.scale_y_arcsec_px == pytest.approx(1.8465, rel=1e-5)
    assert solution.distortion == projection


def test_tpv_distortion_is_reported(tmp_path):
    """TPV: xi' = PV1_1 xi + PV1_7 xi^3 (registry of FITS conventions); cubic terms move the corners."""
    cubic = 0.4
    keys = {
        "CTYPE1": "RA---TPV",
        "CTYPE2": "DEC--TPV",
        "PV1_1": 1.0,
        "PV1_7": cubic,
        "PV2_1": 1.0,
        "PV2_7": cubic,
    }
    path = write_solved(tmp_path / "f.fits", position_angle_deg=0.0, scale_arcsec=100.0, **keys)
    solution = read_solution(path)
    assert solution.distortion == "TPV"
    half_x, half_y = 31 * 100 / 3600, 21 * 100 / 3600  # degrees in the tangent plane
    moved = math.hypot(cubic * half_x**3, cubic * half_y**3) * 3600
    assert solution.distortion_corner_arcsec == pytest.approx(moved, rel=1e-3)
    assert solution.position_angle_deg == pytest.approx(0.0, abs=1e-6)


def test_sip_distortion_is_reported(tmp_path):
    """SIP (Shupe et al. 2005): u' = u + A_2_0 u^2; at the corner u = 31 pixels."""
    keys = {"CTYPE1": "RA---TAN-SIP", "CTYPE2": "DEC--TAN-SIP", "A_ORDER": 2, "B_ORDER": 2, "A_2_0": 1e-4}
    solution = read_solution(write_solved(tmp_path / "f.fits", **keys))
    assert solution.distortion == "SIP"
    assert solution.distortion_corner_arcsec == pytest.approx(1e-4 * 31**2 * 1.8465, rel=1e-4)


def test_arc_second_units_and_colour_planes(tmp_path):
    header = solved_header(position_angle_deg=70.0)
    for key in ("CD1_1", "CD1_2", "CD2_1", "CD2_2", "CRVAL1", "CRVAL2"):
        header[key] *= 3600.0
    header["CUNIT1"] = header["CUNIT2"] = "arcsec"
    path = tmp_path / "f.fits"
    fits.PrimaryHDU(np.zeros((3, 42, 62), np.uint8), header).writeto(path)
    solution = read_solution(path)
    assert solution.position_angle_deg == pytest.approx(70.0, abs=1e-6)
    assert solution.size_px == (62, 42)
    assert solution.scale_x_arcsec_px == pytest.approx(1.8465, rel=1e-8)


# files


def test_packed_files_read_like_plain_ones(tmp_path):
    plain = write_solved(tmp_path / "f.fits", XBINNING=2, FILTER="Ha", EXPTIME=600.0)
    solution = read_solution(plain)
    content = plain.read_bytes()
    (tmp_path / "f.fits.gz").write_bytes(gzip.compress(content))
    (tmp_path / "g.fits").write_bytes(gzip.compress(content))  # packed, whatever its name says
    (tmp_path / "f.fits.bz2").write_bytes(bz2.compress(content))
    pieces = [gzip.compress(content[i : i + 1500]) for i in range(0, len(content), 1500)]
    (tmp_path / "m.fits.gz").write_bytes(b"".join(pieces))  # several members in one file
    for name in ("f.fits.gz", "g.fits", "m.fits.gz", "f.fits.bz2"):
        assert read_solution(tmp_path / name) == solution
    assert (solution.binning, solution.filter, solution.exposure_s) == ((2, 2), "Ha", 600.0)


@pytest.mark.parametrize("kind", ["RICE_1", "GZIP_1", "HCOMPRESS_1"])
def test_tile_compressed_images(tmp_path, kind):
    plain = write_solved(tmp_path / "f.fits", FILTER="OIII")
    data, header = fits.getdata(plain, header=True)
    path = tmp_path / "f.fits.fz"
    fits.CompImageHDU(data, header, compression_type=kind).writeto(path)
    assert read_solution(path) == read_solution(plain)
    found = read_header(path)
    assert (found["NAXIS1"], found["NAXIS2"], found["BITPIX"], found["FILTER"]) == (62, 42, 16, "OIII")
    assert "ZIMAGE" not in found and "TFIELDS" not in found


def test_image_in_an_extension_inherits_facts_but_no_coordinates(tmp_path):
    primary = fits.PrimaryHDU(header=fits.Header({"FILTER": "SII", "EXPTIME": 300.0, "CRVAL1": 1.0}))
    image = fits.ImageHDU(np.zeros((42, 62), np.uint8), solved_header(OBJECT="shell"))
    path = tmp_path / "f.fits"
    fits.HDUList([primary, fits.ImageHDU(np.zeros((5, 5))), image]).writeto(path)
    packed = tmp_path / "f.fits.gz"
    packed.write_bytes(gzip.compress(path.read_bytes()))
    solution = read_solution(path)
    assert read_solution(packed) == solution
    assert (solution.filter, solution.exposure_s, solution.target) == ("SII", 300.0, "shell")
    assert solution.ra_deg == pytest.approx(128.5)
    assert solution.size_px == (62, 42)


def test_header_agrees_with_astropy(tmp_path):
    path = tmp_path / "f.fits"
    header = solved_header(OBJECT="O'Neill's shell", GAIN=1.25e-3, FLAG=True, COUNT=7, NOTHING=None)
    header["LONGTEXT"] = "a very long text " * 12
    header["HIERARCH REDUCTION STEP NAME"] = "flat"
    header["HISTORY"] = "made for a test"
    fits.PrimaryHDU(np.zeros((42, 62), np.uint16), header).writeto(path)
    found, expected = read_header(path), fits.getheader(path)
    for key in expected:
        if key not in ("HISTORY", "COMMENT", ""):
            value = expected[key]
            value = None if isinstance(value, fits.card.Undefined) else value
            assert found[key] == (value.rstrip() if isinstance(value, str) else value), key


def test_old_numbers_with_the_letter_d(tmp_path):
    plain = write_solved(tmp_path / "f.fits")
    content = plain.read_bytes()
    old = next(content[i : i + 80] for i in range(0, 2880, 80) if content[i : i + 8] == b"CRVAL1  ")
    plain.write_bytes(content.replace(old, b"CRVAL1  =             1.2850D+02".ljust(80)))
    assert read_solution(plain).ra_deg == pytest.approx(128.5)


def test_footprint_region_gives_corners_and_angle(tmp_path):
    vectors, angle_deg = footprint_region(write_solved(tmp_path / "f.fits", position_angle_deg=33.0))
    assert angle_deg == pytest.approx(33.0)
    width = math.degrees(float(separation_rad(vectors[0], vectors[1]))) * 3600
    assert width == pytest.approx(62 * 1.8465, rel=1e-6)


def test_last_block_need_not_be_filled_up(tmp_path):
    path = write_solved(tmp_path / "f.fits")
    content = path.read_bytes()
    path.write_bytes(content[: 2880 + 62 * 42 * 2])
    assert read_solution(path).size_px == (62, 42)


# what is refused


def broken(tmp_path, drop=(), **changes):
    header = solved_header(**changes)
    for key in drop:
        del header[key]
    path = tmp_path / "f.fits"
    fits.PrimaryHDU(np.zeros((42, 62), np.uint8), header).writeto(path)
    return path


@pytest.mark.parametrize(
    ("drop", "changes", "words"),
    [
        (("CTYPE1", "CTYPE2"), {}, "no plate solution"),
        ((), {"CTYPE1": "LINEAR", "CTYPE2": "LINEAR"}, "wanted sky coordinates"),
        ((), {"CTYPE1": "X", "CTYPE2": "Y"}, "wanted sky coordinates"),
        (("CRVAL1",), {}, "CRVAL1 is missing"),
        (("CRPIX2",), {}, "CRPIX2 is missing"),
        (("CD1_1", "CD1_2", "CD2_1", "CD2_2"), {}, "CDELT1 is missing"),
        ((), {"CD1_1": 0.0, "CD1_2": 0.0}, "singular"),
        ((), {"CD1_1": 1e-4, "CD1_2": 1e-4, "CD2_1": 1e-4, "CD2_2": 1e-4}, "singular"),
        ((), {"CD1_1": "NaN"}, "CD1_1 must be a finite number"),
        ((), {"CRVAL2": 95.0}, "CRVAL2 must be in"),
        ((), {"PC1_1": 1.0, "CDELT1": -1.0, "CDELT2": 1.0}, "CD and PC matrices differ"),
        ((), {"A_ORDER": 2, "A_2_0": 1e-5}, "A_ORDER and B_ORDER"),
        (("CD1_1", "CD1_2", "CD2_1", "CD2_2"), {"CDELT1": -1e-3, "CDELT2": 1e-3, "CROTA1": 9.0}, "CROTA1"),
        ((), {"XBINNING": 0}, "XBINNING"),
        ((), {"CRPIX1": 1e308}, "makes no sense"),
        ((), {"CRPIX1": 1e300, "A_ORDER": 2, "B_ORDER": 2, "A_2_0": 1e-5}, "makes no sense"),
        (("CRVAL1",), {"CTYPE1": "GLON-TAN", "CTYPE2": "GLAT-TAN"}, "CRVAL1 is missing"),
        ((), {"CTYPE1": "RA---XYZ", "CTYPE2": "DEC--XYZ"}, "makes no sense"),
    ],
)
def test_bad_solutions_are_one_sentence(tmp_path, drop, changes, words):
    with pytest.raises(FileError, match=words) as caught:
        read_solution(broken(tmp_path, drop, **changes))
    assert "\n" not in str(caught.value)


def test_not_a_number_without_quotes(tmp_path):
    path = write_solved(tmp_path / "f.fits")
    content = path.read_bytes()
    old = next(content[i : i + 80] for i in range(0, 2880, 80) if content[i : i + 8] == b"CD2_2   ")
    path.write_bytes(content.replace(old, b"CD2_2   =                  NaN".ljust(80)))
    with pytest.raises(FileError, match="CD2_2 must be a finite number, got NaN"):
        read_solution(path)


def test_keywords_that_contradict_themselves(tmp_path):
    path = write_solved(tmp_path / "f.fits")
    content = path.read_bytes()
    end = content.index(b"END".ljust(80))
    twice = b"CRVAL1  =                 17.5".ljust(80) + b"END".ljust(80)
    path.write_bytes(content[:end] + twice + content[end + 160 :])
    with pytest.raises(FileError, match="CRVAL1 is 128.5 and again 17.5"):
        read_solution(path)


def cut(tmp_path, size, packed=False):
    content = write_solved(tmp_path / "whole.fits", size=(300, 200)).read_bytes()[:size]
    path = tmp_path / "cut.fits"
    path.write_bytes(gzip.compress(content) if packed else content)
    return path


@pytest.mark.parametrize("size", [1, 79, 1000, 2879, 2880, 60_000])
@pytest.mark.parametrize("packed", [False, True])
def test_truncated_files(tmp_path, size, packed):
    with pytest.raises(FileError, match="truncated|no FITS file"):
        read_solution(cut(tmp_path, size, packed))


@pytest.mark.parametrize("share", [0.2, 0.9])
def test_truncated_gzip(tmp_path, share):
    path = cut(tmp_path, None, packed=True)
    content = path.read_bytes()
    path.write_bytes(content[: int(share * len(content))])
    with pytest.raises(FileError, match="truncated"):
        read_solution(path)


def test_files_that_are_none(tmp_path):
    (tmp_path / "text.fits").write_text("RA 12 30\n" * 400)
    (tmp_path / "empty.fits").write_bytes(b"")
    fits.PrimaryHDU().writeto(tmp_path / "bare.fits")
    column = fits.Column(name="x", format="E", array=np.zeros(3))
    fits.BinTableHDU.from_columns([column]).writeto(tmp_path / "table.fits")
    os.mkfifo(tmp_path / "pipe.fits")
    cases = {
        "pipe.fits": "no regular file",
        "text.fits": "no FITS file",
        "empty.fits": "no FITS file",
        "bare.fits": "holds no image",
        "table.fits": "holds no image",
        "missing.fits": "does not exist",
        ".": "is a folder",
        "a\0b": "is no file name",
    }
    for name, words in cases.items():
        for reader in (read_solution, read_header):
            with pytest.raises(FileError, match=words):
                reader(tmp_path / name)
