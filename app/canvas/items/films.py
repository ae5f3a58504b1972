"""The film on a panel: regions in their colours, hidden film as hatch, turned film paler."""

from collections.abc import Mapping

from PySide6.QtCore import QRectF
from PySide6.QtGui import QBrush, QPainter, QPainterPath, QTransform
from PySide6.QtWidgets import QGraphicsItem, QStyleOptionGraphicsItem, QWidget

from app.canvas.items.paths import polygon_path
from app.canvas.style import film_brush, hatch_brush, turn_veil
from app.theme import Theme
from core.document.film import Film
from core.ids import RegionId
from core.plan.model import PanelPlan, Piece, Region


class FilmsItem(QGraphicsItem):
    """Everything opaque of one panel.

    Paths are kept from one plan to the next where their region or piece is the same object.
    """

    def __init__(self, parent: QGraphicsItem) -> None:
        super().__init__(parent)
        self._fills: list[tuple[QPainterPath, QBrush]] = []
        self._bands: list[tuple[QPainterPath, QBrush]] = []
        self._turn = QPainterPath()
        self._veil = QBrush()
        self._bounds = QRectF()
        self._known: dict[object, tuple[object, QPainterPath]] = {}

    def show_plan(self, plan: PanelPlan, films: Mapping[str, Film], theme: Theme) -> None:
        """Take over a panel's plan."""
        known: dict[object, tuple[object, QPainterPath]] = {}
        regions = {region.id: region for region in plan.regions}
        self._fills = [
            (self._region_path(region, known), film_brush(films[region.film]))
            for region in plan.regions
        ]
        self._bands = [
            (self._band_path(piece, regions, known), hatch_brush(films[piece.film].colour))
            for piece in plan.pieces
        ]
        self._turn = polygon_path(plan.extended, plan.outline)
        self._veil = QBrush(turn_veil(theme))
        self._known = known
        x0, y0, x1, y1 = plan.extended.bounds
        bounds = QRectF(x0, y0, x1 - x0, y1 - y0)
        if bounds != self._bounds:
            self.prepareGeometryChange()
            self._bounds = bounds
        self.update()

    def _region_path(
        self, region: Region, known: dict[object, tuple[object, QPainterPath]]
    ) -> QPainterPath:
        shape, path = self._known.get(("region", region.id), (None, QPainterPath()))
        if shape is not region.polygon:
            path = polygon_path(region.polygon)
        known["region", region.id] = region.polygon, path
        return path

    def _band_path(
        self,
        piece: Piece,
        regions: Mapping[RegionId, Region],
        known: dict[object, tuple[object, QPainterPath]],
    ) -> QPainterPath:
        """Return the piece's final shape with its own regions left out by the fill rule."""
        shown = [regions[r].polygon for r in piece.regions if r in regions]
        shape, path = self._known.get(("band", piece.id), (None, QPainterPath()))
        if shape is not piece.final:
            path = polygon_path(piece.final, *shown)
        known["band", piece.id] = piece.final, path
        return path

    def boundingRect(self) -> QRectF:  # noqa: N802
        """Return the extended panel's bounds."""
        return self._bounds

    def paint(
        self,
        painter: QPainter,
        option: QStyleOptionGraphicsItem,  # noqa: ARG002 - Qt's signature
        widget: QWidget | None = None,  # noqa: ARG002
    ) -> None:
        """Draw in screen pixels, so that textures keep their size at every zoom."""
        world = painter.worldTransform()
        origin = world.map(self._bounds.topLeft()).toPoint()
        painter.save()
        painter.setWorldTransform(QTransform())
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, on=False)
        painter.setBrushOrigin(origin)
        for path, brush in self._fills:
            painter.fillPath(world.map(path), brush)
        for path, brush in self._bands:
            painter.fillPath(world.map(path), brush)
        if not self._turn.isEmpty():
            painter.fillPath(world.map(self._turn), self._veil)
        painter.restore()
