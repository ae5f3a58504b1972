"""The properties of what is selected, each with its field."""

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QScrollArea, QVBoxLayout, QWidget

from app.panes.editor import Editor
from app.panes.editor_belonging import MarkEditor, OpeningEditor
from app.panes.editor_job import JobEditor
from app.panes.editor_line import LineEditor
from app.panes.editor_node import NodeEditor
from app.panes.editor_panel import PanelEditor
from app.panes.editor_region import RegionEditor
from app.panes.editor_relief import ReliefEditor
from app.panes.pane import Pane
from app.panes.shape_card import ShapeCard
from app.session import Selection, Session
from app.shapes import Shapes


class SelectedPane(Pane):
    """Shows the editor that fits the selection; the job's own when nothing is selected."""

    def __init__(self, session: Session, shapes: Shapes, parent: QWidget | None = None) -> None:
        super().__init__("Selected", session, parent)
        self._shapes = shapes
        self._area = QScrollArea()
        self._area.setWidgetResizable(True)
        self._area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.body.addWidget(self._area, 1)
        self.editor: Editor = JobEditor(session)
        self.shape = ShapeCard(session, shapes)
        session.selection_changed.connect(self._rebuild)
        session.opened.connect(self._rebuild)
        session.plan_changed.connect(self.refresh_soon)
        shapes.changed.connect(self.refresh_soon)
        self._rebuild()

    def refresh(self) -> None:
        """Show the values as they are now."""
        self.editor.refresh()
        self.shape.refresh()
        self.set_title(self.editor.title)

    def _rebuild(self) -> None:
        self.editor = _editor_for(self.session)
        self.shape = ShapeCard(self.session, self._shapes)
        page = QWidget()
        column = QVBoxLayout(page)
        column.setContentsMargins(16, 4, 12, 16)
        column.addWidget(self.shape)
        column.addWidget(self.editor)
        column.addStretch()
        old = self._area.takeWidget()
        if old is not None:
            old.deleteLater()  # it may be in the middle of handing on a value
        self._area.setWidget(page)
        self.refresh()


def _editor_for(session: Session) -> Editor:
    selection = session.selection
    match selection.kind:
        case "line":
            return _line_editor(session, selection.ids)
        case "panel":
            return PanelEditor(session, selection.ids)
        case "mark" | "opening":
            return _belonging_editor(session, selection)
        case "region" | "piece":
            return RegionEditor(session, selection.ids[0])
        case "node" if selection.node is not None:
            return _node_editor(session, selection)
        case _:
            return JobEditor(session)


def _line_editor(session: Session, ids: tuple[str, ...]) -> Editor:
    """Return the editor of lines; of relief cuts among others it is that of the others."""
    schemes = session.job.variant(session.variant).schemes
    reliefs = {relief.id for s in schemes for relief in s.reliefs}
    dividing = tuple(line for line in ids if line not in reliefs)
    return LineEditor(session, dividing) if dividing else ReliefEditor(session, ids)


def _belonging_editor(session: Session, selection: Selection) -> Editor:
    if selection.kind == "mark":
        return MarkEditor(session, selection.ids)
    return OpeningEditor(session, selection.ids)


def _node_editor(session: Session, selection: Selection) -> Editor:
    schemes = session.job.variant(session.variant).schemes
    if selection.ids[0] in {line.id for s in schemes for line in s.lines}:
        return _line_editor(session, selection.ids[:1])
    if selection.ids[0] in {mark.id for p in session.job.panels for mark in p.marks}:
        return MarkEditor(session, selection.ids[:1])
    return NodeEditor(session, selection)
