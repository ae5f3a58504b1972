"""What is drawn on a piece with a pen: its label with arrows, match ticks, centre marks.

A label stands inside its piece: panel, side and place in the lay order; film; of how many
pieces, and whether it is mirrored. The *flow arrow* has two heads and points along the panel's
flow; the *up arrow* stands on a bar and points to the upper side of the panel as drawn.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

import shapely
from shapely import LineString, Polygon

from core.plan.model import PanelPlan, Piece
from core.shape.relief import opened
from core.write.drawing import Layer, Purpose, Run, Shape, Text, open_run
from core.write.label_room import roomy_point
from core.write.labels import BlockSize, LabelSpot, fit_block

TICKS = Layer("MATCH-TICKS", Purpose.TICK)
CENTRES = Layer("CENTRE-MARKS", Purpose.CENTRE)
LABELS = Layer("PIECE-LABELS", Purpose.LABEL)

CENTRE_MARK_MM = 6.0
"""Length of a centre mark, from the piece's edge inwards."""
_CHARACTER = 1.0
"""Width of a character at capital height 1 in the plain fonts of plotters: a safe guess."""
_LINE = 1.6
_LEAST_MM, _MOST_MM, _ENOUGH_MM = 3.0, 10.0, 5.0
_ARROW = 2.2
_SPACE = 0.8


@dataclass(frozen=True, slots=True)
class LaidPiece:
    """One try of a piece as it lies on a sheet.

    Attributes:
        order: its place in its panel's lay order, of ``count`` pieces.
        is_mirrored: whether its panel is the mirrored one of a pair.
        is_from_liner: whether it is cut from the liner side.
        up_deg: where the panel's upper side is.
        inner_cuts: relief cuts in it that have no width.
        flow_deg: along which the panel's flow runs, or None when it has none.
    """

    source: str
    label: str
    film: str
    order: int
    count: int
    is_mirrored: bool
    is_from_liner: bool
    cut: Polygon
    ticks: tuple[LineString, ...]
    centres: tuple[LineString, ...]
    up_deg: float
    flow_deg: float | None
    inner_cuts: tuple[LineString, ...] = ()

    @property
    def words(self) -> str:
        """What the label says besides its name and film."""
        words = [f"lay {self.order} of {self.count}"]
        words += ["mirrored"] if self.is_mirrored else []
        words += ["cut from liner"] if self.is_from_liner else []
        return ", ".join(words)


def centre_marks(panel: PanelPlan, piece: Piece) -> Iterator[LineString]:
    """Yield short lines where the panel's centre lines cross the edge of a piece.

    The centre lines stand upright and level in the middle of the panel's outline, so that a
    piece is laid to lines drawn on the part. On a curved part these are the map's lines.
    """
    area = piece.cut
    if piece.development is not None:
        area = opened(piece.final, [cut.path for cut in piece.relief_cuts])
    x0, y0, x1, y1 = panel.outline.bounds
    px0, py0, px1, py1 = area.bounds
    cx, cy = (x0 + x1) / 2, (y0 + y1) / 2
    lines = []
    if px0 < cx < px1:
        lines.append(LineString([(cx, py0 - 1), (cx, py1 + 1)]))
    if py0 < cy < py1:
        lines.append(LineString([(px0 - 1, cy), (px1 + 1, cy)]))
    for line in lines:
        for part in shapely.get_parts(shapely.intersection(line, area)):
            for end in _ends(part):
                yield piece.on_film(end)


def _ends(chord: LineString) -> Iterator[LineString]:
    """Yield both ends of a chord, or all of a short one."""
    if not isinstance(chord, LineString) or chord.length < 1.0:
        return
    if chord.length <= 2 * CENTRE_MARK_MM:
        yield chord
        return
    (ax, ay), (bx, by) = chord.coords[0], chord.coords[-1]
    dx, dy = (CENTRE_MARK_MM / chord.length * d for d in (bx - ax, by - ay))
    yield LineString([(ax, ay), (ax + dx, ay + dy)])
    yield LineString([(bx, by), (bx - dx, by - dy)])


def piece_label(one: LaidPiece) -> tuple[list[Text], list[Shape]]:
    """Return the largest label that fits: in full with arrows, then ever shorter ones."""
    arrows = 1 + (one.flow_deg is not None)
    full = [one.label, one.film, one.words]
    short = [one.label, one.words]
    tries = ((full, arrows), (short, arrows), ([one.label], arrows), ([one.label], 0))
    for lines, count in tries:
        head = count * (_ARROW + _SPACE)
        width = max(map(len, lines)) * _CHARACTER + head
        size = BlockSize(width + 1.0, max(len(lines) * _LINE, _ARROW if count else 0) + 0.6)
        spot = fit_block(one.cut, size, _LEAST_MM, _MOST_MM, _ENOUGH_MM)
        if spot is not None:
            return _set_block(one, lines, width, spot, has_arrows=bool(count))
    number = str(one.order)
    spot = fit_block(one.cut, BlockSize(len(number) + 0.4, 1.4), _LEAST_MM, _MOST_MM)
    least = LabelSpot(roomy_point(one.cut), 0.0, _LEAST_MM)
    return _set_block(one, [number], len(number), spot or least, has_arrows=False)


def _set_block(
    one: LaidPiece, lines: list[str], width: float, spot: LabelSpot, *, has_arrows: bool
) -> tuple[list[Text], list[Shape]]:
    """Set lines in a spot, with arrows before them if wanted."""
    h, angle = spot.height_mm, math.radians(spot.angle_deg)
    c, s = math.cos(angle), math.sin(angle)

    def place(x: float, y: float) -> tuple[float, float]:
        return (spot.centre[0] + c * x - s * y, spot.centre[1] + s * x + c * y)

    left = -width * h / 2
    shapes: list[Shape] = []
    if has_arrows:
        arrows = [(one.up_deg, up_arrow)]
        if one.flow_deg is not None:
            arrows.append((one.flow_deg, flow_arrow))
        for degrees, draw in arrows:
            shape = draw(place(left + _ARROW * h / 2, 0.0), _ARROW * h, degrees)
            shapes.append(replace(shape, source=one.source, label=one.label))
            left += (_ARROW + _SPACE) * h
    top = (len(lines) - 1) * _LINE * h / 2
    texts = [
        Text(
            LABELS.name,
            line,
            place(left, top - i * _LINE * h - h / 2),
            h,
            spot.angle_deg,
            source=one.source,
        )
        for i, line in enumerate(lines)
    ]
    return texts, shapes


def flow_arrow(middle: tuple[float, float], length: float, angle_deg: float) -> Shape:
    """Return an arrow with two heads, one behind the other, in one stroke from its tail."""
    stroke = [(-0.5, 0.0), *_head(0.2), *_head(0.5)]
    return Shape(LABELS.name, _strokes(middle, length, angle_deg, [stroke]))


def up_arrow(middle: tuple[float, float], length: float, angle_deg: float) -> Shape:
    """Return an arrow that stands on a bar, in one stroke from its foot."""
    bar = [(-0.5, 0.0), (-0.5, 0.25), (-0.5, -0.25), (-0.5, 0.0)]
    return Shape(LABELS.name, _strokes(middle, length, angle_deg, [[*bar, *_head(0.5)]]))


def _head(tip: float) -> list[tuple[float, float]]:
    """Return the stroke of an arrow's head, to the tip and back to it after each side."""
    return [(tip, 0.0), (tip - 0.3, 0.18), (tip, 0.0), (tip - 0.3, -0.18), (tip, 0.0)]


def arrow_shape(
    layer: str, middle: tuple[float, float], length: float, angle_deg: float
) -> Shape:
    """Return an arrow as lines: a shaft and a head of two strokes."""
    lines = [[(-0.5, 0.0), (0.5, 0.0)], [(0.2, 0.18), (0.5, 0.0), (0.2, -0.18)]]
    return Shape(layer, _strokes(middle, length, angle_deg, lines))


def _strokes(
    middle: tuple[float, float],
    length: float,
    angle_deg: float,
    lines: list[list[tuple[float, float]]],
) -> tuple[Run, ...]:
    """Return lines drawn for length 1 along x, sized, turned and moved."""
    a = math.radians(angle_deg)
    c, s = math.cos(a) * length, math.sin(a) * length
    return tuple(
        open_run([(middle[0] + c * x - s * y, middle[1] + s * x + c * y) for x, y in line])
        for line in lines
    )
