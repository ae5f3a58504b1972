"""What the window of proposals says of each."""

from dataclasses import replace

from shapely import LineString, box

from app.solid.seam_search import _card
from core.plan.proposal_check import Laid
from core.plan.shape_check import PieceShape, Verdict
from core.shape.proposals.model import LineKind, Proposal, ProposedLine
from helpers.jobs import job_with

PANEL = box(0, 0, 600, 400)
UPRIGHT = LineString([(200, 0), (200, 400)])
ASIDE = ProposedLine(LineKind.SEAM, LineString([(200, 150), (600, 150)]))
STRIPE = ProposedLine(LineKind.STRIPE, LineString([(300, 0), (300, 400)]), 90.0)
ENOUGH = Proposal((), "as drawn", (3.0, 2.0), 0.0, 1.0, 7.0, "The line: so.", drawn=(UPRIGHT,))
EASY = PieceShape(
    piece="p1/1",
    panel="p1",
    label="Hood 1",
    film="f1",
    verdict=Verdict.FREE,
    sentence="Lays freely.",
    easy_pct=7.1,
    limit_pct=12.2,
    range_pct=3.0,
)
WARM = replace(EASY, verdict=Verdict.WARM, range_pct=8.7)


def laid(*shapes):
    areas = tuple(
        (box(200 * i, 0, 200 * (i + 1), 400), shape) for i, shape in enumerate(shapes)
    )
    return Laid(shapes, areas)


def test_what_is_drawn_already_has_nothing_to_draw():
    card = _card(ENOUGH, laid(EASY, EASY), PANEL, job_with())
    assert card.button == ""
    assert card.lines == (UPRIGHT,)
    assert len(card.pieces) == 2
    assert [name for name, _ in card.rows] == [
        *("Pieces", "Hardest piece", "Range it needs", "Its film takes")
    ]


def test_a_seam_beside_what_is_drawn_shows_both():
    more = replace(ENOUGH, lines=(ASIDE,), ranges_pct=(3.0, 2.0, 2.0), seam_mm=400.0)
    card = _card(more, laid(EASY, EASY, EASY), PANEL, job_with())
    assert card.button == "Draw this seam"
    assert card.lines == (UPRIGHT, ASIDE.path)
    assert ("Pieces", "3") in card.rows


def test_a_card_says_whether_warmth_is_needed_and_shows_where():
    card = _card(ENOUGH, laid(EASY, WARM), PANEL, job_with())
    assert ("Hardest piece", "lays with warmth") in card.rows
    assert ("Range it needs", "8.7 %") in card.rows
    assert ("Its film takes", "7.1 cold, 12.2 warm") in card.rows
    assert [piece.tone for piece in card.pieces] == ["fine", "note"]
    assert card.note == ""
    rigid = replace(WARM, verdict=Verdict.SEAM, range_pct=9.0, easy_pct=3.5, limit_pct=3.5)
    card = _card(ENOUGH, laid(rigid), PANEL, job_with())
    assert ("Its film takes", "3.5 %") in card.rows
    assert (card.pieces[0].tone, "too much" in card.note) == ("warn", True)
    unsure = replace(EASY, verdict=Verdict.UNSURE, sentence="Cannot tell. Read it twice.")
    assert _card(ENOUGH, laid(unsure), PANEL, job_with()).note == "Read it twice."


def test_a_button_says_all_that_it_draws():
    def words(*lines):
        proposal = replace(ENOUGH, lines=lines)
        return _card(proposal, laid(EASY), PANEL, job_with()).button

    assert words(STRIPE) == "Draw the stripe"
    assert words(STRIPE, ASIDE) == "Draw the stripe and the seam"
    assert words(STRIPE, ASIDE, ASIDE) == "Draw the stripe and the seams"
    assert words(ASIDE, ASIDE) == "Draw these seams"
