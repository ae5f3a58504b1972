import pytest

from core.document.edits.surfaces import set_surface
from core.errors import EditRefused
from core.plan.plan import plan_job
from core.plan.seam_proposals import question_for
from helpers.jobs import job_with, rect_panel
from helpers.taped import BALL


def test_no_seams_are_proposed_where_shoulders_were_not_measured() -> None:
    job = set_surface(job_with([rect_panel("p1", 600, 600)]), "p1", BALL.grid(lines=3))
    with pytest.raises(EditRefused, match="do not see the shoulders"):
        question_for(plan_job(job), "p1")
