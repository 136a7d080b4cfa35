"""Nebulae: reading the packed data and looking names up, beside the tables as text and OpenNGC's database."""

from __future__ import annotations

import csv
import json
import sys
import tempfile
from pathlib import Path
from typing import Any

import numpy as np

import planner.catalogue.nebulae as package
from planner.catalogue import find_object
from planner.catalogue.nebulae import Nebulae, all_nebulae, nebulae_named
from planner.geometry import sky_to_vector

from .bench_geometry import PLAN, process_seconds, row, seconds

Row = dict[str, Any]
SOURCE = Path(package.__file__).parent / "source"
NAMES = [
    "IC 1396",
    "Sh2-132",
    "LDN 1622",
    "the Wizard Nebula",
    "SNR G180.0-1.7",
    "NGC 7000",
    "M 42",
    "vdB 141",
]
IN_OPENNGC = ["IC 1396", "LBN 974", "M 42", "the Witch Head Nebula", "NGC 7000", "IC 405", "M 8", "NGC 7380"]


def run() -> list[Row]:
    """Return the rows of the table."""
    return [_reading(), _names(), _circle(), _command()]


def _reading() -> Row:
    return row("read all nebulae against the tables as CSV and JSON", seconds(Nebulae), seconds(_read_text))


def _read_text() -> None:
    with (SOURCE / "nebulae.csv").open(encoding="utf-8", newline="") as stream:
        list(csv.DictReader(stream))
    json.loads((SOURCE / "outlines.json").read_text(encoding="utf-8"))


def _names() -> Row:
    ours = seconds(lambda: [nebulae_named(name) for name in NAMES])
    other = seconds(lambda: [find_object(name) for name in IN_OPENNGC])
    return row(f"look {len(NAMES)} names up against OpenNGC's database", ours, other)


def _circle() -> Row:
    """Outlines within 6 degrees of the densest part of Cygnus, beside a look at every corner."""
    nebulae = all_nebulae()
    center, radius = sky_to_vector(306.0, 40.5), float(np.radians(6.0))
    rings = [ring.vectors for index in range(len(nebulae)) for ring in nebulae.outline(index)]
    ours = seconds(lambda: nebulae.outlines_within(center, radius))
    other = seconds(lambda: [ring for ring in rings if (ring @ center).max() > np.cos(radius)])
    return row("outlines within 6 degrees against a look at every corner", ours, other)


def _command() -> Row:
    """Start of `plan` with a nebula's name, beside a pinned centre, which reads none of this."""
    named = PLAN.replace('center = ["08h34m", "-45d50m"]\nradius_deg = 4.0', 'object = "IC 1396"')
    with tempfile.TemporaryDirectory() as folder:
        times = []
        for text in (named, PLAN):
            path = Path(folder) / "plan.toml"
            path.write_text(text)
            times.append(process_seconds([sys.executable, "-m", "planner", "plan", str(path)]))
    return row("the plan command of a nebula against one of a pinned centre", *times)
