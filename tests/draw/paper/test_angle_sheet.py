"""The sheet for the helper on site: one page, the same bytes again, nothing outside the paper."""

import re
from dataclasses import replace

import pytest

from planner.draw.paper.angle_sheet import angle_sheet
from planner.draw.paper.ink_page import InkPage
from planner.draw.paper.scale_drawing import Marks, draw_dial, draw_travel
from planner.files.output import is_ours
from planner.rig.angle_device import AngleDevice
from planner.rig.cautions import SUN_CAUTION
from tests.rig.hand_made import FIELD, grid_mosaic
from tests.rig.test_angle_report import ADJUSTER, MOSAIC, frame, report_of

DEVICES = [
    ADJUSTER,
    AngleDevice("rotator", 87.2, -1, (-270.0, 270.0), 0.02),
    AngleDevice("adjuster", 100.0, 1, (0.0, 150.0), 5.0),
    AngleDevice("fixed", 130.0),
]


def texts_and_boxes(page):
    """Texts on the page with their boxes in pixels, and the page's own."""
    page.figure.canvas.draw()
    renderer = page.figure.canvas.get_renderer()
    found = list(page.figure.texts) + [text for axes in page.figure.axes for text in axes.texts]
    return [(text.get_text(), text.get_window_extent(renderer)) for text in found], page.figure.bbox


@pytest.mark.parametrize(("device", "solved"), list(zip(DEVICES, (True, False, True, False), strict=True)))
def test_sheet_is_one_page_of_ours_and_always_the_same(tmp_path, device, solved):
    frames = [frame(150.0, 0.0 if device.kind == "fixed" else 40.0)] if solved else []
    report = report_of(device, frames)
    content = angle_sheet(report)
    assert content.startswith(b"%PDF") and len(re.findall(rb"/Type /Page\b", content)) == 1
    assert content == angle_sheet(report)
    path = tmp_path / "sheet.pdf"
    path.write_bytes(content)
    assert is_ours(path)


def page_of(report, monkeypatch):
    pages = []
    monkeypatch.setattr(InkPage, "pdf", lambda page: pages.append(page) or b"")
    angle_sheet(report)
    return pages[-1]


@pytest.mark.parametrize("device", [ADJUSTER, AngleDevice("rotator", 300.0, 1, (-270.0, 270.0), 0.02)])
@pytest.mark.parametrize("several", [False, True])
def test_everything_stays_on_the_paper_and_apart(monkeypatch, device, several):
    mosaic = grid_mosaic(6, 5, field=FIELD) if several else MOSAIC
    if several:
        turned = (replace(p, position_angle_deg=130.0 + p.order) for p in mosaic.panels)
        mosaic = replace(mosaic, panels=tuple(turned))
    report = replace(
        report_of(device, [frame(150.0, 40.0 if device is ADJUSTER else -250.0)], mosaic=mosaic),
        title="A very long title " * 9,
    )
    texts, paper = texts_and_boxes(page_of(report, monkeypatch))
    assert {"Turn the camera", "Set it to"} <= {text for text, _ in texts}
    assert " ".join(text for text, _ in texts).count(SUN_CAUTION.split(":")[0]) == 1
    for text, box in texts:
        assert paper.x0 < box.x0 and box.x1 < paper.x1 and paper.y0 < box.y0 and box.y1 < paper.y1, text
    lines = [(text, box) for text, box in texts if text.strip()]
    for index, (text, box) in enumerate(lines):
        for other, its in lines[index + 1 :]:
            across = min(box.x1, its.x1) - max(box.x0, its.x0)
            along = min(box.y1, its.y1) - max(box.y0, its.y0)
            assert across <= 1 or along <= 0.3 * box.height, (text, other)


def test_titles_in_any_script():
    title = "星雲 $a_b^c$ \\frac " + "x" * 180
    assert angle_sheet(replace(report_of(), title=title)).startswith(b"%PDF")


@pytest.mark.parametrize(
    ("sense", "mirrored", "left"), [(1, False, True), (-1, False, False), (1, True, False)]
)
def test_numbers_run_counter_clockwise_where_the_reading_grows_with_the_angle(sense, mirrored, left):
    """Seen from behind the camera position angle grows counter-clockwise: 90 then stands at the left."""
    device = AngleDevice("adjuster", 0.0, sense)
    axes = InkPage("dial").axes(1, 1, 4, 4)
    draw_dial(axes, Marks(device, 45.0, 10.0, 2.0, mirrored=mirrored))
    place = next(text.get_position() for text in axes.texts if text.get_text() == "90")
    assert (place[0] < 0) == left and abs(place[1]) < 1e-9


def test_dial_labels_only_what_can_be_set():
    axes = InkPage("dial").axes(1, 1, 4, 4)
    draw_dial(axes, Marks(AngleDevice("adjuster", 0.0, 1, (0.0, 150.0)), 45.0))
    assert {text.get_text() for text in axes.texts} == {"0", "30", "60", "90", "120", "150"}
    axes = InkPage("bar").axes(1, 1, 4, 1)
    draw_travel(axes, Marks(AngleDevice("rotator", 0.0, 1, (-270.0, 270.0)), 45.0, -100.0))
    labels = [float(text.get_text()) for text in axes.texts]
    assert labels == sorted(labels) and (labels[0], labels[-1]) == (-270.0, 270.0)
