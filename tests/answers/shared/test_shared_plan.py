"""A plan for each instrument, and what they cover together: by points that share no code with the proof."""

import numpy as np
import pytest
import shapely

from planner.answers.plan import make_plan
from planner.answers.shared.shared_plan import PART_NOTE, make_shared_plan
from planner.draw.map.sky_map import picture_corners
from planner.errors import InputError
from planner.files.documents.plan import plan_document
from planner.files.documents.shared_plan import shared_plan_document
from planner.files.plan_file.part import part_text
from planner.files.plan_file.read import request_from_text
from planner.files.plan_file.shared import read_shared_file, shared_from_text
from planner.geometry import plane_to_vector, sky_basis, vector_to_plane
from planner.mosaic.panel import panel_bases
from tests.hard_fields import HARD_FIELDS

from .shared_files import shared_request, write_shared

pytestmark = pytest.mark.usefixtures("made_once")
PLACES = [(129.0, -45.0), (0.05, 2.0), (10.0, 88.0), (200.0, -88.5)]


def names_of(plan):
    return tuple(panel.name for panel in plan.mosaic.panels)


def seen_share(region, plans, points=3000):
    """Part of random points of a region that lie in some panel of any plan."""
    random = np.random.default_rng(4)
    x0, y0, x1, y1 = region.polygon.bounds
    xy = random.uniform((x0, y0), (x1, y1), (points, 2))
    inside = plane_to_vector(xy[shapely.contains_xy(region.polygon, xy)], region.basis)
    seen = np.zeros(len(inside), dtype=bool)
    for plan in plans:
        half = plan.mosaic.field.half_width, plan.mosaic.field.half_height
        for basis in panel_bases(plan.mosaic.panels):
            place = vector_to_plane(inside, basis)
            ahead = inside @ basis[2] > 0
            seen |= ahead & (np.abs(place[:, 0]) <= half[0]) & (np.abs(place[:, 1]) <= half[1])
    return seen.mean()


@pytest.mark.parametrize("place", PLACES)
def test_each_instrument_has_the_plan_that_it_has_alone(tmp_path, place):
    request = shared_request(tmp_path, at=place)
    shared = make_shared_plan(request)
    assert [one.name for one in shared.instruments] == ["Wide pier", "Fine pier"]
    for one in shared.instruments:
        alone = make_plan(one.instrument.request)
        assert plan_document(one.plan) == plan_document(alone)
        assert one.takes_all and one.plan.mosaic.covered
    assert [(one.filter, one.instruments, one.covered) for one in shared.together] == [
        ("Ha", ("Wide pier",), True),
        ("L", ("Fine pier",), True),
    ]
    assert shared.shortfalls == ()


def test_a_layout_taken_whole_that_leaves_a_gap_says_so_together(tmp_path):
    """One panel of a whole layout is too small: its own gap is what all that take the filter leave."""
    path = write_shared(tmp_path)
    path.write_text(path.read_text().replace('layout = "grid"', 'layout = "grid"\ncolumns = 1\nrows = 1'))
    shared = make_shared_plan(read_shared_file(path))
    for one, together in zip(shared.instruments, shared.together, strict=True):
        assert one.takes_all and len(one.plan.mosaic.panels) == 1
        assert together.gap_area_deg2 == one.plan.mosaic.gap_area_deg2 > 0.0 and not together.covered
    assert shared.shortfalls


def test_a_full_picture_is_covered_by_every_instrument(tmp_path):
    """The corners of the one picture lie in panels of both, though each alone would have filled another one."""
    path = write_shared(tmp_path)
    path.write_text(path.read_text() + "\n[picture]\nfilled = true\naspect = [3, 2]\n")
    shared = make_shared_plan(read_shared_file(path))
    corners = picture_corners(shared.picture)
    for one in shared.instruments:
        half = one.plan.mosaic.field.half_width, one.plan.mosaic.field.half_height
        held = np.zeros(4, dtype=bool)
        for basis in panel_bases(one.plan.mosaic.panels):
            held |= (np.abs(vector_to_plane(corners, basis)) <= np.array(half) + 1e-9).all(axis=-1)
        assert held.all(), one.name
        assert one.whole.mosaic.region.area_deg2 == pytest.approx(shared.picture.as_region().area_deg2)
    assert shared.shortfalls == ()


def test_picture_has_the_finest_scale(tmp_path):
    shared = make_shared_plan(shared_request(tmp_path))
    fine = shared.instruments[1]
    assert shared.finest is fine
    assert shared.picture == fine.whole.picture
    document = shared_plan_document(shared)
    assert document["scale_of"] == "Fine pier"
    assert document["scale_arcsec_px"] == pytest.approx(206.264806 * 390 / 500)


@pytest.mark.parametrize("field", HARD_FIELDS, ids=str)
def test_parts_cover_together_what_points_say(tmp_path, field):
    """Both take half of their panels for one filter: proven gap and random points agree."""
    at = field.ra_deg, field.dec_deg
    whole = make_shared_plan(shared_request(tmp_path, at=at))
    wide, fine = (names_of(one.plan) for one in whole.instruments)
    half = sorted(wide)[: len(wide) // 2], sorted(fine)[len(fine) // 2 :]
    for taken in (half, (wide, fine[:1])):
        lists = [f'filters = ["Ha"]\npanels = {list(names)}' for names in taken]
        shared = make_shared_plan(shared_request_with_one_filter(tmp_path, at, lists))
        (together,) = shared.together
        region = shared.instruments[0].whole.mosaic.region
        share = seen_share(region, [one.plan for one in shared.instruments])
        gap = together.gap_area_deg2 / region.area_deg2
        assert 1.0 - share == pytest.approx(gap, abs=0.03)
        assert together.covered == (share == 1.0)
        assert bool(shared.shortfalls) != together.covered


def shared_request_with_one_filter(folder, at, lists):
    """Both take the filter Ha; L goes out of the plan file."""
    path = write_shared(folder, at=at, wide=lists[0], fine=lists[1])
    text = path.read_text()
    cut = text.index('[[filters]]\nname = "L"')
    return shared_from_text(text[:cut] + text[text.index("[[setup_files]]") :], path=path)


def test_a_part_tells_that_the_rest_is_the_others(tmp_path):
    lists = ['filters = ["Ha"]\npanels = ["A1"]', 'filters = ["Ha"]\npanels = ["B2"]']
    shared = make_shared_plan(shared_request_with_one_filter(tmp_path, (129.0, -45.0), lists))
    part = shared.instruments[0]
    assert part.panels == ("A1",) and not part.takes_all
    assert part.plan.shortfalls == () and part.plan.notes == (PART_NOTE,)
    (text,) = shared.shortfalls
    assert text.startswith("Wide pier and Fine pier together leave") and text.endswith("through Ha")


def test_a_panel_that_is_not_there_is_told(tmp_path):
    lists = ['filters = ["Ha"]\npanels = ["A1"]', 'filters = ["Ha"]\npanels = ["Z9"]']
    with pytest.raises(InputError, match=r"panels of 'Fine pier' name 'Z9', no panel of its layout"):
        make_shared_plan(shared_request_with_one_filter(tmp_path, (129.0, -45.0), lists))


def test_the_plan_file_of_a_part_gives_the_same_panels(tmp_path):
    shared = make_shared_plan(shared_request(tmp_path))
    for one in shared.instruments:
        again = make_plan(request_from_text(part_text(one.plan, tmp_path), path=tmp_path / "part.toml"))
        assert names_of(again) == one.panels
        for mine, theirs in zip(again.mosaic.panels, one.plan.mosaic.panels, strict=True):
            same = sky_basis(mine.ra_deg, mine.dec_deg, mine.position_angle_deg)
            assert np.allclose(
                same, sky_basis(theirs.ra_deg, theirs.dec_deg, theirs.position_angle_deg), atol=1e-9
            )
        assert again.request.filters == one.plan.request.filters
        assert again.request.sites == one.plan.request.sites
