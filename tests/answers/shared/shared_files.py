"""Small plan and setup files of a mosaic that two instruments share: real geometry, few pixels, no search."""

from pathlib import Path

from planner.files.plan_file.shared import read_shared_file

PLAN = """\
title = "Shell, shared"

[region]
center = [{ra}, {dec}]
width_deg = 7.0
height_deg = 3.5
position_angle_deg = 20.0

[mosaic]
layout = "grid"
position_angle_deg = 20.0

[nights]
first = 2027-01-04
last = 2027-01-10

{filters}
[[setup_files]]
file = "wide.toml"
{wide}

[[setup_files]]
file = "fine.toml"
{fine}
"""
FILTERS = """\
[[filters]]
name = "{name}"
band = "{band}"
exposure_s = 600.0
exposures = 2
"""
SETUP = """\
title = "{title}"

[camera]
focal_length_mm = {focal}
sensor_px = [60, 40]
pixel_um = 390.0

[angle_device]
kind = "{device}"
zero_deg = 112.4

[mount]
kind = "german"

[site]
name = "{title}"
latitude_deg = {latitude}
longitude_deg = {longitude}
lowest_altitude_deg = 20
"""


def write_shared(
    folder: Path, *, at=(129.0, -20.0), wide='filters = ["Ha"]', fine='filters = ["L"]', focal=500.0
):
    """Write the plan file and both setup files; return the plan file's path."""
    filters = "".join(FILTERS.format(name=n, band=b) for n, b in (("Ha", "narrow"), ("L", "broad")))
    setups = {
        "wide": {
            "title": "Wide pier",
            "focal": 380.0,
            "device": "adjuster",
            "latitude": -31.2,
            "longitude": 22.6,
        },
        "fine": {
            "title": "Fine pier",
            "focal": focal,
            "device": "rotator",
            "latitude": 28.1,
            "longitude": -17.25,
        },
    }
    for name, values in setups.items():
        (folder / f"{name}.toml").write_text(SETUP.format(**values))
    path = folder / "shell.toml"
    path.write_text(PLAN.format(ra=at[0], dec=at[1], filters=filters, wide=wide, fine=fine))
    return path


def shared_request(folder: Path, **changes):
    """Read what `write_shared` writes."""
    return read_shared_file(write_shared(folder, **changes))
