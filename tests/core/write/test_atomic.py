import os

import pytest

from core.errors import ExportFailed
from core.write.atomic import write_file, write_set


def test_files_are_written_folders_made(tmp_path):
    paths = write_set(tmp_path / "new" / "out", {"a.txt": b"1", "panels/b.txt": b"2"})
    assert [p.read_bytes() for p in paths] == [b"1", b"2"]
    assert sorted(p.name for p in (tmp_path / "new" / "out").rglob("*")) == [
        "a.txt",
        "b.txt",
        "panels",
    ]


def test_old_files_are_replaced(tmp_path):
    (tmp_path / "a.txt").write_text("old")
    write_file(tmp_path / "a.txt", b"new")
    assert (tmp_path / "a.txt").read_text() == "new"


def test_a_failure_on_the_way_leaves_all_old_files_whole(tmp_path, monkeypatch):
    (tmp_path / "a.txt").write_text("old")
    calls = []

    def full_disk(handle):
        calls.append(handle)
        if len(calls) == 2:
            raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full_disk)
    with pytest.raises(ExportFailed, match=r"no space left on device.*room on the disk"):
        write_set(tmp_path, {"a.txt": b"new", "b.txt": b"new"})
    assert (tmp_path / "a.txt").read_text() == "old"
    assert [p.name for p in tmp_path.iterdir()] == ["a.txt"]


def test_a_file_where_the_folder_should_be_is_refused(tmp_path):
    (tmp_path / "out").write_text("here already")
    with pytest.raises(ExportFailed, match="out: It cannot be written"):
        write_set(tmp_path / "out", {"a.txt": b"1"})
    assert (tmp_path / "out").read_text() == "here already"


def test_a_folder_where_a_file_should_be_is_refused_before_anything_is_replaced(tmp_path):
    (tmp_path / "a.txt").write_text("old")
    (tmp_path / "b.txt").mkdir()
    with pytest.raises(ExportFailed):
        write_set(tmp_path, {"a.txt": b"new", "b.txt": b"new"})
    assert (tmp_path / "a.txt").read_text() == "old"
    assert sorted(p.name for p in tmp_path.iterdir()) == ["a.txt", "b.txt"]


def test_files_can_be_read_as_the_umask_says(tmp_path):
    old = os.umask(0o027)
    try:
        path = write_file(tmp_path / "a.txt", b"1")
    finally:
        os.umask(old)
    assert path.stat().st_mode & 0o777 == 0o640
