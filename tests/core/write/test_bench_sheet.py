"""The bench sheet: what it says, and its PDF as pypdf reads it."""

import io
from dataclasses import replace

import pypdf
import pytest
from msgspec.structs import replace as changed

from core.document.job import Units
from core.plan.model import Finding, Severity
from core.plan.shape_check import Verdict, shape_report
from core.roll.wording import length_to_buy
from core.write.bench_pages import bench_pages, bench_pdf
from core.write.bench_plan import CAUTIONS, StepKind, bench_plan
from core.write.bench_shape import lay_words, shape_step
from core.write.papers import SIZES_MM, Paper
from helpers.cut_into import cut_into
from helpers.plans import hand_plan, hand_rolls

MM = 25.4 / 72


ROLLS = hand_rolls(hand_plan())


def pages_of(plan, paper=Paper.A4):
    return bench_pages(bench_plan(plan, ROLLS), paper)


def words_of(plan) -> list[str]:
    pdf = pypdf.PdfReader(io.BytesIO(bench_pdf(pages_of(plan))))
    return [" ".join(page.extract_text().split()) for page in pdf.pages]


def test_the_first_page_has_job_films_and_cautions():
    first = words_of(hand_plan())[0]
    assert "Library trike, one board" in first
    assert "roll r1: 0.82 m" in first
    assert f"to buy: {length_to_buy(545.0, Units.MM)}" in first
    assert "2 pieces need 0.6 m more" in first
    assert "Cutting tape: 1.44 m in 2 runs, tails counted." in first
    for caution in CAUTIONS:
        assert caution in first


DANGERS = (
    *("fuel", "plastics", "vapour", "blades", "paint", "lamps", "reflectors", "brakes"),
    *("steering", "air bag", "safety", "registry", "local rules", "data sheets"),
)


@pytest.mark.parametrize("danger", DANGERS)
def test_every_danger_of_the_work_is_named(danger):
    assert danger.lower() in " ".join(CAUTIONS).lower()


def test_a_panel_s_page_has_its_tasks_and_steps_in_order():
    left = words_of(hand_plan())[1]
    wanted = (
        "Side board, left",
        "Before any film",
        "Wash, rinse, let dry",
        "Lay piece 1: Chalk white, pre-cut, 368 × 420 mm; 2 will lie over it",
        "Lay tape run 1 along s1: 520 mm, and 100 mm of tail at each end",
        "Lay piece 2: Grün / fern, pre-cut, 260 × 420 mm; over 1",
        "Pull filament 1",
        "Lift the surplus beyond run 1",
        "Turn the film round the rims",
        "Post-heat edges",
        "s1: 2 over 1 (higher rank), laps 8 mm, 420 mm long, cut by tape",
    )
    places = [left.index(words) for words in wanted]
    assert places == sorted(places)
    assert "tape 1: 520 mm" in left, "the run's length stands in the picture"


def test_tables_tell_positions_tape_and_sizes():
    text = " ".join(words_of(hand_plan()))
    assert "Tape to buy: 1.44 m at least" in text
    assert "Side board left 2 Grün / fern 260 × 420 mm pre-cut 1 to buy" in text
    assert "Side board left 1 10 mm 10 mm 368 × 420 mm" in text


def test_own_tasks_stand_on_the_sheet_and_no_task_leaves_the_heading_out():
    plan = hand_plan()

    def with_tasks(*tasks):
        panel = changed(plan.job.panels[0], preparation=tasks)
        return replace(plan, job=changed(plan.job, panels=(panel,)))

    assert "Take the lamp out" in words_of(with_tasks("Take the lamp out"))[1]
    assert "Before any film" not in words_of(with_tasks())[1]


def test_findings_stand_on_the_page_of_their_panel():
    plan = hand_plan()
    note = Finding("A305", Severity.NOTE, "Slit it on the part.", panel="p1L")
    left = replace(plan.panels[0], findings=(note,))
    pages = words_of(replace(plan, panels=(left, plan.panels[1])))
    assert "Slit it on the part." in pages[1]
    assert "Slit it on the part." not in pages[2]


def test_alike_panels_share_a_page_with_a_box_for_each():
    plan = hand_plan()
    left = plan.panels[0]
    alike = replace(plan, panels=(left, replace(left, id="p1b"), replace(left, id="p1c")))
    (sheet,) = bench_plan(alike, ROLLS).panels
    assert sheet.count == 3
    page = pages_of(alike)[1]
    boxes = [s for s in page.shapes if len(s.runs[0].points) == 4 and _side(s) == 3.6]
    assert [row.label for row in sheet.pieces] == ["Side board, left 1", "Side board, left 2"]
    assert [row.number for row in sheet.pieces] == [3, 3]
    lines = len(sheet.preparation) + len(sheet.steps)
    assert len(boxes) == 3 * lines


def _side(shape) -> float:
    points = shape.runs[0].points
    return round(float(points[:, 0].max() - points[:, 0].min()), 3)


@pytest.mark.parametrize("paper", list(SIZES_MM))
def test_all_cautions_stand_on_the_first_page(paper):
    first = pages_of(hand_plan(), paper)[0]
    assert set(CAUTIONS) <= {text.text for text in first.texts}


@pytest.mark.parametrize("paper", list(SIZES_MM))
def test_it_fits_every_paper(paper):
    data = bench_pdf(pages_of(hand_plan(), paper))
    for page in pypdf.PdfReader(io.BytesIO(data)).pages:
        size = (float(page.mediabox.width) * MM, float(page.mediabox.height) * MM)
        assert size == pytest.approx(SIZES_MM[paper], abs=0.01)


def test_nothing_stands_outside_the_page():
    plan = hand_plan()
    long = changed(plan.job, name="W" * 200)
    films = tuple(changed(f, name="Ж" * 120) for f in long.films)
    panel = changed(
        long.panels[0], name="部" * 150, preparation=tuple("clean " * 30 for _ in range(40))
    )
    plan = replace(plan, job=changed(long, films=films, panels=(panel,)))
    for page in pages_of(plan):
        x0, y0, x1, y1 = page.extent
        for text in page.texts:
            assert x0 <= text.at[0] <= x1
            assert y0 <= text.at[1] <= y1


def test_long_tables_go_on_under_their_head():
    plan = hand_plan()
    left = plan.panels[0]
    many = tuple(
        replace(p, id=f"{p.id}{i}", label=f"Board {i} {p.order}")
        for i in range(40)
        for p in left.pieces
    )
    pages = words_of(replace(plan, panels=(replace(left, pieces=many),)))
    heads = [page for page in pages if "along × across the flow" in page]
    assert len(heads) > 1
    assert "Board 39 2" in heads[-1]


def test_inches_are_shown_where_the_job_shows_them():
    plan = hand_plan()
    plan = replace(plan, job=changed(plan.job, units=Units.IN))
    assert "20.472 in, and 3.937 in of tail" in words_of(plan)[1]


def test_equal_plans_give_equal_bytes():
    assert bench_pdf(pages_of(hand_plan())) == bench_pdf(pages_of(hand_plan()))


def test_blanks_have_their_grip_cut_off():
    plan = hand_plan()
    left = plan.panels[0]
    pieces = tuple(replace(p, spec=replace(p.spec, is_blank=True)) for p in left.pieces)
    panel = replace(left, pieces=pieces, tape_runs=())
    (sheet,) = bench_plan(replace(plan, panels=(panel,)), ROLLS).panels
    lifted = [step for step in sheet.steps if step.kind is StepKind.LIFT]
    assert [step.piece for step in lifted] == [p.id for p in pieces]
    assert all("grip" in step.text for step in lifted)


def test_steps_say_what_the_shape_check_says_of_each_piece():
    plan, rolls = cut_into()
    (piece,) = plan.panels[0].pieces
    (shape,) = shape_report(plan).pieces
    (dome, plate) = bench_plan(plan, rolls).panels
    assert shape.verdict is Verdict.FREE
    (lay,) = [s.text for s in dome.steps if s.kind is StepKind.LAY]
    assert lay.endswith("; lays freely")
    assert any("data sheet" in caution for caution in dome.shape_cautions)
    assert any("fuel" in caution for caution in dome.shape_cautions)
    assert not plate.shape_cautions, "a flat panel has none"

    def step(verdict, sentence, **kw):
        judged = replace(shape, verdict=verdict, sentence=sentence, **kw)
        assert lay_words(judged) == ""
        return shape_step(piece, judged)

    warm = step(Verdict.WARM, "Lays with warmth: needs 6 % stretch, most at the front rim.")
    assert warm.startswith(
        "Piece 1 lays with warmth: needs 6 % stretch, most at the front rim."
    )
    seam = step(Verdict.SEAM, "Seam needed: bunches 4.6 % by the spine.")
    assert seam.startswith("Before piece 1 is cut: a seam is needed, as it bunches 4.6 %")
    unsure = step(Verdict.UNSURE, "Cannot tell. No reading. Read every length 2 times.")
    assert "cannot tell. No reading. Read every length 2 times." in unsure
    refused = step(Verdict.FREE, "Lays freely.", refusal="It overlies itself.")
    assert refused == "Piece 1 cannot be cut so. It overlies itself."


def test_relief_cuts_are_told_apart_by_letters_with_width_and_hole():
    plan, rolls = cut_into()
    bench = bench_plan(plan, rolls)
    dome, plate = bench.panels
    (piece,) = plan.panels[0].pieces
    widths = [f"{relief.opening_mm:.1f}".rstrip("0").rstrip(".") for relief in piece.reliefs]
    for line, letter, width, cut in zip(
        dome.reliefs, "AB", widths, piece.relief_cuts, strict=True
    ):
        assert line.startswith(f"{letter}: piece 1, {cut.name}: ")
        assert f"in from {cut.start}, {width} mm wide there" in line
        assert f"a round hole {cut.hole_mm:g} mm across at its end" in line
    assert "its sides touch there" in plate.reliefs[0]
    assert "no hole at its end" in plate.reliefs[1]
    pages = bench_pages(bench)
    (first, second) = pages[1:3]
    assert {"A", "B"} <= {text.text for text in first.texts}
    assert {"A", "B"} <= {text.text for text in second.texts}
