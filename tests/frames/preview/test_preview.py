"""The preview: stars where the catalogue has them, flux kept, sky levels matched, the same on a cluster."""

import os
import subprocess
import sys

import numpy as np
import pytest
from astropy.io import fits
from astropy.wcs import WCS

from planner.errors import InputError
from planner.files.preview_file import check_png_size, preview_fits, preview_png
from planner.frames.header.picture_wcs import PreviewGrid, binned_cards, wcs_of_cards
from planner.frames.header.pixels import Window, read_binned
from planner.frames.preview.backgrounds import CoarseFrame, matched_levels
from planner.frames.preview.colours import colour_filters, preview_rgb, stretched
from planner.frames.preview.preview import make_preview
from planner.frames.preview.preview_choice import GoodFrame, choose_frames, star_width_px
from planner.frames.preview.preview_frame import preview_frame
from planner.frames.preview.tasks import run_tasks
from planner.frames.solve.star_detection import detect_stars
from tests.frames.synthetic import Sky, catalogue_stars, stars_in, write_frame

GRID = PreviewGrid((129.0, -45.0), 20.0, 24.0, (420, 260))
CLUSTER = """
import sys
from distributed import LocalCluster
if __name__ == "__main__":
    with LocalCluster(n_workers=1, threads_per_worker=1, processes=False, dashboard_address=None,
                      protocol="tcp", silence_logs=50) as cluster:
        print(cluster.scheduler_address, flush=True)
        sys.stdin.readline()
"""
PLACES = [(128.2, -44.9, 20.0), (129.8, -45.1, 200.5), (129.0, -45.0, 21.0)]


@pytest.fixture(scope="module")
def frames(tmp_path_factory):
    """Three overlapping frames of 12 arc seconds a pixel, at different sky levels, one upside down."""
    folder = tmp_path_factory.mktemp("frames")
    made = []
    for number, (ra, dec, angle) in enumerate(PLACES):
        sky = Sky(ra, dec, angle, 12.0, (400, 300), sky_level=700.0 + 300 * number, noise=5.0, seed=number)
        path = write_frame(folder / f"{number}.fits", sky)
        made.append(preview_frame(path, "A1", "Ha", {}))
    return made


@pytest.fixture(scope="module")
def preview(frames):
    return make_preview(frames, GRID)


def test_stars_stand_where_the_catalogue_has_them(preview):
    """Half a pixel of the preview, 12 arc seconds, in all parts of it."""
    found = detect_stars(np.nan_to_num(preview.planes[0], nan=float(np.nanmedian(preview.planes[0]))))
    ra, dec, magnitude = catalogue_stars()
    near = (np.abs(dec + 45) < 2) & (np.abs(ra - 129) < 3) & (magnitude < 9)
    xy = wcs_of_cards(GRID.cards()).all_world2pix(np.column_stack([ra[near], dec[near]]), 0)
    shown = np.array([np.isfinite(value_at(preview.planes[0], x, y, 6)).all() for x, y in xy])
    distance = np.linalg.norm(found.xy[None] - xy[shown][:, None], axis=2).min(axis=1)
    assert shown.sum() > 15
    assert np.quantile(distance, 0.9) < 0.5
    assert np.median(distance) < 0.15


def value_at(plane, x, y, reach):
    column, row = round(x), round(y)
    if not (reach <= column < plane.shape[1] - reach and reach <= row < plane.shape[0] - reach):
        return np.array([np.nan])
    return plane[row - reach : row + reach + 1, column - reach : column + reach + 1]


def test_flux_of_stars_is_kept(preview):
    """A mean over squares keeps surface brightness: light over area, here a quarter; within 5 %."""
    ra, dec, magnitude = catalogue_stars()
    near = (np.abs(dec + 45) < 1.0) & (np.abs(ra - 129) < 1.0) & (magnitude > 6) & (magnitude < 8.2)
    xy = wcs_of_cards(GRID.cards()).all_world2pix(np.column_stack([ra[near], dec[near]]), 0)
    sky = float(np.nanmedian(preview.planes[0]))
    ratios = []
    for (x, y), mag in zip(xy, magnitude[near], strict=True):
        part = value_at(preview.planes[0], x, y, 5)
        if np.isfinite(part).all() and part.size > 1:
            ratios.append((part - sky).sum() / (10 ** (-0.4 * (mag - 19.0)) / 4))
    assert len(ratios) >= 4
    assert np.median(ratios) == pytest.approx(1.0, abs=0.05)


def test_sky_levels_are_matched(preview):
    """Levels of 700, 1000 and 1300 meet at their mean; no step is left where frames end."""
    plane = preview.planes[0]
    assert np.nanmedian(plane) == pytest.approx(1000.0, abs=5.0)
    assert np.nanpercentile(plane, 80) - np.nanpercentile(plane, 5) < 15.0
    assert preview.frames == (3,)
    assert np.isnan(plane).any()


def test_levels_agree_with_those_of_reproject(frames):
    """Independent route: reproject's own matching, which goes by stochastic steps; 1 unit of 600."""
    from reproject import reproject_interp
    from reproject.mosaicking import reproject_and_coadd

    inputs = [(read_binned(frame.path), wcs_of_cards(frame.cards)) for frame in frames]
    theirs, _ = reproject_and_coadd(
        inputs,
        wcs_of_cards(GRID.cards()),
        shape_out=GRID.size_px[::-1],
        reproject_function=reproject_interp,
        match_background=True,
        blank_pixel_value=np.nan,
    )
    ours = make_preview(frames, GRID).planes[0]
    difference = ours - theirs
    assert np.nanmedian(np.abs(difference - np.nanmedian(difference))) < 4.0
    low, high = np.nanpercentile(theirs, [10, 60])
    assert high - low < 30.0


def test_levels_of_frames_that_hang_together_by_hand():
    """Steps of 10 and -4 between neighbours, a lone frame beside them."""

    def flat(column, level):
        return CoarseFrame(Window(column, 0, 10, 10), np.full((10, 10), level, dtype=np.float32))

    levels = matched_levels([flat(0, 100.0), flat(5, 110.0), flat(10, 106.0), flat(100, 50.0), None])
    assert levels == pytest.approx([-16 / 3, 14 / 3, 2 / 3, 0.0, 0.0])
    assert list(matched_levels([])) == []


def test_two_workers_of_a_cluster_give_the_same(frames, preview):
    from distributed import Client, LocalCluster

    with (
        LocalCluster(
            n_workers=2, threads_per_worker=1, processes=False, dashboard_address=None, silence_logs=50
        ) as cluster,
        Client(cluster) as client,
    ):
        assert len(client.nthreads()) == 2
        there = make_preview(frames, GRID, scheduler=cluster.scheduler_address)
    assert np.array_equal(there.planes, preview.planes, equal_nan=True)


def test_scheduler_that_does_not_answer_is_refused(monkeypatch):
    monkeypatch.setattr("planner.frames.preview.tasks.CONNECT_S", 0.2)
    with pytest.raises(InputError, match="does not answer"):
        list(run_tasks(abs, [(1,)], scheduler="tcp://127.0.0.1:1"))


def test_cluster_without_the_code_gets_it(frames, preview, tmp_path):
    """Scheduler and worker are processes of their own, in a folder where the package cannot be found."""
    command = [sys.executable, "-c", CLUSTER]
    quiet = {name: value for name, value in os.environ.items() if name != "PYTHONPATH"}
    with subprocess.Popen(
        command,
        cwd=tmp_path,
        env=quiet,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
    ) as cluster:
        address = cluster.stdout.readline().strip()
        there = make_preview(frames[:1], GRID.coarser(60), scheduler=address)
        cluster.communicate("end\n", timeout=60)
    assert np.array_equal(there.planes, make_preview(frames[:1], GRID.coarser(60)).planes, equal_nan=True)


def test_fault_on_a_cluster_is_one_sentence(monkeypatch):
    from distributed import LocalCluster

    with (
        LocalCluster(
            n_workers=1, threads_per_worker=1, processes=False, dashboard_address=None, silence_logs=50
        ) as cluster,
        pytest.raises(InputError, match="failed .*; give its workers"),
    ):
        list(run_tasks(int, [("no number",)], scheduler=cluster.scheduler_address))


def test_frame_that_vanishes_is_left_out_and_told(tmp_path, frames):
    lost = write_frame(tmp_path / "lost.fits", Sky(129.0, -45.0, 20.0, 12.0, (200, 100)))
    gone = preview_frame(lost, "A1", "Ha", {})
    lost.unlink()
    made = make_preview([*frames, gone], GRID)
    assert made.frames == (3,)
    assert "lost.fits" in made.left_out[0]
    with pytest.raises(InputError, match="no frame"):
        make_preview([gone], GRID)


def test_small_tiles_give_the_same(frames, preview, monkeypatch):
    monkeypatch.setattr("planner.frames.preview.preview.TILE_PX", 150)
    tiled = make_preview(frames, GRID).planes
    both = np.isfinite(tiled) & np.isfinite(preview.planes)
    assert both.sum() > 0.99 * np.isfinite(preview.planes).sum()
    assert np.abs(tiled - preview.planes)[both].max() < 0.05  # of counts of 1000, single precision


def test_fits_has_the_world_coordinates_of_the_picture(tmp_path, preview):
    path = tmp_path / "picture.fits"
    path.write_bytes(b"".join(preview_fits(preview)))
    with fits.open(path) as parts:
        parts.verify("exception")
        assert np.array_equal(parts[0].data, preview.planes[0], equal_nan=True)
        assert parts[0].header["FILTER"] == "Ha"
        middle = WCS(parts[0].header).pixel_to_world((420 - 1) / 2, (260 - 1) / 2)
        up = WCS(parts[0].header).pixel_to_world((420 - 1) / 2, (260 - 1) / 2 + 10)
    assert (middle.ra.deg, middle.dec.deg) == pytest.approx((129.0, -45.0), abs=1e-9)
    assert middle.position_angle(up).deg == pytest.approx(20.0, abs=1e-6)


def test_png_shows_the_pictures_up_at_the_top(preview):
    import io

    from PIL import Image

    picture = Image.open(io.BytesIO(preview_png(preview)))
    assert picture.size == (420, 260)
    assert picture.info["Software"] == "mosaic planner"
    dark = np.asarray(picture)[:, :, 0] == 0
    assert (dark[::-1] & np.isnan(preview.planes[0])).sum() == np.isnan(preview.planes[0]).sum()
    with pytest.raises(InputError, match="too large for PNG"):
        check_png_size(PreviewGrid((0, 0), 0, 1.0, (100_000, 60_000)))


def test_colours_by_wavelength_or_as_asked(preview):
    assert colour_filters(["OIII", "Ha"]) == ("Ha", "OIII", "OIII")
    assert colour_filters(["X"]) == ("X", "X", "X")
    assert colour_filters(["Ha", "OIII", "SII"], ["ha", "OIII", "oiii"]) == ("Ha", "OIII", "OIII")
    with pytest.raises(InputError, match="no good frame has it"):
        colour_filters(["Ha", "OIII"], ["Ha", "OII", "Ha"])
    with pytest.raises(InputError, match="are three filters"):
        colour_filters(["Ha"], ["Ha"])
    assert preview_rgb(preview).shape == (260, 420, 3)
    assert stretched(np.full((4, 4), np.nan, np.float32)).max() == 0


def test_best_takes_the_sharpest_frame_of_each_panel_and_filter(tmp_path):
    skies = [
        Sky(129.0, -45.0, 20.0, 12.0, (300, 200), fwhm_px=fwhm, seed=n)
        for n, fwhm in enumerate((4.0, 2.5, 3.2))
    ]
    good = [GoodFrame(write_frame(tmp_path / f"{n}.fits", sky), "A1", "Ha") for n, sky in enumerate(skies)]
    good.append(GoodFrame(tmp_path / "gone.fits", "A1", "Ha"))
    chosen, left_out = choose_frames(good, {}, "best")
    assert [frame.path.name for frame in chosen] == ["1.fits"]
    assert "gone.fits" in left_out[0]
    assert star_width_px(chosen[0]) == pytest.approx(2.5, abs=0.5)
    assert len(choose_frames(good, {}, "mean")[0]) == 3


@pytest.mark.parametrize("binning", [2, 3])
def test_coordinates_of_averaged_and_cut_pictures(binning):
    """Against astropy: a pixel of the averages lies where the middle of its square lies, SIP included."""
    header = fits.Header()
    header.update({"CTYPE1": "RA---TAN-SIP", "CTYPE2": "DEC--TAN-SIP", "CRVAL1": 10.0, "CRVAL2": 50.0})
    header.update(
        {"CRPIX1": 100.0, "CRPIX2": 80.0, "CD1_1": -1e-3, "CD1_2": 2e-4, "CD2_1": 2e-4, "CD2_2": 1e-3}
    )
    header.update({"A_ORDER": 2, "B_ORDER": 2, "A_2_0": 3e-5, "A_1_1": -1e-5, "B_0_2": 2e-5})
    whole = WCS(header)
    part = wcs_of_cards(binned_cards(dict(header), Window(30, 20, 120, 90), binning))
    x, y = 17.0, 11.0
    middle = 30 + (x + 0.5) * binning - 0.5, 20 + (y + 0.5) * binning - 0.5
    assert part.all_pix2world([[x, y]], 0)[0] == pytest.approx(whole.all_pix2world([middle], 0)[0], abs=1e-10)


def test_averages_are_read_in_strips(tmp_path, monkeypatch):
    monkeypatch.setattr("planner.frames.header.pixels.STRIP_PIXELS", 1000)
    pixels = np.arange(60 * 40, dtype=np.uint16).reshape(40, 60)
    fits.PrimaryHDU(pixels).writeto(tmp_path / "a.fits")
    fits.PrimaryHDU(np.stack([pixels, pixels + 2])).writeto(tmp_path / "cube.fits")
    squares = pixels.reshape(20, 2, 30, 2).mean(axis=(1, 3))
    assert np.array_equal(read_binned(tmp_path / "a.fits", 2), squares)
    assert np.array_equal(read_binned(tmp_path / "a.fits", 2, Window(4, 6, 9, 5)), squares[3:5, 2:6])
    assert np.array_equal(read_binned(tmp_path / "cube.fits", 2), squares + 1)


def test_rotated_frame_of_reproject_fits_our_picture(frames):
    """`find_optimal_celestial_wcs(auto_rotate=True)` has no test of its own: here frames of one angle.

    All three frames lie within 1 degree of position angle 20 modulo 180, so the smallest rectangle about them
    does too, modulo 90, and it must hold every corner.
    """
    from reproject.mosaicking import find_optimal_celestial_wcs

    inputs = [(frame.size_px[::-1], wcs_of_cards(frame.cards)) for frame in frames]
    wcs, shape = find_optimal_celestial_wcs(inputs, auto_rotate=True, negative_lon_cdelt=True)
    x, y = (shape[1] - 1) / 2, (shape[0] - 1) / 2
    angle = wcs.pixel_to_world(x, y).position_angle(wcs.pixel_to_world(x, y + 5)).deg
    assert abs((angle - 20.0 + 45.0) % 90.0 - 45.0) < 2.5
    assert np.linalg.det(wcs.pixel_scale_matrix) < 0  # sky parity
    for size, frame_wcs in inputs:
        corners = frame_wcs.pixel_to_world(
            [-0.5, size[1] - 0.5] * 2, [-0.5, -0.5, size[0] - 0.5, size[0] - 0.5]
        )
        px, py = wcs.world_to_pixel(corners)
        assert min(px.min(), py.min()) > -1.0
        assert (px.max(), py.max()) < (shape[1], shape[0] + 1.0)


def test_stars_of_the_synthetic_frame_are_the_catalogues():
    """The oracle itself: Gamma Velorum is where Hipparcos has it, at 122.383, -47.337."""
    sky = Sky(122.383, -47.337, 0.0, 12.0, (400, 300))
    xy, magnitude = stars_in(sky)
    assert np.linalg.norm(xy[np.argmin(magnitude)] - [199.5, 149.5]) < 2.0
