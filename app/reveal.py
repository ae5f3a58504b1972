"""Brings panels that were just added into view, whatever way they came."""

from PySide6.QtCore import QObject, QRectF

from app.canvas.view import CanvasView
from app.session import Session
from core.ids import PanelId
from core.plan.lookup import drawn_plans, panel_bounds


class Reveal(QObject):
    """Shows all panels when one was added that lies out of view."""

    def __init__(self, session: Session, canvas: CanvasView) -> None:
        super().__init__(canvas)
        self._session, self._canvas = session, canvas
        self._known: set[str] = set()
        session.opened.connect(self._learn)
        session.plan_changed.connect(self._follow)  # after the canvas
        self._learn()

    def _learn(self) -> None:
        self._known = {panel.id for panel in self._session.job.panels}

    def _follow(self) -> None:
        if self._session.is_previewing:
            return
        fresh = {p.id for p in self._session.job.panels} - self._known
        is_first = not self._known
        self._learn()
        if fresh and (is_first or not all(map(self._is_in_view, fresh))):
            self._canvas.zoom_to_fit()

    def _is_in_view(self, name: str) -> bool:
        panel = self._session.job.panel(name)
        plan = drawn_plans(self._session.plan)[PanelId(name)]
        x0, y0, x1, y1 = panel_bounds(panel, plan)
        box = QRectF(x0 + panel.at[0], y0 + panel.at[1], x1 - x0, y1 - y0)
        seen = self._canvas.mapToScene(self._canvas.viewport().rect()).boundingRect()
        return seen.contains(box)
