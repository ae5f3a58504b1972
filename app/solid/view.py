"""A part seen in space: turned, moved and zoomed by mouse and keys, picked by click and lasso.

It is painted without a graphics card. While it moves a coarse picture is shown; a moment after
it rests a worker makes the fine one.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from PySide6.QtCore import QEvent, QLineF, QPointF, QRectF, QSize, Qt, QTimer, Signal
from PySide6.QtGui import (
    QColor,
    QImage,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QPolygonF,
    QResizeEvent,
    QWheelEvent,
)
from PySide6.QtWidgets import QWidget
from shiboken6 import isValid

from app.jobs import Work
from app.theme import current_theme
from core.shape.model import Points
from core.shape.picking import Mask, in_sight
from core.shape.view_camera import Camera, facing
from core.shape.view_paint import Skin, Solid, look_at, painted
from core.shape.view_raster import Picture, Raster

REST_MS = 90
FINE, COARSE = 2.0, 0.5
"""Pixels of a picture for each of the window's, at rest and while the part moves."""
MOST_FINE_PX = 4_500_000
"""A larger window gets fewer for each of its own, so that the picture is there in a second."""
CLICK_PX = 4
KEY_PX = 24
ZOOM_STEP = 1.2


@dataclass(frozen=True, eq=False)
class Trace:
    """A line drawn over the part: through points, shape (k, 3), closed where it says so.

    What of it lies behind the part is drawn faintly, or not at all, or like the rest of it.
    """

    points: Points
    colour: str
    width_px: float = 2.0
    is_closed: bool = True
    shines_through: bool = True
    is_on_top: bool = False


@dataclass(frozen=True, eq=False)
class _Shot:
    """One picture of the part and what is seen in it."""

    camera: Camera
    raster: Raster
    image: QImage
    scale: float


class SolidView(QWidget):
    """Shows one part."""

    pointed = Signal(int, object)
    """The triangle under the pointer and its corners' shares; -1 and None off the part."""
    clicked = Signal(int, QPointF)
    """A click, with the triangle there or -1."""
    lassoed = Signal(object)
    """A lasso, shape (n, 2), in pixels."""
    refined = Signal()
    """The fine picture is shown."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMouseTracking(True)
        self.setMinimumSize(240, 200)
        self.setAccessibleName("The part in space")
        self.takes_lasso = False
        self.words = ""
        """Said in the middle while there is no part."""
        self._solid: Solid | None = None
        self._skin = Skin((200, 200, 200))
        self._traces: tuple[Trace, ...] = ()
        self._normal, self._up = np.array([0.0, 0.0, 1.0]), np.array([0.0, 1.0, 0.0])
        self._camera: Camera | None = None
        self._shot: _Shot | None = None
        self._work: Work | None = None
        self._from: QPointF | None = None
        self._has_moved = self._is_moving = False
        self._lasso: list[QPointF] = []
        self._rest = QTimer(self, singleShot=True, interval=REST_MS)
        self._rest.timeout.connect(self._refine)

    # What is shown

    @property
    def camera(self) -> Camera | None:
        """How the part is looked at; None while there is none."""
        return self._camera

    @property
    def raster(self) -> Raster | None:
        """What is seen with the camera; pixels may be finer or coarser than the window's."""
        return self._shot.raster if self._shot else None

    @property
    def is_fine(self) -> bool:
        """Whether the fine picture is shown."""
        return bool(self._shot and self._shot.scale >= 1 and self._shot.camera is self._camera)

    def sizeHint(self) -> QSize:  # noqa: N802
        """Ask for room enough to see something."""
        return QSize(640, 480)

    def show_solid(
        self, solid: Solid | None, skin: Skin, *, normal: Points, up: Points
    ) -> None:
        """Show a part whole, from a side.

        Args:
            solid: the part; None shows nothing.
            skin: what it looks like.
            normal: direction from the part to the eye.
            up: what points upwards.
        """
        self._solid, self._skin, self._traces = solid, skin, ()
        self._normal, self._up = normal, up
        self.show_whole()

    def change_solid(self, solid: Solid, skin: Skin) -> None:
        """Show a part instead of the one that is shown, seen as that one."""
        self._solid, self._skin, self._traces = solid, skin, ()
        self._look()

    def clear(self) -> None:
        """Show no part, only the words."""
        self._solid = None
        self.show_whole()

    def set_skin(self, skin: Skin) -> None:
        """Give the part another look, seen as before."""
        self._skin = skin
        self._look()

    def set_traces(self, traces: Sequence[Trace]) -> None:
        """Draw lines over the part."""
        self._traces = tuple(traces)
        self.update()

    def show_whole(self) -> None:
        """Look at the whole part from where it was shown first."""
        if self._solid is None:
            self._camera = self._shot = None
            self.update()
            return
        self._turn_to(facing(self._solid.points, self._normal, self._up, self._size_px()))

    def zoom_by(self, factor: float) -> None:
        """Come nearer to the middle."""
        if self._camera is not None:
            self._turn_to(self._camera.zoomed(factor))

    def turn_by(self, right_px: float, down_px: float) -> None:
        """Turn as a drag so far does."""
        if self._camera is not None:
            self._turn_to(self._camera.turned(right_px, down_px))

    def _size_px(self) -> tuple[int, int]:
        return max(8, self.width()), max(8, self.height())

    def _turn_to(self, camera: Camera) -> None:
        self._camera = camera
        self._look()

    def _look(self) -> None:
        """Show the coarse picture at once and ask for the fine one."""
        if self._solid is None or self._camera is None:
            return
        self._shot = _shot(self._solid, self._camera, self._skin, COARSE)
        self.update()
        self._rest.start()

    def _refine(self) -> None:
        if self._work is not None or self._solid is None or self._camera is None:
            return
        solid, camera, skin = self._solid, self._camera, self._skin
        width, height = camera.size
        scale = max(1.0, min(FINE, (MOST_FINE_PX / (width * height)) ** 0.5))
        self._work = Work(lambda _: _shot(solid, camera, skin, scale))
        self._work.done.connect(lambda shot: self._on_refined(shot, skin))
        self._work.ended.connect(self._on_ended)
        self._work.start()

    def _on_refined(self, shot: _Shot, skin: Skin) -> None:
        if not isValid(self):
            return
        if shot.camera is self._camera and skin is self._skin:
            self._shot = shot
            self.update()
            self.refined.emit()
        else:
            self._rest.start()

    def _on_ended(self) -> None:
        if isValid(self):
            self._work = None

    # Mouse and keys

    def pick(self, place: QPointF) -> tuple[int, Points | None]:
        """Return the triangle at a place and its corners' shares; (-1, None) off the part."""
        if self._shot is None:
            return -1, None
        k = self._shot.scale
        found = self._shot.raster.at(place.x() * k, place.y() * k)
        return found or (-1, None)

    def mousePressEvent(self, event: QMouseEvent) -> None:  # noqa: N802
        """Begin a drag, a lasso or a click."""
        self._from, self._has_moved = event.position(), False
        is_shift = bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier)
        self._is_moving = is_shift or event.button() is not Qt.MouseButton.LeftButton
        has_lasso = self.takes_lasso and not self._is_moving
        self._lasso = [event.position()] if has_lasso else []

    def mouseMoveEvent(self, event: QMouseEvent) -> None:  # noqa: N802
        """Turn, move or draw on; without a button tell what is under the pointer."""
        here = event.position()
        if self._from is None or self._camera is None:
            self.pointed.emit(*self.pick(here))
            return
        step = here - self._from
        if not self._has_moved and step.manhattanLength() < CLICK_PX:
            return
        self._has_moved = True
        if self._lasso:
            self._lasso.append(here)
            self.update()
            return
        self._from = here
        if self._is_moving:
            self._turn_to(self._camera.moved(step.x(), step.y()))
        else:
            self._turn_to(self._camera.turned(step.x(), step.y()))

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:  # noqa: N802
        """End a drag, hand on a lasso or a click."""
        lasso, self._lasso = self._lasso, []
        was_click = self._from is not None and not self._has_moved
        self._from = None
        if was_click and event.button() is Qt.MouseButton.LeftButton:
            triangle, _ = self.pick(event.position())
            self.clicked.emit(triangle, event.position())
        elif len(lasso) > 2:
            self.lassoed.emit(np.array([(p.x(), p.y()) for p in lasso]))
        self.update()

    def wheelEvent(self, event: QWheelEvent) -> None:  # noqa: N802
        """Zoom about the pointer."""
        if self._camera is not None:
            factor = ZOOM_STEP ** (event.angleDelta().y() / 120)
            place = event.position()
            self._turn_to(self._camera.zoomed(factor, (place.x(), place.y())))

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802
        """Turn by arrows, move by Shift and arrows, zoom by + and -, show all by 0."""
        keys = Qt.Key
        arrows = {
            keys.Key_Left: (-KEY_PX, 0), keys.Key_Right: (KEY_PX, 0),
            keys.Key_Up: (0, -KEY_PX), keys.Key_Down: (0, KEY_PX),
        }  # fmt: skip
        key = Qt.Key(event.key())
        if key == keys.Key_Escape and self._lasso:
            self._lasso, self._from = [], None
            self.update()
        elif key in arrows and self._camera is not None:
            is_shift = bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier)
            turn = self._camera.moved if is_shift else self._camera.turned
            self._turn_to(turn(*arrows[key]))
        elif key in (keys.Key_Plus, keys.Key_Equal):
            self.zoom_by(ZOOM_STEP)
        elif key == keys.Key_Minus:
            self.zoom_by(1 / ZOOM_STEP)
        elif key in (keys.Key_0, keys.Key_Home):
            self.show_whole()
        else:
            super().keyPressEvent(event)

    def leaveEvent(self, event: QEvent) -> None:  # noqa: N802
        """Point at nothing when the pointer leaves."""
        self.pointed.emit(-1, None)
        super().leaveEvent(event)

    def resizeEvent(self, event: QResizeEvent) -> None:  # noqa: N802
        """Keep the part whole in a window of another size."""
        super().resizeEvent(event)
        if self._camera is not None:
            self._turn_to(self._camera.resized(self._size_px()))

    # Painting

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: N802, ARG002
        """Paint the picture, the traces and the lasso."""
        theme = current_theme()
        painter = QPainter(self)
        painter.fillRect(self.rect(), QColor(theme.canvas))
        painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        if self._shot is None:
            painter.setPen(QColor(theme.ink_soft))
            flags = Qt.AlignmentFlag.AlignCenter | Qt.TextFlag.TextWordWrap
            room = self.rect().adjusted(24, 24, -24, -24)
            painter.drawText(room, int(flags), self.words)
        else:
            painter.drawImage(QRectF(self.rect()), self._shot.image)
            self._paint_traces(painter, self._shot)
        if len(self._lasso) > 1:
            self._paint_lasso(painter, theme.accent)
        if self.hasFocus():
            painter.setPen(QPen(QColor(theme.accent), 1))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRect(self.rect().adjusted(0, 0, -1, -1))
        painter.end()

    def _paint_traces(self, painter: QPainter, shot: _Shot) -> None:
        """Paint all of them, what is hidden first; a torn part has hundreds."""
        if not self._traces or self._solid is None:
            return
        ways = [
            np.vstack([t.points, t.points[:1]]) if t.is_closed else t.points
            for t in self._traces
        ]
        middles = np.vstack([(way[1:] + way[:-1]) / 2 for way in ways])
        shown = in_sight(middles, shot.camera, shot.raster, self._solid)
        at, _ = shot.camera.project(np.vstack(ways))
        bounds = np.cumsum([len(way) for way in ways])[:-1]
        seen = np.split(shown, np.cumsum([len(way) - 1 for way in ways])[:-1])
        for trace, places, is_seen in zip(
            self._traces, np.split(at, bounds), seen, strict=True
        ):
            _paint_trace(painter, trace, places, is_seen | trace.is_on_top)

    def _paint_lasso(self, painter: QPainter, accent: str) -> None:
        fill = QColor(accent)
        fill.setAlphaF(0.18)
        painter.setBrush(fill)
        painter.setPen(QPen(QColor(accent), 1.5))
        painter.drawPolygon(QPolygonF(self._lasso))


def _paint_trace(painter: QPainter, trace: Trace, at: Points, shown: Mask) -> None:
    """Paint a line through places in pixels; of each stretch is told whether it is seen."""
    colour = QColor(trace.colour)
    faint = QColor(colour)
    faint.setAlphaF(0.25 if trace.shines_through else 0.0)
    places = [QPointF(x, y) for x, y in at.tolist()]
    for is_seen, tint in ((False, faint), (True, colour)):
        pen = QPen(tint, trace.width_px)
        pen.setCapStyle(Qt.PenCapStyle.RoundCap)
        painter.setPen(pen)
        lines = [
            QLineF(places[i], places[i + 1]) for i in np.flatnonzero(shown == is_seen).tolist()
        ]
        painter.drawLines(lines)


def as_image(picture: Picture) -> QImage:
    """Return a picture of shape (height, width, 4) as an image of Qt's, a copy."""
    height, width = picture.shape[:2]
    data = np.ascontiguousarray(picture).tobytes()
    return QImage(data, width, height, 4 * width, QImage.Format.Format_RGBA8888).copy()


def _shot(solid: Solid, camera: Camera, skin: Skin, scale: float) -> _Shot:
    width, height = camera.size
    finer = camera.resized((max(4, round(width * scale)), max(4, round(height * scale))))
    raster = look_at(solid, finer)
    image = as_image(painted(raster, solid, finer, skin))
    if scale > 1:
        smooth = Qt.TransformationMode.SmoothTransformation
        image = image.scaled(width, height, Qt.AspectRatioMode.IgnoreAspectRatio, smooth)
    return _Shot(camera, raster, image, finer.size[0] / width)
