from dataclasses import replace
from datetime import date

import pytest
from msgspec.structs import replace as changed

from core.errors import Cancelled, ExportFailed
from core.plan.model import Finding, Severity
from core.write.atomic import Existing
from core.write.drawing import Drawing
from core.write.outputs import (
    OutputOptions,
    leftover_plotter_files,
    planned_outputs,
    write_all,
    write_files,
)
from core.write.papers import Paper
from core.write.planned_file import FileKind
from core.write.templates import TemplateOptions
from helpers.plans import hand_plan, hand_rolls

DAY = date(2026, 3, 9)
QUICK = OutputOptions(png_width_px=200, day=DAY)
PLAIN = OutputOptions(has_pictures=False)


def test_all_outputs_are_written(tmp_path):
    plan = hand_plan()
    written = write_all(plan, hand_rolls(plan), tmp_path, QUICK)
    names = sorted(p.relative_to(tmp_path).as_posix() for p in written)
    job = "library-trike-one-board"
    assert names == [
        f"{job}-bench-sheet-2026-03-09.pdf",
        f"{job}-chalk-white-r1-2026-03-09.dxf",
        f"{job}-chalk-white-rolls-2026-03-09.png",
        f"{job}-chalk-white-rolls-2026-03-09.svg",
        f"{job}-cutting-tape-2026-03-09.csv",
        f"{job}-films-2026-03-09.csv",
        f"{job}-gruen-fern-buy-2026-03-09.dxf",
        f"{job}-gruen-fern-rolls-2026-03-09.png",
        f"{job}-gruen-fern-rolls-2026-03-09.svg",
        f"{job}-pieces-2026-03-09.csv",
        f"{job}-retakes-2026-03-09.csv",
        f"{job}-scheme-2026-03-09.png",
        f"{job}-scheme-2026-03-09.svg",
        f"{job}-tables-2026-03-09.xlsx",
        f"{job}-to-buy-2026-03-09.csv",
        f"panels/{job}-side-board-2026-03-09.png",
        f"panels/{job}-side-board-2026-03-09.svg",
    ]
    found = sorted(p.relative_to(tmp_path).as_posix() for p in tmp_path.rglob("*.*"))
    assert found == names
    assert all(p.stat().st_size > 100 for p in written)


def test_the_same_plan_gives_the_same_bytes(tmp_path):
    plan = hand_plan()
    for folder in ("a", "b"):
        write_all(plan, hand_rolls(plan), tmp_path / folder, QUICK)
    for path in (tmp_path / "a").rglob("*.*"):
        assert (
            path.read_bytes()
            == (tmp_path / "b" / path.relative_to(tmp_path / "a")).read_bytes()
        )


def test_files_are_listed_with_what_is_drawn_in_them_before_anything_is_written(tmp_path):
    plan = hand_plan()
    files = planned_outputs(plan, hand_rolls(plan), QUICK)
    assert len({f.name for f in files}) == len(files)
    for file in files:
        is_drawn = file.kind is not FileKind.TABLE
        assert bool(file.drawings) == is_drawn, file.name
        assert all(isinstance(d, Drawing) for d in file.drawings)
    written = write_files(files, tmp_path)
    assert [p.relative_to(tmp_path).as_posix() for p in written] == [f.name for f in files]
    assert [p.read_bytes() for p in written] == [f.data() for f in files]


def test_files_that_are_there_stay_and_the_new_set_gets_one_number(tmp_path):
    plan = hand_plan()
    first = write_all(plan, hand_rolls(plan), tmp_path, PLAIN)
    for path in first[1:]:
        path.unlink()
    first[0].write_text("mine")
    for number in (2, 3):
        again = write_all(plan, hand_rolls(plan), tmp_path, PLAIN)
        assert [p.stem for p in again] == [f"{p.stem}-{number}" for p in first]
    assert first[0].read_text() == "mine"


def test_files_that_are_there_are_refused_or_replaced_when_told_so(tmp_path):
    plan = hand_plan()
    first = write_all(plan, hand_rolls(plan), tmp_path, PLAIN, Existing.REFUSE)
    first[0].write_text("mine")
    first[1].unlink()
    with pytest.raises(ExportFailed, match="there already; nothing is written"):
        write_all(plan, hand_rolls(plan), tmp_path, PLAIN, Existing.REFUSE)
    assert not first[1].exists()
    assert write_all(plan, hand_rolls(plan), tmp_path, PLAIN, Existing.REPLACE) == first
    assert first[0].read_bytes() != b"mine"


def test_writing_tells_how_far_it_is_and_can_be_stopped(tmp_path):
    class Listener:
        def __init__(self, patience):
            self.steps, self.patience = [], patience

        def tell(self, step):
            self.steps.append(step)

        def is_cancelled(self):
            return len(self.steps) >= self.patience

    plan = hand_plan()
    files = planned_outputs(plan, hand_rolls(plan), PLAIN)
    with pytest.raises(Cancelled):
        write_files(files, tmp_path, progress=Listener(2))
    assert not list(tmp_path.iterdir())
    listener = Listener(100)
    write_files(files, tmp_path, progress=listener)
    shares = [s.share for s in listener.steps]
    assert shares == sorted(shares)
    assert set(shares) >= {i / len(files) for i in range(len(files))}
    assert max(shares) < 1
    words = [s.words for s in listener.steps]
    sheet = next(f for f in files if f.kind is FileKind.BENCH)
    pages = [w for w in words if w.startswith(f"Making {sheet.name}: page ")]
    count = len(sheet.drawings)
    assert pages == [f"Making {sheet.name}: page {i + 1} of {count}" for i in range(count)]


@pytest.mark.parametrize(
    ("ending", "step"),
    [
        ("bench-sheet.pdf", "panel 1 of 2"),
        ("bench-sheet.pdf", "rolls: piece 1 of 2"),
        ("chalk-white-rolls.svg", "piece 2 of 2"),
        ("scheme.png", "panel 2 of 2"),
        ("left-template.pdf", "piece 2 of 2"),
        ("hand-cutting.pdf", "sheet 2 of 2"),
        ("chalk-white-r1.dxf", "piece 2 of 2"),
    ],
)
def test_a_long_file_is_stopped_at_any_of_its_steps_and_made_anew_later(ending, step):
    class Listener:
        def __init__(self, patience):
            self.words, self.patience = [], patience

        def tell(self, step):
            self.words.append(step.words)

        def is_cancelled(self):
            return len(self.words) >= self.patience

    def file():
        options = OutputOptions(
            has_hand_cut=True, templates=TemplateOptions(paper=Paper.LONG), png_width_px=200
        )
        files = planned_outputs(plan, hand_rolls(plan), options)
        return next(f for f in files if f.name.endswith(ending))

    plan = hand_plan()
    all_of_it = Listener(100)
    whole = file().data(all_of_it)
    at = all_of_it.words.index(step)
    for patience in {0, 1, at, at + 1} - {len(all_of_it.words)}:
        stopped = file()
        with pytest.raises(Cancelled):
            stopped.data(Listener(patience))
        assert stopped.data() == whole


def test_a_file_for_each_piece_on_request_and_pictures_left_out(tmp_path):
    plan = hand_plan()
    options = OutputOptions(has_piece_files=True, has_pictures=False)
    written = write_all(plan, hand_rolls(plan), tmp_path, options)
    assert sorted(p.name for p in (tmp_path / "pieces").iterdir()) == [
        "library-trike-one-board-side-board-left-1.dxf",
        "library-trike-one-board-side-board-left-2.dxf",
        "library-trike-one-board-side-board-right-1.dxf",
        "library-trike-one-board-side-board-right-2.dxf",
    ]
    assert not [p for p in written if p.suffix in (".svg", ".png")]


def test_films_of_one_name_do_not_overwrite_each_other(tmp_path):
    plan = hand_plan()
    films = tuple(changed(f, name="White", stock=()) for f in plan.job.films)
    plan = replace(plan, job=changed(plan.job, films=films))
    rolls = hand_rolls(plan)
    same = tuple(
        replace(f, sheets=tuple(replace(s, sheet=replace(s.sheet, id="r1")) for s in f.sheets))
        for f in rolls.films
    )
    options = OutputOptions(has_pictures=False, has_tables=False)
    write_all(plan, replace(rolls, films=same), tmp_path, options)
    assert sorted(p.name for p in tmp_path.glob("*.dxf")) == [
        "library-trike-one-board-white-r1-2.dxf",
        "library-trike-one-board-white-r1.dxf",
    ]


def test_nothing_is_written_while_a_finding_stops_the_job(tmp_path):
    plan = hand_plan()
    stop = Finding("S299", Severity.STOP, "Seams lie on each other in a circle.")
    stopped = replace(plan, panels=(replace(plan.panels[0], findings=(stop,)), plan.panels[1]))
    with pytest.raises(ExportFailed, match="a finding stops the job: Seams lie"):
        write_all(stopped, hand_rolls(plan), tmp_path / "out")
    assert not (tmp_path / "out").exists()


def test_older_plotter_files_are_noticed(tmp_path):
    plan = hand_plan()
    (tmp_path / "older.dxf").write_text("from last week")
    written = write_all(plan, hand_rolls(plan), tmp_path, OutputOptions(has_pictures=False))
    assert [p.name for p in leftover_plotter_files(tmp_path, written)] == ["older.dxf"]
    assert (tmp_path / "older.dxf").read_text() == "from last week"


def test_paper_is_written_on_request_in_files_of_its_own(tmp_path):
    plan = hand_plan()
    options = OutputOptions(
        has_pictures=False,
        has_plotter_files=False,
        has_tables=False,
        has_bench_sheet=False,
        has_hand_cut=True,
        templates=TemplateOptions(paper=Paper.A3),
    )
    written = write_all(plan, hand_rolls(plan), tmp_path, options)
    names = sorted(p.relative_to(tmp_path).as_posix() for p in written)
    assert names == [
        "library-trike-one-board-hand-cutting.pdf",
        "templates/library-trike-one-board-side-board-left-template.pdf",
        "templates/library-trike-one-board-side-board-right-template.pdf",
    ]
    assert all(p.read_bytes().startswith(b"%PDF-1.") for p in written)


def test_a_panel_without_sides_has_a_plain_name():
    plan = hand_plan()
    sole = replace(plan, panels=(replace(plan.panels[0], side=None),))
    options = OutputOptions(has_pictures=False, templates=TemplateOptions())
    names = [f.name for f in planned_outputs(sole, hand_rolls(plan), options)]
    assert "templates/library-trike-one-board-side-board-template.pdf" in names
