"""How many times each piece is planned to be cut: by difficulty, or by the user's word."""

from dataclasses import replace

from core.document.choices import Difficulty, PieceChoice
from core.document.film import Film
from core.document.job import Settings
from core.document.panel import Panel
from core.plan.memory import Memory
from core.plan.model import HardRule, PanelPlan
from core.shape.model import Window

HARD_SHARE = 0.5


def planned_tries(panel: Panel, settings: Settings) -> int:
    """Return the tries of a panel's pieces that nothing was decided about."""
    if panel.tries is not None:
        return panel.tries
    return settings.hard_tries if panel.difficulty is Difficulty.HARD else settings.tries


def hard_rule(panel: Panel, film: Film, settings: Settings) -> HardRule | None:
    """Return when a piece of a curved panel counts as hard; None where the user has said it.

    A piece is hard when it needs more than half the range of strain that its film takes cold
    (common practice, no source).
    """
    if panel.tries is not None or panel.difficulty is not None:
        return None
    window = Window(film.bunching_limit_pct, film.stretch_limit_pct)
    return HardRule(window.range_pct * HARD_SHARE, settings.hard_tries)


def with_choices(plan: PanelPlan, choices: tuple[PieceChoice, ...]) -> PanelPlan:
    """Return a panel's plan with the tries that were chosen for single pieces."""
    own = {c.piece: c.tries for c in choices if c.tries is not None}
    wanted = tuple(own.get(p.id) for p in plan.pieces)
    if not any(p.id in own for p in plan.pieces):
        return plan
    return _chosen.recall((plan,), wanted, lambda: _with_tries(plan, wanted))


_chosen: Memory[PanelPlan] = Memory(400)


def _with_tries(plan: PanelPlan, wanted: tuple[int | None, ...]) -> PanelPlan:
    pieces = zip(plan.pieces, wanted, strict=True)
    return replace(
        plan,
        pieces=tuple(p if n is None else replace(p, tries=n, hard=None) for p, n in pieces),
    )
