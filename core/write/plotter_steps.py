"""What is done to a plotter's drawing before it is written, a step at a time."""

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely
from shapely import LineString

from core.write.drawing import Drawing, Layer, Purpose, Run, Shape, Text, closed_run

WEED = Layer("WEED-BOX", Purpose.WEED)
WEED_MM = 5.0
"""How far the weed box stands off the pieces."""
_INSIDE_MM = 1.0
"""How far it stays inside the sheet's edge."""


def with_weed_box(drawing: Drawing) -> Drawing:
    """Return the drawing with a rectangle to be cut round all that is cut.

    Degenerate input: a drawing without cuts is returned as it is.
    """
    runs = [run.points for shape in drawing.shapes_for(Purpose.CUT) for run in shape.runs]
    if not runs:
        return drawing
    points = np.vstack(runs)
    x0, y0, x1, y1 = drawing.extent
    low = np.maximum(points.min(axis=0) - WEED_MM, (x0 + _INSIDE_MM, y0 + _INSIDE_MM))
    high = np.minimum(points.max(axis=0) + WEED_MM, (x1 - _INSIDE_MM, y1 - _INSIDE_MM))
    low, high = np.minimum(low, points.min(axis=0)), np.maximum(high, points.max(axis=0))
    (a, b), (c, d) = low.tolist(), high.tolist()
    box = Shape(WEED.name, (closed_run([(a, b), (c, b), (c, d), (a, d)]),), label="weed box")
    return replace(drawing, layers=(*drawing.layers, WEED), shapes=(*drawing.shapes, box))


def mirrored(drawing: Drawing) -> Drawing:
    """Return the drawing mirrored across the feed, as film is seen from its liner side.

    Texts move with what they stand on and stay readable; arrows keep what they point at.
    """
    _, y0, _, y1 = drawing.extent
    both = y0 + y1

    def turned(run: Run) -> Run:
        points = run.points * (1.0, -1.0) + (0.0, both)
        return replace(run, points=points[::-1] if run.is_closed else points)

    return replace(
        drawing,
        shapes=tuple(
            replace(s, runs=tuple(turned(run) for run in s.runs)) for s in drawing.shapes
        ),
        texts=_mirrored_texts(drawing.texts, both),
    )


def _mirrored_texts(texts: Sequence[Text], both: float) -> tuple[Text, ...]:
    """Return texts mirrored; the lines of one label are read from the top down again."""
    lines: dict[tuple[str, str], list[Text]] = {}
    for text in texts:
        lines.setdefault((text.layer, text.source), []).append(text)
    return tuple(
        replace(_mirrored_text(place, both), text=line.text)
        for block in lines.values()
        for place, line in zip(block[::-1], block, strict=True)
    )


def _mirrored_text(text: Text, both: float) -> Text:
    """Return a line whose foot is where the mirror shows its top."""
    angle = math.radians(text.angle_deg)
    x = text.at[0] - math.sin(angle) * text.height_mm
    y = text.at[1] + math.cos(angle) * text.height_mm
    return replace(text, at=(x, both - y), angle_deg=-text.angle_deg)


def thinned(drawing: Drawing, within_mm: float) -> Drawing:
    """Return the drawing with fewer points in its cuts, none farther off than a distance.

    Degenerate input: a distance of 0 or less returns the drawing as it is; a ring that would
    lose its shape keeps its points.
    """
    if within_mm <= 0.0:
        return drawing

    def fewer(run: Run) -> Run:
        points = np.vstack([run.points, run.points[:1]]) if run.is_closed else run.points
        line = shapely.simplify(LineString(points), within_mm, preserve_topology=False)
        kept = shapely.get_coordinates(line)
        kept = kept[:-1] if run.is_closed else kept
        return replace(run, points=kept) if len(kept) >= (3 if run.is_closed else 2) else run

    shapes = tuple(
        replace(s, runs=tuple(map(fewer, s.runs))) if drawing.purpose(s.layer).is_cut else s
        for s in drawing.shapes
    )
    return replace(drawing, shapes=shapes)
