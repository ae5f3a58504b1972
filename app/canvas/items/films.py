"""The film on a panel: regions in their colours, hidden film as hatch, turned film paler."""

from collections.abc import Mapping
from dataclasses import dataclass, field

import shapely
from PySide6.QtCore import QRectF
from PySide6.QtGui import QBrush, QPainter, QTransform
from PySide6.QtWidgets import QGraphicsItem, QStyleOptionGraphicsItem, QWidget
from shapely import Polygon

from app.canvas.items.paths import SeenPath
from app.canvas.style import film_brush, hatch_brush, turn_veil
from app.theme import Theme
from core.document.film import Film
from core.plan.lookup import is_same_shape
from core.plan.model import PanelPlan, Region

_LEAST_HATCH_SCALE = 0.25
"""At fewer pixels a millimetre a lap is too narrow for its hatch to show as one."""

_Name = tuple[str, str]
"""What a fill is, region, band of hidden film or turned rim, and of which region or piece."""


@dataclass(frozen=True, slots=True)
class _Fill:
    """One fill: the shapes whose rings it takes, by the odd-even rule, and how it is drawn."""

    shapes: tuple[Polygon, ...]
    brush: QBrush
    path: SeenPath
    bounds: QRectF


@dataclass(slots=True)
class _Sheet:
    """Fills by name, and what has changed since the sheet before."""

    old: Mapping[_Name, _Fill]
    new: dict[_Name, _Fill] = field(default_factory=dict)
    dirty: QRectF = field(default_factory=QRectF)

    def add(self, name: _Name, shapes: tuple[Polygon, ...], brush: QBrush) -> None:
        """Add a fill; one with the same points keeps its path."""
        known = self.old.get(name)
        if known is not None and _are_same(known.shapes, shapes):
            self.new[name] = _Fill(shapes, brush, known.path, known.bounds)
            if known.brush != brush:
                self.dirty |= known.bounds
            return
        path = SeenPath(*shapes)
        bounds = path.full.controlPointRect()
        self.new[name] = _Fill(shapes, brush, path, bounds)
        self.dirty |= bounds
        if known is not None:
            self.dirty |= known.bounds

    def drop_rest(self) -> None:
        """Count what is gone as changed."""
        for name in self.old.keys() - self.new.keys():
            self.dirty |= self.old[name].bounds


def _are_same(old: tuple[Polygon, ...], new: tuple[Polygon, ...]) -> bool:
    return len(old) == len(new) and all(map(is_same_shape, old, new))


class FilmsItem(QGraphicsItem):
    """Everything opaque of one panel; only what differs from the last plan is painted anew."""

    def __init__(self, parent: QGraphicsItem) -> None:
        super().__init__(parent)
        self.setFlag(QGraphicsItem.GraphicsItemFlag.ItemUsesExtendedStyleOption)
        self._fills: dict[_Name, _Fill] = {}
        self._bounds = QRectF()
        self._has_hatch = True

    def set_hatch(self, *, shown: bool) -> None:
        """Show hidden film as hatch, or leave it out."""
        if shown != self._has_hatch:
            self._has_hatch = shown
            self.update()

    def show_plan(
        self, plan: PanelPlan, films: Mapping[str, Film], theme: Theme, bounds: QRectF
    ) -> None:
        """Take over a panel's plan."""
        sheet = _Sheet(self._fills)
        regions: dict[str, Region] = {region.id: region for region in plan.regions}
        for region in plan.regions:
            brush = film_brush(films[region.film])
            sheet.add(("region", region.id), (region.polygon,), brush)
        for piece in plan.pieces:
            shown = tuple(regions[r].polygon for r in piece.regions if r in regions)
            hatch = hatch_brush(films[piece.film].colour)
            sheet.add(("band", piece.id), (piece.final, *shown), hatch)
        if not shapely.equals_identical(plan.extended, plan.outline):
            sheet.add(("turn", ""), (plan.extended, plan.outline), QBrush(turn_veil(theme)))
        sheet.drop_rest()
        self._fills = sheet.new
        if bounds != self._bounds:
            self.prepareGeometryChange()
            self._bounds = bounds
        elif not sheet.dirty.isEmpty():
            self.update(sheet.dirty)

    def boundingRect(self) -> QRectF:  # noqa: N802
        """Return the extended panel's bounds."""
        return self._bounds

    def paint(
        self,
        painter: QPainter,
        option: QStyleOptionGraphicsItem,
        widget: QWidget | None = None,  # noqa: ARG002 - Qt's signature
    ) -> None:
        """Draw in screen pixels, so that textures keep their size at every zoom."""
        world = painter.worldTransform()
        scale = option.levelOfDetailFromTransform(world)
        has_hatch = self._has_hatch and scale >= _LEAST_HATCH_SCALE
        exposed = option.exposedRect
        painter.save()
        painter.setWorldTransform(QTransform())
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, on=False)
        painter.setBrushOrigin(world.map(self._bounds.topLeft()).toPoint())
        for name, fill in self._fills.items():
            if name[0] == "band" and not has_hatch:
                continue
            if fill.bounds.intersects(exposed):
                # A band's rings partly lie on each other; with fewer points they would not.
                path = fill.path.full if name[0] == "band" else fill.path.at(1 / scale)
                painter.fillPath(world.map(path), fill.brush)
        painter.restore()
