"""What of a drawing lies in a window: lines are cut at its edge, so that no page holds all."""

from dataclasses import replace

import numpy as np
import shapely
from shapely import LineString

from core.write.drawing import Drawing, Extent, Run, Shape, open_run
from core.write.typeface import text_width_mm


def cropped(drawing: Drawing, window: Extent) -> Drawing:
    """Return the part of a drawing in a window, which becomes its extent.

    Lines are cut at the window; a shape with a fill stays whole where it reaches in at all, as
    whoever draws crops to the extent. Texts stay when their box reaches in.
    """
    shapes = []
    for shape in drawing.shapes:
        runs = shape.runs if shape.look.fill else _runs_in(shape, window)
        if runs and any(_reaches(run, window) for run in runs):
            shapes.append(replace(shape, runs=runs))
    texts = [t for t in drawing.texts if _text_reaches(t.at, t.text, t.height_mm, window)]
    return replace(drawing, extent=window, shapes=tuple(shapes), texts=tuple(texts))


def _runs_in(shape: Shape, window: Extent) -> tuple[Run, ...]:
    """Return a shape's lines as far as they lie in the window; runs wholly in stay as is."""
    x0, y0, x1, y1 = window
    runs: list[Run] = []
    for run in shape.runs:
        low, high = run.points.min(axis=0), run.points.max(axis=0)
        if low[0] >= x0 and low[1] >= y0 and high[0] <= x1 and high[1] <= y1:
            runs.append(run)
            continue
        points = np.vstack([run.points, run.points[:1]]) if run.is_closed else run.points
        inside = shapely.clip_by_rect(LineString(points), x0, y0, x1, y1)
        runs += [
            open_run(shapely.get_coordinates(part))
            for part in shapely.get_parts(shapely.line_merge(inside))
            if part.length > 0
        ]
    return tuple(runs)


def _reaches(run: Run, window: Extent) -> bool:
    (left, low), (right, high) = run.points.min(axis=0), run.points.max(axis=0)
    x0, y0, x1, y1 = window
    return bool(left <= x1 and right >= x0 and low <= y1 and high >= y0)


def _text_reaches(at: tuple[float, float], text: str, height_mm: float, window: Extent) -> bool:
    reach = text_width_mm(text, height_mm) + height_mm
    x0, y0, x1, y1 = window
    return x0 - reach <= at[0] <= x1 + reach and y0 - reach <= at[1] <= y1 + reach
