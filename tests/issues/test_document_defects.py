"""Defects once found in core/document: each of these tests has failed."""

import pytest

from core.document.edits.outlines import middle_axis, mirror_panel
from core.errors import EditRefused
from helpers.jobs import inlay, job_with, rect_panel, scheme


def test_what_mirroring_would_carry_past_the_limit_of_a_job_is_refused():
    """The job was changed, and could not be saved any more."""
    panel = rect_panel("p1", 56_960, 100)
    far = inlay("i1", [(0, 0), (-943_041, 0), (0, 50)])
    job = job_with([panel], [scheme("p1", far)])
    with pytest.raises(EditRefused, match="1000000"):
        mirror_panel(job, "p1", middle_axis(panel, is_level=False))
