import subprocess
import sys

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.errors import InputError
from planner.files.plan_file.sky_angle import angle_from_text, degrees_from_text, right_ascension_deg


@pytest.mark.parametrize(
    ("text", "degrees"),
    [
        ("08h34m00s", 128.5),
        ("8h34m", 128.5),
        ("8.5h", 127.5),
        ("-45d50m", -45.833333333333336),
        ("-0d30m", -0.5),
        ("+12°30'", 12.5),
        ("12° 30′ 36″", 12.51),
        ("\N{MINUS SIGN}12d", -12.0),
        ("-45:50:00", -45.833333333333336),
        (" 128.5 ", 128.5),
        ("12.5 deg", 12.5),
        ("1e1", 10.0),
        ("30arcmin", 0.5),
        ("45d30mS", -45.5),
        ("12d30m36", 12.51),
    ],
)
def test_known_forms(text, degrees):
    assert angle_from_text(text) == pytest.approx(degrees, abs=1e-12)


@pytest.mark.parametrize("text", ["12h", "-5 h 30m", "1.5hr", "3hours", ".5h"])
def test_hours_are_for_right_ascensions_only(text):
    assert angle_from_text(text) == pytest.approx(15 * float(text.split("h")[0]), abs=8)
    with pytest.raises(InputError, match="is in hours"):
        degrees_from_text(text)


def test_degrees_without_hours():
    assert degrees_from_text("-45d50m") == angle_from_text("-45d50m")
    with pytest.raises(InputError, match="'north' is no angle"):
        degrees_from_text("north")


@settings(deadline=None)
@given(
    st.sampled_from(["h", "d"]),
    st.sampled_from(["", "-", "+"]),
    st.integers(0, 23),
    st.integers(0, 59),
    st.integers(0, 59_999),
)
def test_equals_astropy(unit, sign, whole, minutes, milliseconds):
    from astropy.coordinates import Angle

    text = f"{sign}{whole}{unit}{minutes:02d}m{milliseconds / 1000:.3f}s"
    assert angle_from_text(text) == pytest.approx(Angle(text).deg, abs=1e-12)


@pytest.mark.parametrize(
    ("value", "degrees"),
    [(360.0, 0.0), (-1.0, 359.0), (-1e-20, 0.0), ("24h", 0.0), ("-1d", 359.0), ("23h59m60s", None)],
)
def test_right_ascension_is_brought_into_its_range(value, degrees):
    if degrees is None:
        with pytest.raises(InputError, match="below 60"):
            right_ascension_deg(value)
    else:
        assert right_ascension_deg(value) == degrees


@pytest.mark.parametrize("text", ["8:34:00", "08 34 00", "-8:34"])
def test_right_ascension_without_unit_is_not_guessed(text):
    with pytest.raises(InputError, match="hours or degrees"):
        right_ascension_deg(text)


@pytest.mark.parametrize("text", ["", "north", "12h61m", "12.5h30m", "h", "9" * 200 + "q", "()"])
def test_what_is_no_angle_is_refused(text):
    with pytest.raises(InputError):
        angle_from_text(text)


def test_common_forms_do_not_load_astropy():
    code = (
        "import sys; from planner.files.plan_file.sky_angle import angle_from_text as a;"
        "a('08h34m00s'), a('-45d50m'), a('12.5');"
        "sys.exit('astropy' in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
