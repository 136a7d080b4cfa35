"""Plan files that several tests of the command line share."""

CAMERA = """
[camera]
focal_length_mm = 380.0
sensor_px = [6000, 4000]
pixel_um = 3.9
"""
SHELL = f"""
title = "Shell"
{CAMERA}
[region]
center = ["08h34m", "-45d50m"]
radius_deg = 2
[mosaic]
position_angle_deg = 20
layout = "sliding"
[angle_device]
kind = "adjuster"
zero_deg = 112.4
"""


def grid_text(title, *, width_deg):
    """A grid of one row over a rectangle 1.5 degrees high."""
    return f"""
title = "{title}"
{CAMERA}
[region]
center = ["08h34m", "-45d50m"]
width_deg = {width_deg}
height_deg = 1.5
[mosaic]
layout = "grid"
position_angle_deg = 20.0
overlap = 0.15
"""
