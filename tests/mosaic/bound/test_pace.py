"""When the bounds give up an aim: numbers worked out by hand from the rules in the module's constants."""

from planner.mosaic.bound.pace import Pace


def paced(most, steps):
    """Pace after an aim of 12 has been at these (spent, open degrees)."""
    pace = Pace(most)
    for spent, open_deg in steps:
        pace.note(12, spent, open_deg)
    return pace


def test_an_aim_that_no_angle_reaches_is_given_up_after_an_eighth_of_the_effort():
    pace = paced(240, [(100, 180.0), (120, 180.0)])
    assert pace.is_enough(130) and not pace.is_enough(131)


def test_the_pace_counts_after_the_run_up():
    closing = [(100 + k, 180.0 - k) for k in range(0, 60, 4)]  # a degree for each unit
    assert paced(240, closing).is_enough(120)
    assert paced(400, closing).is_enough(158)  # 124 degrees are left, and effort for 242
    assert not paced(240, closing).is_enough(158)  # effort for 82


def test_a_new_aim_begins_anew():
    pace = paced(240, [(100, 180.0), (125, 20.0)])
    assert not pace.is_enough(160)
    pace.note(13, 160, 180.0)
    assert pace.is_enough(160)


def test_who_is_patient_does_not_mind_the_pace():
    pace = Pace(400, is_patient=True)
    pace.note(12, 100, 180.0)
    pace.note(12, 160, 179.0)
    assert pace.is_enough(260) and not pace.is_enough(261)
