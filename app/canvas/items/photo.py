"""Photos on the canvas: what a panel was traced on, over its film and under its lines."""

from collections.abc import Callable, Mapping

from PySide6.QtCore import Qt
from PySide6.QtGui import QImage, QTransform
from PySide6.QtWidgets import QGraphicsItem, QGraphicsItemGroup
from shiboken6 import isValid

from app.photo.pyramid import PyramidItem
from core.document.job import Job
from core.document.photo import Photo

_SMALLEST_PX = 256


class PhotoGrounds:
    """The photos of a job as items of its panels; only what differs is made anew."""

    def __init__(self) -> None:
        self.source: Callable[[str], bytes | None] = lambda _: None
        """Gives a photo's bytes by its file name."""
        self._items: dict[str, PyramidItem] = {}
        self._shown: dict[str, tuple[Photo, bytes | None]] = {}

    @property
    def items(self) -> Mapping[str, PyramidItem]:
        """The items by the id of their photo."""
        return self._items

    def show_job(
        self, job: Job, places: Mapping[str, tuple[QGraphicsItemGroup, QGraphicsItem]]
    ) -> None:
        """Show the job's photos.

        Args:
            job: the job.
            places: for each panel the item that a photo belongs to, and what lies above it.
        """
        wanted = {p.id: p for p in job.photos if p.is_shown and p.panel in places}
        for gone in self._items.keys() - wanted.keys():
            self._drop(gone)
        for photo in wanted.values():
            root, above = places[photo.panel]
            data = self.source(photo.file)
            item = self._items.get(photo.id)
            if item is not None and (not isValid(item) or item.parentItem() is not root):
                self._drop(photo.id)
                item = None
            if item is None:
                item = self._items[photo.id] = PyramidItem(root)
                item.stackBefore(above)
            old, old_data = self._shown.get(photo.id, (None, None))
            if old is None or old.to_mm != photo.to_mm or old_data is not data:
                item.show_picture(_levels(data), transform_of(photo))
            item.setOpacity(photo.opacity_pct / 100)
            self._shown[photo.id] = photo, data

    def _drop(self, name: str) -> None:
        item = self._items.pop(name)
        self._shown.pop(name, None)
        # A panel that is gone has taken its photo with it.
        if isValid(item) and item.scene() is not None:
            item.scene().removeItem(item)


def _levels(data: bytes | None) -> tuple[QImage, ...]:
    """Return a stored photo at several sizes, none when it cannot be read."""
    image = QImage.fromData(data) if data else QImage()
    if image.isNull():
        return ()
    levels = [image.convertToFormat(QImage.Format.Format_RGB32)]
    while max(levels[-1].width(), levels[-1].height()) > _SMALLEST_PX:
        last = levels[-1]
        levels.append(
            last.scaled(
                max(1, last.width() // 2),
                max(1, last.height() // 2),
                Qt.AspectRatioMode.IgnoreAspectRatio,
                Qt.TransformationMode.SmoothTransformation,
            )
        )
    return tuple(levels)


def transform_of(photo: Photo) -> QTransform:
    """Return the photo's homography as Qt has it: transposed, for rows of coordinates."""
    a, b, c, d, e, f, g, h, k = photo.to_mm
    return QTransform(a, d, g, b, e, h, c, f, k)
