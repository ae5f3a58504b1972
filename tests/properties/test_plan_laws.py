"""The laws of design on random panels, lines, colours and rules."""

from hypothesis import given, settings

from core.plan.model import Severity
from core.plan.plan import plan_job
from helpers.plan_laws import assert_lawful, sole_panels
from helpers.random_plans import Recipe, random_job, recipes


@settings(max_examples=100, deadline=None)
@given(recipes)
def test_every_plan_obeys_the_laws(recipe: Recipe) -> None:
    job = random_job(recipe)
    plan = plan_job(job)
    assert len(plan.panels) == sole_panels(job)
    for panel in plan.panels:
        if panel.regions:
            assert_lawful(panel)
        if not panel.pieces:
            assert any(f.severity is Severity.STOP for f in plan.findings)
