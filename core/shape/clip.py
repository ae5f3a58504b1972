"""The part of a network that an area of the map covers, as a network of its own."""

from shapely import Polygon

from core.shape.meshing import AreaMesh, mesh_area
from core.shape.metric import metric_of
from core.shape.model import Network
from core.shape.topology import network_of_lengths

TARGET_TRIANGLES = 900


def clip_network(
    network: Network, area: Polygon, target_triangles: int = TARGET_TRIANGLES
) -> Network:
    """Return the surface of an area as a network of about so many even triangles.

    The area is cut into triangles anew, with vertices on its own rim: no slivers are left where
    its rim crosses the network's triangles. Their sides are measured by the network's metric;
    where the area reaches beyond the network, the surface runs on (see metric.py).

    Raises:
        GeometryError: an area without width.
    """
    return network_over(network, mesh_area(area, target_triangles))


def network_over(network: Network, mesh: AreaMesh) -> Network:
    """Return triangles of the map with their sides on the surface."""
    return network_of_lengths(metric_of(network).lengths, mesh.points, mesh.triangles)
