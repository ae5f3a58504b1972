"""Drawings put together on one page, each where it stands and at a scale of its own."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from core.write.drawing import Drawing, Layer, Look, Run, Shape, Text


@dataclass(frozen=True, slots=True)
class Placed:
    """A drawing on a page: its extent's lower left corner stands at ``at``, mm."""

    drawing: Drawing
    at: tuple[float, float] = (0.0, 0.0)
    scale: float = 1.0


def put_together(name: str, size_mm: tuple[float, float], content: Sequence[Placed]) -> Drawing:
    """Return one drawing of a page's size with all content, the first lowest.

    Texts of all parts stand above all shapes, as in any drawing. Backgrounds are left out:
    paper has its own.
    """
    layers: dict[str, Layer] = {}
    shapes: list[Shape] = []
    texts: list[Text] = []
    for placed in content:
        layers |= {layer.name: layer for layer in placed.drawing.layers}
        shapes += [_shape(shape, placed) for shape in placed.drawing.shapes]
        texts += [_text(text, placed) for text in placed.drawing.texts]
    extent = (0.0, 0.0, *size_mm)
    return Drawing(name, extent, tuple(layers.values()), tuple(shapes), tuple(texts))


def _shape(shape: Shape, placed: Placed) -> Shape:
    x0, y0, _, _ = placed.drawing.extent
    scale = placed.scale
    move = (placed.at[0] - x0 * scale, placed.at[1] - y0 * scale)
    runs = tuple(_run(run, scale, move) for run in shape.runs)
    return Shape(shape.layer, runs, shape.source, _look(shape.look, scale), shape.label)


def _run(run: Run, scale: float, move: tuple[float, float]) -> Run:
    points = run.points * scale
    points += move
    points.setflags(write=False)
    return Run(points, run.is_closed, run.is_opening)


def _look(look: Look, scale: float) -> Look:
    if scale == 1.0:
        return look
    dashes = tuple(length * scale for length in look.dash_mm)
    return replace(look, width_mm=look.width_mm * scale, dash_mm=dashes)


def _text(text: Text, placed: Placed) -> Text:
    x0, y0, _, _ = placed.drawing.extent
    scale = placed.scale
    at = (
        (text.at[0] - x0) * scale + placed.at[0],
        (text.at[1] - y0) * scale + placed.at[1],
    )
    return replace(text, at=at, height_mm=text.height_mm * scale)
