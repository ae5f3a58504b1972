"""The commands of the Shape menu: measure, see in space, see strain, where a seam must go."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject
from PySide6.QtGui import QAction
from PySide6.QtWidgets import QWidget

from app.actions import Actions
from app.canvas.strain_layer import StrainLayer
from app.canvas.view import CanvasView
from app.measured.window import MeasureWindow
from app.selection import Selection
from app.session import Session
from app.shapes import Shapes
from core.document.panel import Panel
from core.document.surface import MeasuredSurface, ScannedSurface
from core.plan.lookup import drawn_plans

if TYPE_CHECKING:
    from app.solid.part_window import PartWindow
    from app.solid.seam_search import SeamSearch


PANEL_MENU = ("measure_panel", "show_part", "propose_seams")


class ShapeCommands(QObject):
    """The commands of shape."""

    def __init__(
        self,
        window: QWidget,
        session: Session,
        shapes: Shapes,
        canvas: CanvasView,
        actions: Actions,
    ) -> None:
        super().__init__(window)
        self._window, self._session, self.shapes = window, session, shapes
        self._actions = actions
        self.layer = StrainLayer(session, canvas, shapes)
        self.measuring: MeasureWindow | None = None
        self.part: PartWindow | None = None
        self.search: SeamSearch | None = None
        self._part_of = ""
        actions.on("measure_panel", self.measure)
        actions.on("show_part", self.show_part)
        actions.on("propose_seams", self.propose)
        actions["show_strain"].toggled.connect(lambda shown: self.layer.set_shown(shown=shown))
        for signal in (session.job_changed, session.selection_changed, session.opened):
            signal.connect(self._follow)
        session.plan_changed.connect(self._turn_part)
        session.plan_changed.connect(self._refresh_part)
        self.shapes.changed.connect(self._refresh_part)
        self._follow()

    # What is chosen

    def chosen(self) -> Panel | None:
        """Return the selected panel, or the one that the selection lies on, or the only one."""
        job, selection = self._session.job, self._session.selection
        panel = selection.panel or (selection.ids[0] if selection.kind == "panel" else None)
        if panel is None and len(job.panels) == 1:
            return job.panels[0]
        return next((p for p in job.panels if p.id == panel), None)

    def reasons(self) -> dict[str, str]:
        """Return why a command cannot be done now, "" when it can."""
        panel = self.chosen()
        none = "" if panel else "Select a panel first"
        is_scan = panel is not None and isinstance(panel.surface, ScannedSurface)
        no_surface = (
            "" if panel and panel.surface else "Measure over the part first, or scan it"
        )
        shapes = any(p.surface is not None for p in self._session.job.panels)
        return {
            "from_scan": "" if self._session.job.films else "The job has no film",
            "measure_panel": none
            or ("This panel was scanned" if is_scan else "")
            or ("The panel is locked" if panel and panel.is_locked else ""),
            "show_part": none or no_surface or _why_no_part(panel),
            "propose_seams": none or no_surface,
            "show_strain": "" if shapes else "No panel is measured over or scanned yet",
        }

    def menu_for(self, selection: Selection) -> Sequence[QAction | None]:
        """Return what the context menu of a selection offers; None is a line between."""
        if selection.kind != "panel" or len(selection.ids) != 1:
            return ()
        actions = [self._actions[name] for name in PANEL_MENU]
        return [None, *(action for action in actions if action.isEnabled())]

    def _follow(self) -> None:
        self._turn_part()
        for action, reason in self.reasons().items():
            self._actions.set_ready(action, unless=reason)

    # Measuring

    def measure(self) -> None:
        """Show the window in which a panel is measured with a tape."""
        panel = self.chosen()
        if panel is None or panel.is_locked or isinstance(panel.surface, ScannedSurface):
            return
        if self.measuring is not None:
            self.measuring.close()
        self.measuring = MeasureWindow(self._session, self.shapes, panel.id, self._window)
        self.measuring.finished.connect(self._on_measured)
        self.measuring.seams_wanted.connect(lambda: self.propose_for(panel.id))
        self.measuring.show()

    def _on_measured(self, _result: int) -> None:
        gone, self.measuring = self.measuring, None
        if gone is not None:
            gone.deleteLater()

    # The part in space

    def show_part(self) -> None:
        """Show the chosen part in space."""
        panel = self.chosen()
        if panel is None or panel.surface is None or _why_no_part(panel):
            return
        from app.solid.part_window import PartWindow  # noqa: PLC0415

        if self.part is not None:
            self.part.close()
        self._part_of = panel.id
        self.part = PartWindow(panel.name, self._window)
        self.part.finished.connect(self._on_part_closed)
        self._refresh_part()
        self.part.show()

    def _turn_part(self) -> None:
        """Let the window show the panel that is chosen now, if that can be seen in space."""
        panel = self.chosen()
        is_other = panel is not None and panel.id != self._part_of and bool(panel.surface)
        if self.part is None or panel is None or not is_other or _why_no_part(panel):
            return
        if panel.id not in drawn_plans(self._session.plan):
            return  # it is new: the plan comes after it
        self._part_of = panel.id
        self.part.turn_to(panel.name)
        self._refresh_part()

    def _refresh_part(self) -> None:
        if self.part is None:
            return
        job = self._session.plan.job
        drawn = {str(k): v for k, v in drawn_plans(self._session.plan).items()}
        if self._part_of not in drawn:
            self.part.close()
            return
        surface = job.panel(self._part_of).surface
        scan = None
        if isinstance(surface, ScannedSurface):
            scan = self._session.scan_data(surface.file)
        self.part.show_plan(drawn[self._part_of], job, scan)
        self.part.show_strain(self.shapes.strains.get(self._part_of))

    def _on_part_closed(self, _result: int) -> None:
        gone, self.part = self.part, None
        if gone is not None:
            gone.deleteLater()

    # Where a seam must go

    def propose(self) -> None:
        """Look for seams on the chosen panel."""
        panel = self.chosen()
        if panel is not None:
            self.propose_for(panel.id)

    def propose_for(self, panel: str) -> None:
        """Look for seams on a panel, and show what is found."""
        from app.solid.seam_search import SeamSearch  # noqa: PLC0415 - see the module

        if self.search is not None:
            self.search.window.reject()
        self.search = SeamSearch(self._session, self.shapes, panel, self._window)
        self.search.window.finished.connect(self._on_searched)

    def _on_searched(self, _result: int) -> None:
        gone, self.search = self.search, None
        if gone is not None:
            gone.end()


def _why_no_part(panel: Panel | None) -> str:
    """Return why a measured panel cannot be seen in space, "" when it can."""
    surface = panel.surface if panel else None
    if isinstance(surface, MeasuredSurface) and not surface.stations:
        return "Length and width alone do not tell how it stands: measure a grid over the part"
    return ""
