"""One press fits the frame, or turns the picture; undo brings the exact text back."""

from pathlib import Path

import numpy as np
import pytest

from planner.answers.find_region import find_region
from planner.answers.plan import make_plan
from planner.errors import InputError
from planner.geometry import sky_basis
from planner.mosaic.orientation import Orientation
from planner.request.picture import smallest_picture
from planner.session.composing.fit_words import frame_words, picture_words
from planner.session.fitting import best_picture_angle, frame_edits, frame_fit, frame_placement, picture_edits
from planner.session.session import Session

pytestmark = pytest.mark.usefixtures("made_once")

TEXT = """\
[camera]
focal_length_mm = 380.0
sensor_px = [6000, 4000]
pixel_um = 3.9

# two discs, one frame
[region]
parts = [
  {{ name = "one", center = [120.0, {dec}], radius_deg = 0.4 }},
  {{ name = "two", center = [{ra}, {dec}], radius_deg = 0.2, margin_arcmin = 3 }},
]
{more}"""


def opened(tmp_path, more="", dec="-30.0", ra="121.5"):
    path = Path(tmp_path) / "plan.toml"
    path.write_text(TEXT.format(more=more, dec=dec, ra=ra))
    session = Session.open(path)
    return session, make_plan(session.request)


def test_the_frame_holds_everything_with_the_margin_that_is_told(tmp_path):
    session, plan = opened(tmp_path, "[mosaic]\ncolumns = 2\nrows = 1\nposition_angle_deg = 0.0\n")
    before, region = session.history.present, plan.mosaic.region
    fit = frame_fit(session.request, region)
    assert session.edit("fit", frame_edits(frame_placement(session.request, region)))
    fitted = make_plan(session.request)
    assert len(fitted.mosaic.panels) == 1 and fitted.mosaic.covered
    panel = fitted.mosaic.panels[0]
    assert panel.position_angle_deg == pytest.approx(fit.placement.position_angle_deg, abs=1e-5)
    seen = np.abs(region.seen_from(sky_basis(panel.ra_deg, panel.dec_deg, panel.position_angle_deg)).bounds)
    field = session.request.camera.field
    half = np.array([field.half_width, field.half_height] * 2)
    assert np.degrees((half - seen).min()) * 60 == pytest.approx(fit.margin_arcmin, abs=0.01)
    session.step("undo")
    assert session.history.present == before


def test_by_how_much_the_frame_and_the_picture_were_fitted_is_told(tmp_path):
    session, plan = opened(tmp_path, "[mosaic]\ncolumns = 2\nrows = 1\nposition_angle_deg = 0.0\n")
    region = plan.mosaic.region
    placement = frame_placement(session.request, region)
    panel = frame_edits(placement)["panels"][0]
    margin = frame_fit(session.request, region).margin_arcmin
    assert frame_words(plan, panel, margin).endswith(", in place of 2 panels.")
    session.edit("fit", frame_edits(placement))
    fitted = make_plan(session.request)
    assert frame_words(fitted, panel, margin).endswith("it stood so already.")
    other = {
        **panel,
        "dec_deg": panel["dec_deg"] + 0.1,
        "position_angle_deg": panel["position_angle_deg"] - 2.5,
    }
    assert frame_words(fitted, other, 3.29).endswith(
        "leaves 3.2\u2032 on all sides: moved by 6.0\u2032 and turned by -2.50\u00b0."
    )
    angle = picture_edits(plan, session.request)["picture.position_angle_deg"]
    session.edit("fit", {"picture.position_angle_deg": angle})
    words, after = picture_words(plan, session.request, angle), make_plan(session.request).picture
    assert (
        f"{after.width_deg:.2f} x {after.height_deg:.2f} degrees instead of {plan.picture.width_deg:.2f} x"
        in words
    )


def test_the_frame_at_an_angle_of_one_s_own_and_where_that_cuts(tmp_path):
    session, plan = opened(tmp_path)
    region = plan.mosaic.region
    edits = frame_edits(frame_placement(session.request, region, 80.0))
    assert edits["panels"][0]["position_angle_deg"] == 80.0
    wide, plan = opened(tmp_path, dec="0.0")
    assert wide.edit("x", {"camera.focal_length_mm": 600.0})
    region = make_plan(wide.request).mosaic.region
    with pytest.raises(InputError, match="arc minutes would be cut; choose an angle"):
        frame_edits(frame_placement(wide.request, region, 90.0))


def test_what_fits_no_frame_is_said_in_one_sentence(tmp_path):
    session, plan = opened(tmp_path)
    assert session.edit("x", {"camera.focal_length_mm": 760.0})
    sentence = r"does not fit one frame: at best, at .* arc minutes are cut; a focal length of .*; take a part out"
    with pytest.raises(InputError, match=sentence):
        frame_edits(frame_placement(session.request, plan.mosaic.region))


def test_by_how_much_it_fails_is_told_where_it_is_plainly_too_large():
    session = Session.open(Path(__file__).resolve().parents[2] / "sample_targets" / "vela_shell.toml")
    region = find_region(session.request.region).region
    assert frame_fit(session.request, region) is None
    with pytest.raises(InputError, match=r" 117\.8 arc minutes are cut; a focal length of 142 mm would hold it"):
        frame_edits(frame_placement(session.request, region))


def test_a_refusal_is_gone_once_the_plan_changes(tmp_path):
    session, _ = opened(tmp_path)
    session.faults["fit"] = "It does not fit one frame"
    assert session.replace_text("canvas", session.history.present) and session.faults
    assert session.edit("parts", {"camera.focal_length_mm": 300.0}) and not session.faults


@pytest.mark.parametrize(("dec", "ra"), [("-30.0", "121.5"), ("0.0", "121.5"), ("89.0", "210.0")])
@pytest.mark.parametrize("aspect", ["", "aspect = [3, 2]\n"])
def test_the_picture_is_turned_to_the_smallest_of_all_angles(tmp_path, dec, ra, aspect):
    session, plan = opened(tmp_path, f"[picture]\nprint_ppi = 240.0\n{aspect}", dec, ra)
    before, region = session.history.present, plan.mosaic.region
    angle = best_picture_angle(session.request, region)
    pictures = [smallest_picture(session.request, region, Orientation.common(a)) for a in range(0, 180, 3)]
    best = smallest_picture(session.request, region, Orientation.common(angle))
    areas = [one.width_deg * one.height_deg for one in pictures]
    assert best.width_deg * best.height_deg <= min(areas) * (1 + 1e-6)
    assert best.width_deg * best.height_deg < 0.97 * max(areas)
    assert session.edit("fit", picture_edits(plan, session.request))
    turned = smallest_picture(
        session.request, region, Orientation.common(session.request.picture.position_angle_deg)
    )
    assert turned.width_deg * turned.height_deg <= min(areas) * (1 + 1e-4)  # to a hundredth of a degree
    session.step("undo")
    assert session.history.present == before


def test_panels_square_with_the_picture_turn_along(tmp_path):
    session, plan = opened(
        tmp_path, "[picture]\nposition_angle_deg = 30.0\n[mosaic]\nposition_angle_deg = 30.0\n"
    )
    edits = picture_edits(plan, session.request)
    assert edits["mosaic.position_angle_deg"] == edits["picture.position_angle_deg"] != 30.0
