"""How many times each piece is planned to be cut: by difficulty, or by the user's word."""

from dataclasses import replace

from core.document.choices import Difficulty, PieceChoice
from core.document.job import Settings
from core.document.panel import Panel
from core.plan.memory import Memory
from core.plan.model import PanelPlan, Piece


def planned_tries(panel: Panel, settings: Settings) -> int:
    """Return the tries of a panel's pieces that nothing was decided about."""
    if panel.tries is not None:
        return panel.tries
    return settings.hard_tries if panel.difficulty is Difficulty.HARD else settings.tries


def with_choices(plan: PanelPlan, choices: tuple[PieceChoice, ...]) -> PanelPlan:
    """Return a panel's plan with the tries that were chosen for single pieces."""
    own = {c.piece: c.tries for c in choices if c.tries is not None}
    wanted = tuple(own.get(p.id, p.tries) for p in plan.pieces)
    if all(n == p.tries for n, p in zip(wanted, plan.pieces, strict=True)):
        return plan
    return _chosen.recall((plan,), wanted, lambda: _with_tries(plan, wanted))


_chosen: Memory[PanelPlan] = Memory(400)


def _with_tries(plan: PanelPlan, wanted: tuple[int, ...]) -> PanelPlan:
    pieces = zip(plan.pieces, wanted, strict=True)
    return replace(plan, pieces=tuple(_tried(p, n) for p, n in pieces))


def _tried(piece: Piece, tries: int) -> Piece:
    return piece if piece.tries == tries else replace(piece, tries=tries)
