"""Frames solved here: synthetic frames of the real sky, and frames that must be refused."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from astropy.io import fits
from astropy.wcs import WCS

from planner.frames.header.cards import ImageHeader
from planner.frames.solve.frame_solver import FrameSolver, SolvedFrame
from planner.frames.solve.pointing_hint import pointing_hint
from planner.frames.solve.radial import Radial
from planner.frames.solve.solve import Refusal, solve_stars
from planner.frames.solve.star_detection import DetectedStars, detect_stars
from planner.frames.solve.star_ground import StarGround
from planner.geometry import separation_rad, sky_to_vector
from planner.mosaic.panel import Field, Panel
from planner.rig.camera import Camera
from tests.frames.synthetic import Sky, frame_pixels, frame_wcs, stars_in, write_frame

SPOILED = {"hot_pixels": 500, "trails": 2, "nebula": 2000.0, "noise": 20.0}


def plan_ground(ra_deg, dec_deg, columns=2, rows=2):
    """Stars over a small mosaic about a position."""
    centers = [
        sky_to_vector(
            ra_deg + (i - 0.5) * 2.2 / max(np.cos(np.radians(dec_deg)), 0.05), dec_deg + (j - 0.5) * 1.6
        )
        for i in range(columns)
        for j in range(rows)
    ]
    return StarGround.about(np.array(centers), Field(2.67, 2.0))


def check(fit, sky):
    """Within 2 arc seconds at the centre and 0.02 degrees in angle, with the right parity and scale."""
    truth = sky_to_vector(sky.ra_deg, sky.dec_deg)
    assert np.degrees(separation_rad(sky_to_vector(fit.ra_deg, fit.dec_deg), truth)) * 3600 < 2.0
    assert abs((fit.position_angle_deg - sky.position_angle_deg + 180) % 360 - 180) < 0.02
    assert fit.mirrored == sky.mirrored
    assert np.allclose(fit.scales_arcsec_px, sky.scale_arcsec_px, rtol=1e-3)


@pytest.mark.parametrize("mirrored", [False, True])
@pytest.mark.parametrize(
    ("ra_deg", "dec_deg", "angle_deg"), [(128.9, -45.4, 33.0), (0.02, 1.0, 200.0), (40.0, 88.6, 301.0)]
)
def test_spoiled_frame_is_solved(ra_deg, dec_deg, angle_deg, mirrored):
    sky = Sky(ra_deg, dec_deg, angle_deg, 12.0 * 1.03, mirrored=mirrored, **SPOILED)
    found = solve_stars(detect_stars(frame_pixels(sky)), sky.size_px, 12.0, plan_ground(ra_deg, dec_deg))
    assert not isinstance(found, Refusal), found
    check(found.fit, sky)
    assert found.chance_log10 < -20
    assert found.center_error_arcsec < 2.0


@pytest.mark.parametrize("off_px", [0.0, 10.0, -10.0])
@pytest.mark.parametrize("mirrored", [False, True])
def test_the_lens_distortion_is_fitted_when_the_stars_tell_it(off_px, mirrored):
    """A small field: without the term 22 stars gave a scale wrong by 4e-3 and an error of 0.025 degrees."""
    sky = Sky(85.0, -5.0, 33.0, size_px=(400, 300), noise=20.0, mirrored=mirrored, distortion_px=off_px)
    centers = np.array([sky_to_vector(85.0 + x, -5.0 + y) for x in (-0.4, 0.4) for y in (-0.4, 0.4)])
    ground = StarGround.about(centers, Field(1.33, 1.0))
    found = solve_stars(detect_stars(frame_pixels(sky)), sky.size_px, 12.0, ground)
    assert not isinstance(found, Refusal), found
    check(found.fit, sky)
    assert np.allclose(found.fit.scales_arcsec_px, 12.0, rtol=3e-4)
    off_deg = abs((found.fit.position_angle_deg - 33.0 + 180) % 360 - 180)
    assert off_deg < 4 * found.angle_error_deg < 0.02
    if off_px:
        assert found.fit.radial.strength * 250.0 == pytest.approx(off_px, abs=0.3)
        assert f"{found.fit.radial.strength:+.2%} at the corners" in found.words
    else:
        assert found.fit.radial is None


def test_a_radial_term_goes_there_and_back():
    for strength in (-0.08, 0.003, 0.1):
        radial = Radial(strength, 250.0)
        seen = np.random.default_rng(1).uniform(-170.0, 170.0, (200, 2))
        assert np.allclose(radial.seen(radial.ideal(seen)), seen, atol=1e-6)
        far = radial.seen(np.array([[900.0, 0.0], [0.0, -3000.0]]))
        assert np.all(np.linalg.norm(far, axis=1) > 280.0)  # nothing far away comes back into the frame


def test_distortion_in_the_file_is_as_astropy_reads_it(tmp_path, solver):
    sky = Sky(128.9, -45.4, 33.0, 6.0, (1600, 1200), fwhm_px=4.0, distortion_px=10.0)
    path = write_frame(tmp_path / "raw.fits", sky, solved=False, BAYERPAT="RGGB")
    found = solver.solve(path)
    assert isinstance(found, SolvedFrame)
    assert found.solution.distortion == "SIP"
    assert found.solution.distortion_corner_arcsec == pytest.approx(60.0, abs=1.5)
    seen, _ = stars_in(sky)
    ra, dec = WCS(fits.Header(found.cards)).all_pix2world(seen, 0).T
    truth = frame_wcs(sky).all_world2pix(np.column_stack([ra, dec]), 0)
    ideal, _ = stars_in(replace(sky, distortion_px=0.0))
    nearest = np.linalg.norm(truth[:, None] - ideal[None], axis=2).min(axis=1)
    assert np.quantile(nearest, 0.98) < 0.3  # pixels; some stars of the border lie in one list alone


@pytest.mark.parametrize("seed", range(2))
def test_other_sky_is_refused(seed):
    elsewhere = Sky(250.0, 20.0 + 10 * seed, 33.0, seed=seed, **SPOILED)
    found = solve_stars(
        detect_stars(frame_pixels(elsewhere)), elsewhere.size_px, 12.0, plan_ground(128.9, -45.4)
    )
    assert isinstance(found, Refusal)


@pytest.mark.parametrize("trailed_px", [(30.0, 4.0), (-12.0, 12.0)])
def test_a_trailed_frame_is_called_trailed(trailed_px):
    sky = Sky(128.9, -45.4, 33.0, trailed_px=trailed_px, noise=20.0, hot_pixels=300)
    stars = detect_stars(frame_pixels(sky))
    assert stars.streak_px == pytest.approx(np.hypot(*trailed_px), rel=0.25)
    found = solve_stars(stars, sky.size_px, 12.0, plan_ground(128.9, -45.4))
    assert isinstance(found, Refusal) and "trailed" in found.reason


@pytest.mark.parametrize("ra_deg", [128.9, 250.0])
def test_satellites_and_a_little_drift_are_no_trailed_frame(ra_deg):
    sky = Sky(ra_deg, -45.4, 33.0, trailed_px=(3.0, 1.0), trails=6, noise=20.0, hot_pixels=500)
    stars = detect_stars(frame_pixels(sky))
    assert stars.streak_px is None
    assert not isinstance(solve_stars(stars, sky.size_px, 12.0, plan_ground(ra_deg, -45.4)), Refusal)


def test_noise_and_random_spots_are_refused():
    sky = Sky(128.9, -45.4, **SPOILED)
    ground = plan_ground(128.9, -45.4)
    nothing = solve_stars(detect_stars(frame_pixels(sky, with_stars=False)), sky.size_px, 12.0, ground)
    assert isinstance(nothing, Refusal)
    assert "stars found in it" in nothing.reason
    spots = np.random.default_rng(3).uniform(0, 600, (150, 2))
    assert isinstance(
        solve_stars(DetectedStars(spots, np.ones(150), np.ones(150)), sky.size_px, 12.0, ground), Refusal
    )


def test_wrong_scale_is_refused_and_twelve_per_cent_is_not():
    ground = plan_ground(128.9, -45.4)
    sky = Sky(128.9, -45.4, 70.0)
    stars = detect_stars(frame_pixels(sky))
    assert not isinstance(solve_stars(stars, sky.size_px, 12.0 / 1.1, ground), Refusal)
    assert isinstance(solve_stars(stars, sky.size_px, 12.0 / 1.5, ground), Refusal)


def test_detected_stars_are_where_astropy_puts_them():
    sky = Sky(128.9, -45.4, 33.0, **SPOILED)
    found = detect_stars(frame_pixels(sky))
    truth, _ = stars_in(sky)
    nearest = np.linalg.norm(found.xy[:40, None] - truth[None], axis=2).min(axis=1)
    assert np.median(nearest) < 0.1  # pixels; a centroid at this signal is good to some hundredths
    assert np.sum(nearest > 1.5) <= 1


@pytest.mark.parametrize("kind", [">f4", "<f8", ">i2", ">u2"])
def test_pixels_of_any_kind_and_order(kind):
    pixels = frame_pixels(Sky(128.9, -45.4)).clip(0, 30000)
    assert len(detect_stars(pixels.astype(kind)).flux) == pytest.approx(len(detect_stars(pixels).flux), abs=6)


def test_undefined_and_flat_pixels_hold_no_stars():
    assert len(detect_stars(np.full((100, 100), np.nan)).flux) == 0
    assert len(detect_stars(np.zeros((100, 100))).flux) == 0
    assert len(detect_stars(np.zeros((4, 4))).flux) == 0


@pytest.fixture
def solver():
    camera = Camera(
        focal_length_mm=206.264806, sensor_px=(1600, 1200), pixel_um=6.0
    )  # 6 arcsec a pixel unbinned
    panels = [Panel("A1", 1, 1, 1, 128.0, -45.4, 0.0), Panel("A2", 2, 1, 2, 131.0, -45.4, 0.0)]
    return FrameSolver(camera, panels)


def test_file_is_solved_with_its_binning_and_agrees_with_astropy(tmp_path, solver):
    sky = Sky(128.9, -45.4, 33.0, **SPOILED)
    path = write_frame(tmp_path / "raw.fits", sky, solved=False, XBINNING=2, FILTER="Ha", EXPTIME=600.0)
    before = path.read_bytes()
    found = solver.solve(path)
    assert isinstance(found, SolvedFrame)
    corner = frame_wcs(sky).pixel_to_world_values(-0.5, -0.5)
    assert np.degrees(separation_rad(found.solution.corner_vectors[0], sky_to_vector(*corner))) * 3600 < 6.0
    assert (found.solution.filter, found.solution.exposure_s) == ("Ha", 600.0)
    assert path.read_bytes() == before


def test_pointing_in_the_header_is_a_hint_and_no_more():
    """As text or numbers; in a plan of many panels it says where to look, and a false one does no harm."""

    def header(**values):
        return ImageHeader(
            Path("x.fits"), {key: str(value).ljust(70) for key, value in values.items()}, "", 0
        )

    for values in (
        {"RA": 128.5, "DEC": -45.5},
        {"RA": "'08 34 00'", "DEC": "'-45 30 00'"},
        {"RA": "'junk'", "DEC": 3.0, "OBJCTRA": "'08:34:00'", "OBJCTDEC": "'-45:30'"},
    ):
        assert pointing_hint(header(**values)) == pytest.approx(sky_to_vector(128.5, -45.5), abs=1e-12)
    assert pointing_hint(header(RA=400.0, DEC=0.0)) is None
    assert pointing_hint(header()) is None


@pytest.mark.parametrize(("ra_deg", "hinted"), [(131.0, True), (10.0, False), (None, False)])
def test_vast_plan_is_searched_about_the_hint(tmp_path, monkeypatch, ra_deg, hinted):
    monkeypatch.setattr("planner.frames.solve.frame_solver.MOST_PANELS", 20)
    camera = Camera(focal_length_mm=206.264806, sensor_px=(800, 600), pixel_um=12.0)
    panels = [Panel(str(n), n, 1, n, 120.0 + 2.5 * (n % 8), -50.0 + 2.0 * (n // 8), 0.0) for n in range(32)]
    cards = {} if ra_deg is None else {"RA": ra_deg, "DEC": -46.0}
    path = write_frame(tmp_path / "raw.fits", Sky(130.0, -46.2, 33.0), solved=False, **cards)
    found = FrameSolver(camera, panels).solve(path)
    assert isinstance(found, SolvedFrame) == hinted
    assert hinted or "too large" in found.reason


def test_colour_sensor_is_averaged_over_squares(tmp_path, solver):
    sky = Sky(128.9, -45.4, 33.0, scale_arcsec_px=6.0, size_px=(1600, 1200), fwhm_px=4.0)
    found = solver.solve(write_frame(tmp_path / "raw.fits", sky, solved=False, BAYERPAT="RGGB"))
    assert isinstance(found, SolvedFrame)
    assert found.solution.size_px == (1600, 1200)
    check(found.stars.fit, Sky(found.solution.ra_deg, found.solution.dec_deg, 33.0, 12.0))
    truth = sky_to_vector(sky.ra_deg, sky.dec_deg)
    center = sky_to_vector(found.solution.ra_deg, found.solution.dec_deg)
    assert np.degrees(separation_rad(center, truth)) * 3600 < 2.0


def test_calibration_frame_is_refused(tmp_path, solver):
    path = write_frame(tmp_path / "dark.fits", Sky(128.9, -45.4), solved=False, IMAGETYP="Dark Frame")
    found = solver.solve(path)
    assert isinstance(found, Refusal)
    assert "dark" in found.reason
