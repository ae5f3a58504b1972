"""The order of the work at the bench, on random panels: judged from the steps alone."""

import pytest
from hypothesis import given, settings

from core.document.lines import SeamCut
from core.plan.model import JobPlan
from core.plan.plan import plan_job
from core.plan.tape_plan import tape_plan
from core.roll.model import RollPlan
from core.write.bench_plan import PanelSheet, StepKind, bench_plan
from helpers.random_plans import Recipe, random_job, recipes

NO_ROLLS = RollPlan(films=())


@settings(max_examples=12, deadline=None)
@given(recipes)
def test_steps_come_in_order_and_tape_to_buy_is_all_runs_with_their_tails(
    recipe: Recipe,
) -> None:
    plan = plan_job(random_job(recipe))
    bench = bench_plan(plan, NO_ROLLS)
    panels = {panel.id: panel for panel in plan.panels}
    for sheet in bench.panels:
        panel = panels[sheet.panel]
        assert_pieces_in_lay_order(sheet, [piece.id for piece in panel.pieces])
        runs = {(run.stretch, run.piece) for run in sheet.tape}
        assert runs == {(run.stretch, run.piece) for run in panel.tape_runs}
        assert_tape_in_order(sheet)
    assert_tape_adds_up(plan)


def assert_pieces_in_lay_order(sheet: PanelSheet, pieces: list[str]) -> None:
    laid = [step.piece for step in sheet.steps if step.kind is StepKind.LAY]
    assert laid == pieces
    if laid:
        assert sheet.steps[-1].kind is StepKind.HEAT


def assert_tape_in_order(sheet: PanelSheet) -> None:
    at = {
        (step.kind, number): i
        for i, step in enumerate(sheet.steps)
        for number in step.runs
        if step.kind is not StepKind.LIFT
    }
    lays = {step.piece: i for i, step in enumerate(sheet.steps) if step.kind is StepKind.LAY}
    for run in sheet.tape:
        down, pulled = at[StepKind.TAPE, run.number], at[StepKind.PULL, run.number]
        laid = lays[run.piece]
        assert down < laid < pulled, "tape, then its piece, then its filament"
        later = [i for i in lays.values() if i > laid]
        assert all(pulled < i for i in later), "no piece is laid over a tail"
        lifted = [
            i
            for i, step in enumerate(sheet.steps)
            if step.kind is StepKind.LIFT and run.number in step.runs
        ]
        assert len(lifted) == 1
        assert pulled < lifted[0]


def assert_tape_adds_up(plan: JobPlan) -> None:
    tape = tape_plan(plan)
    along = sum(
        stretch.length_mm
        for panel in plan.panels
        for stretch in panel.stretches
        if stretch.cut is SeamCut.CUTTING_TAPE
    )
    ends = sum(2 * run.parts for run in tape.runs)
    assert tape.total_mm == pytest.approx(along + ends * plan.job.settings.tape_tail_mm)
    assert all(run.parts >= 1 for run in tape.runs)
