"""Hours at a dark sky: worked cases of the model of moonlight, frames against skyfield, what cannot be told."""

import numpy as np
import pytest

from planner.errors import InputError
from planner.geometry import sky_to_vector
from planner.night.dark_sky import Exposed, dark_sky_share, dark_sky_shares, passed_share
from planner.night.settings import Filter, Site
from tests.hard_fields import HARD_FIELDS
from tests.night.sky_oracle import ephemeris, observe

from .small_season import CANARY, KAROO

FULL_MOON_S = 1800648000.0
"""2027-01-22 20:00 UTC; full moon was at 12:17 that day."""


def exposed(starts, places, *, seconds=600.0, passed=1.0):
    count = len(starts)
    return Exposed(
        np.array(starts, dtype=float),
        np.full(count, seconds),
        sky_to_vector(*np.array(places, dtype=float).T),
        np.full(count, passed),
    )


@pytest.mark.parametrize(("moon_nl", "change_mag"), [(1236.08, 2.9375), (112.479, 0.8903)])
@pytest.mark.parametrize("width_nm", [None, 3.0, 7.0])
def test_worked_case_of_the_moonlight_model(moon_nl, change_mag, width_nm):
    """Krisciunas & Schaefer 1991, PASP 103, 1033, worked by hand: Z 30, Moon's Z 60, rho 60, k 0.172.

    Full and half Moon add 1236.08 and 112.479 nL to a dark sky of 88.532 nL: 2.9375 and 0.8903 magnitudes.
    Time times brightness is what the noise of the sky goes by, so an hour is worth dark / (dark + moonlight); of
    moonlight a narrow band lets through its width over the 88 nm of V.
    """
    band = Filter("F", "broad" if width_nm is None else "narrow", 600, 1, width_nm=width_nm)
    part = 1.0 if width_nm is None else width_nm / 88.0
    share = dark_sky_share(change_mag, passed_share(band))
    assert share == pytest.approx(88.532 / (88.532 + part * moon_nl), rel=2e-4)


def test_band_decides_how_much_moonlight_counts():
    assert passed_share(Filter("L", "broad", 180, 1)) == 1.0
    assert passed_share(Filter("Ha", "narrow", 600, 1)) == pytest.approx(7 / 88)
    assert passed_share(Filter("Ha", "narrow", 600, 1, width_nm=88)) == 1.0
    with pytest.raises(InputError, match="width_nm belongs to a narrow band"):
        Filter("L", "broad", 180, 1, width_nm=100 / 2)
    with pytest.raises(InputError, match=r"width_nm must be in \[0.1, 88\].*give nanometres"):
        Filter("Ha", "narrow", 600, 1, width_nm=120)


def by_skyfield(site, place, time_s):
    """Share by positions of DE421 and the published formulas written out anew; None with the place below ground."""
    altitude = float(observe(site, place, time_s).altaz()[0].degrees[0])
    if altitude <= 0.0:
        return None
    star, moon = observe(site, place, time_s), observe(site, "moon", time_s)
    moon_altitude = float(moon.altaz()[0].degrees[0])
    if moon_altitude <= 0.0:
        return 1.0
    rho = float(star.separation_from(moon).degrees[0])
    lit = float(moon.fraction_illuminated(ephemeris()["sun"])[0])
    phase = np.degrees(np.arccos(2 * lit - 1))
    paths = [(1 - 0.96 * np.sin(np.radians(90 - high)) ** 2) ** -0.5 for high in (altitude, moon_altitude)]
    source = 10 ** (-0.4 * (3.84 + 0.026 * phase + 4e-9 * phase**4))
    scattering = 10**5.36 * (1.06 + np.cos(np.radians(rho)) ** 2) + 10 ** (6.15 - rho / 40)
    lights = 10 ** (-0.4 * 0.172 * paths[1]), 1 - 10 ** (-0.4 * 0.172 * paths[0])
    dark = 79.0 * paths[0] * 10 ** (-0.4 * 0.172 * (paths[0] - 1))
    return dark / (dark + scattering * source * lights[0] * lights[1])


@pytest.mark.parametrize("field", HARD_FIELDS, ids=str)
def test_frames_of_a_month_against_another_ephemeris(field):
    """One short frame every 29 hours of a month; skyfield with DE421 for all positions.

    The Moon of the planner is good to 10 arc seconds, which is nothing here; near its rising the light jumps.
    """
    site = KAROO if field.dec_deg < 10.0 else CANARY
    place = field.ra_deg, field.dec_deg
    starts = FULL_MOON_S + 3600.0 * 29.0 * np.arange(-12, 12)
    found = dark_sky_shares(exposed(starts, [place] * len(starts), seconds=1.0), (site,))
    truth = [by_skyfield(site, place, start + 0.5) for start in starts]
    assert np.isnan(found).tolist() == [one is None for one in truth]
    seen = [(mine, one) for mine, one in zip(found, truth, strict=True) if one is not None]
    assert seen
    assert [mine for mine, _ in seen] == pytest.approx([one for _, one in seen], rel=2e-3)
    assert min(mine for mine, _ in seen) < 0.5


def test_a_long_exposure_is_the_mean_of_short_ones():
    place, start = (126.0, -44.0), FULL_MOON_S - 7200.0
    long = dark_sky_shares(exposed([start], [place], seconds=14400.0), (KAROO,))
    minutes = exposed(start + 60.0 * np.arange(240), [place] * 240, seconds=60.0)
    assert float(long[0]) == pytest.approx(dark_sky_shares(minutes, (KAROO,)).mean(), rel=5e-3)


def test_what_cannot_be_told_is_not_a_number():
    never = (126.0, 80.0)
    place = (126.0, -44.0)
    years = [np.nan, -9e9, 9e9, FULL_MOON_S, FULL_MOON_S]
    found = dark_sky_shares(exposed(years, [place] * 4 + [never]), (KAROO,))
    assert np.isnan(found).tolist() == [True, True, True, False, True]
    assert len(dark_sky_shares(exposed([], np.empty((0, 2))), (KAROO,))) == 0


def test_of_two_sites_the_one_counts_that_sees_the_place_higher():
    places = [(126.0, -44.0), (126.0, 60.0)]
    taken = exposed([FULL_MOON_S + 7200.0] * 2, places)
    south, north, both = (dark_sky_shares(taken, sites) for sites in ((KAROO,), (CANARY,), (KAROO, CANARY)))
    assert both[0] == south[0] != north[0]
    assert both[1] == north[1]


def test_a_moon_below_the_horizon_leaves_an_hour_whole():
    new_moon_s = FULL_MOON_S - 15 * 86400.0
    site = Site(-31.2, 22.6)
    assert dark_sky_shares(exposed([new_moon_s], [(126.0, -44.0)]), (site,)).tolist() == [1.0]
