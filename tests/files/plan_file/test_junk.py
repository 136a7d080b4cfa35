"""Whatever stands in a plan file, reading it gives a request or one sentence, never another error."""

import copy
import datetime as dt
import math
import tomllib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.errors import PlannerError
from planner.files.plan_file.read import request_from_document, request_from_text
from planner.request.request import Request
from tests.files.plan_file.test_read import EVERY_KEY

WHOLE = tomllib.loads(EVERY_KEY)
PLACES = [
    (table, key)
    for table, value in WHOLE.items()
    for key in (value if isinstance(value, dict) else value[0] if isinstance(value, list) else {"": ""})
]
JUNK = st.recursive(
    st.one_of(
        st.booleans(),
        st.integers(-(10**20), 10**20),
        st.floats(),
        st.text(max_size=5),
        st.sampled_from(
            ["per_panel", "rotator", "narrow", "12h", "-45d50m", "360", "nan", "8:30", "per_panel\n", "\0"]
        ),
        st.dates(),
        st.datetimes(),
        st.times(),
    ),
    lambda inner: st.one_of(
        st.lists(inner, max_size=3),
        st.dictionaries(st.sampled_from(["a", "name", "kind"]), inner, max_size=2),
    ),
    max_leaves=5,
)


def reads_or_says(document):
    try:
        assert isinstance(request_from_document(document), Request)
    except PlannerError as error:
        assert len(str(error)) > 10


@settings(deadline=None)
@given(st.sampled_from(PLACES), JUNK)
def test_junk_in_place_of_a_value(place, junk):
    table, key = place
    document = copy.deepcopy(WHOLE)
    if not key:
        document[table] = junk
    elif isinstance(document[table], list):
        document[table][0][key] = junk
    else:
        document[table][key] = junk
    reads_or_says(document)


@settings(deadline=None)
@given(
    st.sampled_from(["camera", "region", "mosaic", "site", "filters", "tables", "nights", "setup", "x"]), JUNK
)
def test_junk_in_place_of_a_table(table, junk):
    reads_or_says({**WHOLE, table: junk})


@settings(deadline=None)
@given(st.lists(st.lists(JUNK, min_size=2, max_size=2), max_size=5))
def test_junk_in_place_of_corners(outline):
    reads_or_says({"camera": WHOLE["camera"], "region": {"outline": outline}})


@settings(deadline=None)
@given(st.lists(st.tuples(st.floats(-360, 360), st.floats(-90, 90)), min_size=3, max_size=6))
def test_any_corners(outline):
    reads_or_says({"camera": WHOLE["camera"], "region": {"outline": [list(corner) for corner in outline]}})


@settings(deadline=None)
@given(st.text(max_size=200))
def test_any_text(text):
    try:
        request_from_text(text)
    except PlannerError as error:
        assert str(error)


@pytest.mark.parametrize("value", [math.nan, -0.0, 5e-324, dt.date(1, 1, 1)])
@pytest.mark.parametrize("key", ["latitude_deg", "hour_price", "horizon_deg", "elevation_m"])
def test_odd_values_of_a_site(key, value):
    document = copy.deepcopy(WHOLE)
    document["site"][key] = value
    reads_or_says(document)
