import json
import subprocess
import sys
from pathlib import Path

import msgspec
import pytest
from filelock import FileLock
from hypothesis import given, settings
from hypothesis import strategies as st

from core.document import shelf_file
from core.document.accepted_nest import FilmCut
from core.document.choices import PieceChoice, Pin
from core.document.film import Film, Offcut, Roll
from core.document.job import Job
from core.document.shelf import (
    Shelf,
    ShelfChange,
    apply_changes,
    entries_for,
    follow_shelf,
    free_on_shelf,
    holder_text,
    names_without,
    put_back,
    put_on_shelf,
    stock_conflicts,
    take_from_shelf,
    with_files,
)
from core.document.shelf_file import (
    ShelfFile,
    default_shelf_path,
    new_key,
    shelf_from_bytes,
    shelf_to_bytes,
)
from core.document.variant import Variant
from core.errors import (
    Damaged,
    EditRefused,
    FileError,
    LaplineError,
    NewerVersion,
    ShelfConflict,
)

FJORD = Film(id="f1", name="Deep fjord", colour="#24507a", roll_width_mm=1370.0)
ROLL = Roll(id="r9", length_mm=5000.0)
OFFCUT = Offcut(id="k4", length_mm=600.0, width_mm=400.0, note="from the van")


def a_job(name: str = "Trike") -> Job:
    return Job(name=name, films=(FJORD,), variants=(Variant(id="v1", name="A"),))


def a_shelf() -> Shelf:
    return put_on_shelf(put_on_shelf(Shelf(), FJORD, ROLL, "aa" * 4), FJORD, OFFCUT, "bb" * 4)


def test_a_roll_on_the_shelf_is_as_wide_as_its_film_was() -> None:
    assert a_shelf().entries[0].stock == Roll(id="r1", length_mm=5000.0, width_mm=1370.0)


def test_what_is_taken_is_copied_into_the_job_and_noted_on_the_shelf() -> None:
    job, shelf = take_from_shelf(a_job(), a_shelf(), "f1", ["aa" * 4, "bb" * 4])
    roll, offcut = job.films[0].stock
    assert (roll.id, roll.width_mm, offcut.id, offcut.note) == ("r1", 1370.0, "k1", OFFCUT.note)
    assert [e.taken_by for e in shelf.entries] == ["Trike", "Trike"]
    assert stock_conflicts(job, shelf) == ()


def test_what_another_job_has_is_not_taken() -> None:
    _, shelf = take_from_shelf(a_job(), a_shelf(), "f1", ["aa" * 4])
    with pytest.raises(EditRefused, match="The job Trike has this roll"):
        take_from_shelf(a_job("Van"), shelf, "f1", ["aa" * 4])
    freed = free_on_shelf(shelf, "aa" * 4, 2)
    job, _ = take_from_shelf(a_job("Van"), freed, "f1", ["aa" * 4])
    assert job.films[0].stock[0].shelf is not None


def test_two_jobs_of_one_title_are_told_by_their_files() -> None:
    shelf = a_shelf()
    key, other = "aa" * 4, "bb" * 4
    _, after = take_from_shelf(a_job(), shelf, "f1", [key])
    shelf = with_files(shelf, after, "red.lapline")
    assert holder_text(shelf, shelf.entry(key)) == "Trike"
    assert holder_text(shelf, shelf.entry(key), a_job("Van")) == "Trike"
    with pytest.raises(EditRefused, match=r"The job Trike \(red.lapline\) has this"):
        take_from_shelf(a_job(), shelf, "f1", [key])
    _, after = take_from_shelf(a_job(), shelf, "f1", [other])
    shelf = with_files(shelf, after, "blue.lapline")
    told = [holder_text(shelf, e) for e in shelf.entries]
    assert told == ["Trike (red.lapline)", "Trike (blue.lapline)"]
    entry = shelf.entry(key)
    freed = with_files(shelf, free_on_shelf(shelf, key, entry.revision), "blue.lapline")
    assert freed.entry(key).taken_file == ""


def test_what_is_put_back_lies_there_as_the_job_left_it() -> None:
    job, shelf = take_from_shelf(a_job(), a_shelf(), "f1", ["aa" * 4])
    short = msgspec.structs.replace(job.films[0].stock[0], length_mm=4100.0)
    film = msgspec.structs.replace(job.films[0], stock=(short,))
    job = msgspec.structs.replace(job, films=(film,))
    job, shelf = put_back(job, shelf, ["r1"])
    assert job.films[0].stock == ()
    assert (shelf.entries[0].stock.length_mm, shelf.entries[0].taken_by) == (4100.0, "")


def test_a_change_by_another_is_a_conflict_and_changes_nothing() -> None:
    job, shelf = take_from_shelf(a_job(), a_shelf(), "f1", ["aa" * 4])
    place = job.films[0].stock[0].shelf
    shorter = ShelfChange(FJORD, place, Roll(id="r1", length_mm=900.0), "")
    shelf = apply_changes(shelf, [shorter], [])
    (conflict,) = stock_conflicts(job, shelf)
    assert conflict.text == (
        "Deep fjord, r1: on the shelf it is 0.90 m long now, in this job 5.00 m."
    )
    with pytest.raises(ShelfConflict, match="changed on the shelf meanwhile"):
        apply_changes(shelf, [shorter], [])
    with pytest.raises(ShelfConflict):
        put_back(job, shelf, ["r1"])
    followed, shelf = follow_shelf(job, shelf, conflict)
    assert followed.films[0].stock[0].length_mm == 900.0
    assert stock_conflicts(followed, shelf) == ()
    assert shelf.entries[0].taken_by == "Trike", "what lay free is noted as this job's again"


def test_what_is_gone_from_the_shelf_is_a_conflict_until_the_film_is_cut() -> None:
    job, shelf = take_from_shelf(a_job(), a_shelf(), "f1", ["aa" * 4])
    place = job.films[0].stock[0].shelf
    shelf = apply_changes(shelf, [ShelfChange(FJORD, place, None, "")], [])
    (conflict,) = stock_conflicts(job, shelf)
    assert "no longer on the shelf" in conflict.text
    assert follow_shelf(job, shelf, conflict)[0].films[0].stock == ()
    cut = FilmCut(variant="v1", film="f1", fingerprint="x", day="2026-11-25")
    assert stock_conflicts(msgspec.structs.replace(job, cuts=(cut,)), shelf) == ()


def test_two_jobs_never_both_keep_one_roll() -> None:
    trike, shelf = take_from_shelf(a_job(), a_shelf(), "f1", ["aa" * 4])
    freed = free_on_shelf(shelf, "aa" * 4, 2)
    van, shelf = take_from_shelf(a_job("Van"), freed, "f1", ["aa" * 4])
    with pytest.raises(ShelfConflict, match="changed on the shelf meanwhile"):
        free_on_shelf(shelf, "aa" * 4, 3)
    (conflict,) = stock_conflicts(trike, shelf)
    assert conflict.text == "Deep fjord, r1: the job Van has it now."
    trike, shelf = follow_shelf(trike, shelf, conflict)
    assert trike.films[0].stock == ()
    assert (stock_conflicts(van, shelf), stock_conflicts(trike, shelf)) == ((), ())


def test_a_roll_never_gets_the_name_of_one_that_a_piece_is_still_kept_off() -> None:
    choice = PieceChoice(piece="g1", forbidden=("r1",), pins=(Pin(stock="k7"),))
    job = a_job()
    variant = msgspec.structs.replace(job.variants[0], pieces=(choice,))
    job = msgspec.structs.replace(job, variants=(variant,))
    job, _ = take_from_shelf(job, a_shelf(), "f1", ["aa" * 4, "bb" * 4])
    assert [s.id for s in job.films[0].stock] == ["r2", "k8"]


def test_films_are_found_by_name_in_any_case() -> None:
    other = msgspec.structs.replace(FJORD, name="Apricot")
    shelf = put_on_shelf(a_shelf(), other, ROLL, "cc" * 4)
    loud = msgspec.structs.replace(FJORD, name=" DEEP FJORD ")
    assert [e.key for e in entries_for(shelf, loud)] == ["aa" * 4, "bb" * 4]
    assert names_without(shelf, a_job()) == ("Apricot",)


# The file


def test_a_shelf_that_is_not_there_is_empty(tmp_path: Path) -> None:
    assert ShelfFile(tmp_path / "none" / "shelf.json").read() == Shelf()


def test_what_is_written_is_read_back(tmp_path: Path) -> None:
    file = ShelfFile(tmp_path / "new" / "shelf.json")
    file.change(lambda _: a_shelf())
    assert file.read() == a_shelf()
    assert {p.name for p in file.path.parent.iterdir()} == {"shelf.json", "shelf.json.lock"}


def test_the_shelf_is_in_the_users_data_folder(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("LAPLINE_SHELF", raising=False)
    assert default_shelf_path().name == "shelf.json"
    assert "Lapline" in str(default_shelf_path())
    monkeypatch.setenv("LAPLINE_SHELF", "/tmp/of a shop/shelf.json")
    assert str(default_shelf_path()) == str(Path("/tmp/of a shop/shelf.json"))


@settings(max_examples=40)
@given(st.data())
def test_a_broken_shelf_is_refused_or_sound(data: st.DataObject) -> None:
    broken = bytearray(shelf_to_bytes(a_shelf()))
    for _ in range(data.draw(st.integers(1, 3))):
        broken[data.draw(st.integers(0, len(broken) - 1))] = data.draw(st.integers(0, 255))
    end = data.draw(st.integers(0, len(broken)))
    for some in (bytes(broken), bytes(broken[:end])):
        try:
            shelf = shelf_from_bytes(some, "shelf.json")
            again = shelf_from_bytes(shelf_to_bytes(shelf), "")
            said = "shelf.json"
        except LaplineError as error:
            shelf = again = Shelf()
            said = error.sentence()
        assert said.startswith("shelf.json")
        assert again == shelf


def test_a_broken_shelf_is_never_written_over(tmp_path: Path) -> None:
    path = tmp_path / "shelf.json"
    path.write_bytes(b"{ half a sh")
    with pytest.raises(Damaged, match="Move the file away"):
        ShelfFile(path).change(lambda _: a_shelf())
    assert path.read_bytes() == b"{ half a sh"


def test_a_newer_shelf_is_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "shelf.json"
    newer = json.dumps({"format": "lapline-shelf", "version": 2, "shelf": {"racks": []}})
    path.write_text(newer)
    with pytest.raises(NewerVersion, match="version 2"):
        ShelfFile(path).change(lambda s: s)
    assert path.read_text() == newer


def test_a_refused_change_leaves_the_file_as_it_was(tmp_path: Path) -> None:
    file = ShelfFile(tmp_path / "shelf.json")
    file.change(lambda _: a_shelf())
    before = file.path.read_bytes()
    with pytest.raises(ShelfConflict):
        file.change(lambda s: free_on_shelf(s, "dd" * 4, 1))
    assert file.path.read_bytes() == before


def test_a_folder_that_cannot_be_made_is_told(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(FileError):
        ShelfFile(tmp_path / "file" / "shelf.json").change(lambda s: s)


def test_a_shelf_that_another_window_holds_is_waited_for_then_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(shelf_file, "_WAIT_SECONDS", 0.05)
    file = ShelfFile(tmp_path / "shelf.json")
    with (
        FileLock(tmp_path / "shelf.json.lock"),
        pytest.raises(FileError, match="Another window is writing"),
    ):
        file.change(lambda _: a_shelf())
    file.change(lambda _: a_shelf())
    assert file.read() == a_shelf()


@pytest.mark.parametrize(("is_windows", "tries"), [(False, 1), (True, 3)])
def test_a_shelf_that_may_not_be_written_is_told_and_stays_whole(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, is_windows: bool, tries: int
) -> None:
    """Where readers keep a file from being replaced (Windows), they are waited for."""
    file = ShelfFile(tmp_path / "shelf.json")
    file.change(lambda _: a_shelf())
    seen: list[float] = []

    def refuse(_files: object) -> None:
        seen.append(0.0)
        clock[0] += 1.0
        raise PermissionError(13, "Permission denied")

    clock = [0.0]
    monkeypatch.setattr(shelf_file, "replace_files", refuse)
    monkeypatch.setattr(shelf_file, "_READERS_BLOCK", is_windows)
    monkeypatch.setattr(shelf_file, "_WAIT_SECONDS", 2.0)
    monkeypatch.setattr(shelf_file, "_LOOK_SECONDS", 0.0)
    monkeypatch.setattr(shelf_file, "monotonic", lambda: clock[0])
    with pytest.raises(FileError, match=r"cannot be changed: permission denied.*write to its"):
        file.change(lambda _: Shelf())
    assert len(seen) == tries
    assert file.read() == a_shelf()


WRITER = """
import sys
from pathlib import Path
from core.document.film import Film, Roll
from core.document.shelf import put_on_shelf
from core.document.shelf_file import ShelfFile, new_key
film = Film(id="f1", name="Deep fjord", colour="#24507a")
roll = Roll(id="r1", length_mm=1000.0, note=sys.argv[2])
for _ in range(8):
    ShelfFile(Path(sys.argv[1])).change(
        lambda s: put_on_shelf(s, film, roll, new_key())
    )
"""


def test_no_change_of_several_writers_is_lost(tmp_path: Path) -> None:
    path = tmp_path / "shelf.json"
    root = Path(__file__).parents[3]
    writers = [
        subprocess.Popen([sys.executable, "-c", WRITER, str(path), name], cwd=root)
        for name in ("one", "two", "three")
    ]
    assert [w.wait(60) for w in writers] == [0, 0, 0]
    notes = [e.stock.note for e in ShelfFile(path).read().entries]
    assert sorted(notes) == ["one"] * 8 + ["three"] * 8 + ["two"] * 8


def test_keys_are_new() -> None:
    assert new_key() != new_key()
