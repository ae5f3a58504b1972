"""How a judgement of shape is told on its card."""

from dataclasses import replace

from app.shape_words import how_all_lay, told, told_within
from core.plan.model import Finding, Severity
from core.plan.shape_check import PieceShape, ShapeReport, Verdict

DOME = PieceShape(
    piece="p1/1",
    panel="p1",
    label="Parcel dome",
    film="f1",
    verdict=Verdict.SEAM,
    sentence="Seam needed: bunches 4.6 % along the left shoulder; this film takes 1 %.",
    easy_pct=3.5,
    limit_pct=3.5,
    range_pct=7.5,
)


def test_a_card_says_once_that_a_seam_is_needed():
    words = told(DOME)
    assert words.head == "Seam needed"
    assert words.text == "Bunches 4.6 % along the left shoulder; this film takes 1 %."


def test_a_wrong_relief_cut_is_not_told_as_a_piece_that_cannot_lie():
    wrong = replace(DOME, verdict=Verdict.FREE, refusal="Along Relief cut 1 it overlies.")
    assert told(wrong).head == "Cannot be laid in one piece"
    assert told(replace(wrong, closes="e1")).head == "A relief cut is wrong"


def test_what_lies_past_the_grid_is_told_on_the_card_and_none_looks_sure():
    sure = replace(DOME, verdict=Verdict.FREE, sentence="Lays freely.")
    past = Finding("L704", Severity.NOTE, "30 % lies past its grid.", "p1")
    words = told_within(sure, ShapeReport((sure,), (past,)))
    assert (words.tone, words.head, words.text) == ("note", "Lays freely", past.text)
    elsewhere = ShapeReport((sure,), (replace(past, panel="p2"),))
    assert told_within(sure, elsewhere) == told(sure)
    assert told(sure).tone == "fine"


def test_pieces_that_do_not_surely_lay_are_counted_in_a_line():
    warm = replace(DOME, verdict=Verdict.WARM)
    unsure = replace(DOME, verdict=Verdict.UNSURE)
    assert how_all_lay([warm]) == ""
    assert how_all_lay([DOME, warm, DOME]) == "2 pieces will bunch: see Review"
    both = how_all_lay([DOME, unsure])
    assert both == "1 piece will bunch, of 1 piece it cannot be told: see Review"
    assert how_all_lay([unsure]) == "Of 1 piece it cannot be told: see Review"
