import math

import pytest
from astropy.coordinates import Angle
from hypothesis import example, given, settings
from hypothesis import strategies as st

from planner.errors import InputError
from planner.files.user_table.angle_form import AngleForm

SEXAGESIMAL = [(":", ":", ""), ("h", "m", "s"), (" ", " ", ""), ("", "", ""), ("d ", "m ", "s")]
FORMS = [
    AngleForm(unit, form, decimals, separators, sign, digits, decimal_mark=mark)
    for unit, digits in (("degrees", 3), ("hours", 2))
    for form, decimals in (("decimal", 0), ("decimal", 6), ("sexagesimal", 0), ("sexagesimal", 3))
    for separators in (SEXAGESIMAL if form == "sexagesimal" else SEXAGESIMAL[:1])
    for sign in ("negative", "always")
    for mark in (".", ",")
]


def test_arcturus_in_both_forms():
    # Meeus, Astronomical Algorithms (2nd ed.), example 17.a: Arcturus at 213.9154, +19.1825
    hours = AngleForm("hours", "sexagesimal", 1, ("h", "m", "s"))
    degrees = AngleForm("degrees", "sexagesimal", 0, (" ", " ", ""), sign="always")
    assert hours.write([213.9154]) == ["14h15m39.7s"]
    assert degrees.write([19.1825]) == ["+19 10 57"]
    assert hours.read("14h15m39.7s") == pytest.approx(213.9154, abs=5e-5)
    assert degrees.read("+19 10 57") == pytest.approx(19.1825, abs=1e-12)


@pytest.mark.parametrize(
    ("form", "angle_deg", "text"),
    [
        (AngleForm("hours", "sexagesimal", 0, first_deg=0.0), 359.999, "00:00:00"),
        (AngleForm("hours", "sexagesimal", 0), 14.9999, "01:00:00"),
        (AngleForm("degrees", "sexagesimal", 1, sign="always"), -0.25, "-00:15:00.0"),
        (AngleForm("degrees", "sexagesimal", 1, sign="always"), -1e-7, "+00:00:00.0"),
        (AngleForm("degrees", "decimal", 2, digits=1), -1e-7, "0.00"),
        (AngleForm("degrees", "decimal", 2, digits=1, first_deg=0.0), 359.996, "0.00"),
        (AngleForm("degrees", "decimal", 1, digits=1, first_deg=-180.0), 180.0, "-180.0"),
        (AngleForm("degrees", "decimal", 1, digits=1, first_deg=-180.0), 200.0, "-160.0"),
        (AngleForm("degrees", "decimal", 1, digits=3, first_deg=0.0, span_deg=180), 200.0, "020.0"),
        (AngleForm("degrees", "decimal", 1, digits=1, first_deg=-90.0, span_deg=180), 95.0, "-85.0"),
        (AngleForm("degrees", "decimal", 0, digits=1, first_deg=0.0, span_deg=180), 179.6, "0"),
        (AngleForm("degrees", "decimal", 1, digits=1, decimal_mark=","), 12.5, "12,5"),
        (AngleForm("degrees", "sexagesimal", 0, ("", "", ""), digits=3), 8.5, "0083000"),
    ],
)
def test_carry_wrap_sign_and_range(form, angle_deg, text):
    assert form.write([angle_deg]) == [text]


@settings(max_examples=60, deadline=None)
@given(st.floats(-360, 720), st.sampled_from(FORMS))
@example(359.99999999999994, FORMS[0])
@example(-0.0, FORMS[-1])
def test_text_reads_back_to_half_a_unit_of_its_last_place(angle_deg, form):
    (text,) = form.write([angle_deg])
    assert form.read(text) == pytest.approx(angle_deg, abs=form.tick_deg * 0.500001 + 1e-9)
    assert form.read(text) == pytest.approx(float(form.rounded_deg(angle_deg)), abs=1e-9)


@settings(max_examples=60, deadline=None)
@given(st.floats(0, 359.9), st.sampled_from([form for form in FORMS if form.form == "sexagesimal"]))
def test_sexagesimal_text_means_the_same_to_astropy(angle_deg, form):
    plain = AngleForm(form.unit, "sexagesimal", form.decimals, (":", ":", ""))
    unit = "hourangle" if form.unit == "hours" else "deg"
    (text,) = plain.write([angle_deg])
    assert Angle(text, unit=unit).deg == pytest.approx(angle_deg, abs=form.tick_deg * 0.500001 + 1e-9)


@settings(max_examples=60, deadline=None)
@given(st.floats(-720, 720), st.sampled_from([(0.0, 360), (-180.0, 360), (0.0, 180), (-90.0, 180)]))
def test_range_holds_after_rounding_and_keeps_the_direction(angle_deg, span):
    first, width = span
    form = AngleForm(decimals=1, first_deg=first, span_deg=width)
    rounded = float(form.rounded_deg(angle_deg))
    assert first <= rounded < first + width
    assert abs(math.remainder(rounded - angle_deg, width)) <= 0.05 + 1e-9


@pytest.mark.parametrize(
    "text", ["", "12", "x", "1:2", "1:61:00", "1:00:60", "1h2m3s", "nan", "1:2:3:4", "--1:2:3"]
)
def test_text_of_another_form_is_refused(text):
    with pytest.raises(ValueError, match="is not sexagesimal degrees such as|60 or more"):
        AngleForm("degrees", "sexagesimal").read(text)


def test_decimals_are_bounded():
    with pytest.raises(InputError, match=r"decimals must be in \[0, 9\], got 10"):
        AngleForm(decimals=10)
