"""Accepted nests: made from a roll plan, brought back where they still hold."""

from core.document.accepted_nest import AcceptedNest, KeptPlacement, KeptSheet
from core.plan.model import JobPlan
from core.roll.model import FilmRolls, Placement, RollPlan
from core.roll.problem import FilmProblem
from core.roll.room import sheet_plan
from core.roll.sheets import assemble, settled_problems
from core.roll.verify import verify

KEPT = "kept"


def kept_nests(plan: JobPlan, rolls: RollPlan) -> tuple[AcceptedNest, ...]:
    """Return the roll plan's layouts as nests to keep in the job, one per film with pieces."""
    problems = {p.film_id: p for p in settled_problems(plan)}
    return tuple(
        nest_of(plan, problems[film.film], film)
        for film in rolls.films
        if any(s.placements for s in film.sheets)
    )


def nest_of(plan: JobPlan, problem: FilmProblem, rolls: FilmRolls) -> AcceptedNest:
    """Return one film's layout as a nest to keep in the job."""
    return AcceptedNest(
        variant=plan.variant.id,
        film=problem.film.id,
        fingerprint=problem.fingerprint,
        sheets=tuple(
            KeptSheet(stock=s.sheet.id, placements=tuple(_kept(p) for p in s.placements))
            for s in rolls.sheets
        ),
        # A nest on offcuts alone uses no roll; its length is then that of the offcuts.
        found_length_mm=rolls.used_length_mm or sum(s.used_length_mm for s in rolls.sheets),
    )


def _kept(p: Placement) -> KeptPlacement:
    return KeptPlacement(
        piece=p.item.piece,
        attempt=p.item.attempt,
        angle_deg=p.angle_deg,
        dx_mm=p.dx_mm,
        dy_mm=p.dy_mm,
    )


def find_nest(plan: JobPlan, problem: FilmProblem) -> AcceptedNest | None:
    """Return the nest kept for the plan's variant and the problem's film, or None."""
    kept = (n for n in plan.job.nests if n.variant == plan.variant.id)
    return next((n for n in kept if n.film == problem.film.id), None)


def restore_nest(problem: FilmProblem, nest: AcceptedNest) -> FilmRolls | str:
    """Return a kept nest as rolls, or a sentence why it no longer holds."""
    if nest.fingerprint != problem.fingerprint:
        return "its pieces, stock, gap or grain have changed since"
    items = {(i.piece, i.attempt): i for i in problem.items}
    sheets = {s.id: s for s in (*problem.stock, problem.buy)}
    plans = []
    for kept in nest.sheets:
        sheet = next((s for id_, s in sheets.items() if id_ == kept.stock), None)
        if sheet is None:
            return f"its sheet {kept.stock} is not in stock"
        placements = []
        for p in kept.placements:
            item = next((i for k, i in items.items() if k == (p.piece, p.attempt)), None)
            if item is None:
                return "a piece of it is gone"
            placements.append(Placement(item, p.angle_deg, p.dx_mm, p.dy_mm))
        plans.append(sheet_plan(sheet, problem.gap_mm, tuple(placements), KEPT))
    rolls = assemble(problem, plans)
    breaches = verify(problem, rolls)
    return f"it does not hold: {breaches[0]}" if breaches else rolls
