"""The domed hood of the trike's locker as a scanned panel: its mesh, map and outline."""

from hashlib import sha256

import numpy as np

from core.document.panel import Panel
from core.document.path import Node, Path
from core.document.surface import ScannedSurface
from core.shape.scanned import ScannedMesh, mesh_to_bytes
from sample_projects.domed_hood import hood_map, hood_mesh

RINGS = 24
NODES = 48
"""Of the outline."""
EDGE_TURN_MM = 12.0


def hood_scan() -> tuple[str, bytes]:
    """Return the name of the hood's file in a job, and its bytes."""
    data = mesh_to_bytes(_mesh())
    return f"{sha256(data).hexdigest()[:20]}.mesh", data


def hood_panel(film: str, at: tuple[float, float]) -> Panel:
    """Return the hood as a panel."""
    name, _ = hood_scan()
    return Panel(
        id="p2",
        name="Locker hood",
        outline=_outline(),
        base_film=film,
        edge_turn_mm=EDGE_TURN_MM,
        flow_deg=0.0,
        at=at,
        surface=ScannedSurface(file=name, title="locker-hood.stl"),
    )


def _mesh() -> ScannedMesh:
    vertices, triangles = hood_mesh(RINGS)
    return ScannedMesh(vertices=vertices, triangles=triangles, at=hood_map(RINGS))


def _outline() -> Path:
    """Return the rim as smooth nodes, counter-clockwise."""
    rim = _mesh().at[-6 * RINGS :]
    chosen = rim[:: len(rim) // NODES]
    after, before = np.roll(chosen, -1, axis=0), np.roll(chosen, 1, axis=0)
    nodes = []
    for i, (point, step) in enumerate(zip(chosen, (after - before) / 6, strict=True), 1):
        x, y = (round(float(v), 2) for v in point)
        dx, dy = (round(float(v), 2) for v in step)
        nodes.append(
            Node(id=f"n{i}", at=(x, y), smooth=True, before=(-dx, -dy), after=(dx, dy))
        )
    return tuple(nodes)
