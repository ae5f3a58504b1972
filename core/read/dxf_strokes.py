"""DXF entities as strokes, seen from above.

Entities that lie in a plane of their own (an extrusion direction, an elevation) are drawn in
that plane and mapped; a mirrored plane, as some programs write it, comes out right.
"""

import math
from collections.abc import Callable, Iterator

from ezdxf.entities.arc import Arc
from ezdxf.entities.circle import Circle
from ezdxf.entities.dxfentity import DXFEntity
from ezdxf.entities.ellipse import Ellipse
from ezdxf.entities.line import Line
from ezdxf.entities.lwpolyline import LWPolyline
from ezdxf.entities.polyline import Polyline
from ezdxf.entities.spline import Spline
from ezdxf.math import OCS, BSpline, Matrix44, Vec3

from core.read.splines import span_curves
from core.read.strokes import (
    Affine,
    ArcTo,
    LineTo,
    Stroke,
    StrokeStep,
    bulge_step,
    circle_arc,
)

Bulged = tuple[complex, float]
_SPLINE_FRAME = 16
"""Flag of a polyline's vertex that only steers a fitted curve."""


class NotAStroke(Exception):  # noqa: N818 - named for what it says
    """The entity is not one that outlines a panel; the text says why."""


class View:
    """Looks at entities from above, through the blocks that they are placed by.

    Attributes:
        tolerance: for curves that are approximated, in the drawing's units.
    """

    def __init__(self, matrix: Matrix44, tolerance: float) -> None:
        self._matrix = matrix
        self.tolerance = tolerance

    def see(self, point: Vec3) -> complex:
        """Return where a point of the world of the entity is seen."""
        at = self._matrix.transform(point)
        return complex(at.x, at.y)

    def plane(self, ocs: OCS, elevation: float) -> Affine:
        """Return the map from an entity's own plane."""
        spots = (Vec3(0, 0, elevation), Vec3(1, 0, elevation), Vec3(0, 1, elevation))
        return Affine.from_frame(*(self.see(ocs.to_wcs(spot)) for spot in spots))


def entity_stroke(entity: DXFEntity, view: View) -> Stroke:
    """Return an entity as a stroke.

    Raises:
        NotAStroke: it is of another kind, or it has no length.
    """
    for kind, draw in _DRAWERS.items():
        if isinstance(entity, kind):
            stroke = draw(entity, view)
            if not stroke.steps:
                raise NotAStroke("it has no length")
            return stroke
    raise NotAStroke(REASONS.get(entity.dxftype(), "it does not outline anything"))


REASONS = {
    **dict.fromkeys(("TEXT", "MTEXT", "ATTRIB", "ATTDEF"), "texts are not outlines"),
    **dict.fromkeys(
        ("DIMENSION", "LEADER", "MULTILEADER", "TOLERANCE", "ARC_DIMENSION"),
        "dimensions are not outlines",
    ),
    **dict.fromkeys(("HATCH", "MPOLYGON", "SOLID", "TRACE", "WIPEOUT"), "a fill, not a line"),
    **dict.fromkeys(("POINT", "SHAPE"), "a mark without an outline"),
    **dict.fromkeys(("XLINE", "RAY"), "it has no end"),
    **dict.fromkeys(
        ("3DFACE", "MESH", "3DSOLID", "BODY", "REGION", "SURFACE"),
        "a solid, not a flat outline",
    ),
    **dict.fromkeys(("IMAGE", "OLE2FRAME", "PDFUNDERLAY", "UNDERLAY"), "a picture"),
    "MLINE": "a multiple line; explode it in the program that drew it",
    "HELIX": "it is not flat",
    "VIEWPORT": "a view, not a line",
    "ACAD_PROXY_ENTITY": "only the program that drew it can read it",
}


def _line(entity: Line, view: View) -> Stroke:
    start, end = view.see(entity.dxf.start), view.see(entity.dxf.end)
    steps = (LineTo(end),) if start != end else ()
    return Stroke(start, steps)


def _arc(entity: Arc, view: View) -> Stroke:
    start = math.radians(entity.dxf.start_angle)
    sweep = math.radians((entity.dxf.end_angle - entity.dxf.start_angle) % 360)
    return _round(entity, view, start, sweep or 2 * math.pi)


def _circle(entity: Circle, view: View) -> Stroke:
    return _round(entity, view, 0.0, 2 * math.pi)


def _round(entity: Circle, view: View, start_rad: float, sweep_rad: float) -> Stroke:
    centre, radius = entity.dxf.center, abs(entity.dxf.radius)
    if radius == 0:
        raise NotAStroke("it has no length")
    start, arc = circle_arc(complex(centre.x, centre.y), radius, start_rad, sweep_rad)
    is_closed = sweep_rad >= 2 * math.pi
    stroke = Stroke(start, (arc,), is_closed=is_closed)
    return stroke.mapped(view.plane(entity.ocs(), centre.z))


def _ellipse(entity: Ellipse, view: View) -> Stroke:
    centre = entity.dxf.center
    major, minor = entity.dxf.major_axis, entity.minor_axis
    middle = view.see(centre)
    u, v = view.see(centre + major) - middle, view.see(centre + minor) - middle
    start = entity.dxf.start_param
    sweep = (entity.dxf.end_param - start) % (2 * math.pi)
    is_closed = sweep < 1e-9 or 2 * math.pi - sweep < 1e-9
    sweep = 2 * math.pi if is_closed else sweep
    arc = ArcTo(middle, u, v, start, sweep, 0)
    first = arc.at(start)
    end = first if is_closed else arc.at(start + sweep)
    return Stroke(first, (ArcTo(middle, u, v, start, sweep, end),), is_closed=is_closed)


class _SeenSpline:
    """A B-spline as it is seen from above."""

    def __init__(self, spline: BSpline, view: View) -> None:
        self._spline, self._view = spline, view
        self._origin = view.see(Vec3(0, 0, 0))

    def at(self, t: float) -> tuple[complex, complex]:
        point, slope = self._spline.derivative(t, 1)
        return self._view.see(point), self._view.see(slope) - self._origin


def _spline(entity: Spline, view: View) -> Stroke:
    if entity.control_point_count() + entity.fit_point_count() < 2:
        raise NotAStroke("it has no length")
    spline = entity.construction_tool()
    knots = _distinct(spline)
    curve = _SeenSpline(spline, view)
    steps = tuple(span_curves(curve, knots, view.tolerance))
    return Stroke(curve.at(knots[0])[0], steps, is_closed=entity.closed)


def _distinct(spline: BSpline) -> list[float]:
    """Return the knots between which the curve runs, each once."""
    knots, degree = list(spline.knots()), spline.degree
    inner = knots[degree : len(knots) - degree]
    width = inner[-1] - inner[0]
    found = [inner[0]]
    for knot in inner[1:]:
        if knot - found[-1] > 1e-9 * width:
            found.append(knot)
    return found


def _lwpolyline(entity: LWPolyline, view: View) -> Stroke:
    points = [(complex(x, y), bulge) for x, y, bulge in entity.get_points("xyb")]
    stroke = bulged_stroke(points, is_closed=entity.closed)
    return stroke.mapped(view.plane(entity.ocs(), entity.dxf.elevation))


def _polyline(entity: Polyline, view: View) -> Stroke:
    if entity.is_polygon_mesh or entity.is_poly_face_mesh:
        raise NotAStroke("a mesh, not a flat outline")
    shown = [v for v in entity.vertices if not v.dxf.flags & _SPLINE_FRAME]
    if entity.is_3d_polyline:
        seen = [(view.see(v.dxf.location), 0.0) for v in shown]
        return bulged_stroke(seen, is_closed=entity.is_closed)
    places = [(v.dxf.location, v.dxf.bulge) for v in shown]
    points = [(complex(at.x, at.y), bulge) for at, bulge in places]
    elevation = entity.dxf.elevation.z if entity.dxf.hasattr("elevation") else 0.0
    stroke = bulged_stroke(points, is_closed=entity.is_closed)
    return stroke.mapped(view.plane(entity.ocs(), elevation))


def bulged_stroke(points: list[Bulged], *, is_closed: bool) -> Stroke:
    """Return a polyline whose points carry the bulge of the way to the next one."""
    if not points:
        raise NotAStroke("it has no length")
    return Stroke(
        points[0][0], tuple(_bulged_steps(points, is_closed=is_closed)), is_closed=is_closed
    )


def _bulged_steps(points: list[Bulged], *, is_closed: bool) -> Iterator[StrokeStep]:
    ends = [*points[1:], points[0]] if is_closed else points[1:]
    for (start, bulge), (end, _) in zip(points, ends, strict=False):
        if start != end:
            yield bulge_step(start, end, bulge)


_DRAWERS: dict[type[DXFEntity], Callable[..., Stroke]] = {
    Line: _line,
    Arc: _arc,  # before Circle: it is a kind of one
    Circle: _circle,
    Ellipse: _ellipse,
    Spline: _spline,
    LWPolyline: _lwpolyline,
    Polyline: _polyline,
}
