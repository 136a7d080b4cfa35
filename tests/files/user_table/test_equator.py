import datetime as dt

import erfa
import numpy as np
import pytest
from astropy import units
from astropy.coordinates import SkyCoord

from planner.files.user_table.equator import equator_matrix
from planner.geometry import sky_to_vector, vector_to_sky


def test_sofa_matrices():
    # IAU SOFA test program, iauPmat06 and iauPnm06a at MJD 50123.9999: first rows, and (3, 3) of the first
    # (pyerfa gives the same to the last digit); the date is 9 seconds later, which moves nothing by more than 1e-10
    date = dt.date(1996, 2, 11)
    mean = [0.9999995505176007047, 0.8695404617348208406e-3, 0.3779735201865589104e-3]
    true = [0.9999995832794205484, 0.8372382772630962111e-3, 0.3639684771140623099e-3]
    np.testing.assert_allclose(equator_matrix("mean of date", date)[0], mean, atol=1e-9)
    np.testing.assert_allclose(equator_matrix("true of date", date)[0], true, atol=1e-9)


@pytest.mark.parametrize(
    ("j2000", "motion", "date", "years", "wanted"),
    [
        # Meeus, Astronomical Algorithms (2nd ed.), example 21.b, p. 135: theta Persei on 2028-11-13.19
        (
            ("2h44m11.986s", "+49d13m42.48s"),
            (0.03425, -0.0895),
            dt.date(2028, 11, 13),
            28.86705,
            ("2h46m11.331s", "+49d20m54.54s"),
        ),
        # the same, exercise p. 136: Polaris at 2050.0 and 2100.0
        (
            ("2h31m48.704s", "+89d15m50.72s"),
            (0.19877, -0.0152),
            dt.date(2050, 1, 1),
            50.0,
            ("3h48m16.43s", "+89d27m15.38s"),
        ),
        (
            ("2h31m48.704s", "+89d15m50.72s"),
            (0.19877, -0.0152),
            dt.date(2100, 1, 1),
            100.0,
            ("5h53m29.17s", "+89d32m22.18s"),
        ),
    ],
)
def test_precession_of_meeus_examples(j2000, motion, date, years, wanted):
    start = SkyCoord(*j2000)
    moved = (start.ra.deg + motion[0] * 15 * years / 3600, start.dec.deg + motion[1] * years / 3600)
    vector = equator_matrix("mean of date", date) @ sky_to_vector(*moved)
    got = SkyCoord(*vector_to_sky(vector), unit="deg")
    # 0.2 arc seconds: IAU 2006 against the IAU 1976 precession of the book, and half a day of precession
    assert got.separation(SkyCoord(*wanted)) < 0.2 * units.arcsec


@pytest.mark.parametrize("equator", ["mean of date", "true of date"])
def test_matrix_is_a_rotation_and_its_transpose_leads_back(equator):
    matrix = equator_matrix(equator, dt.date(2027, 1, 8))
    np.testing.assert_allclose(matrix @ matrix.T, np.eye(3), atol=1e-15)
    assert np.linalg.det(matrix) == pytest.approx(1.0)


def test_true_and_mean_differ_by_nutation():
    date = dt.date(2027, 1, 8)
    mean, true = equator_matrix("mean of date", date), equator_matrix("true of date", date)
    angle = np.degrees(np.arccos((np.trace(true @ mean.T) - 1) / 2)) * 3600
    longitude, obliquity = erfa.nut06a(2400000.5, 61413.0)
    wanted = np.hypot(longitude, obliquity) * 206264.806
    assert angle == pytest.approx(wanted, rel=1e-4)
    assert 1 < angle < 20


def test_icrs_is_left_alone():
    assert np.array_equal(equator_matrix("ICRS", None), np.eye(3))
