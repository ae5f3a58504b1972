"""A scanned surface as it is kept: a mesh in space with the panel's flat map, and its bytes.

The map is kept with the mesh, not made again: outline and lines are drawn in it, so it must not
change when the flattening does. Places are whole quanta of 0.0001 mm, so that the same surface
always makes the same bytes.
"""

import struct
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from core.errors import Damaged, GeometryError
from core.shape.mesh import side_lengths
from core.shape.model import Network, Points, Triangles
from core.shape.topology import check_disc
from core.tolerance import QUANTUM_MM

MAX_VERTICES = 200_000
MAX_TRIANGLES = 400_000
_HEAD = struct.Struct("<8sII")
_MAGIC = b"LAPMESH1"
_FARTHEST = 2**30
MAX_SIZE_MM = 100_000.0
"""A little less than the farthest place that can be kept."""


@dataclass(frozen=True, eq=False)
class ScannedMesh:
    """A scanned surface and its flat map.

    Attributes:
        vertices: shape (n, 3), mm.
        triangles: shape (m, 3), counter-clockwise as seen from the side that film is laid on.
        at: shape (n, 2), mm: the vertices in the panel's flat map.
    """

    vertices: NDArray[np.float64]
    triangles: Triangles
    at: Points

    @cached_property
    def network(self) -> Network:
        """The surface as a network."""
        sides = side_lengths(self.vertices, self.triangles)
        return Network(at=self.at, triangles=self.triangles, sides=sides)


def mesh_to_bytes(mesh: ScannedMesh) -> bytes:
    """Return a scanned surface as bytes; equal surfaces give equal bytes.

    Raises:
        GeometryError: a place that lies nowhere, or too far off to be kept.
    """
    places = np.round(np.hstack((mesh.vertices, mesh.at)) / QUANTUM_MM)
    if not np.abs(places).max() <= _FARTHEST:
        far_m = float(np.abs(places).max()) * QUANTUM_MM / 1000
        raise GeometryError(
            f"The part reaches {far_m:,.0f} m from the scan's zero; 100 m is the most.",
            mend="Check the unit of the file.",
        )
    head = _HEAD.pack(_MAGIC, len(mesh.vertices), len(mesh.triangles))
    return head + places.astype("<i4").tobytes() + mesh.triangles.astype("<u4").tobytes()


def mesh_from_bytes(data: bytes, where: str) -> ScannedMesh:
    """Return the scanned surface that bytes hold.

    Args:
        data: as mesh_to_bytes makes them.
        where: file and place in it, for refusals.

    Raises:
        Damaged: anything else than a sound surface.
    """
    vertices, triangles = _counts(data, where)
    start = _HEAD.size
    quanta = np.frombuffer(data, dtype="<i4", count=5 * vertices, offset=start)
    corners = np.frombuffer(
        data, dtype="<u4", count=3 * triangles, offset=start + 20 * vertices
    )
    if corners.max() >= vertices or np.abs(quanta.astype(np.int64)).max() > _FARTHEST:
        raise _damaged("It names corners or places that cannot be.", where)
    places = quanta.reshape(vertices, 5) * QUANTUM_MM
    named = corners.reshape(triangles, 3).astype(np.int64)
    try:
        check_disc(named)
    except GeometryError as error:
        raise _damaged("Its triangles make no surface that can be laid flat.", where) from error
    return ScannedMesh(vertices=places[:, :3], triangles=named, at=places[:, 3:])


def _counts(data: bytes, where: str) -> tuple[int, int]:
    if len(data) < _HEAD.size:
        raise _damaged("It ends too soon.", where)
    magic, vertices, triangles = _HEAD.unpack_from(data)
    if magic != _MAGIC:
        raise _damaged("It is no scanned surface.", where)
    if not (3 <= vertices <= MAX_VERTICES and 1 <= triangles <= MAX_TRIANGLES):
        raise _damaged("It has too many triangles, or none.", where)
    if len(data) != _HEAD.size + 20 * vertices + 12 * triangles:
        raise _damaged("It is longer or shorter than it says.", where)
    return vertices, triangles


def _damaged(what: str, where: str) -> Damaged:
    return Damaged(what, where=where, mend="Read the scan in again.")
