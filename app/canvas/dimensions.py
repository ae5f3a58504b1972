"""Kept dimensions as they are shown: where their lines run, and what they say."""

from app.canvas.items.drafting import ShownDimension
from core.document.edits.drafting import dimension_line, ends_of, measure
from core.document.job import Job
from core.document.path import Point
from core.units import format_length


def shown_dimensions(job: Job, variant: str) -> tuple[ShownDimension, ...]:
    """Return the dimensions that a variant shows; those on hidden panels are not shown."""
    hidden = {panel.id for panel in job.panels if panel.is_hidden}
    shown = []
    for one in job.dimensions:
        ends = ends_of(job, variant, one)
        if ends is not None and not {one.start.panel, one.end.panel} & hidden:
            shown.append(shown_dimension(job, one.id, ends, one.offset_mm))
    return tuple(shown)


def shown_dimension(
    job: Job, name: str, ends: tuple[Point, Point], offset_mm: float
) -> ShownDimension:
    """Return one dimension ready to draw."""
    length = format_length(measure(*ends).length_mm, job.units)
    return ShownDimension(name, *ends, dimension_line(*ends, offset_mm), length)
