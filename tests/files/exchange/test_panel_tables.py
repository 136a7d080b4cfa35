import csv
import io
from dataclasses import replace

import numpy as np
import pytest
from astropy import units
from astropy.coordinates import SkyCoord
from astropy.table import Table

from planner.files.documents.plan import plan_document
from planner.files.exchange.panel_tables import panels_csv_bytes, panels_ecsv_bytes
from tests.files.hand_made_plan import ADJUSTER, PANELS, hand_made_plan

FIRST = "name order row column ra_deg dec_deg position_angle_deg ra_hms dec_dms".split()


def csv_rows(plan):
    return list(csv.DictReader(io.StringIO(panels_csv_bytes(plan).decode(), newline="")))


def ecsv_table(plan):
    return Table.read(panels_ecsv_bytes(plan).decode(), format="ascii.ecsv")


def test_columns_begin_as_agreed():
    header = panels_csv_bytes(hand_made_plan()).split(b"\r\n")[0].decode().split(",")
    assert header[: len(FIRST)] == FIRST
    assert ecsv_table(hand_made_plan()).colnames == header
    assert not any("reading" in name for name in header)


@pytest.mark.parametrize("read", [csv_rows, ecsv_table])
def test_numbers_are_those_of_the_plan(read):
    plan = hand_made_plan(device=ADJUSTER)
    document = plan_document(plan)
    rows = list(read(plan))
    assert len(rows) == len(document["panels"])
    for row, panel in zip(rows, document["panels"], strict=True):
        for key in ("name", "order", "row", "column", "stars_in_seams"):
            assert str(row[key]) == str(panel[key])
        for key in ("ra_deg", "dec_deg", "position_angle_deg"):
            assert float(row[key]) == pytest.approx(panel[key], abs=1e-9)
        assert float(row["reading_deg"]) == pytest.approx(panel["reading_deg"], abs=1e-9)
        corners = [
            [float(row[f"{name}_{axis}_deg"]) for axis in ("ra", "dec")] for name in ("se", "sw", "nw", "ne")
        ]
        assert np.allclose(corners, panel["corners_deg"], atol=1e-9)


def test_units_and_meta():
    table = ecsv_table(hand_made_plan(title='=1+1 "\N{GREEK SMALL LETTER ALPHA}" \N{TELESCOPE}'))
    for name in table.colnames:
        assert table[name].unit == (units.deg if name.endswith("_deg") else None)
    assert table.meta["creator"] == "mosaic planner"
    assert table.meta["title"] == '=1+1 "\N{GREEK SMALL LETTER ALPHA}" \N{TELESCOPE}'
    assert table.meta["frame"] == "ICRS"


def test_sexagesimal_text_is_the_same_place():
    table = ecsv_table(hand_made_plan())
    text = SkyCoord(table["ra_hms"], table["dec_dms"])
    number = SkyCoord(table["ra_deg"], table["dec_deg"])
    assert text.separation(number).arcsec.max() < 0.001  # last place 0.0015 arc seconds in right ascension


def test_readings_out_of_travel_are_empty():
    short = replace(ADJUSTER, range_deg=(87.0, 88.0))
    plan = hand_made_plan(device=short, panels=(PANELS[0], replace(PANELS[1], position_angle_deg=50.0)))
    assert [row["reading_deg"] for row in csv_rows(plan)] == ["87.6000000000", ""]
    assert ecsv_table(plan)["reading_deg"].mask.tolist() == [False, True]


def test_same_bytes_again():
    assert panels_csv_bytes(hand_made_plan()) == panels_csv_bytes(hand_made_plan())
    assert panels_ecsv_bytes(hand_made_plan()) == panels_ecsv_bytes(hand_made_plan())
