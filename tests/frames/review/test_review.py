"""Frames against a plan: verdicts, counts, coverage, what to shoot again; what can be wrong with files."""

import gzip
import os
import warnings
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from astropy.io import fits
from astropy.wcs import WCS

from planner.draw.pictures.depth_map import depth_figure
from planner.errors import FileError, InputError
from planner.files.documents.review import review_document
from planner.frames.review.limits import Limits
from planner.frames.review.reading import FrameReader, ReadFrame
from planner.frames.review.review import ReviewWork, review_folder
from planner.mosaic.panel import panel_bases
from tests.frames.small_plan import SHORT_ARCMIN, small_plan, write_all, write_solved
from tests.night.small_season import KAROO

pytestmark = pytest.mark.usefixtures("made_once")

HARD = [(129.0, -45.0), (0.05, 2.0), (10.0, 89.2), (200.0, -88.5)]


def reviewed(plan, folder, **more):
    results = []
    review = review_folder(plan.request, plan.mosaic, folder, on_frame=results.append, **more)
    return review, {result.path.relative_to(folder).as_posix(): result for result in results}


def quiet_wcs(path):
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of MJD-OBS worked out from DATE-OBS
        return WCS(fits.getheader(path))


def panel(plan, name):
    return next(one for one in plan.mosaic.panels if one.name == name)


@pytest.mark.parametrize("center", HARD)
def test_all_frames_good_cover_what_the_plan_covers(tmp_path, center):
    plan = small_plan(center=center, angles="per_panel")
    assert plan.mosaic.covered
    write_all(tmp_path, plan)
    review, results = reviewed(plan, tmp_path)
    assert review.verdicts == {"good": 24}
    assert max(abs(result.offset_arcmin) for result in results.values()) < 1e-4
    assert max(abs(result.angle_off_deg) for result in results.values()) < 1e-6
    assert review.coverage.covered
    assert review.coverage.overlap_found == pytest.approx(plan.mosaic.overlap_found, abs=1e-6)
    assert review.uncovered_deg2 == {"Ha": 0.0, "OIII": 0.0}
    assert review.reshoot == ()
    assert {row.seconds for row in review.panels} == {1200.0}


def test_verdicts_and_their_reasons(tmp_path):
    plan = small_plan()
    b2 = panel(plan, "B2")
    write_solved(tmp_path / "flipped.fits", b2, turn_deg=180.0)
    write_solved(tmp_path / "limit.fits", b2, north_arcmin=0.0499 * SHORT_ARCMIN, turn_deg=-0.99)
    write_solved(tmp_path / "off.fits", b2, north_arcmin=0.0501 * SHORT_ARCMIN)
    write_solved(tmp_path / "turned.fits", b2, turn_deg=181.2)
    write_solved(tmp_path / "scale.fits", b2, scale=1.03)
    write_solved(tmp_path / "elsewhere.fits", b2, north_arcmin=3000.0)
    write_solved(tmp_path / "cut.fits", b2, size=(60, 20))
    review, results = reviewed(plan, tmp_path)
    assert {name: result.verdict for name, result in results.items()} == {
        "flipped.fits": "good",
        "limit.fits": "good",
        "off.fits": "off_target",
        "turned.fits": "turned",
        "scale.fits": "wrong_scale",
        "elsewhere.fits": "off_target",
        "cut.fits": "wrong_scale",
    }
    assert results["turned.fits"].angle_off_deg == pytest.approx(1.2, abs=1e-6)
    assert results["off.fits"].offset_arcmin == pytest.approx(0.0501 * SHORT_ARCMIN, abs=1e-3)
    assert results["elsewhere.fits"].panel is None
    assert "another part of the sky" in results["elsewhere.fits"].reason
    assert "degrees, less than the camera's" in results["cut.fits"].reason
    assert review.verdicts["good"] == 2


def test_limits_follow_the_errors_that_the_plan_allows_for():
    usual = Limits.of_plan(small_plan().request)
    assert usual.offset_arcmin == pytest.approx(0.05 * SHORT_ARCMIN)
    assert (usual.angle_deg, usual.scale_percent) == (1.0, 2.0)
    wide = Limits.of_plan(
        small_plan(pointing_error_arcmin=7.0, dither_arcmin=1.0, angle_error_deg=1.5).request
    )
    assert (wide.offset_arcmin, wide.angle_deg) == (8.0, 1.5)
    assert Limits.of_plan(small_plan().request, offset_arcmin=1.0).offset_arcmin == 1.0
    with pytest.raises(InputError, match="must be in"):
        Limits(-1.0, 1.0)


def test_angle_near_the_pole_is_judged_on_the_sky_and_told_as_position_angle(tmp_path):
    """Beside the pole the same position angle means other ground, and the same ground another angle."""
    plan = small_plan(center=(10.0, 89.2))
    polar = max(plan.mosaic.panels, key=lambda one: one.dec_deg)
    moved = write_solved(tmp_path / "a.fits", polar, east_arcmin=3.0)
    turn = np.degrees(np.radians(3.0 / 60) * np.tan(np.radians(polar.dec_deg)))
    assert turn > 1.0  # beyond the limit if position angles decided
    _, results = reviewed(plan, tmp_path)
    assert results["a.fits"].verdict == "turned"  # same position angle, other ground
    assert results["a.fits"].angle_off_deg == pytest.approx(0.0, abs=1e-6)
    moved.unlink()
    write_solved(tmp_path / "b.fits", polar, east_arcmin=3.0, turn_deg=turn)
    _, results = reviewed(plan, tmp_path)
    assert results["b.fits"].verdict == "good"
    assert results["b.fits"].angle_off_deg == pytest.approx(turn, abs=1e-3)


@pytest.mark.parametrize(("size", "scale", "cards"), [((30, 20), 2.0, {"XBINNING": 2}), ((30, 20), 2.0, {})])
def test_other_binning_is_allowed_for(tmp_path, size, scale, cards):
    plan = small_plan()
    write_solved(tmp_path / "a.fits", panel(plan, "A1"), size=size, scale=scale, **cards)
    assert reviewed(plan, tmp_path)[1]["a.fits"].verdict == "good"


def test_frames_that_cannot_be_read_are_told_and_no_more(tmp_path):
    plan = small_plan()
    a1 = panel(plan, "A1")
    whole = write_solved(tmp_path / "whole.fits", a1)
    content = whole.read_bytes()
    (tmp_path / "writing.fits").write_bytes(content[:-1000])
    (tmp_path / "head.fit").write_bytes(content[:1500])
    (tmp_path / "empty.fts").write_bytes(b"")
    (tmp_path / "text.fits").write_text("no picture\n")
    (tmp_path / "odd.fits").write_bytes(
        content.replace(b"BITPIX  =                   16", b"BITPIX  =                   17")
    )
    (tmp_path / "gone.fits").symlink_to(tmp_path / "nowhere")
    (tmp_path / "packed.fits.gz").write_bytes(gzip.compress(content))
    (tmp_path / "broken.fits.gz").write_bytes(gzip.compress(content)[:-200])
    (tmp_path / "notes.txt").write_text("not a frame")
    fits.PrimaryHDU(np.zeros((40, 60), np.uint16)).writeto(tmp_path / "raw.fits")
    (tmp_path / "folder.fits").mkdir()
    with fits.open(whole) as parts:
        fits.HDUList([fits.PrimaryHDU(), fits.CompImageHDU(parts[0].data, parts[0].header)]).writeto(
            tmp_path / "z.fits.fz"
        )
    _, results = reviewed(plan, tmp_path)
    verdicts = {name: result.verdict for name, result in results.items()}
    good = {"whole.fits", "packed.fits.gz", "z.fits.fz"}
    assert {name for name, verdict in verdicts.items() if verdict == "good"} == good
    assert verdicts["raw.fits"] == "unsolved"
    assert {name for name, verdict in verdicts.items() if verdict == "unreadable"} == {
        *("writing.fits", "head.fit", "empty.fts", "text.fits", "broken.fits.gz", "gone.fits", "odd.fits"),
    }
    assert "BITPIX" in results["odd.fits"].reason
    assert "may still be written" in results["writing.fits"].reason
    assert "vanished" in results["gone.fits"].reason
    assert [result.reason for result in results.values() if str(tmp_path) in result.reason] == []


def test_frames_are_never_changed_and_nothing_is_written(tmp_path):
    plan = small_plan()
    write_all(tmp_path, plan, count=1)
    before = {path: (path.read_bytes(), path.stat().st_mtime_ns) for path in tmp_path.rglob("*.fits")}
    for path in (*before, tmp_path, *(p for p in tmp_path.iterdir() if p.is_dir())):
        path.chmod(0o555 if path.is_dir() else 0o444)
    reviewed(plan, tmp_path)
    assert {
        path: (path.read_bytes(), path.stat().st_mtime_ns) for path in tmp_path.rglob("*") if path.is_file()
    } == before


@pytest.mark.skipif(os.geteuid() == 0, reason="root reads everything")
def test_folder_without_permission_is_told(tmp_path):
    plan = small_plan()
    (tmp_path / "closed").mkdir(mode=0o000)
    review, _ = reviewed(plan, tmp_path)
    assert "closed cannot be read" in review.unread_folders[0]


def test_what_only_looks_like_a_frame_is_passed_over(tmp_path):
    """A pipe would be waited for without end."""
    os.mkfifo(tmp_path / "pipe.fits")
    (tmp_path / ".hidden.fits").write_text("x")
    (tmp_path / "a.fits.solution.fits").write_text("x")
    assert reviewed(small_plan(), tmp_path)[0].frame_count == 0


def test_moonlight_makes_hours_worth_less(tmp_path):
    """Under a Moon just full an hour through a broad band is worth minutes; what has no date counts nothing."""
    plan = small_plan(filters=("Ha", "L"))
    ha, broad = plan.request.filters
    request = replace(plan.request, sites=(KAROO,), filters=(ha, replace(broad, band="broad")))
    taken = (("dark", "2027-01-07T20:00:00"), ("full", "2027-01-22T20:00:00"), ("odd", "soon"))
    for name in ("Ha", "L", "none"):
        for when, date in taken:
            write_solved(
                tmp_path / f"{name}_{when}.fits",
                panel(plan, "A1"),
                FILTER=name,
                DATE__OBS=date,
                EXPTIME=3600.0,
            )
    review = review_folder(request, plan.mosaic, tmp_path)
    rows = {row.filter: row for row in review.panels if row.name == "A1"}
    assert {row.seconds for row in rows.values()} == {3 * 3600.0}
    worth = {name: row.dark_sky_seconds / 3600.0 for name, row in rows.items()}
    assert 1.0 < worth["L"] < 1.4 < worth["Ha"] < 2.0
    assert worth["none"] == worth["L"]  # a filter that the plan does not name counts as broad
    assert review.moonlight_untold == 3
    dark = review.depth.dark_sky
    assert dark.total.max() / 3600.0 == pytest.approx(sum(worth.values()), abs=1e-5)
    assert dark.least().seconds == 0.0
    document = review_document(review)
    assert document["panels"][0]["dark_sky_seconds"] == pytest.approx(3600.0 * worth["Ha"])
    assert document["moonlight_untold"] == 3
    assert document["depth"]["least_dark_sky_seconds"] == 0.0


def test_without_a_site_nothing_is_told_of_a_dark_sky(tmp_path):
    plan = small_plan()
    write_solved(tmp_path / "a.fits", panel(plan, "A1"))
    review, _ = reviewed(plan, tmp_path)
    assert review.moonlight_untold is None and review.depth.dark_sky is None
    assert "dark_sky" not in str(review_document(review))


def test_senseless_exposure_times_count_as_planned(tmp_path):
    plan = small_plan()
    write_solved(tmp_path / "a.fits", panel(plan, "A1"), EXPTIME=-5.0)
    path = write_solved(tmp_path / "b.fits", panel(plan, "A1"))
    fits.delval(path, "EXPTIME")
    review, _ = reviewed(plan, tmp_path)
    assert review.panels[0].seconds == 1200.0


def test_folders_that_link_to_themselves_are_entered_once(tmp_path):
    plan = small_plan()
    write_solved(tmp_path / "night" / "a.fits", panel(plan, "A1"))
    (tmp_path / "night" / "again").symlink_to(tmp_path)
    assert reviewed(plan, tmp_path)[0].frame_count == 1


def test_missing_folder_and_file_as_folder_are_refused(tmp_path):
    plan = small_plan()
    with pytest.raises(FileError, match="no such folder"):
        reviewed(plan, tmp_path / "nowhere")
    with pytest.raises(FileError, match="wanted the folder"):
        reviewed(plan, write_solved(tmp_path / "a.fits", panel(plan, "A1")))


def test_empty_folder_is_all_to_shoot_again(tmp_path):
    plan = small_plan()
    review, _ = reviewed(plan, tmp_path)
    assert [(row.panel, row.exposures, row.reason) for row in review.reshoot if row.filter == "Ha"] == [
        (name, 2, "no frame") for name in ("A1", "A2", "A3", "B1", "B2", "B3")
    ]
    assert review.coverage.gap.area_deg2 == pytest.approx(plan.mosaic.region.area_deg2, rel=1e-12)


def test_seconds_count_whatever_the_exposures_length(tmp_path):
    """Two exposures of 600 s are wanted: one of 700 s leaves 500 s, one exposure; a sum of 1200 s none."""
    plan = small_plan()
    write_solved(tmp_path / "a.fits", panel(plan, "A1"), EXPTIME=700.0)
    write_solved(tmp_path / "b.fits", panel(plan, "A2"), EXPTIME=1200.0)
    write_solved(tmp_path / "c.fits", panel(plan, "A3"), EXPTIME=300.0)
    write_solved(tmp_path / "d.fits", panel(plan, "A3"), EXPTIME=300.0)
    review, _ = reviewed(plan, tmp_path)
    missing = {row.panel: (row.exposures, row.reason) for row in review.reshoot if row.filter == "Ha"}
    assert missing["A1"][0] == 1
    assert "A2" not in missing
    assert missing["A3"] == (1, "600 s of 1200 s wanted: its frames are shorter than planned")


def test_filters_by_any_spelling_and_others_beside(tmp_path):
    plan = small_plan()
    write_solved(tmp_path / "a.fits", panel(plan, "A1"), FILTER="H-alpha")
    write_solved(tmp_path / "b.fits", panel(plan, "A1"), FILTER="O3 3nm")
    write_solved(tmp_path / "c.fits", panel(plan, "A1"), FILTER="Lum")
    review, results = reviewed(plan, tmp_path)
    assert [results[name].filter for name in ("a.fits", "b.fits", "c.fits")] == ["Ha", "OIII", "Lum"]
    rows = [(row.filter, row.exposures, row.wanted) for row in review.panels if row.name == "A1"]
    assert rows == [("Ha", 1, 2), ("OIII", 1, 2), ("Lum", 1, None)]
    only = small_plan(filters=("Ha",))
    write_solved(tmp_path / "only" / "d.fits", panel(only, "A1"), FILTER="")
    assert reviewed(only, tmp_path / "only")[1]["d.fits"].filter == "Ha"


def test_plan_without_filters_wants_a_good_frame_of_each_panel(tmp_path):
    plan = small_plan(filters=())
    write_all(tmp_path, plan, filters=("L",), count=1, without=("B1",))
    write_solved(tmp_path / "bad.fits", panel(plan, "B1"), turn_deg=5.0)
    review, _ = reviewed(plan, tmp_path)
    assert [(row.panel, row.filter, row.exposures, row.reason) for row in review.reshoot] == [
        ("B1", None, None, "none good; 1 turned")
    ]


def test_gap_between_good_frames_is_proven_and_laid_to_a_panel(tmp_path):
    """Frames within wide limits that drift apart open a gap, though every exposure wanted is there."""
    plan = small_plan(overlap=0.02)
    limits = Limits(20.0, 2.0)
    for one in plan.mosaic.panels:
        for name in ("Ha", "OIII"):
            shift = 12.0 if one.name == "A1" and name == "Ha" else 0.0
            for number in range(2):
                write_solved(tmp_path / f"{one.name}{name}{number}.fits", one, east_arcmin=shift, FILTER=name)
    review, _ = reviewed(plan, tmp_path, limits=limits)
    assert review.verdicts == {"good": 24}
    assert review.coverage.covered  # by frames through the other filter
    assert review.uncovered_deg2["OIII"] == 0.0 < review.uncovered_deg2["Ha"]
    assert {(row.panel, row.filter, row.exposures) for row in review.reshoot} == {("A1", "Ha", 2)}
    assert "leave a gap" in review.reshoot[0].reason


def test_smaller_frames_prove_only_their_own_ground(tmp_path):
    """Frames cut by 3 per cent at each side are good, but at an overlap of 2 per cent they leave gaps."""
    plan = small_plan(overlap=0.02)
    for one in plan.mosaic.panels:
        write_solved(tmp_path / f"{one.name}.fits", one, size=(58, 40))
    review, _ = reviewed(plan, tmp_path)
    assert review.verdicts == {"good": 6}
    assert not review.coverage.covered
    assert review.coverage.overlap_found == 0.0


def test_coverage_of_moved_frames_agrees_with_a_union_on_the_sphere(tmp_path):
    """Independent route: spherely (S2 geometry) unites the frames' footprints, corners by astropy."""
    import spherely

    plan = small_plan(overlap=0.02)
    random = np.random.default_rng(4)
    prints = []
    for one in plan.mosaic.panels:
        path = write_solved(
            tmp_path / f"{one.name}.fits",
            one,
            east_arcmin=random.normal(0, 4),
            north_arcmin=random.normal(0, 4),
            turn_deg=random.normal(0, 1),
        )
        corners = quiet_wcs(path).calc_footprint(center=False)
        prints.append(spherely.create_polygon([tuple(corner) for corner in corners]))
    region = spherely.create_polygon(list(plan.mosaic.region.outline_deg))
    rest = region
    for one in prints:
        rest = spherely.difference(rest, one)
    review, _ = reviewed(plan, tmp_path, limits=Limits(30.0, 5.0))
    assert review.coverage.gap.area_deg2 == pytest.approx(
        spherely.area(rest, radius=1.0) * np.degrees(1) ** 2, rel=1e-6
    )


def test_progress_counts_up(tmp_path):
    plan = small_plan()
    write_all(tmp_path, plan, count=1)
    told = []
    reviewed(plan, tmp_path, progress=lambda what, part: told.append((what, part)))
    assert told[0][0] == "reading frames, 0 of 12 read"
    assert all(0.0 <= part <= 1.0 for _, part in told)


def test_same_answer_as_astropy_for_the_frames(tmp_path):
    plan = small_plan()
    one = panel(plan, "B3")
    path = write_solved(tmp_path / "a.fits", one, east_arcmin=3.0, north_arcmin=-2.0, turn_deg=0.4)
    wcs = quiet_wcs(path)
    from astropy.coordinates import SkyCoord

    center = wcs.pixel_to_world((60 - 1) / 2, (40 - 1) / 2)
    offset = center.separation(SkyCoord(one.ra_deg, one.dec_deg, unit="deg")).arcmin
    _, results = reviewed(plan, tmp_path)
    assert results["a.fits"].offset_arcmin == pytest.approx(offset, abs=1e-6)
    assert results["a.fits"].angle_off_deg == pytest.approx(0.4, abs=1e-9)


def test_frames_that_are_made_up_are_counted_and_told(tmp_path):
    plan = small_plan()
    write_solved(tmp_path / "real.fits", panel(plan, "A1"), MADEUP=False)
    assert reviewed(plan, tmp_path)[0].made_up_words is None
    write_solved(tmp_path / "one.fits", panel(plan, "A1"), MADEUP=True)
    assert reviewed(plan, tmp_path)[0].made_up_words.startswith("1 of 2 frames is made up")
    write_solved(tmp_path / "two.fits", panel(plan, "A2"), MADEUP=True, CTYPE1="nothing", CTYPE2="known")
    review, _ = reviewed(plan, tmp_path)
    assert review.made_up == 2
    assert review.made_up_words.startswith("2 of 3 frames are made up")


def test_reasons_name_clouds_trails_wrong_filters_and_stacks(tmp_path):
    """Frames without a solution belong to the panel that their header points at, if it tells any."""
    plan = small_plan(exposures=4)
    a1, a2 = plan.mosaic.panels[:2]
    write_solved(tmp_path / "stack.fits", a1, EXPTIME=1200.0)
    write_solved(tmp_path / "slot.fits", a1, FILTER="Slot 7")
    write_solved(tmp_path / "turned.fits", a1, turn_deg=5.0)
    read = {
        "lost.fits": ReadFrame(Path("lost.fits"), fault="unsolved", filter="Ha", stars="few_stars"),
        "far.fits": ReadFrame(Path("far.fits"), fault="unsolved", filter="Ha", aim=(1.0, 0.0, 0.0)),
    }
    aim = tuple(panel_bases([a1])[0, 2].tolist())
    for kind in ("few_stars", "trailed", "trailed", "other"):
        name = f"{kind}{len(read)}.fits"
        read[name] = ReadFrame(Path(name), fault="unsolved", filter="Ha", stars=kind, aim=aim)
    work = ReviewWork(plan.request, plan.mosaic, Limits.of_plan(plan.request))
    reader = FrameReader()
    results = [*work.judge([*map(reader.read, sorted(tmp_path.iterdir())), *read.values()])]
    review = work.review((), lambda what, part: None)
    why = {(row.panel, row.filter): row.reason for row in review.reshoot}
    assert why["A1", "Ha"] == (
        "2 of 4 good in 1 frame, 1 of them stacked; 1 turned, 1 with hardly a star (clouds?), 2 trailed, "
        "1 unsolved, 1 good through Slot 7, no filter of the plan"
    )
    assert why["A1", "OIII"] == "no frame", "frames of no filter of the plan are told once a panel"
    assert why["A2", "Ha"] == "no frame"
    told = {result.path.name: result for result in results}
    assert [told[name].aimed_at for name in ("few_stars2.fits", "lost.fits", "far.fits")] == [
        "A1",
        None,
        None,
    ]
    assert [told[name].elsewhere for name in ("few_stars2.fits", "lost.fits", "far.fits")] == [
        False,
        False,
        True,
    ]
    (row,) = [row for row in review.panels if (row.name, row.filter) == ("A1", "Ha")]
    assert (row.exposures, row.worth, row.stacks, row.wanted) == (1, 2, 1, 4)
    assert "Slot 7 (1 good frame)" in review.filter_words


def test_another_scale_is_explained(tmp_path):
    """A frame of 380 / 0.83 mm; one binned 2 x 2 that says nothing of it and is cut."""
    plan = small_plan()
    panel = plan.mosaic.panels[0]
    write_solved(tmp_path / "long.fits", panel, scale=0.83, XBINNING=1, YBINNING=1)
    write_solved(tmp_path / "cut.fits", panel, scale=2.0, size=(20, 20))
    results = {}
    review_folder(
        plan.request, plan.mosaic, tmp_path, on_frame=lambda one: results.update({one.path.name: one})
    )
    assert "focal length would be 458 mm, not 380" in results["long.fits"].reason
    assert "a frame of another plan, or a wrong binning in its header" in results["long.fits"].reason
    assert "a binning of 2 x 2 would explain it" in results["cut.fits"].reason
    assert [results[name].elsewhere for name in ("long.fits", "cut.fits")] == [True, False]


def test_the_picture_of_an_empty_review_claims_no_depth(tmp_path):
    plan = small_plan()
    for count, words in (
        (0, "Ha: no good frame"),
        (2, "Ha: at least 0.33 h everywhere (least at the cross)"),
    ):
        write_all(tmp_path, plan, filters=("Ha",), count=count)
        review = review_folder(plan.request, plan.mosaic, tmp_path)
        first, *_, bar = depth_figure(review.depth, plan.mosaic, "Shell").axes
        assert first.get_title(loc="left") == words
        assert bar.get_ylim()[1] >= 0.3  # hours, whatever there is
