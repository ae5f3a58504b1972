"""The surface of a panel, however it is known: flat, measured with a tape, or scanned.

One interface for all: what becomes of film that is to cover an area of the panel's map. A flat
panel's film is the area itself.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import Protocol

import numpy as np
import shapely
from shapely import LineString, Polygon

from core.document.surface import MeasuredSurface, ScannedSurface
from core.document.surface import Surface as Recorded
from core.progress import Progress
from core.shape.clip import TARGET_TRIANGLES
from core.shape.developing import develop, develop_piece
from core.shape.meshing import AreaMesh, mesh_area
from core.shape.mirroring import mirrored_network
from core.shape.model import NO_SCANS, Development, Network, Points
from core.shape.readings import Doubt, doubts_before
from core.shape.relief import opened
from core.shape.scanned import mesh_from_bytes
from core.shape.tape import TapeFit, fit_tape
from core.shape.topology import network_of_lengths

_TRIANGLES = 1600
_AROUND = 0.25
"""A measured surface is worked out as far beyond its grid as this share of it."""


class Surface(Protocol):
    """What a panel's surface answers; no network where it is flat, or not better known."""

    @property
    def network(self) -> Network | None:
        """The whole surface."""

    @property
    def doubts(self) -> tuple[Doubt, ...]:
        """Why no judgement should be built on it."""

    def develop(self, area: Polygon, progress: Progress | None = None) -> Development | None:
        """Return the flat film of an area; None where the film is the area itself.

        Raises:
            GeometryError: the film would overlie itself.
            Cancelled: the user stopped it.
        """


@dataclass(frozen=True, eq=False)
class FlatSurface:
    """A flat panel, or one of which nothing better is known."""

    doubts: tuple[Doubt, ...] = ()
    network: None = None

    def develop(self, area: Polygon, progress: Progress | None = None) -> None:
        """Return None: the film is the area itself."""
        del area, progress


@dataclass(frozen=True, eq=False)
class CurvedSurface:
    """A surface that is known by its lengths.

    Attributes:
        scanned: a scan's network; None where a tape's readings were fitted.
        fit: what the tape's readings say, and leave open; None for a scan.
        measured: the readings.
    """

    scanned: Network | None = None
    doubts: tuple[Doubt, ...] = ()
    fit: TapeFit | None = None
    measured: MeasuredSurface | None = None

    @cached_property
    def network(self) -> Network:
        """The whole surface."""
        if self.scanned is not None:
            return self.scanned
        assert self.fit is not None
        return _network(self.fit)

    @cached_property
    def grid(self) -> Polygon | None:
        """Where the tape was laid, in the panel's map; None for a scan."""
        if self.fit is None:
            return None
        spread = self.fit.fermi.spread
        left = np.column_stack([spread.stations_mm, spread.left_mm])
        right = np.column_stack([spread.stations_mm, spread.right_mm])
        return Polygon(self.fit.fermi.to_map(np.vstack([right, left[::-1]])))

    def develop(
        self,
        area: Polygon,
        progress: Progress | None = None,
        target_triangles: int = TARGET_TRIANGLES,
        cuts: tuple[LineString, ...] = (),
    ) -> Development:
        """Return the flat film of an area, reckoned with about so many triangles."""
        if self.fit is None:
            network = self.network
            return develop(
                network, area, target_triangles=target_triangles, progress=progress, cuts=cuts
            )
        mesh = meshed(opened(area, cuts).wkb, target_triangles)
        piece = network_of_lengths(self.fit.fermi.lengths, mesh.points, mesh.triangles)
        return develop_piece(mesh, piece, progress, cuts)


FLAT = FlatSurface()


@lru_cache(maxsize=64)
def meshed(area_wkb: bytes, target_triangles: int) -> AreaMesh:
    """Return the triangles of an area: while readings are typed, its pieces stay the same."""
    area = shapely.from_wkb(area_wkb)
    assert isinstance(area, Polygon)
    return mesh_area(area, target_triangles)


def surface_of(
    recorded: Recorded | None, scans: Mapping[str, Network] = NO_SCANS
) -> FlatSurface | CurvedSurface:
    """Return the surface that a panel's record stands for, remembered by its content.

    Args:
        recorded: the panel's ``surface``.
        scans: networks of the job's scans, each in a map of its own, by the name of their file.
    """
    if recorded is None:
        return FLAT
    if isinstance(recorded, MeasuredSurface):
        return _taped(recorded)
    network = scans.get(recorded.file)
    return _SCAN_MISSING if network is None else _scanned(recorded, network)


def scan_networks(scans: Mapping[str, bytes]) -> dict[str, Network]:
    """Return the networks of a job file's scans, by name; remembered by their bytes.

    Raises:
        Damaged: bytes that are no sound surface.
    """
    return {name: _read(name, data) for name, data in scans.items()}


@lru_cache(maxsize=64)
def _read(name: str, data: bytes) -> Network:
    return mesh_from_bytes(data, f"scan {name}").network


_SCAN_MISSING = FlatSurface(
    (Doubt("The scan of this panel is not there.", "Read it in again, or measure the part."),)
)


@lru_cache(maxsize=64)
def _taped(measured: MeasuredSurface) -> FlatSurface | CurvedSurface:
    doubts = doubts_before(measured)
    if doubts:
        return FlatSurface(doubts)
    fit = fit_tape(measured)
    return CurvedSurface(None, fit.doubts, fit, measured)


def _network(fit: TapeFit) -> Network:
    spread = fit.fermi.spread
    low = np.array([0.0, spread.right_mm.min()])
    high = np.array([spread.length_mm, spread.left_mm.max()])
    around = _AROUND * float((high - low).max())
    corners = np.array([low - around, high + around])
    box = np.array([(x, y) for x in corners[:, 0] for y in corners[:, 1]])
    return fit.fermi.network(fit.fermi.to_map(box), _TRIANGLES)


@lru_cache(maxsize=64)
def _scanned(recorded: ScannedSurface, network: Network) -> CurvedSurface:
    """Lay a scan's own map where the panel has it. Networks are told apart by identity."""
    own = mirrored_network(network) if recorded.is_mirrored else network
    angle = np.radians(recorded.angle_deg)
    turn = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
    at: Points = own.at @ turn.T + recorded.origin
    return CurvedSurface(Network(at=at, triangles=own.triangles, sides=own.sides))
