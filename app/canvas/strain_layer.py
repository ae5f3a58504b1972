"""Bunching and stretch shown on the canvas, with a legend that tells the value pointed at."""

from PySide6.QtCore import QEvent, QObject, QPointF
from PySide6.QtGui import QMouseEvent

from app.canvas.view import CanvasView
from app.session import Session
from app.shapes import Shapes
from app.solid.legend import StrainLegend
from core.plan.lookup import find_panel_at, to_panel
from core.plan.strain_map import Strain, strain_words

STALE = 0.45
"""How strongly the strain of the plan before is shown while the new one is worked out."""


class StrainLayer(QObject):
    """Shows the strain of all panels over their film, or nothing.

    Its ``legend`` stands below the canvas, where the window puts it.
    """

    def __init__(self, session: Session, canvas: CanvasView, shapes: Shapes) -> None:
        super().__init__(canvas)
        self._session, self._canvas, self._shapes = session, canvas, shapes
        self._is_shown = False
        self._spot: QPointF | None = None  # where the pointer is, within the canvas
        self.legend = StrainLegend()
        self.legend.hide()
        canvas.viewport().installEventFilter(self)
        shapes.changed.connect(self.refresh)
        session.plan_changed.connect(self.refresh)

    @property
    def is_shown(self) -> bool:
        """Whether strain is shown."""
        return self._is_shown

    def set_shown(self, *, shown: bool) -> None:
        """Show strain, or leave it out."""
        self._is_shown = shown
        self.refresh()

    def refresh(self) -> None:
        """Show the newest strain."""
        strains = self._shapes.strains if self._is_shown else {}
        pictures = {panel: found.picture for panel, found in strains.items()}
        opacity = 1.0 if self._shapes.are_strains_current else STALE
        self._canvas.canvas_scene.show_strain(pictures, opacity)
        limits = {known for found in strains.values() for _, known in found.pieces}
        self.legend.show_limits(limits.pop() if len(limits) == 1 else None)
        self.legend.setVisible(bool(strains))
        self._tell()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:  # noqa: N802
        """Follow the pointer."""
        if isinstance(event, QMouseEvent) and event.type() == QEvent.Type.MouseMove:
            self._spot = event.position()
            self._tell()
        elif event.type() == QEvent.Type.Leave:
            self._spot = None
            self._tell()
        return super().eventFilter(watched, event)

    def _tell(self) -> None:
        """Tell the strain of the film that is pointed at now."""
        if not self._is_shown:
            return
        found = self._strain_at(self._spot) if self._spot is not None else None
        if found is None:
            self.legend.show_value("", None)
        else:
            self.legend.show_value(strain_words(found).capitalize(), found.share)

    def _strain_at(self, spot: QPointF) -> Strain | None:
        at = self._canvas.mm_of(spot)
        panel = find_panel_at(self._session.plan, at)
        strain = self._shapes.strains.get(panel.id) if panel else None
        return strain.at(*to_panel(panel, at)) if panel and strain else None
