"""What the window of proposals says of each."""

from dataclasses import replace

from shapely import LineString, box

from app.solid.seam_search import _card
from core.shape.proposals.model import LineKind, Proposal, ProposedLine
from helpers.jobs import job_with

PANEL = box(0, 0, 600, 400)
UPRIGHT = LineString([(200, 0), (200, 400)])
ASIDE = ProposedLine(LineKind.SEAM, LineString([(200, 150), (600, 150)]))
ENOUGH = Proposal((), "as drawn", (3.0, 2.0), 0.0, 1.0, 7.0, "The line: so.", drawn=(UPRIGHT,))


def test_what_is_drawn_already_has_nothing_to_draw():
    card = _card(ENOUGH, PANEL, job_with())
    assert card.button == ""
    assert card.lines == (UPRIGHT,)
    assert len(card.pieces) == 2
    assert [name for name, _ in card.rows] == ["Pieces", "Hardest piece needs"]


def test_a_seam_beside_what_is_drawn_shows_both():
    more = replace(ENOUGH, lines=(ASIDE,), ranges_pct=(3.0, 2.0, 2.0), seam_mm=400.0)
    card = _card(more, PANEL, job_with())
    assert card.button == "Draw this seam"
    assert card.lines == (UPRIGHT, ASIDE.path)
    assert len(card.pieces) == 3
    assert ("Pieces", "3") in card.rows
