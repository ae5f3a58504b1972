import re
from dataclasses import replace

import pypdf
import pytest
from msgspec.structs import replace as changed
from shapely import box

from core.document.job import BlankCut, Units
from core.roll.cut_sequence import cut_sequence
from core.roll.model import FilmRolls, Item, Placement, RollPlan, Sheet, SheetPlan
from core.write.hand_cut import LAY_FOR_IT, cut_words, hand_cut_pages, hand_cut_pdf
from core.write.papers import SIZES_MM
from core.write.wording import BLANK_CUT_WORDS
from helpers.plans import hand_plan

ROLL = Sheet(id="r1", kind="roll", width_mm=1000.0, length_mm=2500.0, margin_mm=10.0)


def rolls_of(*rectangles) -> RollPlan:
    placements = tuple(
        Placement(Item(f"p{i}", 1, "p1L", f"Blank {i}", box(*r), None), 0.0, 0.0, 0.0)
        for i, r in enumerate(rectangles, 1)
    )
    used = max((r[2] for r in rectangles), default=0.0) + 10.0
    return RollPlan((FilmRolls("f1", (SheetPlan(ROLL, 5.0, placements, used, "quick"),), ()),))


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
