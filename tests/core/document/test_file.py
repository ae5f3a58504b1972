import io
import json
import os
import zipfile
from pathlib import Path

import pytest
from msgspec.structs import replace

from core.document import archive, atomic, migrations
from core.document import file as job_file
from core.document.edits.settings import rename_job
from core.document.file import (
    JobFile,
    from_bytes,
    job_schema,
    load_job,
    save_job,
    to_bytes,
)
from core.errors import Damaged, FileError, InputError, MigrationFailed
from helpers.jobs import job_with, rect_panel, two_tone_job

TWO_TONE = JobFile(two_tone_job(), {"left side.jpg": b"\xff\xd8left", "a.png": b"\x89PNG"})


def job_json(data: bytes) -> str:
    with zipfile.ZipFile(io.BytesIO(data)) as held:
        return held.read("job.json").decode()


def test_a_job_comes_back_as_it_was_saved(tmp_path: Path) -> None:
    path = tmp_path / "job.lapline"
    save_job(path, TWO_TONE)
    assert load_job(path) == TWO_TONE


def test_the_zip_is_one_that_others_read_and_in_fixed_order() -> None:
    with zipfile.ZipFile(io.BytesIO(to_bytes(TWO_TONE))) as held:
        assert held.namelist() == ["job.json", "photos/a.png", "photos/left side.jpg"]
        assert held.testzip() is None
        assert {i.date_time for i in held.infolist()} == {(1980, 1, 1, 0, 0, 0)}
        assert held.read("photos/a.png") == b"\x89PNG"


def test_the_json_is_sorted_versioned_and_utf_8() -> None:
    text = job_json(to_bytes(JobFile(rename_job(two_tone_job(), "Bücherrad 車"))))
    document = json.loads(text)
    assert {k: document[k] for k in ("format", "version")} == {
        "format": "lapline-job",
        "version": 1,
    }
    assert '"Bücherrad 車"' in text
    assert text == job_json(to_bytes(from_bytes(text.encode(), "")))
    keys = list(document["job"])
    assert keys == sorted(keys)


def test_whole_numbers_in_memory_give_the_same_bytes_as_floats() -> None:
    panel = rect_panel("p1", 400, 200)
    whole = replace(panel, at=(3, 4), edge_turn_mm=12)
    floats = replace(panel, at=(3.0, 4.0), edge_turn_mm=12.0)
    assert to_bytes(JobFile(job_with([whole]))) == to_bytes(JobFile(job_with([floats])))


def test_the_bytes_do_not_depend_on_zlib_or_the_clock() -> None:
    data = to_bytes(TWO_TONE)
    with zipfile.ZipFile(io.BytesIO(data)) as held:
        assert all(i.compress_type == zipfile.ZIP_STORED for i in held.infolist())
        assert {i.create_system for i in held.infolist()} == {3}
    assert data == to_bytes(TWO_TONE)


def test_a_bare_job_json_is_read(tmp_path: Path) -> None:
    path = tmp_path / "job.json"
    path.write_text(job_json(to_bytes(TWO_TONE)), encoding="utf-8")
    assert load_job(path) == JobFile(TWO_TONE.job)


def test_the_smallest_job_of_the_docs_is_read() -> None:
    page = (Path(__file__).parents[3] / "docs" / "job-format.md").read_text(encoding="utf-8")
    block = page.split("## The smallest job")[1].split("All that is not")[0]
    assert from_bytes(block.encode(), "docs").job.panel("p1").name == "Plate"


def test_a_zip_deflated_by_another_program_is_read() -> None:
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as held:
        held.mkdir("photos")
        held.writestr("photos/a.png", b"\x89PNG")
        held.writestr("job.json", job_json(to_bytes(TWO_TONE)))
    assert from_bytes(buffer.getvalue(), "") == JobFile(TWO_TONE.job, {"a.png": b"\x89PNG"})


def test_photos_cannot_be_changed_from_outside() -> None:
    photos = {"a.png": b"1"}
    held = JobFile(two_tone_job(), photos)
    photos["a.png"] = b"2"
    assert held.photos["a.png"] == b"1"
    with pytest.raises(TypeError):
        held.photos["a.png"] = b"3"  # type: ignore[index]


@pytest.mark.parametrize("name", ["", "../a.png", "a/b.png", "a\\b", ".hidden", "a.", "con:x"])
def test_a_photo_with_an_unusable_name_is_not_saved(name: str) -> None:
    with pytest.raises(InputError, match="photo"):
        to_bytes(JobFile(two_tone_job(), {name: b""}))


def test_a_job_that_would_not_load_is_not_saved(tmp_path: Path) -> None:
    path = tmp_path / "job.lapline"
    broken = replace(two_tone_job(), films=())
    with pytest.raises(Damaged, match=r"base film: There is no film f1"):
        save_job(path, JobFile(broken))
    with pytest.raises(Damaged, match="not one"):
        save_job(path, JobFile(replace(two_tone_job(), name="\ud800")))
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("step", ["open", "write", "fsync", "replace"])
def test_a_failed_save_leaves_the_old_file_whole(
    step: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "job.lapline"
    save_job(path, TWO_TONE)
    old = path.read_bytes()

    def full(*_: object, **__: object) -> None:
        raise OSError(28, "No space left on device")

    target = {
        "open": (Path, "open"),
        "write": (atomic, "_write_and_sync"),
        "fsync": (os, "fsync"),
        "replace": (Path, "replace"),
    }[step]
    monkeypatch.setattr(*target, full)
    with pytest.raises(FileError, match="no space left on device"):
        save_job(path, JobFile(rename_job(two_tone_job(), "New")))
    monkeypatch.undo()
    assert path.read_bytes() == old
    assert [p.name for p in tmp_path.iterdir()] == ["job.lapline"]


def test_an_interrupted_save_leaves_nothing_beside(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def interrupted(_: int) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(os, "fsync", interrupted)
    with pytest.raises(KeyboardInterrupt):
        save_job(tmp_path / "job.lapline", TWO_TONE)
    assert list(tmp_path.iterdir()) == []


def test_saving_follows_links_and_keeps_permissions(tmp_path: Path) -> None:
    real, link = tmp_path / "real.lapline", tmp_path / "link.lapline"
    real.write_bytes(b"old")
    real.chmod(0o640)
    link.symlink_to(real)
    save_job(link, TWO_TONE)
    assert link.is_symlink()
    assert real.read_bytes() == to_bytes(TWO_TONE)
    assert real.stat().st_mode & 0o777 == 0o640


def test_a_missing_folder_and_a_folder_in_the_way_are_said(tmp_path: Path) -> None:
    with pytest.raises(FileError, match="no such file"):
        save_job(tmp_path / "no" / "job.lapline", TWO_TONE)
    with pytest.raises(FileError, match="is a folder there"):
        save_job(tmp_path, TWO_TONE)
    with pytest.raises(FileError, match="no such file"):
        load_job(tmp_path / "none.lapline")
    with pytest.raises(FileError, match="directory"):
        load_job(tmp_path)


def test_a_file_too_large_is_not_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "job.lapline"
    save_job(path, TWO_TONE)
    monkeypatch.setattr(job_file, "MAX_FILE_BYTES", 100)
    with pytest.raises(FileError, match="larger than"):
        load_job(path)


def version_2(monkeypatch: pytest.MonkeyPatch, step: migrations.Migration) -> None:
    """Pretend that version 2 exists, and that ``step`` leads to it."""
    monkeypatch.setattr(job_file, "VERSION", 2)
    monkeypatch.setattr(migrations, "MIGRATIONS", {1: step})


def test_an_older_job_is_brought_up_to_date(monkeypatch: pytest.MonkeyPatch) -> None:
    old = to_bytes(TWO_TONE)
    version_2(monkeypatch, lambda job: {**job, "name": job["name"] + " (2)"})
    held = from_bytes(old, "")
    assert held.job.name == "Test job (2)"
    assert held.photos == TWO_TONE.photos
    assert json.loads(job_json(to_bytes(held)))["version"] == 2
    assert from_bytes(to_bytes(held), "") == held


def test_an_older_job_that_cannot_be_brought_up_to_date_is_refused(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    old = to_bytes(TWO_TONE)
    version_2(monkeypatch, lambda job: {"name": job["title"]})
    with pytest.raises(MigrationFailed, match=r"^lid\.lapline: .* version 1 .*'title'"):
        from_bytes(old, "lid.lapline")
    version_2(monkeypatch, lambda job: {**job, "films": 3})
    with pytest.raises(Damaged, match="films: A whole number stands where a list is expected"):
        from_bytes(old, "")


def test_migrations_run_in_turn_and_leave_their_input_alone() -> None:
    def add(letter: str) -> migrations.Migration:
        def step(job: migrations.PlainJob) -> migrations.PlainJob:
            job["seen"] = [*job["seen"], letter]
            return job

        return step

    start: migrations.PlainJob = {"seen": []}
    steps = {1: add("a"), 2: add("b"), 3: add("c")}
    assert migrations.migrate(start, 1, 3, steps) == {"seen": ["a", "b"]}
    assert start == {"seen": []}
    with pytest.raises(MigrationFailed, match="version 4"):
        migrations.migrate(start, 3, 5, steps)


def test_every_version_before_this_one_has_a_migration() -> None:
    assert sorted(migrations.MIGRATIONS) == list(range(1, job_file.VERSION))


def test_the_schema_in_the_docs_is_current() -> None:
    page = Path(__file__).parents[3] / "docs" / "job.schema.json"
    assert json.loads(page.read_text(encoding="utf-8")) == json.loads(json.dumps(job_schema()))


def test_the_limits_are_those_of_the_docs() -> None:
    assert (archive.MAX_FILE_BYTES, archive.MAX_JOB_BYTES) == (512 * 2**20, 64 * 2**20)
