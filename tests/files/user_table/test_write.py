import csv
import datetime as dt
import io
import math

import erfa
import numpy as np
import pytest
from astropy.coordinates import SkyCoord

from planner.errors import InputError
from planner.files.user_table.table import read_tables
from planner.files.user_table.values import safe_text
from planner.files.user_table.write import rounding_losses, table_bytes
from planner.mosaic.panel import Panel
from planner.night.settings import Filter
from planner.request.panels import PanelRequest
from planner.rig.angle_device import AngleDevice
from tests.handover.handover_plan import HARD_CENTERS, NIGHTS, handover_plan, panels_at

HOURS = {"unit": "hours", "form": "sexagesimal"}
DATE = dt.date(2027, 1, 8)


def table_of(*columns, **keys):
    named = [{"name": f"c{number}", **column} for number, column in enumerate(columns)]
    return read_tables([{"file": "list.csv", "columns": named, **keys}])[0]


def rows_of(table, plan):
    """Rows as the csv module reads them, without the header."""
    text = table_bytes(table, plan).decode("utf-8-sig" if table.byte_order_mark else table.encoding)
    return list(csv.reader(io.StringIO(text, newline=""), delimiter=table.delimiter))[1:]


def column_of(plan, **column):
    return [row[0] for row in rows_of(table_of(column), plan)]


@pytest.mark.parametrize(
    ("column", "wanted"),
    [
        ({"field": "number"}, ["1", "2"]),
        ({"field": "panel"}, ["A1", "B1"]),
        ({"field": "order"}, ["1", "2"]),
        ({"field": "row"}, ["1", "2"]),
        ({"field": "column"}, ["1", "1"]),
        ({"field": "target", "spaces": "_"}, ['Vela_"shell",_Ω_&_<dust>_A1', 'Vela_"shell",_Ω_&_<dust>_B1']),
        ({"field": "ra"}, ["128.000000", "129.500000"]),
        ({"field": "ra", "unit": "hours", "decimals": 4}, ["8.5333", "8.6333"]),
        ({"field": "ra", **HOURS}, ["08:32:00.0000", "08:38:00.0000"]),
        ({"field": "ra", **HOURS, "separators": ["h", "m", "s"], "decimals": 0}, ["08h32m00s", "08h38m00s"]),
        ({"field": "ra", **HOURS, "separators": " ", "decimals": 1, "digits": 1}, ["8 32 00.0", "8 38 00.0"]),
        ({"field": "ra", "range_deg": [-180, 180], "sign": "always"}, ["+128.000000", "+129.500000"]),
        ({"field": "dec"}, ["-45.000000", "-46.900000"]),
        ({"field": "dec", "form": "sexagesimal", "decimals": 0}, ["-45:00:00", "-46:54:00"]),
        ({"field": "position_angle"}, ["20.000", "21.250"]),
        ({"field": "position_angle", "direction": "west"}, ["340.000", "338.750"]),
        ({"field": "position_angle", "direction": "west", "range_deg": [0, 180]}, ["160.000", "158.750"]),
        ({"field": "position_angle", "direction": "west", "range_deg": [-90, 90]}, ["-20.000", "-21.250"]),
        ({"field": "reading"}, ["87.60", "88.85"]),
        ({"field": "reading", "decimals": 0}, ["88", "89"]),
        ({"field": "field_width", "unit": "arcmin", "decimals": 2}, ["211.63", "211.63"]),
        ({"field": "scale"}, ["2.1169", "2.1169"]),
        ({"field": "binning"}, ["1", "1"]),
        ({"field": "text", "text": "Light"}, ["Light", "Light"]),
    ],
)
def test_each_field(column, wanted):
    assert column_of(handover_plan(), **column) == wanted


def test_rows_by_panel_and_filter_in_both_orders():
    fields = ({"field": "panel"}, {"field": "filter"}, {"field": "exposure"}, {"field": "exposures"})
    total = {"field": "exposure_total", "unit": "hours", "decimals": 3}
    rows = rows_of(table_of(*fields, total, rows="panel and filter"), handover_plan())
    assert rows[:2] == [["A1", "Hα", "600", "18", "3.000"], ["A1", "L, clear", "60.5", "50", "0.840"]]
    rows = rows_of(table_of(*fields, rows="filter and panel"), handover_plan())
    assert [row[:2] for row in rows] == [["A1", "Hα"], ["B1", "Hα"], ["A1", "L, clear"], ["B1", "L, clear"]]


def test_rows_follow_the_shooting_order():
    panels = [Panel("A1", 2, 1, 1, 10.0, 0.0, 0.0), Panel("A2", 1, 1, 2, 13.0, 0.0, 0.0)]
    assert column_of(handover_plan(panels), field="panel") == ["A2", "A1"]


@pytest.mark.parametrize("form", ["decimal", "sexagesimal"])
@pytest.mark.parametrize("unit", ["degrees", "hours"])
def test_positions_over_the_whole_sky_within_a_hundredth_of_an_arc_second(form, unit):
    plan = handover_plan(panels_at(HARD_CENTERS))
    ra, dec = {"field": "ra", "form": form, "unit": unit}, {"field": "dec", "form": form}
    rows = rows_of(table_of(ra, dec), plan)
    got = SkyCoord(
        [row[0] for row in rows],
        [row[1] for row in rows],
        unit=("hourangle" if unit == "hours" else "deg", "deg"),
    )
    wanted = SkyCoord(HARD_CENTERS, unit="deg")
    assert got.separation(wanted).arcsec.max() < 0.01


@pytest.mark.parametrize("equator", ["mean of date", "true of date"])
def test_equator_of_date_moves_position_and_angle_together(equator):
    # independent route: a second point along the position angle, both moved by SOFA, the angle between
    panels = panels_at([(31.0, 80.0), (200.0, -20.0), (359.9, 5.0)])
    columns = [
        {"field": name, "equator": equator, "date": DATE, "decimals": 9}
        for name in ("ra", "dec", "position_angle")
    ]
    rows = np.array(rows_of(table_of(*columns), handover_plan(panels)), dtype=float)
    matrix = (erfa.pmat06 if equator == "mean of date" else erfa.pnm06a)(2400000.5, 61413.0)
    for panel, (ra_deg, dec_deg, angle_deg) in zip(panels, rows, strict=True):
        start = SkyCoord(panel.ra_deg, panel.dec_deg, unit="deg")
        ahead = start.directional_offset_by(panel.position_angle_deg * start.ra.unit, 0.5 * start.ra.unit)
        here, there = (
            erfa.c2s(erfa.rxp(matrix, erfa.s2c(point.ra.rad, point.dec.rad))) for point in (start, ahead)
        )
        assert math.degrees(erfa.seps(*here, *np.radians([ra_deg, dec_deg]))) < 1e-8
        turned = math.degrees(erfa.pas(*here, *there)) - angle_deg
        assert abs((turned + 180) % 360 - 180) < 1e-6


def test_date_comes_from_the_nights_or_is_asked_for():
    column = {"field": "ra", "equator": "mean of date"}
    named = column_of(handover_plan(), **column, date=DATE)
    assert column_of(handover_plan(nights=NIGHTS), **column) == named
    with pytest.raises(InputError, match=r"column 'c0' wants the equator of a date, but there is none"):
        column_of(handover_plan(), **column)


def test_text_cells_never_become_formulas():
    # common practice, no source: a spreadsheet takes these first characters for a formula
    for start in ("=", "+", "-", "@", "\t=", "\r=", "\uff1d", " ="):
        title = start + "HYPERLINK(1)"
        filters = (Filter(title, "narrow", 60.0, 1),)
        table = table_of({"field": "title"}, {"field": "filter"}, {"field": "dec"}, rows="panel and filter")
        plan = handover_plan(filters=filters)
        object.__setattr__(plan.request, "title", title)
        for row in rows_of(table, plan):
            assert row[0].startswith("'")
            assert row[1] == row[0]
            assert row[2].startswith("-4")
        plain = "".join(row[0] for row in rows_of(table_of({"field": "title"}, guard_formulas=False), plan))
        assert not plain.startswith("'")


def test_numbers_and_plain_text_are_not_guarded():
    assert [safe_text(text) for text in ("-12.5", "+3", "a=b", "A1")] == ["-12.5", "+3", "a=b", "A1"]


def test_quotes_delimiters_and_other_letters_survive_csv():
    rows = rows_of(
        table_of({"field": "title"}, {"field": "filter"}, rows="panel and filter"), handover_plan()
    )
    assert rows[1] == ['Vela "shell", Ω & <dust>', "L, clear"]
    quoted = table_bytes(table_of({"field": "panel"}, quote="all"), handover_plan())
    assert quoted == b'"c0"\n"A1"\n"B1"\n'
    with pytest.raises(InputError, match="a cell holds the delimiter ',' or a quote"):
        table_bytes(table_of({"field": "title"}, quote="never"), handover_plan())


def test_form_of_the_file():
    table = table_of(
        {"field": "panel"},
        {"field": "ra", "decimals": 2},
        header=False,
        delimiter=";",
        decimal_mark=",",
        line_end="crlf",
        first_lines=["list 1", ""],
        byte_order_mark=True,
    )
    wanted = "list 1\r\n\r\nA1;128,00\r\nB1;129,50\r\n"
    assert table_bytes(table, handover_plan()) == b"\xef\xbb\xbf" + wanted.encode()
    wide = table_bytes(table_of({"field": "title"}, encoding="utf-16"), handover_plan())
    assert wide.decode("utf-16").startswith("c0\n")
    with pytest.raises(InputError, match="us-ascii has no letter 'Ω'; choose encoding = 'utf-8'"):
        table_bytes(table_of({"field": "title"}, encoding="us-ascii"), handover_plan())


def test_what_the_plan_lacks_is_asked_for():
    with pytest.raises(InputError, match=r"the plan has no filters; add \[\[filters\]\]"):
        table_bytes(table_of({"field": "filter"}, rows="panel and filter"), handover_plan(filters=()))
    with pytest.raises(InputError, match=r"readings need an angle device; add \[angle_device\]"):
        table_bytes(table_of({"field": "reading"}), handover_plan(device=None))


def test_reading_out_of_reach_is_left_empty():
    short = AngleDevice("adjuster", zero_deg=112.4, range_deg=(0.0, 10.0))
    assert column_of(handover_plan(device=short), field="reading") == ["", ""]


def test_loss_of_a_tenth_of_a_pixel_is_told():
    # 2.1169 arc seconds a pixel: rounding off 0.00004 deg x cos 60 = 0.072 arc seconds is 0.034 pixels,
    # ten times that 0.34
    fine, coarse = ([Panel("A1", 1, 1, 1, ra, 60.0, 0.0)] for ra in (128.00004, 128.0004))
    table = table_of({"field": "ra", "decimals": 3})
    assert rounding_losses(table, handover_plan(fine)) == []
    (loss,) = rounding_losses(table, handover_plan(coarse))
    assert (loss.column, loss.pixels) == ("c0", pytest.approx(0.0004 * 0.5 * 3600 / 2.11693, rel=1e-3))


def test_loss_of_an_angle_is_that_of_a_corner():
    # half a diagonal of 6000 x 4000 pixels is 3605.55 pixels; 0.04 degrees move its end by 2.517 pixels
    panels = [Panel("A1", 1, 1, 1, 128.0, -45.0, 20.04)]
    (loss,) = rounding_losses(table_of({"field": "position_angle", "decimals": 1}), handover_plan(panels))
    assert loss.pixels == pytest.approx(2.517, abs=1e-3)
    folded = table_of({"field": "position_angle", "decimals": 2, "range_deg": [0, 180], "direction": "west"})
    assert rounding_losses(folded, handover_plan(panels)) == []


def test_readings_count_only_where_coarser_than_the_scale():
    panels = [Panel("A1", 1, 1, 1, 128.0, -45.0, 20.04)]
    fine = AngleDevice("rotator", zero_deg=0.0, division_deg=0.01)
    table = table_of({"field": "reading", "decimals": 0})
    assert rounding_losses(table, handover_plan(panels)) == []
    assert len(rounding_losses(table, handover_plan(panels, device=fine))) == 1


def test_panels_may_want_numbers_of_their_own_and_none_has_no_row():
    listed = (
        PanelRequest("A1", 128.0, -45.0, 20.0, exposures={"Hα": 5}),
        PanelRequest("B1", 129.5, -46.9, 21.25),
    )
    fields = ({"field": "panel"}, {"field": "filter"}, {"field": "exposures"}, {"field": "exposure_total"})
    rows = rows_of(table_of(*fields, rows="filter and panel"), handover_plan(listed=listed))
    wanted = [["A1", "Hα", "5", "3000"], ["B1", "Hα", "18", "10800"], ["B1", "L, clear", "50", "3025"]]
    assert rows == wanted
