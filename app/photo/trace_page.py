"""The second page: the outline, the openings and the marks."""

from functools import partial

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QButtonGroup, QGridLayout, QLabel, QSizePolicy, QToolButton

from app.dialogs.form import read_length
from app.icons import icon
from app.panes.controls import Combo, Tick
from app.photo.desk import PhotoDesk
from app.photo.page import Page, count_words, new_form, push_button, wrapped
from app.style import dress
from core.document.job import Units
from core.document.panel import MarkKind
from core.errors import InputError
from core.read.photo_panel import outline_error_mm
from core.read.photo_trace import OUTLINE, ring_bounds
from core.units import format_length

TOOLS = (
    ("find", "Find outline", "find_outline", "Drag a rectangle around the part"),
    ("outline", "Draw outline", "inlay", "Node by node, over the photo"),
    ("opening", "Draw opening", "opening", "Node by node"),
    ("round", "Round opening", "round", "From its middle to its rim"),
    ("mark", "Place mark", "mark", "Bolt, recess, damage, badge or ridge"),
    ("edit", "Change", "select", "Move and delete nodes, handles, openings and marks"),
)
MARKS = tuple((kind, kind.value.capitalize()) for kind in MarkKind)


class TracePage(Page):
    """The outline, the openings and the marks."""

    def __init__(self, desk: PhotoDesk, units: Units) -> None:
        super().__init__(desk, units)
        self.tools: dict[str, QToolButton] = {}
        grid = QGridLayout()
        grid.setSpacing(6)
        group = QButtonGroup(self)
        for i, (name, words, picture, hint) in enumerate(TOOLS):
            button = _tool(words, picture, hint)
            button.clicked.connect(partial(self._take, name))
            group.addButton(button)
            self.tools[name] = button
            grid.addWidget(button, i // 2, i % 2)
        self.column.addLayout(grid)
        self.delete = push_button("Delete", "delete", self._delete)
        self.column.addWidget(self.delete)
        form = new_form()
        self.tolerance = self.add_length(form, "Keep within", desk.tolerance_mm)
        self.tolerance.setToolTip("How far the nodes' curves may be off the found edge")
        self.tolerance.editingFinished.connect(self._on_tolerance)
        self.catch = Tick("Catch strong edges")
        self.catch.setChecked(desk.catches_edges)
        self.catch.toggled.connect(self._on_catch)
        self.kind = Combo()
        self.kind.setAccessibleName("Kind of mark")
        self.kind.addItems([words for _, words in MARKS])
        self.kind.currentIndexChanged.connect(self._on_kind)
        form.addRow("Mark", self.kind)
        self._form = form
        self.radius = self.add_length(form, "Its radius", desk.mark_radius_mm)
        self.radius.editingFinished.connect(self._on_radius)
        form.addRow("", self.catch)
        self.column.addLayout(form)
        self.found = wrapped("quiet")
        self.column.addWidget(self.found)
        self.finish()
        desk.changed.connect(self.follow)
        desk.tool_changed.connect(self._on_tool_changed)
        desk.overlay_changed.connect(self._on_overlay)
        self.follow()
        self._on_overlay()

    def _take(self, name: str, _checked: bool = False) -> None:  # noqa: FBT001, FBT002
        self.refuse(None)
        self.desk.set_tool(name)

    def _on_tool_changed(self, name: str) -> None:
        if name in self.tools:
            self.tools[name].setChecked(True)

    def _on_tolerance(self) -> None:
        def take() -> None:
            value = read_length(self.tolerance, self.units, least_mm=0.05)
            if value > 5:
                raise InputError("At most 5 mm can be asked for.", where="Keep within")
            self.desk.tolerance_mm = value

        self.trying(take)

    def _on_radius(self) -> None:
        def take() -> None:
            self.desk.mark_radius_mm = read_length(self.radius, self.units)

        self.trying(take)

    def _on_catch(self, is_on: bool) -> None:  # noqa: FBT001 - Qt's slot
        self.desk.catches_edges = is_on

    def _on_kind(self, index: int) -> None:
        self.desk.mark_kind = MARKS[index][0]
        is_ridge = self.desk.mark_kind is MarkKind.RIDGE
        label = self._form.labelForField(self.radius)
        assert isinstance(label, QLabel)
        label.setText("Half its width" if is_ridge else "Its radius")
        self.radius.setAccessibleName(label.text())
        self.desk.set_tool("mark")

    def _on_overlay(self) -> None:
        """Let what is chosen be deleted, and say what it is."""
        look = self.desk.overlay
        words = "Delete"
        if look.chosen_mark is not None:
            words = "Delete the mark"
        elif look.chosen is not None:
            words = "Delete the node"
        elif look.chosen_ring is not None:
            is_outline = look.chosen_ring == OUTLINE
            words = "Delete the outline" if is_outline else "Delete the opening"
        self.delete.setText(f" {words}")
        self.delete.setEnabled(look.has_choice)
        self.delete.setToolTip(
            "Del"
            if look.has_choice
            else "With Change, click a node, an opening or a mark first"
        )

    def _delete(self) -> None:
        self.desk.delete_chosen()

    def follow(self) -> None:
        """Say what was traced."""
        tracing, scale = self.desk.tracing, self.desk.draft.scale
        if not tracing.outline or scale is None:
            self.found.setText("No outline yet.")
            return
        left, bottom, right, top = ring_bounds(tracing.outline)
        width, height = (format_length(v, self.units) for v in (right - left, top - bottom))
        error = format_length(outline_error_mm(scale, tracing.outline), self.units)
        lines = [
            f"{width} × {height}, good to ±{error}",
            f"{len(tracing.outline)} nodes",
            count_words(len(tracing.openings), "opening"),
            count_words(len(tracing.marks), "mark"),
        ]
        self.found.setText("\n".join(lines))


def _tool(words: str, picture: str, hint: str) -> QToolButton:
    button = QToolButton()
    button.setIcon(icon(picture))
    button.setText(f" {words}")
    button.setToolTip(hint)
    button.setCheckable(True)
    button.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextBesideIcon)
    button.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
    dress(button, "tool")
    return button
