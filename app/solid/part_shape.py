"""How a part stands in space: as it was scanned, or one shape with the lengths of a tape."""

from dataclasses import dataclass

from PySide6.QtCore import QObject, Signal
from shapely import Polygon

from app.jobs import Control
from app.newest import Newest
from core.document.surface import MeasuredSurface, ScannedSurface, Surface
from core.errors import InputError, LaplineError
from core.shape.model import Points
from core.shape.scanned import mesh_from_bytes
from core.shape.standing import standing_shape
from core.shape.surface import surface_of
from core.shape.view_paint import Solid

REST_MS = 60
TAPED = (
    "A tape tells lengths over the part, not how it stands: this is one shape with these"
    " lengths, to within {:.2g} %, the one that bends least."
)


@dataclass(frozen=True, eq=False)
class PartShape:
    """A part in space.

    Attributes:
        at: shape (n, 2): where its vertices lie in the panel's map.
        note: how far it can be believed, in plain words; "" for a scan.
    """

    solid: Solid
    at: Points
    note: str = ""


@dataclass(frozen=True, eq=False)
class _Question:
    measured: MeasuredSurface
    outline: Polygon


class PartShapes(QObject):
    """Finds how a panel stands, a measured one in a worker; equal questions are asked once."""

    found = Signal(object)
    """A PartShape."""
    refused = Signal(str)
    """Why there is none."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._asked: tuple[Surface | None, Polygon | None] | None = None
        self._newest: Newest[_Question] = Newest(_stand, REST_MS, self)
        self._newest.found.connect(self.found)
        self._newest.refused.connect(self.refused)

    def want(self, surface: Surface | None, outline: Polygon, scan: bytes | None) -> None:
        """Ask how a panel stands.

        Args:
            surface: what was measured or scanned.
            outline: of the panel, in its map.
            scan: the bytes of its scan, if it is one and there.
        """
        asked = (surface, outline if isinstance(surface, MeasuredSurface) else None)
        if asked == self._asked:
            return
        self._asked = asked
        self._newest.drop()
        if isinstance(surface, MeasuredSurface):
            self._newest.want(_Question(surface, outline))
            return
        try:
            self.found.emit(_scanned(surface, scan))
        except LaplineError as error:
            self.refused.emit(error.sentence())

    def drop(self) -> None:
        """Want nothing any more."""
        self._asked = None
        self._newest.drop()


def _scanned(surface: ScannedSurface | None, data: bytes | None) -> PartShape:
    if surface is None:
        raise InputError("This panel is flat.", mend="Measure over the part, or scan it.")
    if data is None:
        raise InputError("The scan of this panel is not there.", mend="Read it in again.")
    mesh = mesh_from_bytes(data, f"scan {surface.file}")
    network = surface_of(surface, {surface.file: mesh.network}).network
    assert network is not None
    return PartShape(Solid(mesh.vertices, mesh.triangles), network.at)


def _stand(question: _Question, control: Control) -> PartShape:
    surface = surface_of(question.measured)
    doubts = [f"{doubt.what} {doubt.mend}" for doubt in surface.doubts]
    if surface.network is None:
        raise InputError(*doubts[:1] or ("It is not known how this part is curved.",))
    standing = standing_shape(surface.network, question.outline, control)
    note = " ".join([TAPED.format(standing.worst_pct), *doubts[:1]])
    solid = Solid(standing.points, standing.network.triangles)
    return PartShape(solid, standing.network.at, note)
