"""The output folder: whole or untouched, whatever stands there. The files themselves are played by a stand-in."""

import fcntl
import json
import multiprocessing
import os
from types import SimpleNamespace

import pytest

from moldplan import plan as chain
from moldplan.errors import OutputError
from moldplan.plan import ASIDE, LOCK, write

OURS = {"moldplan": "0", "spec": {"sha256": "0"}, "files": ["report.html", "sheets/one.dxf"]}


@pytest.fixture
def made(monkeypatch):
    """A plan called `rack`; its files are two, and `raises` stops them half way."""
    state = SimpleNamespace(name="rack", text="new", raises=None)

    def files(plan, folder):
        (folder / "sheets").mkdir()
        (folder / "sheets" / "one.dxf").write_text(plan.text)
        if plan.raises:
            raise plan.raises
        (folder / "report.html").write_text(plan.text)
        (folder / "plan.json").write_text(json.dumps(OURS))

    monkeypatch.setattr(chain, "_write_files", files)
    return state


def everything(folder):
    return {str(p.relative_to(folder)): p.read_bytes() if p.is_file() else None for p in sorted(folder.rglob("*"))}


def earlier(out, text="old"):
    rack = out / "rack"
    (rack / "sheets").mkdir(parents=True)
    (rack / "sheets" / "one.dxf").write_text(text)
    (rack / "report.html").write_text(text)
    (rack / "plan.json").write_text(json.dumps(OURS))
    return rack


def test_a_plan_of_ours_is_replaced_and_nothing_else_is_left(made, tmp_path):
    earlier(tmp_path)
    write(made, tmp_path)
    assert (tmp_path / "rack" / "report.html").read_text() == "new"
    assert os.listdir(tmp_path) == ["rack"]


@pytest.mark.parametrize("plan_json", [
    b"[]", b"{}", b"\xff\xfe", b"[" * 200_000, b'{"moldplan": "0", "spec": {"sha256": "0"}, "files": 5}',
    b'{"moldplan": "0", "spec": {"sha256": "0"}, "files": [["a"]]}x', b'{"moldplan": "0", "spec": [], "files": []}',
    b"",
], ids=["list", "map", "no text", "deep", "files no list", "not json", "spec no map", "empty"])
def test_a_plan_json_that_is_none_of_ours_stays(made, tmp_path, plan_json):
    (tmp_path / "rack").mkdir()
    (tmp_path / "rack" / "plan.json").write_bytes(plan_json)
    before = everything(tmp_path)
    with pytest.raises(OutputError, match="no plan of ours"):
        write(made, tmp_path)
    assert everything(tmp_path) == before


@pytest.mark.parametrize("name", ["notes.txt", "sheets/mine.dxf", ".hidden"])
def test_a_file_among_ours_that_is_not_ours_stays(made, tmp_path, name):
    (earlier(tmp_path) / name).write_text("mine")
    before = everything(tmp_path)
    with pytest.raises(OutputError, match=name):
        write(made, tmp_path)
    assert everything(tmp_path) == before


def test_a_folder_or_a_link_that_is_not_ours_stays(made, tmp_path):
    rack = earlier(tmp_path)
    (rack / "photos").mkdir()
    with pytest.raises(OutputError, match="photos"):
        write(made, tmp_path)
    (rack / "photos").rmdir()
    (rack / "report.html").unlink()
    (rack / "sheets" / "link").symlink_to(tmp_path)
    with pytest.raises(OutputError, match="link"):
        write(made, tmp_path)
    assert (rack / "sheets" / "link").is_symlink()


def test_a_file_or_a_link_in_place_of_the_folder_stays(made, tmp_path):
    (tmp_path / "rack").write_text("mine")
    with pytest.raises(OutputError, match="no folder of ours"):
        write(made, tmp_path)
    (tmp_path / "rack").unlink()
    (tmp_path / "rack").symlink_to(tmp_path / "nowhere")
    with pytest.raises(OutputError, match="no folder of ours"):
        write(made, tmp_path)
    with pytest.raises(OutputError, match="cannot be written"):
        write(made, tmp_path / "rack")


@pytest.mark.parametrize("trouble", [OSError(28, "No space left on device"), OutputError("cut short"), RuntimeError()])
def test_a_write_that_stops_half_way_leaves_the_earlier_plan_whole(made, tmp_path, trouble):
    earlier(tmp_path)
    before, made.raises = everything(tmp_path), trouble
    with pytest.raises((OutputError, RuntimeError)):
        write(made, tmp_path)
    assert everything(tmp_path) == before


def wreck(out, name="rack"):
    aside = out / f".{name}.abcd1234{ASIDE}"
    (aside / "new").mkdir(parents=True)
    (aside / LOCK).touch()
    return aside


def test_what_a_killed_build_left_is_taken_away(made, tmp_path):
    wreck(tmp_path)
    other = wreck(tmp_path, "rack.two")
    mine = tmp_path / f".rack.photos12{ASIDE}"
    mine.mkdir()
    write(made, tmp_path)
    assert sorted(os.listdir(tmp_path)) == sorted([other.name, mine.name, "rack"])


def test_a_plan_that_a_killed_build_had_set_aside_comes_back(made, tmp_path):
    earlier(tmp_path).rename(wreck(tmp_path) / "old-0")
    made.raises = OSError(28, "No space left on device")
    with pytest.raises(OutputError):
        write(made, tmp_path)
    assert (tmp_path / "rack" / "report.html").read_text() == "old"
    assert os.listdir(tmp_path) == ["rack"]


def test_a_build_at_work_is_left_at_work(made, tmp_path):
    aside = wreck(tmp_path)
    with (aside / LOCK).open("rb") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        write(made, tmp_path)
        assert (aside / "new").is_dir()


def _writes(out, text, start):
    made = SimpleNamespace(name="rack", text=text, raises=None)

    def files(plan, folder):
        (folder / "sheets").mkdir()
        (folder / "sheets" / "one.dxf").write_text(plan.text)
        (folder / "report.html").write_text(plan.text)
        (folder / "plan.json").write_text(json.dumps(OURS))

    chain._write_files = files
    start.wait()
    for _ in range(20):
        try:
            write(made, out)
        except OutputError:
            continue  # the other one was quicker


def test_two_builds_at_once_leave_one_whole_plan(tmp_path):
    method = multiprocessing.get_context("fork")
    start = method.Barrier(2)
    both = [method.Process(target=_writes, args=(tmp_path, text, start)) for text in ("one", "two")]
    for each in both:
        each.start()
    for each in both:
        each.join(60)
    assert [each.exitcode for each in both] == [0, 0]
    rack = tmp_path / "rack"
    assert rack.joinpath("report.html").read_text() == rack.joinpath("sheets", "one.dxf").read_text()
    assert os.listdir(tmp_path) == ["rack"]


def test_a_layout_that_cannot_be_read_is_laid_out_anew(tmp_path):
    (tmp_path / "layout.json").write_bytes(b"\xff\xfe{")
    assert chain._text(tmp_path / "layout.json") is None
    assert chain._text(tmp_path) is None
