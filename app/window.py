"""The main window: puts canvas and panes together and keeps the actions in step."""

from collections.abc import Callable
from importlib import metadata
from pathlib import Path

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QCloseEvent, QDragEnterEvent, QDropEvent, QKeyEvent
from PySide6.QtWidgets import (
    QApplication,
    QDialog,
    QFrame,
    QMainWindow,
    QSplitter,
    QVBoxLayout,
    QWidget,
)

from app.actions import Actions
from app.canvas.view import CanvasView
from app.canvas_commands import CanvasCommands
from app.dialogs.find_action import FindActionDialog
from app.dialogs.help import ABOUT, CAUTIONS, HelpDialog, keys_html
from app.file_commands import JOBS, FileCommands
from app.hand_out_commands import HandOutCommands
from app.import_commands import DRAWINGS, ImportCommands
from app.job_commands import JobCommands
from app.jobs import cancel_all
from app.opening import Source
from app.outline_commands import OutlineCommands
from app.panes.films import FilmsPane
from app.panes.header import Header
from app.panes.lay_order import LayOrderPane
from app.panes.review import ReviewPane
from app.panes.selected import SelectedPane
from app.panes.start_card import StartCard
from app.panes.status import StatusStrip
from app.panes.tools import TOOLS, ToolStrip
from app.photo_commands import PHOTOS, PhotoCommands
from app.readiness import Readiness
from app.recovery import Recovery
from app.reveal import Reveal
from app.rolls.pane import RollsPane
from app.scan_commands import SCANS, ScanCommands
from app.selection import NOTHING, Selection
from app.session import Session
from app.settings import AppSettings
from app.shape_commands import ShapeCommands
from app.shapes import Shapes
from app.stock_commands import StockCommands
from app.theme import DARK, LIGHT, Theme, apply_theme, current_theme
from app.tightening import Tightening
from core.plan.model import Finding

ZOOM_STEP = 1.25


class MainWindow(QMainWindow):
    """One window with one job."""

    def __init__(self, session: Session, settings: AppSettings, recovery: Recovery) -> None:
        super().__init__()
        self.session, self.settings, self.recovery = session, settings, recovery
        self.setMinimumSize(960, 600)
        self.setAcceptDrops(True)
        self.actions_by_id = Actions(self)
        self.tightening = Tightening(session, self)
        self.shapes = Shapes(session, self)
        self._make_parts()
        self.files = FileCommands(self, session, settings, self.actions_by_id)
        self.start = StartCard(
            session, self.actions_by_id, self.actions_by_id.submenus["samples"], self._ground
        )
        self.hand_out = HandOutCommands(
            self, session, settings, self.actions_by_id, self.shapes
        )
        self.imports = ImportCommands(self, session, settings, self.actions_by_id)
        self.photos = PhotoCommands(self, session, settings, self.actions_by_id)
        self.scans = ScanCommands(self, session, settings, self.actions_by_id)
        self.shape = ShapeCommands(self, session, self.shapes, self.canvas, self.actions_by_id)
        self.jobs = JobCommands(self, session, self.actions_by_id, self.films)
        self.outlines = OutlineCommands(self, session, self.actions_by_id)
        self.stock = StockCommands(self, session, self.actions_by_id)
        self.drawing = CanvasCommands(self, session, settings, self.canvas, self.actions_by_id)
        self.canvas.more_actions = lambda selection: (
            *self.drawing.menu_for(selection),
            None,
            *self.outlines.menu_for(selection),
            *self.shape.menu_for(selection),
        )
        self.readiness = Readiness(
            session,
            self.actions_by_id,
            self.tightening,
            (self.hand_out, self.outlines, self.stock),
            (self.films.picked, self.hand_out.changed),
        )
        self._reveal = Reveal(session, self.canvas)
        self._lay_out()
        self._connect_actions()
        self._connect_parts()
        self._restore()
        self._show_file()
        self.canvas.setFocus()

    def _make_parts(self) -> None:
        session, actions = self.session, self.actions_by_id
        self.canvas = CanvasView(session, current_theme())
        self.header = Header(session, actions)
        self.tools = ToolStrip(session, actions)
        self.films = FilmsPane(session, actions)
        self.lay_order = LayOrderPane(session, self.shapes)
        self.selected = SelectedPane(session, self.shapes)
        self.review = ReviewPane(session, self.shapes)
        self.rolls = RollsPane(session, actions, self.tightening)
        self.status = StatusStrip(session)
        self._ground = QWidget()

    def _lay_out(self) -> None:
        ground = QVBoxLayout(self._ground)
        ground.setContentsMargins(0, 0, 0, 0)
        ground.addWidget(self.canvas)
        middle = QFrame()
        column = QVBoxLayout(middle)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addWidget(self.tools)
        column.addWidget(self._ground, 1)
        column.addWidget(self.shape.layer.legend)
        left = _splitter(Qt.Orientation.Vertical, (self.films, self.lay_order), (260, 320))
        right = _splitter(Qt.Orientation.Vertical, (self.selected, self.review), (420, 180))
        upper = _splitter(Qt.Orientation.Horizontal, (left, middle, right), (264, 800, 280))
        upper.setStretchFactor(0, 0)
        upper.setStretchFactor(1, 1)
        upper.setStretchFactor(2, 0)
        left.setMinimumWidth(240)
        right.setMinimumWidth(264)
        whole = _splitter(Qt.Orientation.Vertical, (upper, self.rolls), (600, 196))
        whole.setStretchFactor(0, 1)
        whole.setStretchFactor(1, 0)
        self._splitters = {"left": left, "right": right, "upper": upper, "whole": whole}
        page = QWidget()
        rows = QVBoxLayout(page)
        rows.setContentsMargins(0, 0, 0, 0)
        rows.setSpacing(0)
        rows.addWidget(self.header)
        rows.addWidget(whole, 1)
        self.setCentralWidget(page)
        self.setStatusBar(self.status)

    def _connect_actions(self) -> None:
        on, session, canvas = self.actions_by_id.on, self.session, self.canvas
        on("close", self.close)
        on("undo", session.undo)
        on("redo", session.redo)
        on("delete", canvas.delete_selection)
        on("select_none", lambda: session.select(NOTHING))
        for tool in TOOLS:
            self._connect_tool(tool)
        on("zoom_in", lambda: canvas.zoom_by(ZOOM_STEP))
        on("zoom_out", lambda: canvas.zoom_by(1 / ZOOM_STEP))
        on("zoom_fit", canvas.zoom_to_fit)
        for look in ("system", "light", "dark"):
            self._connect_look(look)
        on("tighten", lambda: self.tightening.start(self.rolls.wanted_seconds))
        on("stop_tighten", self.tightening.stop)
        on("keep_layout", self.tightening.keep)
        on("large_rolls", self._show_rolls_large)
        on("let_go", self.tightening.let_go)
        on("find_action", self.find_action)
        on("keys", lambda: self._help("Keys and mouse", keys_html(self.actions_by_id)))
        on("cautions", lambda: self._help("Working safely", CAUTIONS))
        on("about", lambda: self._help("About Lapline", ABOUT.format(version=_version())))

    def _connect_tool(self, tool: str) -> None:
        self.actions_by_id.on(f"tool_{tool}", lambda: self._take_tool(tool))

    def _connect_look(self, look: str) -> None:
        self.actions_by_id.on(f"theme_{look}", lambda: self.set_look(look))

    def _connect_parts(self) -> None:
        session, canvas = self.session, self.canvas
        session.file_changed.connect(self._show_file)
        session.said.connect(self.status.say)
        canvas.tool_changed.connect(self.tools.show_tool)
        canvas.choices_changed.connect(self._show_choices)
        session.job_changed.connect(self._show_choices)
        self.tools.opening.chosen.connect(canvas.desk.choose_opening)
        self.tools.mark.chosen.connect(canvas.desk.choose_mark)
        canvas.hint_changed.connect(self.status.show_hint)
        self.rolls.view.hint_changed.connect(
            lambda hint: self.status.show_hint(hint or canvas.hint)
        )
        canvas.cursor_moved.connect(self.status.show_place)
        canvas.zoom_changed.connect(self.status.show_zoom)
        self.films.picked.connect(canvas.set_film)
        self.films.picked.connect(self.tools.show_film)
        session.job_changed.connect(lambda: self.tools.show_film(self.films.film))
        self.review.chosen.connect(self.show_finding)
        self.files.busy_changed.connect(self.status.show_busy)
        self.photos.reading.busy_changed.connect(self.status.show_busy)
        self.scans.reading.busy_changed.connect(self.status.show_busy)
        canvas.set_film(self.films.film)
        self.tools.show_film(self.films.film)
        self._show_choices()
        self.status.show_hint(canvas.hint)
        hints = QApplication.styleHints()
        hints.colorSchemeChanged.connect(lambda _: self.set_look(self.look))

    # What can be asked of the window

    @property
    def look(self) -> str:
        """The look that the user chose: system, light or dark."""
        return self.settings.text("look", "system")

    def set_look(self, look: str) -> None:
        """Dress the window as the system, light or dark."""
        self.settings.set_text("look", look)
        app = QApplication.instance()
        assert isinstance(app, QApplication)
        theme = wanted_theme(look)
        apply_theme(app, theme)
        self.canvas.set_theme(theme)
        for name in ("system", "light", "dark"):
            self.actions_by_id[f"theme_{name}"].setChecked(name == look)

    def show_finding(self, finding: Finding) -> None:
        """Go to where a finding is, and select what it is about."""
        panels = {p.id: p for p in self.session.plan.panels}
        panel = panels.get(finding.panel) if finding.panel else None
        if panel is None:
            return
        if finding.lines:
            lines = tuple(str(line) for line in finding.lines)
            self.session.select(Selection("line", lines, panel.of))
        else:
            self.session.select(Selection("panel", (panel.of,), panel.of))
        if finding.where is not None:
            self.canvas.show_place(panel.id, *finding.where)
        self.canvas.setFocus()

    def find_action(self) -> None:
        """Show the list of actions and do the chosen one."""
        dialog = FindActionDialog(self.actions_by_id, self)
        if dialog.exec() == QDialog.DialogCode.Accepted and dialog.chosen:
            dialog.chosen.trigger()

    def _take_tool(self, tool: str) -> None:
        self.canvas.set_tool(tool)
        self.canvas.setFocus()

    def _show_choices(self) -> None:
        desk = self.canvas.desk
        self.tools.show_choices(desk.opening_shape, desk.mark_kind, desk.mark_radius_mm)

    def _show_rolls_large(self) -> None:
        """Give the rolls most of the window, or what they had before."""
        whole = self._splitters["whole"]
        if self.actions_by_id["large_rolls"].isChecked():
            self._sizes = whole.sizes()
            room = sum(self._sizes)
            whole.setSizes([room // 4, room - room // 4])
            self.rolls.view.setFocus()
        else:
            whole.setSizes(self._sizes)
            self.canvas.setFocus()

    def _help(self, title: str, html: str) -> None:
        HelpDialog(title, html, self).exec()

    def _show_file(self) -> None:
        self.setWindowTitle(f"{self.session.committed_job.name}[*] – Lapline")
        self.setWindowModified(self.session.is_dirty)

    def _restore(self) -> None:
        self.resize(QSize(1440, 900).boundedTo(self.screen().availableSize()))
        self.restoreGeometry(self.settings.state("window"))
        for name, splitter in self._splitters.items():
            splitter.restoreState(self.settings.state(name))
        self.set_look(self.look)

    def closeEvent(self, event: QCloseEvent) -> None:  # noqa: N802
        """Ask about unsaved work, then leave nothing behind."""
        if not self.files.may_leave():
            event.ignore()
            return
        self.settings.set_state("window", self.saveGeometry())
        for name, splitter in self._splitters.items():
            self.settings.set_state(name, splitter.saveState())
        self.settings.sync()
        self.tightening.stop()
        self.stock.close()
        cancel_all()
        self.recovery.finish()
        event.accept()

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802
        """Lead back to the canvas on Escape from a pane."""
        if event.key() == Qt.Key.Key_Escape:
            self.canvas.setFocus()
            return
        super().keyPressEvent(event)

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:  # noqa: N802
        """Take job files, drawings, photos and scans."""
        if any(source.dropped(event.mimeData()) for source, _ in self._dropping()):
            event.acceptProposedAction()

    def dropEvent(self, event: QDropEvent) -> None:  # noqa: N802
        """Open what was dropped: a job, a drawing, a photo or a scan."""
        for source, open_ in self._dropping():
            path = source.dropped(event.mimeData())
            if path is not None:
                event.acceptProposedAction()
                open_(path)
                return

    def _dropping(self) -> tuple[tuple[Source, Callable[[Path], object]], ...]:
        """Return what may be dropped, and what opens it."""
        return (
            (JOBS, self.files.open),
            (DRAWINGS, self.imports.open),
            (PHOTOS, self.photos.open),
            (SCANS, self.scans.open),
        )


def wanted_theme(look: str) -> Theme:
    """Return the theme for what the user chose; "system" follows the desktop."""
    if look == "system":
        is_dark = QApplication.styleHints().colorScheme() is Qt.ColorScheme.Dark
    else:
        is_dark = look == "dark"
    return DARK if is_dark else LIGHT


def _version() -> str:
    try:
        return metadata.version("lapline")
    except metadata.PackageNotFoundError:
        return "from source"


def _splitter(
    way: Qt.Orientation, parts: tuple[QWidget, ...], sizes: tuple[int, ...]
) -> QSplitter:
    splitter = QSplitter(way)
    splitter.setHandleWidth(1)
    splitter.setChildrenCollapsible(False)
    for part in parts:
        splitter.addWidget(part)
    splitter.setSizes(list(sizes))
    return splitter
