"""Bunching and stretch on the canvas: a picture of each panel's map, over its film."""

from collections.abc import Mapping

from PySide6.QtCore import QRectF
from PySide6.QtGui import QImage, QPainter
from PySide6.QtWidgets import (
    QGraphicsItem,
    QGraphicsItemGroup,
    QStyleOptionGraphicsItem,
    QWidget,
)
from shiboken6 import isValid

from core.shape.view_paint import MapPicture


class StrainItem(QGraphicsItem):
    """The strain of one panel."""

    def __init__(self, parent: QGraphicsItem) -> None:
        super().__init__(parent)
        self._image = QImage()
        self._bounds = QRectF()

    def show_picture(self, picture: MapPicture) -> None:
        """Show a picture where it lies in the map."""
        self.prepareGeometryChange()
        height, width = picture.rgb.shape[:2]
        step = picture.mm_per_px
        self._image = QImage(
            picture.rgb.tobytes(), width, height, 4 * width, QImage.Format.Format_RGBA8888
        ).flipped()
        low = picture.top_mm - height * step
        self._bounds = QRectF(picture.left_mm, low, width * step, height * step)
        self.update()

    def boundingRect(self) -> QRectF:  # noqa: N802
        """Return where the picture lies, mm."""
        return self._bounds

    def paint(
        self,
        painter: QPainter,
        option: QStyleOptionGraphicsItem,  # noqa: ARG002 - Qt's signature
        widget: QWidget | None = None,  # noqa: ARG002
    ) -> None:
        """Draw the picture."""
        painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
        painter.drawImage(self._bounds, self._image)


class StrainGrounds:
    """The pictures of strain of a job's panels; only what differs is made anew."""

    def __init__(self) -> None:
        self._items: dict[str, StrainItem] = {}
        self._shown: dict[str, MapPicture] = {}

    @property
    def items(self) -> Mapping[str, StrainItem]:
        """The items by the id of their panel."""
        return self._items

    def show_pictures(
        self,
        pictures: Mapping[str, MapPicture],
        places: Mapping[str, tuple[QGraphicsItemGroup, QGraphicsItem]],
        opacity: float = 1.0,
    ) -> None:
        """Show pictures of panels.

        Args:
            pictures: by the panel's id; panels that are not named show none.
            places: for each panel the item that its picture belongs to, and what lies above.
            opacity: how strongly they are shown.
        """
        for gone in self._items.keys() - (pictures.keys() & places.keys()):
            self._drop(gone)
        for panel in pictures.keys() & places.keys():
            root, above = places[panel]
            item = self._items.get(panel)
            if item is not None and (not isValid(item) or item.parentItem() is not root):
                self._drop(panel)
                item = None
            if item is None:
                item = self._items[panel] = StrainItem(root)
                item.stackBefore(above)
            item.setOpacity(opacity)
            if self._shown.get(panel) is not pictures[panel]:
                item.show_picture(pictures[panel])
                self._shown[panel] = pictures[panel]

    def _drop(self, panel: str) -> None:
        item = self._items.pop(panel)
        self._shown.pop(panel, None)
        # A panel that is gone has taken its picture with it.
        if isValid(item) and item.scene() is not None:
            item.scene().removeItem(item)
