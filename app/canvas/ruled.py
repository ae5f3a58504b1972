"""The rulers beside a view: placed, kept in step with it, and giving out guides."""

from typing import Literal

from PySide6.QtCore import QPointF, QRect, Signal
from PySide6.QtGui import QColor, QMouseEvent, QPalette
from PySide6.QtWidgets import QWidget

from app.canvas.roaming import RoamingView
from app.canvas.rulers import RULER_PX, Ruler
from app.theme import Theme
from core.units import Units


class RuledView(RoamingView):
    """A view that can have rulers along its upper and left side."""

    guide_pulled = Signal(str, QMouseEvent)
    """A guide is dragged out of a ruler: its way, and the event at the viewport's place."""
    guide_moved = Signal(QMouseEvent)
    guide_released = Signal(QMouseEvent)

    def add_rulers(self, theme: Theme) -> None:
        """Make the rulers; they are hidden at first."""
        ways: tuple[Literal["level", "upright"], ...] = ("level", "upright")
        self.rulers = [Ruler(self, way, self.mm_of, theme) for way in ways]
        self._has_rulers = False
        self._corner = QWidget(self)
        self._corner.setAutoFillBackground(True)
        for ruler in self.rulers:
            ruler.pulled.connect(self.guide_pulled)
            ruler.moved.connect(self.guide_moved)
            ruler.released.connect(self.guide_released)
        for bar in (self.horizontalScrollBar(), self.verticalScrollBar()):
            bar.valueChanged.connect(self._follow)
        self.zoom_changed.connect(self._follow)
        self.dress_rulers(theme)
        self.set_rulers(shown=False)

    @property
    def has_rulers(self) -> bool:
        """Whether the rulers are shown."""
        return self._has_rulers

    def set_rulers(self, *, shown: bool) -> None:
        """Show or hide the rulers."""
        self._has_rulers = shown
        for part in (*self.rulers, self._corner):
            part.setVisible(shown)
        room = RULER_PX if shown else 0
        self.setViewportMargins(room, room, 0, 0)
        self.place_rulers()
        self._follow()

    def dress_rulers(self, theme: Theme) -> None:
        """Draw the rulers in other colours."""
        for ruler in self.rulers:
            ruler.theme = theme
            ruler.update()
        palette = self._corner.palette()
        palette.setColor(QPalette.ColorRole.Window, QColor(theme.surface))
        self._corner.setPalette(palette)

    def set_ruler_units(self, units: Units) -> None:
        """Count in other units."""
        for ruler in self.rulers:
            if ruler.units is not units:
                ruler.units = units
                ruler.update()

    def mark_rulers(self, px: QPointF | None) -> None:
        """Mark where the pointer is."""
        for ruler in self.rulers:
            ruler.mark(px)

    def place_rulers(self) -> None:
        """Put the rulers beside the viewport."""
        port = self.viewport().geometry()
        level, upright = self.rulers
        level.setGeometry(QRect(port.left(), port.top() - RULER_PX, port.width(), RULER_PX))
        upright.setGeometry(QRect(port.left() - RULER_PX, port.top(), RULER_PX, port.height()))
        self._corner.setGeometry(
            QRect(port.left() - RULER_PX, port.top() - RULER_PX, RULER_PX, RULER_PX)
        )

    def _follow(self) -> None:
        if not self.has_rulers:
            return
        for ruler in self.rulers:
            ruler.px_mm = 1 / self.transform().m11()
            ruler.update()
