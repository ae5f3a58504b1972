"""Pages of a file, looked at: moved, zoomed, turned over; sharp at every scale."""

from PySide6.QtCore import QPointF, QRectF, Qt, QTimer, Signal
from PySide6.QtGui import (
    QColor,
    QImage,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QResizeEvent,
    QWheelEvent,
)
from PySide6.QtWidgets import QWidget
from shiboken6 import isValid

from app.jobs import Work
from app.theme import current_theme
from core.write.preview import PageImage, Preview

REST_MS = 60
MARGIN_PX = 24
STEP = 1.25
MOST_PX_PER_MM = 40.0
NOTCH = 120.0


class PageView(QWidget):
    """Shows one page at a time; what is on it is rendered in the pool."""

    page_changed = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMinimumSize(240, 200)
        self.setAccessibleName("Preview")
        self.preview: Preview | None = None
        self.page = 0
        self.message = ""
        self._scale = 1.0
        self._origin = QPointF()
        self._is_fitted = True
        self._image: QImage | None = None
        self._region = (0.0, 0.0, 0.0, 0.0)
        self._wish = 0
        self._held: QPointF | None = None
        self._rest = QTimer(self, singleShot=True, interval=REST_MS)
        self._rest.timeout.connect(self._render)

    # What is shown

    def show_preview(self, preview: Preview | None, message: str = "") -> None:
        """Show a file's first page, or a message in place of pages."""
        self.preview, self.message, self.page = preview, message, 0
        self._image = None
        self._wish += 1
        self.fit()
        self.page_changed.emit()

    @property
    def page_count(self) -> int:
        """How many pages there are."""
        return len(self.preview.sizes_mm) if self.preview else 0

    def turn_to(self, page: int) -> None:
        """Show another page; out of range it is the nearest that there is."""
        page = max(0, min(page, self.page_count - 1))
        if self.preview is None or page == self.page:
            return
        self.page, self._image = page, None
        self.fit()
        self.page_changed.emit()

    def fit(self) -> None:
        """Show the whole page."""
        self._is_fitted = True
        if self.preview is not None:
            width, height = self._size
            room_x, room_y = self.width() - 2 * MARGIN_PX, self.height() - 2 * MARGIN_PX
            self._scale = max(min(room_x / width, room_y / height), 1e-3)
            self._origin = QPointF(
                (self.width() - width * self._scale) / 2,
                (self.height() - height * self._scale) / 2,
            )
        self._refresh()

    def zoom(self, factor: float, about: QPointF | None = None) -> None:
        """Zoom about a point of the widget, by default its middle."""
        if self.preview is None:
            return
        at = about or QPointF(self.width() / 2, self.height() / 2)
        least = 40.0 / max(self._size)
        scale = max(least, min(self._scale * factor, MOST_PX_PER_MM))
        self._origin = at - (at - self._origin) * (scale / self._scale)
        self._scale, self._is_fitted = scale, False
        self._refresh()

    @property
    def _size(self) -> tuple[float, float]:
        assert self.preview is not None
        return self.preview.sizes_mm[self.page]

    def _refresh(self) -> None:
        self._rest.start()
        self.update()

    # Rendering

    def _render(self) -> None:
        preview, page = self.preview, self.page
        if preview is None or self.width() < 2:
            return
        self._wish += 1
        wish = self._wish
        scale = self._scale * self.devicePixelRatioF()
        region = self._seen()
        if region[0] >= region[2] or region[1] >= region[3]:
            return
        work = Work(lambda _: preview.render(page, scale, region))
        work.done.connect(lambda image: self._on_image(wish, image))
        work.start()

    def _seen(self) -> tuple[float, float, float, float]:
        """Return the part of the page that is in sight, in mm, y up."""
        width, height = self._size
        left, top = -self._origin.x() / self._scale, -self._origin.y() / self._scale
        right = left + self.width() / self._scale
        low = top + self.height() / self._scale
        return (
            max(left, 0.0),
            max(height - low, 0.0),
            min(right, width),
            min(height - top, height),
        )

    def _on_image(self, wish: int, image: PageImage) -> None:
        if not isValid(self) or wish != self._wish:
            return
        self._image = QImage(
            image.pixels,
            image.width_px,
            image.height_px,
            image.stride,
            QImage.Format.Format_RGB32,
        ).copy()
        self._region = image.region_mm
        self.update()

    @property
    def is_sharp(self) -> bool:
        """Whether what is shown was rendered for this page and scale."""
        return self._image is not None and not self._rest.isActive()

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: N802, ARG002
        """Paint the page, or the message."""
        theme = current_theme()
        painter = QPainter(self)
        painter.fillRect(self.rect(), QColor(theme.canvas))
        if self.preview is None:
            painter.setPen(QColor(theme.ink_soft))
            room = QRectF(self.rect()).adjusted(32, 32, -32, -32)
            flags = Qt.AlignmentFlag.AlignCenter | Qt.TextFlag.TextWordWrap
            painter.drawText(room, int(flags), self.message)
            painter.end()
            return
        width, height = self._size
        sheet = QRectF(
            self._origin.x(), self._origin.y(), width * self._scale, height * self._scale
        )
        painter.fillRect(sheet, QColor("#ffffff"))
        if self._image is not None:
            x0, y0, x1, y1 = self._region
            target = QRectF(
                self._origin.x() + x0 * self._scale,
                self._origin.y() + (height - y1) * self._scale,
                (x1 - x0) * self._scale,
                (y1 - y0) * self._scale,
            )
            painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
            painter.drawImage(target, self._image)
        painter.setPen(QPen(QColor(theme.ink_soft), 1))
        painter.drawRect(sheet)
        if self.hasFocus():
            painter.setPen(QPen(QColor(theme.accent), 1))
            painter.drawRect(self.rect().adjusted(0, 0, -1, -1))
        painter.end()

    # Mouse and keys

    def resizeEvent(self, event: QResizeEvent) -> None:  # noqa: N802
        """Keep a fitted page fitted."""
        super().resizeEvent(event)
        if self._is_fitted:
            self.fit()
        else:
            self._refresh()

    def wheelEvent(self, event: QWheelEvent) -> None:  # noqa: N802
        """Zoom about the pointer."""
        self.zoom(STEP ** (event.angleDelta().y() / NOTCH), event.position())
        event.accept()

    def mousePressEvent(self, event: QMouseEvent) -> None:  # noqa: N802
        """Take hold of the page."""
        self._held = event.position()
        self.setCursor(Qt.CursorShape.ClosedHandCursor)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:  # noqa: N802
        """Move the page."""
        if self._held is None:
            return
        self._origin += event.position() - self._held
        self._held, self._is_fitted = event.position(), False
        self._refresh()

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:  # noqa: N802, ARG002
        """Let go of the page."""
        self._held = None
        self.unsetCursor()

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802
        """Turn pages and zoom."""
        deeds = {
            Qt.Key.Key_PageDown: lambda: self.turn_to(self.page + 1),
            Qt.Key.Key_PageUp: lambda: self.turn_to(self.page - 1),
            Qt.Key.Key_Home: lambda: self.turn_to(0),
            Qt.Key.Key_End: lambda: self.turn_to(self.page_count - 1),
            Qt.Key.Key_Plus: lambda: self.zoom(STEP),
            Qt.Key.Key_Equal: lambda: self.zoom(STEP),
            Qt.Key.Key_Minus: lambda: self.zoom(1 / STEP),
            Qt.Key.Key_0: self.fit,
        }
        deed = deeds.get(Qt.Key(event.key()))
        if deed is None:
            super().keyPressEvent(event)
        else:
            deed()
