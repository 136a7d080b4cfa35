"""Groups looked for behind the page: their picture, taken as parts with their frame."""

import xml.etree.ElementTree as ET
from pathlib import Path

from planner.answers.plan import make_plan
from planner.session.composing.around import AroundDesk, around_key, group_edits, group_svg
from planner.session.session import Session

TEXT = """\
[camera]
focal_length_mm = 380.0
sensor_px = [6000, 4000]
pixel_um = 3.9

[angle_device]
kind = "fixed"
zero_deg = 157.9

[region]
object = "Sh2-129"
"""


def test_a_group_is_taken_with_its_frame_and_given_back(tmp_path):
    path = Path(tmp_path) / "plan.toml"
    path.write_text(TEXT)
    session = Session.open(path)
    desk = AroundDesk(session.request, "Sh2-129")
    answer = desk.answer
    assert not desk.waits and desk.key == around_key(session.request)
    names = [[one.name for one in group.members] for group in answer.groups]
    assert answer.complete and names and sorted(map(id, desk.found)) == sorted(map(id, answer.groups))

    first = answer.groups[0]
    drawing = ET.fromstring(group_svg(first, session.request.camera.field))
    assert len([one for one in drawing if one.tag.endswith("polygon")]) >= len(first.members)
    before = session.history.present
    assert session.edit("around", group_edits(first))
    assert list(session.request.region.objects) == names[0] and len(session.request.panels) == 1
    assert make_plan(session.request).mosaic.covered
    session.step("undo")
    assert session.history.present == before
