"""Bad values are refused with one sentence that names what was wanted and what came."""

import datetime as dt

import pytest

from planner.errors import InputError
from planner.night.horizon import highest_limit_deg, limit_deg
from planner.night.moon_rule import DEFAULT_RULES, MoonRule, moon_rule
from planner.night.prices import price_at
from planner.night.settings import Filter, Nights, Site

DAY = dt.date(2027, 1, 8)


@pytest.mark.parametrize(
    ("values", "said"),
    [
        ({"latitude_deg": 91}, r"latitude_deg must be in \[-90, 90\], got 91"),
        ({"latitude_deg": float("nan")}, "latitude_deg"),
        ({"longitude_deg": 361}, "longitude_deg"),
        ({"elevation_m": 90_000}, "elevation_m"),
        ({"time_zone": "Africa/Johanesburg"}, "did you mean 'Africa/Johannesburg'"),
        ({"time_zone": ""}, "time_zone"),
        ({"time_zone": "../etc/passwd"}, "time_zone"),
        ({"lowest_altitude_deg": 90}, "lowest_altitude_deg"),
        ({"horizon_deg": ((0, 10), (0, 20))}, "two altitudes at azimuth 0"),
        ({"horizon_deg": ((0, 10), (400, 20))}, "azimuth"),
        ({"horizon_deg": ((0, 10, 3),)}, "pairs"),
        ({"hour_price": ((0.5, 600), (0.0, 900))}, "sorted"),
        ({"hour_price": ((0.5, 600),)}, "begin at moon illumination 0"),
        ({"hour_price": ((0.0, -1),)}, "price"),
        ({"hour_price": ((0.0, 900), (90, 350))}, "illumination"),
        ({"name": " "}, "name"),
    ],
)
def test_a_site_refuses(values, said):
    with pytest.raises(InputError, match=said) as raised:
        Site(**{"latitude_deg": -32.4, "longitude_deg": 20.8, **values})
    assert "\n" not in str(raised.value)


@pytest.mark.parametrize(
    ("values", "said"),
    [
        ({"first": dt.date(2027, 4, 1)}, "first must not be after"),
        ({"last": dt.date(2037, 4, 1)}, "1100 evenings"),
        ({"first": dt.date(1850, 1, 1), "last": dt.date(1850, 1, 2)}, "1900"),
        ({"darkness": "dark"}, "darkness"),
        ({"clear_fraction": 70}, "fraction"),
        ({"clear_fraction": 0.0}, "clear_fraction"),
        ({"overhead_per_panel_min": -1}, "overhead_per_panel_min"),
        ({"overhead_per_exposure_s": float("inf")}, "overhead_per_exposure_s"),
    ],
)
def test_nights_refuse(values, said):
    with pytest.raises(InputError, match=said):
        Nights(**{"first": DAY, "last": DAY, **values})


@pytest.mark.parametrize(
    ("values", "said"),
    [
        ({"exposure_s": 0}, "exposure_s must be above 0"),
        ({"exposure_s": float("nan")}, "exposure_s"),
        ({"exposures": 0}, "exposures"),
        ({"band": "wide"}, "band must be"),
        ({"moon_separation_deg": 181}, "moon_separation_deg"),
        ({"moon_illumination": 30}, "moon_illumination"),
        ({"name": ""}, "name"),
    ],
)
def test_a_filter_refuses(values, said):
    with pytest.raises(InputError, match=said):
        Filter(**{"name": "Ha", "band": "narrow", "exposure_s": 600, "exposures": 18, **values})


def test_evenings_are_counted_with_both_ends():
    assert len(Nights(dt.date(2027, 12, 31), dt.date(2028, 1, 1)).evenings) == 2


def test_prices_hold_from_their_illumination_on():
    site = Site(0, 0, hour_price=((0.0, 880.0), (0.55, 540.0)))
    assert [price_at(site, light) for light in (0, 0.5499, 0.55, 1.0)] == [880, 880, 540, 540]
    assert price_at(Site(0, 0), 0.3) == 0.0


def test_a_horizon_in_any_order_is_joined_by_lines_and_closed_over_north():
    site = Site(0, 0, lowest_altitude_deg=0, horizon_deg=((270, 20), (90, 40), (350, 10)))
    assert limit_deg(site, [90, 180, 270, 310, 350, 30, -270]).tolist() == pytest.approx(
        [40, 30, 20, 15, 10, 22, 40]
    )
    assert highest_limit_deg(site) == 40
    assert limit_deg(Site(0, 0, lowest_altitude_deg=25, horizon_deg=((0, 10),)), [0, 200]).tolist() == [
        25,
        25,
    ]


def test_a_horizon_may_name_north_twice_when_it_says_the_same():
    site = Site(0, 0, horizon_deg=((0, 12), (90, 25), (360, 12)))
    assert site.horizon_deg == ((0, 12), (90, 25))


def test_own_limits_stand_in_place_of_the_bands():
    assert moon_rule(Filter("L", "broad", 60, 1)) == DEFAULT_RULES["broad"]
    assert moon_rule(Filter("L", "broad", 60, 1, moon_illumination=0.5)) == MoonRule(0.0, 0.5)
    assert moon_rule(Filter("Ha", "narrow", 60, 1, moon_separation_deg=45)) == MoonRule(45, 1.0)
