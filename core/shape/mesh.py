"""Networks of meshes: triangles in space, known from then on by their sides alone."""

import numpy as np
from numpy.typing import NDArray

from core.progress import Progress
from core.shape.elements import corners_of, elements_of
from core.shape.energies import Membrane
from core.shape.flattening import aligned, as_points, first_layout, relaxed
from core.shape.model import Network, Points, Triangles
from core.shape.threads import one_thread
from core.shape.topology import check_disc, directed_sides, rim_sides


def network_of_mesh(
    vertices: NDArray[np.float64],
    triangles: Triangles,
    *,
    at: Points | None = None,
    progress: Progress | None = None,
) -> Network:
    """Return the network of a mesh.

    Args:
        vertices: shape (n, 3), mm.
        triangles: shape (m, 3), counter-clockwise as seen from the side that film is laid on.
        at: shape (n, 2): the panel's flat map; None flattens the mesh as a whole for it.
        progress: asked now and then whether to stop.

    Raises:
        GeometryError: the mesh is not one surface with a rim.
        Cancelled: the user stopped it.

    Degenerate input: vertices of no triangle are kept, and lie anywhere in a map made here.
    """
    sides = side_lengths(vertices, triangles)
    if at is not None:
        return Network(at=at, triangles=triangles, sides=sides)
    check_disc(triangles)
    seen = _seen_from_above(vertices, triangles)
    network = Network(at=seen, triangles=triangles, sides=sides)
    elements = elements_of(network)
    with one_thread():
        # What is seen from above is a start by itself where nothing leans far.
        start = first_layout(network, elements)
        film = relaxed(elements, Membrane(), start, progress)
    at = aligned(as_points(film), seen, elements.areas, network)
    return Network(at=at, triangles=triangles, sides=sides)


def _seen_from_above(vertices: NDArray[np.float64], triangles: Triangles) -> Points:
    """Return where vertices are seen from the side that film is laid on.

    The map is turned after it: its x axis runs as the mesh's own does, where that can be seen,
    and its origin is that of the mesh's.
    """
    corners = vertices[triangles]
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]).sum(axis=0)
    normal = normal / max(float(np.linalg.norm(normal)), 1e-30)
    right = np.eye(3)[0 if abs(normal[0]) < 0.8 else 1]
    right = right - (right @ normal) * normal
    right = right / max(float(np.linalg.norm(right)), 1e-30)
    return np.column_stack((vertices @ right, vertices @ np.cross(normal, right)))


def side_lengths(vertices: NDArray[np.float64], triangles: Triangles) -> Points:
    """Return the sides of triangles, shape (m, 3), the i-th opposite the i-th corner."""
    ends = vertices[directed_sides(triangles)]
    return np.asarray(np.linalg.norm(ends[:, :, 1] - ends[:, :, 0], axis=2))


def corner_angles(network: Network) -> Points:
    """Return the angles of each triangle in radians, shape (m, 3)."""
    corners = corners_of(network.sides)
    flat = corners[:, :, 0] + 1j * corners[:, :, 1]
    onwards = np.roll(flat, -1, axis=1) - flat
    back = np.roll(flat, -2, axis=1) - flat
    return np.asarray(np.abs(np.angle(back / onwards)))


def vertex_curvatures(network: Network) -> Points:
    """Return the curvature gathered in each vertex, in radians, shape (n,).

    Inside, it is the angle that the triangles lack to a full turn; on the rim, how much the
    rim turns there (to the left, as the surface lies), which is no curvature of the surface.
    Together they make 2 pi times the Euler characteristic.

    Source: Gauss-Bonnet for polyhedra: Gauss, Disquisitiones generales circa superficies
    curvas, 1828; for polyhedra as in any textbook of differential geometry.
    """
    angles = np.zeros(len(network.at))
    np.add.at(angles, network.triangles, corner_angles(network))
    lacking = 2 * np.pi - angles
    lacking[is_on_rim(network)] -= np.pi
    used = np.zeros(len(network.at), dtype=bool)
    used[network.triangles] = True
    return np.where(used, lacking, 0.0)


def is_on_rim(network: Network) -> NDArray[np.bool_]:
    """Return which vertices lie on the rim, shape (n,)."""
    ends, _ = rim_sides(network)
    on_rim = np.zeros(len(network.at), dtype=bool)
    on_rim[ends] = True
    return on_rim
