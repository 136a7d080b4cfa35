"""Plans made by hand, for tests of what gestures mean: one panel, the picture given."""

from planner.answers.plan import Plan, StarCounts
from planner.files.plan_file.read import request_from_text
from planner.mosaic.mosaic import Mosaic
from planner.mosaic.panel import Panel
from planner.mosaic.region import Region
from planner.request.picture import Picture

CAMERA = "[camera]\nfocal_length_mm = 380.0\nsensor_px = [6000, 4000]\npixel_um = 3.9\n"
RECTANGLE = (
    "[region]\ncenter = [128.5, -45.8]\nwidth_deg = 3.0\nheight_deg = 2.0\nposition_angle_deg = 20.0\n"
)
CIRCLE = '[region]\ncenter = ["08h34m", "-45d48m"]  # the middle\nradius_deg = 1.5\n'
OUTLINE = "[region]\noutline = [[128.0, -46.0], [129.0, -46.0], [129.0, -45.0], [128.0, -45.0]]\n"
OBJECT = '[region]\nobject = "M 31"\n'


def hand_made_plan(text, *, picture_angle=20.0, center=(128.5, -45.8)):
    request = request_from_text(text)
    region = Region.rectangle(center, 3.0, 2.0, picture_angle)
    panel = Panel("A1", 1, 1, 1, *center, picture_angle)
    field = request.camera.field
    mosaic = Mosaic(region, field, (panel,), 1, None, 0.15, 1.0, None, 0.0, 0.0, 1)
    picture = Picture(center, 3.0, 2.0, picture_angle, (3000, 2000))
    return Plan(request, mosaic, picture, StarCounts((), (0,)), ())


def message(form, *, center=(128.5, -45.8), angle=20.0, **others):
    """What the canvas sends after a gesture."""
    picture = {"center": list(center), "width_deg": 3.0, "height_deg": 2.0}
    return {
        "kind": "move",
        "form": form,
        "center": list(center),
        "position_angle_deg": angle,
        "region_angle_deg": angle,
        "touched": True,
        "picture": picture,
        **others,
    }
