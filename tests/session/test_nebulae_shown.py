"""Nebulae as the canvas gets them: where they are, simplified no more than asked, and what a click adds."""

import base64

import numpy as np
import pytest
import shapely

from planner.catalogue.nebulae import all_nebulae, find_nebula
from planner.errors import InputError
from planner.geometry import separation_rad, sky_to_vector
from planner.mosaic.panel import Field
from planner.session.gestures import added_edits
from planner.session.nebulae_shown import FINEST_SHARE, nebulae_data
from planner.session.suggestions import suggestions

PLACES = {"Carina": (161.0, -59.7), "Cygnus": (305.0, 40.0), "over 0 h": (0.5, 67.0), "the pole": (0.0, 90.0)}


def rings_of(data):
    rings = data["rings"]
    points = np.frombuffer(base64.b64decode(rings["points"]), "<f4").reshape(-1, 2).astype(float)
    return [points[a:b] for a, b in zip(rings["start"], rings["start"][1:], strict=False)]


@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize("radius_deg", [1.0, 8.0, 40.0])
def test_what_is_sent_lies_in_the_circle(place, radius_deg):
    center = sky_to_vector(*PLACES[place])
    data = nebulae_data(center, radius_deg)
    assert len(rings_of(data)) == len(data["rings"]["level"]) == len(data["rings"]["kind"])
    for entry in data["entries"]:
        away = np.degrees(separation_rad(sky_to_vector(entry["ra"], entry["dec"]), center))
        assert away <= radius_deg + max(entry["across"], entry["major"]) + 6.0
    for entry in data["rings"]["entry"]:
        assert -1 <= entry < len(data["entries"])
    if place == "Cygnus" and radius_deg == 8.0:
        assert len(data["rings"]["level"]) > 20 and len(data["entries"]) > 50


def test_rings_keep_their_shape():
    (ra, dec), radius_deg = PLACES["Carina"], 4.0
    data = nebulae_data(sky_to_vector(ra, dec), radius_deg)
    full = [one for one in all_nebulae().outlines_within(sky_to_vector(ra, dec), np.radians(radius_deg))]
    shrink = np.array([np.cos(np.radians(dec)), 1.0])
    for sent, whole in zip(rings_of(data), full, strict=True):
        assert len(sent) <= len(whole.ring_deg)
        first, second = (shapely.linearrings(ring * shrink) for ring in (sent, whole.ring_deg))
        assert shapely.hausdorff_distance(first, second) < 2 * radius_deg * FINEST_SHARE + 1e-3


@pytest.mark.parametrize(
    ("text", "edits"),
    [
        ('[region]\nobject = "M 8"\n', {"objects": ["M 8", "M 20"]}),
        (
            '[region]\nobjects = ["M 8", "M 16"]\njoin = "hull"\n',
            {"objects": ["M 8", "M 16", "M 20"], "join": "hull"},
        ),
        (
            '[region]\nobject = "M 8"\nlevel = "bright"\nmargin_arcmin = 3\n',
            {"parts": [{"object": "M 8", "level": "bright"}, {"object": "M 20"}]},
        ),
        (
            "[region]\ncenter = [1.0, 2.0]\nradius_deg = 1.0\n",
            {"parts": [{"center": [1.0, 2.0], "radius_deg": 1.0}, {"object": "M 20"}]},
        ),
        ('[[region.parts]]\nobject = "M 8"\n', {"parts": [{"object": "M 8"}, {"object": "M 20"}]}),
    ],
)
def test_adding_an_object_keeps_what_the_region_was(text, edits):
    found = {key.removeprefix("region."): value for key, value in added_edits(text, "M 20").items()}
    assert {key: value for key, value in found.items() if value is not None} == edits
    assert "margin_arcmin" not in found  # stays as it is


def test_adding_twice_is_refused():
    for text in (
        '[region]\nobject = "M 20"\n',
        '[region]\nobjects = ["M 8", "M 20"]\n',
        '[[region.parts]]\nobject = "M 20"\n',
    ):
        with pytest.raises(InputError, match="belongs to the region already"):
            added_edits(text, "M 20")


def test_a_search_offers_names_with_what_they_are():
    field = Field(3.5, 2.4)
    (first, *_) = suggestions("wizard", field)
    assert first["name"] == "NGC 7380" and "fits one frame" in first["about"] and "emission" in first["about"]
    california = suggestions("california", Field(0.5, 0.4))[0]
    assert "wider than one frame" in california["about"]
    assert suggestions("", field) == suggestions("x" * 500, field) == []
    assert find_nebula("IC 1396").name in [one["name"] for one in suggestions("ic 1396", field)]
