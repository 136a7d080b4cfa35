"""The folder in which the examples run: the samples, and frames that came back."""

import shutil
from dataclasses import replace

from planner.answers import plan as answers
from planner.files.plan_file.read import read_plan_file
from tests.frames.solved_file import write_solved
from tests.guide.examples import ROOT

BINNING = 50
TURNED = 3
"""Place in the shooting order of the panel of which a frame came back turned, through the last filter."""
TEST_READING_DEG = 17.5
"""At which the example says that its test frame was taken."""


def fill(folder):
    """Put into a folder what the examples find in theirs, frames that came back among it; return the folder."""
    shutil.copytree(ROOT / "sample_targets", folder / "sample_targets")
    plan = answers.make_plan(read_plan_file(folder / "sample_targets" / "vela_shell.toml"))
    (folder / "frames").mkdir()
    for panel in plan.mosaic.panels:
        for chosen in plan.request.filters:
            is_turned = panel.order == TURNED and chosen == plan.request.filters[-1]
            turn_deg = 3.0 if is_turned else 0.0
            facts = {"FILTER": chosen.name, "EXPTIME": chosen.exposures * chosen.exposure_s}
            path = folder / "frames" / f"{panel.name}_{chosen.name}.fits"
            write_frame(path, plan.request.camera, panel, turn_deg, **facts, DATE__OBS="2027-01-19T22:00:00")
    panel, device = plan.mosaic.panels[4], plan.request.angle_device
    turn_deg = device.zero_deg + TEST_READING_DEG + 0.03 - panel.position_angle_deg
    longer = replace(plan.request.camera, focal_length_mm=1.0025 * plan.request.camera.focal_length_mm)
    beside = replace(panel, ra_deg=panel.ra_deg + 0.25, dec_deg=panel.dec_deg + 0.1)
    write_frame(folder / "test.fits", longer, beside, turn_deg)
    return folder


def write_frame(path, camera, panel, turn_deg, **facts):
    """Write a small frame on a panel, solved, stacked and binned so that few pixels stand for the whole sensor."""
    write_solved(
        path,
        size=(camera.sensor_px[0] // BINNING, camera.sensor_px[1] // BINNING),
        scale_arcsec=camera.scale_arcsec_px * BINNING / camera.binning,
        position_angle_deg=panel.position_angle_deg + turn_deg,
        center=(panel.ra_deg, panel.dec_deg),
        **{"XBINNING": BINNING, "YBINNING": BINNING, **facts},
    )
