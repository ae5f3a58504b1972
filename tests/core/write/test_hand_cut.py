import random
import re
from dataclasses import replace

import pypdf
import pytest
import shapely
from msgspec.structs import replace as changed
from shapely import Polygon, box

from core.document.job import BlankCut, Units
from core.roll.cut_sequence import cut_sequence
from core.roll.model import FilmRolls, Item, Placement, RollPlan, Sheet, SheetPlan
from core.write.hand_cut import (
    JOB_ENDS,
    LAY_FOR_IT,
    NO_JOB,
    cut_words,
    hand_cut_pages,
    hand_cut_pdf,
)
from core.write.hand_cut_numbers import CUT_INK
from core.write.papers import SIZES_MM
from core.write.typeface import text_width_mm
from core.write.wording import BLANK_CUT_WORDS
from helpers.plans import hand_plan

ROLL = Sheet(id="r1", kind="roll", width_mm=1000.0, length_mm=2500.0, margin_mm=10.0)


def rolls_of(*rectangles, retakes=(), sheet=ROLL) -> RollPlan:
    """Blanks on a sheet; those numbered in ``retakes`` are second tries."""
    placements = tuple(
        Placement(
            Item(f"p{i}", 2 if i in retakes else 1, "p1L", f"Blank {i}", box(*r), None),
            0.0,
            0.0,
            0.0,
        )
        for i, r in enumerate(rectangles, 1)
    )
    used = max((r[2] for r in rectangles), default=0.0) + 10.0
    return RollPlan((FilmRolls("f1", (SheetPlan(sheet, 5.0, placements, used, "quick"),), ()),))


TWO_ROWS = rolls_of((10, 10, 948, 618), (10, 625, 948, 990), (955, 10, 1500, 900))
PINWHEEL = rolls_of(
    (0, 0, 600, 300), (605, 0, 900, 600), (305, 605, 900, 900), (0, 305, 300, 900)
)


def lines_of(page) -> str:
    """All that is written on a page, lines that run over joined."""
    return " ".join(text.text for text in page.texts)


def test_cuts_are_told_in_order_with_where_to_measure():
    (page,) = hand_cut_pages(hand_plan(), TWO_ROWS)
    text = lines_of(page)
    told = re.findall(r"\d+ (Roll: \S+ at \S+ mm|Part \d: [a-z -]+ at \S+ mm)", text)
    assert told == [
        "Roll: cross-cut at 950 mm",
        "Part 1: slit at 620 mm",
        "Roll: cross-cut at 553 mm",
        "Part 2: trim with a slit at 903 mm",
    ]
    assert "frees Blank 1" in text
    assert "938 × 608 mm" in text, "each blank has its size in it"


def test_retakes_have_a_page_of_their_own_that_says_when_it_is_used():
    blanks = [(10, 10, 500, 900), (505, 10, 1000, 900), (1005, 10, 1400, 500)]
    job, retakes = hand_cut_pages(hand_plan(), rolls_of(*blanks, retakes={2, 3}))
    assert [JOB_ENDS in lines_of(page) for page in (job, retakes)] == [True, True]
    assert "the job ends here" in [t.text for t in job.texts], "marked on the film"
    told = [t.text for page in (job, retakes) for t in page.texts if t.text.startswith("Roll:")]
    assert told == [
        "Roll: cross-cut at 502 mm",
        "Roll: cross-cut at 500 mm",
        "Roll: cross-cut at 401 mm",
    ]
    assert "retake" not in " ".join(t.text for t in job.texts if "frees" in t.text)
    assert not [s for s in retakes.texts if s.text == "Blank 1"]
    (alone,) = hand_cut_pages(hand_plan(), rolls_of(*blanks[:2], retakes={1, 2}))
    assert NO_JOB in lines_of(alone)
    assert JOB_ENDS not in lines_of(alone)


def test_a_retake_that_needs_no_cut_of_its_own_is_shown_all_the_same():
    offcut = replace(ROLL, kind="offcut", length_mm=1000.0)
    rolls = rolls_of((0, 0, 500, 1000), (505, 0, 1000, 1000), retakes={2}, sheet=offcut)
    job, retakes = hand_cut_pages(hand_plan(), rolls)
    assert "Blank 1" in lines_of(job)
    assert "No cut is needed." in lines_of(retakes)
    assert "Blank 2, retake 1" in lines_of(retakes)


def test_an_odd_offcut_is_drawn_as_it_is_with_damage_hatched_and_trims_named():
    """An L of film: area by the shoelace formula 1400 × 900 less 800 × 500 mm."""
    outline = Polygon([(0, 0), (1400, 0), (1400, 400), (600, 400), (600, 900), (0, 900)])
    sheet = Sheet(
        id="k7",
        kind="offcut",
        width_mm=900.0,
        length_mm=1400.0,
        margin_mm=0.0,
        outline=outline,
        blocked=(box(420, 500, 600, 900),),
    )
    rolls = rolls_of((10, 10, 590, 390), (10, 400, 410, 890), (605, 10, 1000, 300), sheet=sheet)
    (page,) = hand_cut_pages(hand_plan(), rolls)
    text = lines_of(page)
    for said in ("1400 × 900 mm", "damaged", "trim", "900 mm", "1400 mm"):
        assert said in text
    films = [
        Polygon(s.runs[0].points)
        for s in page.shapes
        if s.look.stroke and s.runs[0].is_closed and len(s.runs[0].points) == 6
    ]
    (film,) = films
    x0, _, x1, _ = film.bounds
    assert film.area / ((x1 - x0) / 1400) ** 2 == pytest.approx(1400 * 900 - 800 * 500)
    cuts = [s for s in page.shapes if s.look.stroke == CUT_INK and not s.runs[0].is_closed]
    for shape in cuts:
        line = shapely.LineString(shape.runs[0].points)
        assert line.length < 3 or film.buffer(1e-6).contains(line), "no cut through thin air"


def covered(text) -> Polygon:
    """The rectangle of a text's capitals, from where it is anchored."""
    wide = text_width_mm(text.text, text.height_mm, is_bold=text.is_bold)
    left = {"start": 0.0, "middle": -wide / 2, "end": -wide}[text.anchor]
    flat = box(left, 0.0, left + wide, text.height_mm)
    turned = shapely.affinity.rotate(flat, text.angle_deg, origin=(0, 0))
    return shapely.affinity.translate(turned, *text.at)


def dense(seed: int):
    """Narrow blanks, two by two, in slabs of a roll, with retakes behind."""
    rng = random.Random(seed)
    x, blanks = 10.0, []
    for _ in range(rng.randint(3, 7)):
        wide, y = rng.uniform(70, 420), 10.0
        while y < 940:
            high = min(rng.uniform(45, 330), 990 - y)
            half = rng.uniform(0.3, 0.7) * wide
            blanks += [
                (x, y, x + half - 5, y + high - 5),
                (x + half, y, x + wide, y + high - 5),
            ]
            y += high
        x += wide + 5
    return rolls_of(*blanks, retakes=set(range(2 * len(blanks) // 3, len(blanks) + 1)))


@pytest.mark.parametrize("seed", range(4))
def test_nothing_that_is_written_covers_anything_else(seed):
    """Texts against texts, and the discs of cuts against each other."""
    for page in hand_cut_pages(hand_plan(), dense(seed)):
        texts = [covered(t) for t in page.texts]
        tree = shapely.STRtree(texts)
        one, other = tree.query(texts, predicate="intersects")
        hits = [
            (page.texts[i].text, page.texts[j].text)
            for i, j in zip(one, other, strict=True)
            if i < j and texts[i].intersection(texts[j]).area > 0.02
        ]
        assert hits == []
        discs = [
            Polygon(s.runs[0].points)
            for s in page.shapes
            if s.look.stroke == CUT_INK and s.look.fill
        ]
        a, b = shapely.STRtree(discs).query(discs, predicate="intersects")
        assert not [1 for i, j in zip(a, b, strict=True) if i < j]
        assert min(t.height_mm for t in page.texts) >= 1.1, "read at arm's length"


def test_what_cannot_be_cut_edge_to_edge_is_said():
    (page,) = hand_cut_pages(hand_plan(), PINWHEEL)
    text = lines_of(page)
    assert "cannot be parted by cuts from edge to edge" in text
    for i in range(1, 5):
        assert f"Blank {i}" in text
    choice = BLANK_CUT_WORDS[BlankCut.ALL_STRAIGHT]
    for way_out in (LAY_FOR_IT, f"Blanks are cut: {choice}"):
        assert way_out in text
    plan = hand_plan()
    settings = changed(plan.job.settings, blank_cut=BlankCut.ALL_STRAIGHT)
    plan = replace(plan, job=changed(plan.job, settings=settings))
    (page,) = hand_cut_pages(plan, PINWHEEL)
    assert LAY_FOR_IT not in lines_of(page), "it is laid for it already"


@pytest.mark.parametrize("paper", list(SIZES_MM))
def test_each_sheet_is_one_page_of_the_paper_on_its_side(paper, tmp_path):
    pages = hand_cut_pages(hand_plan(), TWO_ROWS, paper)
    (tmp_path / "a.pdf").write_bytes(hand_cut_pdf(pages))
    (page,) = pypdf.PdfReader(tmp_path / "a.pdf").pages
    width, height = SIZES_MM[paper]
    size = (float(page.mediabox.width) / 72 * 25.4, float(page.mediabox.height) / 72 * 25.4)
    assert size == pytest.approx((height, width), abs=0.01)


@pytest.mark.parametrize("count", [0, 1, 60])
def test_all_stays_on_the_page_however_many_cuts(count):
    grid = [
        (10 + 82 * (i // 6), 10 + 160 * (i % 6), 85 + 82 * (i // 6), 160 + 160 * (i % 6))
        for i in range(count)
    ]
    for page in hand_cut_pages(hand_plan(), rolls_of(*grid)):
        x0, y0, x1, y1 = page.extent
        assert all(x0 <= t.at[0] <= x1 and y0 <= t.at[1] <= y1 for t in page.texts)
        told = [t for t in page.texts if "-cut at" in t.text or "slit at" in t.text]
        assert len(told) >= count


def test_a_sheet_without_pieces_has_no_page():
    assert hand_cut_pages(hand_plan(), rolls_of()) == ()


def test_lengths_are_shown_in_the_job_s_units():
    sheet = TWO_ROWS.films[0].sheets[0]
    first = cut_sequence(sheet).cuts[0]
    assert cut_words(first, sheet, Units.IN) == "Roll: cross-cut at 37.402 in"
    offcut = replace(sheet, sheet=replace(sheet.sheet, kind="offcut"))
    assert cut_words(first, offcut, Units.CM) == "Offcut: cross-cut at 95 cm"
