"""What is said of angles: counts as brute force finds them, and places where a turn loses and wins."""

import datetime as dt
import re

import numpy as np
import pytest

from planner.answers.serving import FittingAngles, serve_most, service_words
from planner.rig.angle_device import AngleDevice

from .made_up import some_fitting, table

EVENINGS = [dt.date(2027, 1, 8) + dt.timedelta(days) for days in range(90)]
DEVICE = AngleDevice("adjuster", zero_deg=112.4)


def two(device=None, **more):
    """A fits from 10 to 30, B from 25 to 60: what is said can be told by hand."""
    fitting = FittingAngles(("A", "B"), (((10.0, 30.0),), ((25.0, 60.0),)), (1.0, 1.0))
    return serve_most(fitting, device, **more)


def test_by_hand():
    words = dict(service_words(two(AngleDevice("adjuster", zero_deg=5.0), reading_deg=15.0)))
    assert words["Now"] == "at reading 15 you can frame 1 of the 2"
    assert words["Best"] == "at reading 22, 2 targets; another angle adds nothing"
    assert words["Turned up"] == "from reading 15 to 30 loses A beyond 25.0; wins B from 20.0"
    assert words["Turned down"] == "from reading 15 to 0 loses A beyond 5.0"
    assert "Always" not in words


def test_scale_that_falls():
    """With a falling scale up is towards smaller position angles."""
    words = dict(service_words(two(AngleDevice("adjuster", zero_deg=80.0, sense=-1), reading_deg=60.0)))
    assert words["Now"] == "at reading 60 you can frame 1 of the 2"
    assert words["Turned up"] == "from reading 60 to 75 loses A beyond 70.0"
    assert words["Turned down"] == "from reading 60 to 45 loses A beyond 50.0; wins B from 55.0"


def test_more_angles_as_long_as_they_add_something():
    fitting = FittingAngles(("A", "B"), (((10.0, 20.0),), ((100.0, 120.0),)), (2.0, 1.0))
    words = dict(service_words(serve_most(fitting), unit="hours"))
    best = "at position angle 15, 2 hours; at position angles 15 and 110, 3 hours; another angle adds nothing"
    assert words["Best"] == best


def test_without_device_from_the_best_angle():
    words = dict(service_words(two()))
    assert "Now" not in words
    assert words["Best"] == "at position angle 28, 2 targets; another angle adds nothing"
    assert words["Turned up"] == "from position angle 28 to 43 loses A beyond 30.0"


def test_end_of_the_travel_ends_the_turn():
    words = dict(service_words(two(AngleDevice("adjuster", range_deg=(0.0, 22.0)), reading_deg=20.0)))
    assert words["Turned up"] == "from reading 20 to 22 nothing is lost or won"


def test_another_reading_where_the_travel_ends():
    """At the lower end of a whole turn the camera is turned down from the reading half a turn on."""
    words = dict(service_words(two(AngleDevice("adjuster"), reading_deg=5.0)))
    assert words["Turned down"] == "from reading 185 to 170 nothing is lost or won"
    assert words["Turned up"] == "from reading 5 to 20 wins A from 10.0"


def test_what_fits_whatever_the_angle():
    fitting = FittingAngles(("A", "B"), (((0.0, 180.0),), ((25.0, 60.0),)), (1.0, 1.0))
    words = dict(service_words(serve_most(fitting)))
    assert words["Always"] == "1 of the 2 targets fits whatever the angle"


def test_present_angle_beyond_the_travel():
    """What a turn away loses is then told from the best angle."""
    words = dict(service_words(two(AngleDevice("adjuster", range_deg=(20.0, 40.0)), now_deg=55.0)))
    assert words["Now"] == "at position angle 55 (beyond the travel) you can frame 1 of the 2"
    assert words["Turned up"].startswith("from reading 28 to 40 loses A beyond 30.0")


def test_fixed_camera_is_not_turned():
    words = dict(service_words(two(AngleDevice("fixed", zero_deg=28.0))))
    assert list(words) == ["Now", "Best"]
    assert words["Now"] == "at position angle 28 you can frame 2 of the 2"


def test_one_turn_names_the_evening():
    hours = np.zeros((2, 90))
    hours[0, :45], hours[1, 45:] = 4.0, 4.0
    fitting = FittingAngles(("A", "B"), (((10.0, 20.0),), ((100.0, 110.0),)), (1.0, 1.0))
    service = serve_most(fitting, DEVICE, evening_hours=hours)
    said = dict(service_words(service, evenings=EVENINGS))["One turn"]
    first, second = (f"reading {reading:g}" for reading in service.turn.readings_deg)
    assert said.startswith(
        f"{first} until 21 February, {second} from 22 February 2027 on: 2 targets and 360 hours"
    )
    always = serve_most(FittingAngles(("A",), (((0.0, 180.0),),), (1.0,)), DEVICE, evening_hours=hours[:1])
    assert dict(service_words(always, evenings=EVENINGS))["One turn"].startswith("gains nothing: ")


@pytest.mark.parametrize("seed", [0, 1])
def test_counts_are_those_of_brute_force(seed):
    fitting = some_fitting(50, seed)
    words = dict(service_words(serve_most(fitting, DEVICE, now_deg=70.0), unit="hours"))
    said = re.match(r"at reading \S+ you can frame (\S+) hours, (\d+) of the (\d+) targets", words["Now"])
    fits = table(fitting, [70.0])[0]
    assert float(said[1]) == pytest.approx(np.array(fitting.weights)[fits].sum(), abs=0.051)
    assert int(said[2]) == fits.sum()
    assert int(said[3]) == sum(bool(stretches) for stretches in fitting.stretches_deg)
