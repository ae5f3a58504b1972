"""A job whose pieces have relief cuts: notches on a curved panel, lines on a flat one."""

from functools import cache

from msgspec.structs import replace

from core.document.edits.surfaces import set_surface
from core.document.job import Job
from core.plan.model import JobPlan
from core.plan.plan import plan_job
from core.roll.model import RollPlan
from core.roll.rolls import roll_plan
from helpers.jobs import job_with, rect_panel, relief, scheme, seam, spot
from helpers.taped import BALL


def cut_into_job() -> Job:
    """A dome with two notches; a plate of two pieces, one with a bent line in it."""
    dome = scheme(
        "p1", relief("e1", [(0, 0), (130, 130)]), relief("e2", [(300, 600), (300, 480)])
    )
    plate = scheme(
        "p2",
        seam("s1", [(200, 0), (200, 300)]),
        spot("c1", 300, 100),
        relief("e3", [(0, 130), (90, 130), (120, 100)]),
        relief("e4", [(400, 300), (340, 220)], hole_mm=0.0),
    )
    panels = [
        rect_panel("p1", 600, 600, edge_turn_mm=12.0),
        rect_panel("p2", 400, 300, at=(800.0, 0.0), edge_turn_mm=8.0),
    ]
    job = job_with(panels, [dome, plate])
    return set_surface(job, "p1", replace(BALL.grid(), origin=(0.0, 300.0)))


@cache
def cut_into() -> tuple[JobPlan, RollPlan]:
    """Return its plan and rolls, made once."""
    plan = plan_job(cut_into_job())
    return plan, roll_plan(plan).rolls
