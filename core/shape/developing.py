"""The flat film shape of an area of a panel: what becomes of film that is laid on it."""

import itertools

import numpy as np
import shapely
from scipy.interpolate import CubicSpline
from shapely import LineString, Polygon

from core.errors import GeometryError
from core.progress import Progress
from core.shape.clip import TARGET_TRIANGLES, network_over
from core.shape.elements import elements_of
from core.shape.energies import Membrane
from core.shape.flattening import (
    QUICK_FREE_PATIENCE,
    as_complex,
    as_points,
    first_layout,
    laying_of,
    relaxed,
)
from core.shape.judging import QUICK_DOUBLINGS, QUICK_PATIENCE, range_of, worked
from core.shape.locating import locator_of
from core.shape.meshing import AreaMesh, RimRing, mesh_area
from core.shape.model import Development, FilmCut, Laying, Network, Points
from core.shape.relief import opened, without_cuts
from core.shape.threads import one_thread

_TOUCH_SHARE = 1e-3
_STEP_SHARE = 0.2
"""The outline's points are at most this share of a triangle's side apart."""


def develop(
    network: Network,
    area: Polygon,
    *,
    target_triangles: int = TARGET_TRIANGLES,
    progress: Progress | None = None,
    cuts: tuple[LineString, ...] = (),
) -> Development:
    """Return the flat film shape of an area of a panel's map.

    Laps and edge turns belong to the area: past the network's rim the surface runs on.

    Args:
        network: the panel's whole surface.
        area: what the film is to cover, in the map.
        target_triangles: about how many triangles to reckon with.
        progress: asked now and then whether to stop.
        cuts: relief cuts, each from the area's rim to its inner end.

    Raises:
        GeometryError: an area without width, or one that overlies itself when it is laid flat.
        Cancelled: the user stopped it.
    """
    mesh = mesh_area(opened(area, cuts), target_triangles)
    return develop_piece(mesh, network_over(network, mesh), progress, cuts)


def develop_piece(
    mesh: AreaMesh,
    piece: Network,
    progress: Progress | None = None,
    cuts: tuple[LineString, ...] = (),
) -> Development:
    """Return the flat film shape of an area whose triangles are measured already.

    Args:
        mesh: of the area, opened along the cuts.
        piece: its triangles on the surface.
        progress: asked now and then whether to stop.
        cuts: relief cuts, each from the area's rim to its inner end.

    Raises:
        GeometryError: the film would overlie itself.
        Cancelled: the user stopped it.
    """
    elements = elements_of(piece)
    with one_thread():
        start = first_layout(piece, elements)
        free = relaxed(elements, Membrane(), start, progress, QUICK_FREE_PATIENCE)
        best = worked(elements, free, progress, QUICK_DOUBLINGS, QUICK_PATIENCE)
    laying = laying_of(piece, elements, free)
    outline, film_cuts = _outline(mesh, laying, cuts)
    return Development(
        outline=outline,
        network=piece,
        laying=laying,
        range_pct=range_of(elements.strains(best), elements.areas),
        cuts=film_cuts,
    )


def to_film(development: Development, points: Points) -> Points:
    """Return where points of the map lie in the flat film, shape (k, 2).

    Points outside the development's network run on with its nearest triangle.
    """
    network, film = development.network, development.laying.points
    chosen, shares = locator_of(network).triangles_at(np.asarray(points, dtype=np.float64))
    return np.asarray(np.einsum("ki,kij->kj", shares, film[network.triangles[chosen]]))


def _outline(
    mesh: AreaMesh, laying: Laying, cuts: tuple[LineString, ...]
) -> tuple[Polygon, tuple[FilmCut, ...]]:
    """Return the film shape of the area: its own rings, moved as their vertices are.

    Where a relief cut opens, its notch is taken out; where it does not, its banks are one line,
    which is no part of the outline.
    """
    moves = as_complex(laying.points - mesh.points)
    rings: list[Points] = []
    found: dict[int, FilmCut] = {}
    for ring in mesh.rings:
        kept, banks = without_cuts(*_moved(ring, moves), cuts)
        rings.append(kept)
        found |= banks
    if len(found) < len(cuts):
        raise GeometryError(
            "A relief cut does not open the film.", mend="Let it start at the rim."
        )
    outline = Polygon(rings[0], rings[1:])
    if not outline.is_valid:
        outline = _without_touches(outline)
    film_cuts = tuple(found[i] for i in range(len(cuts)))
    notches = [cut.notch for cut in film_cuts if cut.is_open]
    if notches:
        outline = _without_touches(shapely.difference(outline, shapely.union_all(notches)))
    return shapely.orient_polygons(outline), film_cuts


def _without_touches(outline: shapely.Geometry) -> Polygon:
    """Return an outline that touches itself as one that does not; refuse one that overlaps."""
    parts = shapely.get_parts(shapely.make_valid(outline, method="structure"))
    largest = max(parts, key=lambda part: float(part.area))
    least = (1 - _TOUCH_SHARE) * float(shapely.area(outline))
    if not isinstance(largest, Polygon) or largest.area < least:
        raise GeometryError(
            "The film overlies itself when it is laid flat.", mend="Divide it with a seam."
        )
    return largest


def _moved(ring: RimRing, moves: np.ndarray) -> tuple[Points, Points]:
    """Move a ring smoothly between its corners, as its vertices are moved.

    Returns:
        Points along the ring, and where they come to lie.
    """
    total = ring.lengths[-1]
    apart = total / len(ring.vertex_lengths) * _STEP_SHARE
    closed = shapely.segmentize(shapely.LinearRing(ring.points), max(apart, 1.0))
    points = np.asarray(closed.coords)[:-1]
    steps = np.diff(np.vstack((points, points[:1])), axis=0)
    way = np.concatenate(([0.0], np.cumsum(np.hypot(steps[:, 0], steps[:, 1]))[:-1]))
    at = np.append(ring.vertex_lengths, ring.vertex_lengths[0] + total)
    by = moves[np.append(ring.vertices, ring.vertices[0])]
    way = np.where(way < at[0] - 1e-9, way + total, way)
    breaks = np.flatnonzero(np.append(ring.is_corner, ring.is_corner[0]))
    if not len(breaks):
        return points, points + as_points(CubicSpline(at, by, bc_type="periodic")(way))
    moved = np.zeros(len(points), dtype=complex)
    for start, end in itertools.pairwise(breaks):
        here = (way >= at[start] - 1e-9) & (way <= at[end] + 1e-9)
        moved[here] = CubicSpline(at[start : end + 1], by[start : end + 1])(way[here])
    return points, points + as_points(moved)
