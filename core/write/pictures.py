"""Pictures of panels as SVG or PNG, and how wide a PNG should be."""

import math
from collections.abc import Collection

from core.plan.model import JobPlan
from core.write.drawing import Drawing
from core.write.png import drawing_to_png
from core.write.scheme import scheme_drawing
from core.write.svg import drawing_to_svg

PNG_WIDTH_PX = 2000
_MOST_PX = 3_000_000


def png_width_px(drawing: Drawing, most_px: int = PNG_WIDTH_PX) -> int:
    """Return how wide a drawing's PNG should be: tall ones are narrower; none is huge."""
    x0, y0, x1, y1 = drawing.extent
    return max(1, min(most_px, int(math.sqrt(_MOST_PX * (x1 - x0) / (y1 - y0)))))


def panel_picture_png(plan: JobPlan, panels: Collection[str] | None = None) -> bytes:
    """Return the scheme as panel_picture_svg does, as a PNG."""
    drawing = scheme_drawing(plan, panels)
    return drawing_to_png(drawing, png_width_px(drawing))


def panel_picture_svg(plan: JobPlan, panels: Collection[str] | None = None) -> str:
    """Return the scheme of the panels whose copies' ids are given, or of all."""
    return drawing_to_svg(scheme_drawing(plan, panels))
