"""The entries against positions and sizes from elsewhere: at least ten of each catalogue.

Authorities: OpenNGC (Mattia Verga; positions of NED and SIMBAD) for Sharpless, Lynds (bright), Cederblad, van den
Bergh, RCW and Gum; stars of Gaia DR3 for the illuminating stars of van den Bergh and van den Bergh & Herbst; the
galactic coordinates in the names of Green's remnants, turned by astropy; observing handbooks, from memory, for
Barnard, Lynds (dark), RCW, and the sizes of remnants.
"""

import math
import re
from functools import cache

import numpy as np
import pytest
from astropy import units as u
from astropy.coordinates import SkyCoord

from planner.catalogue import find_object, stars_within
from planner.catalogue.nebulae.build.entries import read_entries
from planner.geometry import separation_rad, sky_to_vector


def listed(text):
    """Items of a text that are parted by semicolons, on however many lines."""
    return " ".join(text.split()).split("; ")


@cache
def entries():
    return read_entries()


def apart_arcmin(name, position):
    there = sky_to_vector(position.ra.deg, position.dec.deg)
    return math.degrees(float(separation_rad(entries()[name].vector, there))) * 60


SAME_IN_OPENNGC = """
Sh2-158 NGC 7538; Sh2-184 NGC 281; Sh2-236 IC 410; Sh2-105 NGC 6888; Sh2-248 IC 443; Sh2-37 IC 1284; Sh2-234
IC 417; Sh2-125 IC 5146; Sh2-281 NGC 1976; Sh2-49 NGC 6611; Sh2-44 IC 4701; Sh2-229 IC 405; Sh2-275 NGC
2237; Sh2-142 NGC 7380; LBN 67 NGC 6611; LBN 616 NGC 281; LBN 859 IC 2162; LBN 807 IC 410; LBN 974 NGC 1976;
LBN 328 IC 5068; LBN 487 NGC 7023; LBN 1111 IC 4604; LBN 25 NGC 6523; LBN 953 IC 434; LBN 844 IC 443; LBN 55
IC 4701; LBN 756 NGC 1499; LBN 667 IC 1848; Ced 55d NGC 1976; Ced 183c IC 5070; Ced 20 IC 348; Ced 26 NGC
1499; Ced 182b NGC 6992; Ced 198 IC 5146; Ced 49 NGC 1931; Ced 55n IC 434; Ced 9a IC 1848; Ced 157d IC 1284;
Ced 209 NGC 7538; Ced 53 NGC 1952; Ced 210 NGC 7635; Ced 55m IC 432; vdB 108 IC 4605; vdB 21 NGC 1432; vdB
52 NGC 2023; vdB 57 IC 435; vdB 67 NGC 2170; vdB 105 IC 4603; vdB 46 NGC 1999; vdB 51 IC 432; vdB 85 NGC
2282; vdB 106 IC 4604; vdB 50 IC 431; vdB 72 NGC 2182; vdB 60 NGC 2071
"""
PAIRS = [re.fullmatch(r"(\S+|\S+ \w+) ((?:NGC|IC) \d+)", part).groups() for part in listed(SAME_IN_OPENNGC)]


@pytest.mark.parametrize(("name", "number"), PAIRS)
def test_entries_agree_with_openngc(name, number):
    ours, theirs = entries()[name], find_object(number)
    offset = apart_arcmin(name, SkyCoord(theirs.ra_deg, theirs.dec_deg, unit="deg"))
    # a fifth of the size: what an extended nebula's middle is worth
    assert offset <= 0.2 * max(ours.major_arcmin, theirs.major_arcmin)
    assert 0.6 < ours.major_arcmin / theirs.major_arcmin < 1.7


SOUTHERN = """
RCW 5 NGC 2359; RCW 2 IC 2177; RCW 43 NGC 2899; RCW 157 IC 4701; RCW 165 NGC 6611; RCW 53 NGC 3372; RCW 62
IC 2944; RCW 147 NGC 6514; RCW 76 NGC 5189; RCW 124 NGC 6302; RCW 131 NGC 6357; Gum 4 NGC 2359; Gum 1 IC
2177; Gum 27 NGC 2899; Gum 79 IC 4701; Gum 83 NGC 6611; Gum 42 IC 2944; Gum 76 NGC 6514; Gum 47 NGC 5189;
Gum 60 NGC 6302; Gum 66 NGC 6357
"""


@pytest.mark.parametrize(
    ("name", "number"), [re.fullmatch(r"(\w+ \d+) (\w+ \d+)", part).groups() for part in listed(SOUTHERN)]
)
def test_southern_entries_stand_where_openngc_has_them(name, number):
    # OpenNGC's sizes of the wide ones are those of a knot in them; 5 arc minutes: what RCW's places are worth
    theirs = find_object(number)
    offset = apart_arcmin(name, SkyCoord(theirs.ra_deg, theirs.dec_deg, unit="deg"))
    assert offset <= max(5.0, 0.26 * entries()[name].major_arcmin)


HANDBOOK = """
B 5 03h48m +32d53m; B 18 04h31.2m +24d21m; B 33 05h40.9m -02d27m; B 59 17h11.4m -27d26m; B 68 17h22.6m
-23d50m; B 72 17h23.5m -23d38m; B 86 18h03.0m -27d52m; B 87 18h04.3m -32d30m; B 92 18h15.5m -18d14m; B 93
18h16.9m -18d04m; B 133 19h06.1m -06d50m; B 142 19h39.7m +10d31m; B 143 19h41.4m +11d01m; B 150 20h50.6m
+60d18m; B 168 21h53.2m +47d12m; B 169 21h58.9m +58d45m; B 174 22h07.3m +59d05m; LDN 43 16h34.5m -15d47m;
LDN 134 15h53.6m -04d36m; LDN 483 18h17.5m -04d40m; LDN 673 19h20.9m +11d16m; LDN 723 19h18.0m +19d12m; LDN
1014 21h24.1m +49d59m; LDN 1157 20h39m +68d02m; LDN 1235 22h15m +73d20m; LDN 1251 22h38m +75d14m; LDN 1448
03h25.6m +30d44m; LDN 1489 04h04.7m +26d19m; LDN 1544 05h04.2m +25d11m; LDN 1551 04h31.5m +18d08m; LDN 1622
05h54.6m +01d59m; RCW 36 08h59.5m -43d45m; RCW 38 08h59.1m -47d31m; RCW 49 10h24.2m -57d46m; RCW 79 13h40.2m
-61d44m; RCW 103 16h17.6m -51d02m; RCW 120 17h12.4m -38d27m; RCW 108 16h40m -48d52m; RCW 34 08h56.5m -43d06m
"""


@pytest.mark.parametrize("line", listed(HANDBOOK))
def test_dark_and_southern_clouds_stand_where_handbooks_have_them(line):
    catalogue, number, ra, dec = line.split()
    # to the printed minute of a handbook, and what the middle of a cloud without edges is worth
    assert apart_arcmin(f"{catalogue} {number}", SkyCoord(ra, dec)) < 14.0


def test_the_stars_of_van_den_bergh_are_stars_of_gaia():
    seen, missing = 0, []
    for entry in entries().values():
        if entry.catalogue == "vdB":
            stars = stars_within(entry.vector, math.radians(30 / 3600))
            seen += bool(len(stars))
            missing += [] if len(stars) else [entry.name]
    # all that are brighter than magnitude 10, the catalogue's limit
    assert seen >= 125, missing


def test_the_stars_of_van_den_bergh_and_herbst_are_near_stars_of_gaia():
    # 1.5 arc minutes: a tenth of a minute of time in that table; by chance 2 or 3 of 136 would have a star so near
    named = [
        "vdBH 81",
        "vdBH 34",
        "vdBH 11",
        "vdBH 12a",
        "vdBH 42a",
        "vdBH 79a",
        "vdBH 33d",
        "vdBH 19",
        "vdBH 40a",
    ]
    named += ["vdBH 14a", "vdBH 71", "vdBH 41a"]
    for name in named:
        assert len(stars_within(entries()[name].vector, math.radians(0.5 / 60))), name


def test_every_remnant_stands_where_its_name_says():
    # Green 2019: a name is the galactic position to a tenth of a degree (of some, as first observed)
    offsets = []
    for entry in entries().values():
        if entry.catalogue == "SNR":
            longitude, latitude = re.fullmatch(r"SNR G([\d.]+)([+-][\d.]+)", entry.name).groups()
            place = SkyCoord(float(longitude) * u.deg, float(latitude) * u.deg, frame="galactic").icrs
            offsets.append(apart_arcmin(entry.name, place) / 60)
    assert len(offsets) == 294
    assert np.median(offsets) < 0.06
    assert max(offsets) < 0.6


# Green 2019, J. Astrophys. Astr. 40, 36 (sizes from memory)
REMNANTS = {
    "G184.6-5.8": (7, 5),
    "G74.0-8.5": (230, 160),
    "G189.1+3.0": (45, 45),
    "G111.7-2.1": (5, 5),
    "G120.1+1.4": (8, 8),
    "G4.5+6.8": (3, 3),
    "G327.6+14.6": (30, 30),
    "G180.0-1.7": (180, 180),
    "G263.9-3.3": (255, 255),
    "G260.4-3.4": (60, 50),
    "G34.7-0.4": (35, 27),
    "G89.0+4.7": (120, 90),
}


@pytest.mark.parametrize("name", REMNANTS)
def test_sizes_of_remnants(name):
    entry = entries()[f"SNR {name}"]
    assert (entry.major_arcmin, entry.minor_arcmin) == REMNANTS[name]


# Sharpless 1959, ApJS 4, 257: largest diameters (from memory)
SHARPLESS = {
    25: 90,
    45: 60,
    49: 90,
    101: 20,
    117: 240,
    129: 140,
    131: 170,
    132: 90,
    155: 60,
    171: 180,
    190: 150,
    199: 120,
}


@pytest.mark.parametrize("number", SHARPLESS)
def test_sizes_of_sharpless(number):
    assert entries()[f"Sh2-{number}"].major_arcmin == SHARPLESS[number]
