"""Moving what is drawn as a whole: turned, mirrored, scaled, shifted; exact for curves too."""

import cmath
import math
from dataclasses import dataclass

from msgspec.structs import replace

from core.document.edits.paths import reverse_path
from core.document.lines import Line, Seam, Side
from core.document.panel import Mark, Opening, Panel, Symmetry
from core.document.path import Path, Point
from core.document.surface import ScannedSurface, Surface
from core.document.variant import Scheme


@dataclass(frozen=True, slots=True)
class Placing:
    """An affine move: x' = xx x + xy y + dx, y' = yx x + yy y + dy."""

    xx: float = 1.0
    xy: float = 0.0
    yx: float = 0.0
    yy: float = 1.0
    dx: float = 0.0
    dy: float = 0.0

    @property
    def is_mirrored(self) -> bool:
        """Whether left and right change over."""
        return self.xx * self.yy - self.xy * self.yx < 0

    def point(self, at: Point) -> Point:
        """Return where a point comes to lie."""
        x, y = self.vector(at)
        return x + self.dx, y + self.dy

    def vector(self, step: Point) -> Point:
        """Return what becomes of a step."""
        x, y = step
        return self.xx * x + self.xy * y, self.yx * x + self.yy * y


def unit_at(angle_deg: float) -> complex:
    """Return the direction at an angle to x, as a complex number; quarters are exact."""
    turn = turned((0.0, 0.0), angle_deg)
    return complex(turn.xx, turn.yx)


def angle_of(step: complex) -> float:
    """Return the angle of a step to x, degrees from 0 to 360, whole ones exactly."""
    found = math.degrees(cmath.phase(step)) % 360
    nearest = round(found)
    return float(nearest % 360) if abs(found - nearest) < 1e-9 else found


def about(centre: Point, xx: float, xy: float, yx: float, yy: float) -> Placing:
    """Return the move with these factors that leaves a point where it is."""
    x, y = centre
    return Placing(xx, xy, yx, yy, x - xx * x - xy * y, y - yx * x - yy * y)


def turned(centre: Point, angle_deg: float) -> Placing:
    """Return a turn about a point, counter-clockwise; quarter turns are exact.

    >>> turned((0.0, 0.0), 90.0).point((2.0, 0.0))
    (0.0, 2.0)
    """
    quarters = angle_deg / 90
    if quarters == round(quarters):
        cos, sin = ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[round(quarters) % 4]
    else:
        cos, sin = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
    return about(centre, cos, -sin, sin, cos)


def mirrored(through: Point, angle_deg: float) -> Placing:
    """Return the mirroring about the line through a point at an angle to x."""
    turn = turned((0.0, 0.0), 2 * angle_deg)
    return about(through, turn.xx, turn.yx, turn.yx, -turn.xx)


def scaled(centre: Point, across: float, upright: float) -> Placing:
    """Return a scaling about a point, with a factor for each direction."""
    return about(centre, across, 0.0, 0.0, upright)


def place_path(path: Path, placing: Placing) -> Path:
    """Return the path moved, nodes in their order."""
    move = placing.vector
    return tuple(
        replace(
            node,
            at=placing.point(node.at),
            before=None if node.before is None else move(node.before),
            after=None if node.after is None else move(node.after),
        )
        for node in path
    )


def place_ring(ring: Path, placing: Placing) -> Path:
    """Return the ring moved; mirrored it is run the other way, so that its sense stays."""
    moved = place_path(ring, placing)
    return reverse_path(moved) if placing.is_mirrored else moved


def place_panel(panel: Panel, placing: Placing) -> Panel:
    """Return the panel with all that belongs to it moved within its frame.

    Sizes that were typed (edge turns, radii of marks) stay, and so does what was measured or
    scanned on the part, whatever the outline is scaled to. The flow arrow turns along, and so
    does the axis of a kept symmetry, unless the panel is scaled askew to it.
    """
    return replace(
        panel,
        outline=place_ring(panel.outline, placing),
        openings=tuple(place_opening(o, placing) for o in panel.openings),
        marks=tuple(place_mark(m, placing) for m in panel.marks),
        flow_deg=_placed_angle(panel.flow_deg, placing),
        symmetry=_placed_axis(panel.symmetry, placing),
        surface=None if panel.surface is None else place_surface(panel.surface, placing),
    )


def place_surface(surface: Surface, placing: Placing) -> Surface:
    """Return the surface tied to the map where it comes to lie; mirrored with it, if it is.

    Readings stay as they are: mirrored, what was on the left is on the right.
    """
    origin = placing.point(surface.origin)
    along = unit_at(surface.angle_deg)
    if isinstance(surface, ScannedSurface):
        # Its own mirroring leaves its y, so that shows how it was turned.
        up = complex(*placing.vector((-along.imag, along.real)))
        return replace(
            surface,
            origin=origin,
            angle_deg=angle_of(up / 1j),
            is_mirrored=surface.is_mirrored is not placing.is_mirrored,
        )
    spine = complex(*placing.vector((along.real, along.imag)))
    moved = replace(surface, origin=origin, angle_deg=angle_of(spine))
    if not placing.is_mirrored:
        return moved
    return replace(
        moved,
        offsets=tuple(row[::-1] for row in surface.offsets),
        lengths=tuple(row[::-1] for row in surface.lengths),
        to_left=surface.to_right,
        to_right=surface.to_left,
    )


def place_opening(opening: Opening, placing: Placing) -> Opening:
    """Return the opening moved."""
    return replace(opening, nodes=place_ring(opening.nodes, placing))


def place_mark(mark: Mark, placing: Placing) -> Mark:
    """Return the mark moved; its radius stays."""
    return replace(mark, path=tuple(placing.point(p) for p in mark.path))


def place_scheme(scheme: Scheme, placing: Placing) -> Scheme:
    """Return a scheme moved with its panel; stripes keep their width."""
    return replace(
        scheme,
        seams=tuple(place_line(s, placing) for s in scheme.seams),
        stripes=tuple(place_line(s, placing) for s in scheme.stripes),
        inlays=tuple(place_line(s, placing) for s in scheme.inlays),
        reliefs=tuple(place_line(s, placing) for s in scheme.reliefs),
        spots=tuple(replace(c, at=placing.point(c.at)) for c in scheme.spots),
    )


def place_line(line: Line, placing: Placing) -> Line:
    """Return a line moved; what lies on top stays the same film.

    A seam's sides change over when it is mirrored. A stripe or an inlay keeps itself on its
    left, whatever its direction.
    """
    moved = replace(line, nodes=place_path(line.nodes, placing))
    if not placing.is_mirrored or not isinstance(moved, Seam) or moved.rule.on_top is None:
        return moved
    other = Side.RIGHT if moved.rule.on_top is Side.LEFT else Side.LEFT
    return replace(moved, rule=replace(moved.rule, on_top=other))


def _placed_angle(angle_deg: float | None, placing: Placing) -> float | None:
    if angle_deg is None:
        return None
    arrow = unit_at(angle_deg)
    return angle_of(complex(*placing.vector((arrow.real, arrow.imag))))


def _placed_axis(axis: Symmetry | None, placing: Placing) -> Symmetry | None:
    """Return where an axis comes to lie; None where what was square to it is so no more."""
    if axis is None:
        return None
    along = unit_at(axis.angle_deg)
    moved = complex(*placing.vector((along.real, along.imag)))
    square = complex(*placing.vector((-along.imag, along.real)))
    lean = (moved.conjugate() * square).real
    if abs(lean) > 1e-9 * abs(moved) * abs(square):
        return None
    return Symmetry(through=placing.point(axis.through), angle_deg=angle_of(moved))
