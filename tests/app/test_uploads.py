"""Uploads are kept once, inside their own folder, and go with their session."""

import gc
import io
import zipfile
from pathlib import Path

import pytest

from planner.answers.plan import make_plan
from planner.errors import FileError
from planner.files.plan_file.read import request_from_text
from planner.handover.folder import handover_zip
from planner.handover.handover import handover_files
from planner.session.opening import save_plan, typed_path
from planner.session.session import Session
from planner.session.tab import Tab, forget_closed
from planner.session.uploads import Uploads, forget_all_uploads, parts_of_name

from .hand_made import CAMERA, CIRCLE

TRICKS = [
    "../../evil.fits",
    "/etc/evil.fits",
    "..\\..\\evil.fits",
    "C:\\evil.fits",
    "a/../../../evil.fits",
    "./././evil.fits",
    "night/..evil.fits",
    "evil.fits/",
    "e\0v\nil.fits",
    "~/evil.fits",
    "night/" + "e" * 3000 + ".fits",
    "ночь/туманность 星雲.fits",
]


@pytest.mark.parametrize("name", TRICKS)
def test_no_name_leads_out_of_the_folder(name):
    uploads = Uploads()
    folder = uploads.keep({name: b"1"})
    inside = [path for path in folder.rglob("*") if path.is_file()]
    assert len(inside) == 1 and inside[0].read_bytes() == b"1"
    assert inside[0].resolve().is_relative_to(folder.resolve())
    assert inside[0] == uploads.keep_one(name, b"1")
    assert inside[0].suffix == ".fits"


@pytest.mark.parametrize("name", ["", "..", "/", "../..", "\\", ". . ."])
def test_what_names_no_file_is_refused(name):
    with pytest.raises(FileError, match="no name of a file"):
        parts_of_name(name)


def test_names_that_are_file_and_folder_at_once_are_refused_and_nothing_stays():
    uploads = Uploads()
    kept = uploads.keep({"good.fits": b"1"})
    with pytest.raises(FileError, match="cannot be kept"):
        uploads.keep({"a": b"1", "a/b": b"2"})
    assert list(kept.parent.iterdir()) == [kept]


def test_the_same_files_are_kept_once_and_others_beside_them():
    uploads = Uploads()
    first = uploads.keep({"a.fits": b"1", "b.fits": b"2"})
    assert uploads.keep({"b.fits": b"2", "a.fits": b"1"}) == first
    assert uploads.keep({"a.fits": b"3", "b.fits": b"2"}) != first
    assert len(list(first.parent.iterdir())) == 2


def test_uploads_go_with_the_session_and_with_the_server():
    uploads = Uploads()
    folder = uploads.keep({"a.fits": b"1"}).parent
    del uploads
    gc.collect()
    assert not folder.exists()
    other = Uploads()
    folder = other.keep({"a.fits": b"1"}).parent
    forget_all_uploads()
    assert not folder.exists()
    assert other.keep_one("a.fits", b"1").read_bytes() == b"1"  # asked again, kept again


def test_uploads_of_a_tab_that_was_closed_go_unless_another_tab_goes_on_with_them():
    closed, other = (Tab(Session(CAMERA + CIRCLE, Path("plan.toml"))) for _ in range(2))
    folder = closed.uploads.keep({"a.fits": b"1"})
    forget_closed(0.0)
    assert folder.exists()
    closed.is_open = lambda: False
    forget_closed(60.0)
    assert folder.exists()  # it may come back
    closed.made = {"reviewed": folder}
    other.go_on(closed.session.unsaved.id, closed.session.id)
    assert other.made == {"reviewed": folder}  # what pages made of them goes on too
    forget_closed(0.0)
    assert folder.exists()
    other.is_open = lambda: False
    forget_closed(0.0)
    assert not folder.exists()


def test_names_of_panels_lead_out_of_no_zip():
    panels = "".join(
        f'[[panels]]\nname = "{name}"\nra_deg = {128.0 + number}\ndec_deg = -45.8\nposition_angle_deg = 20.0\n'
        for number, name in enumerate(("../../evil", "/etc/evil", "C:evil"))
    )
    plan = make_plan(request_from_text(CAMERA + CIRCLE + panels))
    archive = zipfile.ZipFile(io.BytesIO(handover_zip(handover_files(plan, only=("headers",)))))
    assert len([name for name in archive.namelist() if name.endswith(".hdr")]) == 3
    for name in archive.namelist():
        assert ".." not in name and ":" not in name and not name.startswith("/") and name.count("/") <= 1


@pytest.mark.parametrize(
    ("text", "said"),
    [("/" + "n" * 3000, "too long"), ("~nobody-of-that-name/x.toml", "no such home"), ("/etc/passwd/x", "")],
)
def test_paths_that_cannot_be_are_refused_in_a_sentence(text, said):
    if not said:
        assert typed_path(text) == Path(text)
        return
    with pytest.raises(FileError, match=said) as refused:
        typed_path(text)
    assert len(str(refused.value)) < 250


@pytest.mark.parametrize(
    "name", ["x" * 3000 + ".toml", "~nobody-of-that-name/x.toml", "plan.toml/inner.toml"]
)
def test_saving_under_such_names_is_refused_and_writes_nothing(tmp_path, monkeypatch, name):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "plan.toml").write_text(CAMERA + CIRCLE)
    session = Session.open(tmp_path / "plan.toml")
    with pytest.raises(FileError):
        save_plan(session, Path(name))
    assert [path.name for path in tmp_path.iterdir()] == ["plan.toml"]
    assert (tmp_path / "plan.toml").read_text() == CAMERA + CIRCLE
