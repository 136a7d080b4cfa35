"""A folder followed: nothing lost, nothing counted twice, whatever happens to folder, frames, index and clock."""

import json
import os
import shutil
from dataclasses import replace

import pytest

from planner.files.documents.review import FrameSpool, review_pieces
from planner.files.read_index import INDEX_NAME, ReadIndex
from planner.frames.review.limits import Limits
from planner.frames.review.reading import FrameReader
from planner.frames.review.review import review_folder
from planner.watch.folder_watch import PATIENCE_S, FolderWatch
from planner.watch.news import summary
from tests.frames.small_plan import small_plan, write_all, write_solved


class Clock:
    """Seconds that pass when a test says so."""

    now = 0.0

    def __call__(self):
        return self.now


class CountingReader(FrameReader):
    """Counts the files that are read."""

    def __init__(self):
        super().__init__()
        self.names = []

    def read(self, path):
        self.names.append(path.name)
        return super().read(path)


class Scene:
    """A plan, a folder with frames, an index; watches of them."""

    def __init__(self, folder):
        self.plan, self.clock = small_plan(filters=("Ha",)), Clock()
        self.frames, self.index_path = folder / "frames", folder / "out" / INDEX_NAME
        self.frames.mkdir()
        self.open = []

    def panel(self, name):
        return next(one for one in self.plan.mosaic.panels if one.name == name)

    def write(self, name, panel="A1", **more):
        return write_solved(self.frames / name, self.panel(panel), **more)

    def watch(self):
        """A watch as it starts, after whatever became of the one before."""
        self.reader = CountingReader()
        self.open.append(ReadIndex(self.index_path))
        limits = Limits.of_plan(self.plan.request)
        return FolderWatch(
            self.plan, self.frames, limits=limits, reader=self.reader, index=self.open[-1], clock=self.clock
        )

    def look(self, watch):
        """One look, kept, as its files names with verdicts and its news."""
        look = watch.look()
        watch.index.save()
        self.last = look
        return {one.path.relative_to(self.frames).as_posix(): one.verdict for one in look.results}, list(
            look.news
        )


@pytest.fixture
def scene(tmp_path):
    made = Scene(tmp_path)
    yield made
    for index in made.open:
        index.close()


def document(watch):
    return json.loads(b"".join(watch.document(watch.review())))


def plain_document(scene):
    """The document of a plain review of the same folder."""
    with FrameSpool(scene.frames) as spool:
        review = review_folder(scene.plan.request, scene.plan.mosaic, scene.frames, on_frame=spool.add)
        return json.loads("".join(review_pieces(review, spool)))


def test_watching_comes_to_the_same_document_as_a_review_afterwards(scene):
    watch = scene.watch()
    assert scene.look(watch) == ({}, [])
    for number, name in enumerate(("B2", "A1", "A2", "A3", "B1", "B3")):
        scene.write(f"night{number % 2}/{name}_0.fits", name, DATE__OBS=f"2027-01-0{number + 1}T20:00:00")
        scene.write(f"{name}_1.fits", name, turn_deg=180.0)
        assert len(scene.look(watch)[0]) == 2
    (scene.frames / "notes.txt").write_text("no frame")
    write_solved(scene.frames / "turned.fits", scene.panel("A1"), turn_deg=5.0)
    scene.look(watch)
    assert document(watch) == plain_document(scene)
    assert document(watch)["covered_by_good_frames"] is True
    assert watch.standing.gap_deg2 == {None: 0.0, "Ha": 0.0}


def test_changes_of_state_are_told_once(scene):
    watch = scene.watch()
    scene.look(watch)
    scene.write("1.fits")
    assert scene.look(watch) == ({"1.fits": "good"}, [])
    scene.write("2.fits")
    assert scene.look(watch) == ({"2.fits": "good"}, ["panel A1 is complete"])
    scene.write("3.fits", "A2", turn_deg=3.0, DATE__OBS="2027-01-08T21:00:00")
    turned = "the camera is turned: 3.fits is turned by +3.0 degrees, at most 1.0 wanted"
    assert scene.look(watch) == ({"3.fits": "turned"}, [turned])
    scene.write("4.fits", "A2", turn_deg=3.0, DATE__OBS="2027-01-08T21:10:00")
    assert scene.look(watch)[1] == []
    scene.write("late.fits", "A2", DATE__OBS="2027-01-08T20:30:00")  # taken before the turn, copied after it
    assert scene.look(watch)[1] == []
    scene.write("5.fits", "A2", DATE__OBS="2027-01-08T22:00:00")
    assert scene.look(watch)[1] == ["the camera stands as planned again", "panel A2 is complete"]
    assert scene.look(watch) == ({}, [])


def test_the_last_gap_closed_and_the_mosaic_complete(scene):
    write_all(scene.frames, scene.plan, filters=("Ha",), without=("B2",))
    watch = scene.watch()
    assert (
        len(scene.look(watch)[0]) == 10
    )  # what is there at the first start is told frame by frame, without news
    assert scene.last.news == ()
    scene.write("last.fits", "B2", EXPTIME=1200.0)
    assert scene.look(watch)[1] == [
        "panel B2 is complete",
        "the mosaic is complete: all exposures wanted are there",
        "a gap is closed: good frames cover the whole region",
    ]
    (scene.frames / "last.fits").unlink()
    _, news = scene.look(watch)
    assert news[:2] == [
        "last.fits vanished from the folder and no longer counts",
        "panel B2 is no longer complete in Ha",
    ]
    assert "a gap is open: good frames leave" in news[2]
    assert document(watch) == plain_document(scene)


def test_stopped_and_started_nothing_is_read_twice_and_news_are_not_lost(scene):
    scene.write("1.fits")
    watch = scene.watch()
    scene.look(watch)
    scene.write("2.fits")  # comes in while no watch runs
    watch = scene.watch()
    assert scene.look(watch) == ({"2.fits": "good"}, ["panel A1 is complete"])
    assert scene.reader.names == ["2.fits"]
    assert document(watch) == plain_document(scene)
    assert watch.standing.frames == 2


def test_killed_before_anything_was_kept_all_is_found_again(scene):
    scene.write("1.fits")
    scene.watch().look()  # the index was not saved
    watch = scene.watch()
    assert scene.look(watch)[0] == {"1.fits": "good"}
    assert watch.standing.frames == 1


@pytest.mark.parametrize("cut", [1, 30, 400])
def test_an_index_cut_anywhere_or_deleted_costs_reading_only(scene, cut):
    scene.write("1.fits")
    scene.write("2.fits")
    scene.look(scene.watch())
    content = scene.index_path.read_bytes()
    scene.index_path.write_bytes(content[:-cut])
    watch = scene.watch()
    scene.look(watch)
    assert watch.standing.frames == 2
    scene.index_path.unlink()
    scene.write("3.fits")
    scene.look(watch)  # deleted while the watch runs: written anew, with all that was in it
    fresh = scene.watch()
    assert scene.look(fresh) == ({}, [])
    assert scene.reader.names == [] and fresh.standing.frames == 3


def test_a_frame_is_judged_once_it_is_whole(scene, tmp_path):
    whole = write_solved(tmp_path / "whole.fits", scene.panel("A1")).read_bytes()
    watch = scene.watch()
    growing = scene.frames / "growing.fits"
    for size in (0, 100, 3000, len(whole) - 2880):
        growing.write_bytes(whole[:size])
        assert scene.look(watch) == ({}, [])
        assert scene.last.waiting == 1 and not scene.last.changed
    growing.write_bytes(whole)
    assert scene.look(watch)[0] == {"growing.fits": "good"}
    assert scene.last.waiting == 0


def test_what_stays_in_pieces_is_unreadable_after_a_while(scene):
    (scene.frames / "broken.fits").write_bytes(b"SIMPLE  =")
    watch = scene.watch()
    scene.look(watch)
    scene.clock.now += PATIENCE_S - 1
    assert scene.look(watch)[0] == {}
    scene.clock.now += 2
    assert scene.look(watch)[0] == {"broken.fits": "unreadable"}
    reads = len(scene.reader.names)
    assert scene.look(watch) == ({}, []) and len(scene.reader.names) == reads
    write_solved(scene.frames / "good.fits", scene.panel("A1"))
    shutil.copy(scene.frames / "good.fits", scene.frames / "broken.fits")
    assert scene.look(watch)[0] == {"broken.fits": "good", "good.fits": "good"}
    assert document(watch)["panels"][0]["exposures"] == 2


def test_a_frame_solved_in_place_or_beside_is_read_again(scene):
    path = scene.write("1.fits", CTYPE1="X", CTYPE2="Y")
    watch = scene.watch()
    assert scene.look(watch)[0] == {"1.fits": "unsolved"}
    path.unlink()
    scene.write("1.fits")
    os.utime(
        path, ns=(1, 10**18)
    )  # by a machine whose clock is long past: times are compared, never put in order
    assert scene.look(watch)[0] == {"1.fits": "good"}
    assert watch.standing.verdicts == {"good": 1}


@pytest.mark.parametrize("how", ["gone", "empty"])
def test_a_share_that_vanishes_and_returns(scene, tmp_path, how):
    scene.write("1.fits")
    scene.write("2.fits")
    watch = scene.watch()
    scene.look(watch)
    shutil.move(scene.frames, tmp_path / "elsewhere")
    if how == "empty":
        scene.frames.mkdir()
    _, news = scene.look(watch)
    assert len(news) == 1 and "is away" in news[0]
    assert scene.look(watch)[1] == [] and watch.away
    assert watch.standing.frames == 2 and document(watch)["panels"][0]["exposures"] == 2
    if how == "empty":
        again = scene.watch()  # started while the share is away: what the index knows tells that it is
        assert "is away" in scene.look(again)[1][0]
        scene.frames.rmdir()
    shutil.move(tmp_path / "elsewhere", scene.frames)
    assert scene.look(watch) == ({}, [f"the folder {scene.frames} is back"])
    assert document(watch) == plain_document(scene)


def test_a_subfolder_that_cannot_be_read_keeps_its_frames(scene, monkeypatch):
    scene.write("night1/1.fits")
    scene.write("night2/1.fits")
    watch = scene.watch()
    scene.look(watch)
    real = os.scandir

    def refuse(place):
        if str(place).endswith("night2"):
            raise OSError(5, "Input/output error")
        return real(place)

    monkeypatch.setattr(os, "scandir", refuse)
    _, news = scene.look(watch)
    assert (
        len(news) == 1
        and "night2 cannot be read (Input/output error); frames of it that stay counted: 1" in news[0]
    )
    assert watch.standing.frames == 2 and scene.look(watch)[1] == []
    monkeypatch.undo()
    assert scene.look(watch) == ({}, ["night2 can be read again"])


def test_gaps_are_told_by_filter_where_there_are_several(scene):
    scene.plan = small_plan(exposures=1)
    write_all(scene.frames, scene.plan, count=1, without=("B2",))
    scene.write("0.fits", "B2")
    watch = scene.watch()
    scene.look(watch)
    scene.write("1.fits", "B2", FILTER="O3")
    assert scene.look(watch)[1] == [
        "panel B2 is complete",
        "the mosaic is complete: all exposures wanted are there",
        "a gap is closed: good OIII frames cover the whole region",
    ]


def test_a_frame_that_vanishes_while_it_is_read(scene):
    path = scene.write("1.fits")
    watch = scene.watch()
    listing = scene.reader.read

    def read(asked):
        path.unlink()
        return listing(asked)

    scene.reader.read = read
    assert scene.look(watch) == ({}, [])
    assert scene.look(watch) == ({}, []) and scene.last.waiting == 0
    assert watch.standing.frames == 0


def test_another_plan_judges_all_frames_anew_without_reading_them(scene):
    scene.write("1.fits")
    scene.write("2.fits", "A2")
    watch = scene.watch()
    scene.look(watch)
    scene.reader.names.clear()
    other = small_plan(filters=("Ha",), exposures=1)
    watch.take_plan(other, Limits.of_plan(other.request), scene.reader)
    assert scene.look(watch) == ({}, [])
    assert scene.reader.names == [] and scene.last.changed
    assert watch.standing.complete_panels == ("A1", "A2")


def test_much_is_read_in_pieces(scene):
    for number in range(5):
        scene.write(f"{number}.fits")
    watch = scene.watch()
    read = scene.reader.read

    def slowly(path):
        scene.clock.now += 1.0
        return read(path)

    scene.reader.read = slowly
    look = watch.look(within_s=1.5)
    assert len(look.results) == 2 and look.left == 3
    assert len(watch.look().results) == 3
    assert watch.standing.frames == 5


def test_unsolved_frames_are_tried_again_only_for_another_way(scene):
    scene.write("1.fits", CTYPE1="X", CTYPE2="Y")
    scene.look(scene.watch())
    frame = FrameReader().read(scene.frames / "1.fits")
    index, stamp = scene.open[-1], next(iter(scene.open[-1]._entries.values())).stamp
    assert index.find("1.fits", stamp, "as it is") == replace(frame, path=type(frame.path)())
    assert index.find("1.fits", stamp, "by a solver") is None


def test_made_up_frames_are_told(scene):
    scene.write("1.fits", MADEUP=True)
    scene.write("2.fits")
    watch = scene.watch()
    scene.look(watch)
    assert "; 1 made up, to practise with" in summary(watch.standing)
    assert document(watch) == plain_document(scene)
    assert document(watch)["made_up"] == 1


def test_flats_are_told_and_counted_apart(scene):
    scene.write("1.fits")
    scene.write("flat.fits", IMAGETYP="Flat", POSANGLE=20.0)
    watch = scene.watch()
    assert scene.look(watch)[0] == {"1.fits": "good"}
    assert [flat.path.name for flat in scene.last.flats] == ["flat.fits"]
    assert watch.standing.frames == 1
    assert scene.look(watch) == ({}, []) and scene.last.flats == ()
    watch = scene.watch()
    assert scene.look(watch) == ({}, [])
    assert document(watch) == plain_document(scene)
    assert document(watch)["flats"] == [{"position_angle_deg": 20.0, "filter": "Ha", "frames": 1}]
    (scene.frames / "1.fits").unlink()
    scene.look(watch)
    assert document(watch) == plain_document(scene)
