import re
from dataclasses import replace

from planner.answers.camera_angle import camera_angle
from planner.draw.paper.angle_sheet import angle_sheet
from planner.draw.paper.paper import Paper, readable
from planner.draw.paper.site_sheet import MOST_PANELS_LISTED, site_sheet
from planner.frames.review.limits import Limits
from planner.mosaic.panel import Panel
from planner.request.panels import PanelRequest
from planner.rig.aim import aim_deg
from planner.rig.angle_device import AngleDevice
from planner.rig.cautions import CAMERA_CAUTIONS, SUN_CAUTION
from planner.rig.instruction import instruction
from tests.draw.paper.pdf_text import pdf_text
from tests.handover.handover_plan import NIGHTS, handover_plan, many_panels


def words_of(content):
    return " ".join(pdf_text(content).split())


def test_sheet_says_what_a_helper_needs():
    plan = handover_plan(nights=NIGHTS)
    words = words_of(site_sheet(plan))
    for caution in (*CAMERA_CAUTIONS, SUN_CAUTION):
        assert caution in words
    # 128.0 degrees are 8 h 32 m; the reading is 20 - 112.4 + 180 = 87.6
    assert "1 A1 08h 32m 00.0s -45° 00' 00\" 20.00° 87.60° [ ] [ ]" in words
    assert "2 B1 08h 38m 00.0s -46° 54' 00\" 21.25° 88.85° [ ] [ ]" in words
    assert "Karoo 'pier' 1" in words
    assert f"{NIGHTS.first} to {NIGHTS.last}" in words
    assert re.search(r"Hα 600 s 18 3\.00 6\.0", words)
    assert 'Vela "shell", Ω & <dust>' in words


def test_sheet_without_device_or_filters_and_with_a_gap():
    words = words_of(site_sheet(handover_plan(device=None, filters=(), sites=(), gap=0.25)))
    assert "Mind: a gap of 0.25 square degrees" in words
    assert "cover the region" not in words
    assert "Turn the camera to the position angles listed below and verify it with a solved frame." in words
    assert "Exposures" not in words
    assert "Done" in words


def test_counts_stand_beside_the_boxes_where_panels_differ():
    listed = (
        PanelRequest("A1", 128.0, -45.0, 20.0, exposures={"Hα": 5}),
        PanelRequest("B1", 129.5, -46.9, 21.25),
    )
    words = words_of(site_sheet(handover_plan(listed=listed)))
    assert "87.60° [ ] 5 - " in words
    assert "88.85° [ ] 18 [ ] 50" in words
    assert "Hα 600 s 5 to 18 0.83 to 3.00 3.8" in words


def test_reading_out_of_reach_is_said():
    short = AngleDevice("adjuster", zero_deg=112.4, range_deg=(0.0, 10.0))
    words = words_of(site_sheet(handover_plan(device=short)))
    assert "out of travel" in words
    assert "the nearest that can be reached" in words


def test_long_list_is_cut_and_says_where_the_rest_is():
    plan = handover_plan(many_panels(9, 20))
    text = pdf_text(site_sheet(plan))
    assert len(re.findall(r"^ *\d+ +R\d+C\d+ ", text, re.MULTILINE)) == MOST_PANELS_LISTED == 160
    assert "20 more panels are in panels.ecsv and plan.json" in text
    pages = text.count("page ")
    assert f"page {pages + 1} of {pages + 1}" in text


def test_same_bytes_on_every_run_with_our_mark_and_odd_letters():
    plan = handover_plan(title="星雲 $x^2$ \\frac{1}{2} & <b>" + "long " * 30)
    first = site_sheet(plan)
    assert first == site_sheet(plan)
    assert first.startswith(b"%PDF-")
    assert b"mosaic planner" in first[-100:]


def test_letters_that_the_type_lacks_become_boxes():
    assert readable("Ω 星 é\tx") == "Ω \N{WHITE SQUARE} é x"


def test_blocks_are_kept_together_and_pages_counted():
    paper = Paper("Title", "Subtitle")
    for _ in range(40):
        paper.sentence("A sentence.")
    before = paper.page_count
    paper.heading("Heading", room_for=paper.table_height(30))
    assert paper.page_count == before + 1
    paper.table(("A", ">B"), [("x", "1")] * 100)
    figures = paper.numbered("footer", first=1)
    assert len(figures) == paper.page_count
    texts = [text.get_text() for figure in figures for text in figure.texts]
    assert sum(text.split("\n").count("x   1") for text in texts) == 100
    assert f"page {len(figures)} of {len(figures)}" in texts


def test_one_number_for_the_angle_on_both_sheets_and_in_the_review():
    """Nobody who keeps to a sheet delivers frames that the review throws out."""
    wide = tuple(
        Panel(name, n, 1, n, ra, -45.8, 20.0)
        for n, (name, ra) in enumerate([("A1", 128.4), ("A2", 128.6)], 1)
    )
    plan = handover_plan(wide)
    assert aim_deg(camera_angle(plan).report) == Limits.of_plan(plan.request).angle_deg == 1.0
    request = replace(plan.request, mosaic=replace(plan.request.mosaic, angle_error_deg=1.4))
    loose = replace(plan, request=request)
    report = camera_angle(loose).report
    assert report.tolerance_deg > 2.0
    assert aim_deg(report) == Limits.of_plan(request).angle_deg == 1.4
    step = "must be 20.0° or 200.0°, within 1.4°."
    assert instruction(report).steps[-1].endswith(step)
    assert step in words_of(angle_sheet(report))
    assert step in words_of(site_sheet(loose))


def test_panels_that_are_done_count_in_how_exact_the_angle_must_be():
    plan = handover_plan(
        tuple(Panel(f"A{n}", n, 1, n, ra, -45.8, 20.0) for n, ra in ((1, 127.5), (2, 129.5)))
    )
    rest = replace(plan, mosaic=replace(plan.mosaic, panels=plan.mosaic.panels[1:]))
    assert ", within " in words_of(site_sheet(rest, whole=plan))
