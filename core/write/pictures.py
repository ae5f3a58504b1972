"""Pictures as text of an SVG file: a scheme of panels, the rolls of a film."""

from collections.abc import Collection

from core.document.job import Job
from core.plan.model import JobPlan
from core.roll.model import FilmRolls
from core.write.roll_picture import roll_drawing
from core.write.scheme import scheme_drawing
from core.write.svg import drawing_to_svg

PNG_WIDTH_PX = 2000


def panel_picture_svg(plan: JobPlan, panels: Collection[str] | None = None) -> str:
    """Return the scheme of the panels whose copies' ids are given, or of all."""
    return drawing_to_svg(scheme_drawing(plan, panels))


def roll_picture_svg(rolls: FilmRolls, job: Job) -> str:
    """Return the picture of one film's sheets."""
    return drawing_to_svg(roll_drawing(rolls, job))
