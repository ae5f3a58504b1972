"""The pages of the photo window: one for each stage of the way from a photo to a panel."""

from collections.abc import Callable
from functools import partial

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QShowEvent
from PySide6.QtWidgets import (
    QButtonGroup,
    QFormLayout,
    QGridLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QSizePolicy,
    QStackedWidget,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from app.dialogs.form import read_length, read_name
from app.dialogs.new_panel import free_place
from app.icons import icon
from app.panes.controls import Combo, Tick
from app.photo.desk import PhotoDesk
from app.style import dress
from core.document.job import Job, Units
from core.document.panel import MarkKind
from core.errors import InputError, LaplineError
from core.read.photo_scale import Method, PhotoScale
from core.read.photo_trace import PanelWish, outline_error_mm, ring_area, ring_bounds
from core.units import format_length

METHODS = (
    (Method.BOARD, "A printed marker board"),
    (Method.RECTANGLE, "Four corners of a rectangle"),
    (Method.LENGTH, "One known length"),
)
TOOLS = (
    ("find", "Find outline", "find_outline", "Drag a rectangle around the part"),
    ("outline", "Draw outline", "inlay", "Node by node, over the photo"),
    ("opening", "Draw opening", "opening", "Node by node"),
    ("round", "Round opening", "round", "From its middle to its rim"),
    ("mark", "Place mark", "mark", "Bolt, recess, damage, badge or ridge"),
    ("edit", "Move nodes", "select", "Nodes, handles and marks"),
)
MARKS = tuple((kind, kind.value.capitalize()) for kind in MarkKind)
SPAN_MM = 800.0


class Page(QWidget):
    """A column of controls with a line for what is wrong below them."""

    def __init__(self, desk: PhotoDesk, units: Units) -> None:
        super().__init__()
        self.desk, self.units = desk, units
        self.column = QVBoxLayout(self)
        self.column.setContentsMargins(0, 0, 0, 0)
        self.column.setSpacing(10)
        self.problem = wrapped("stop")
        self.problem.hide()

    def finish(self) -> None:
        """Put the problem line below, and room."""
        self.column.addWidget(self.problem)
        self.column.addStretch()

    def refuse(self, error: LaplineError | None) -> None:
        """Say what is wrong, or nothing any more."""
        self.problem.setText("" if error is None else f"{error.what} {error.mend}".strip())
        self.problem.setVisible(error is not None)

    def trying(self, deed: Callable[[], None]) -> None:
        """Do something; say it when it is refused."""
        self.refuse(None)
        try:
            deed()
        except LaplineError as error:
            self.refuse(error)

    def add_length(self, form: QFormLayout, label: str, value_mm: float) -> QLineEdit:
        """Add a field for a length."""
        field = QLineEdit(format_length(value_mm, self.units))
        field.setAccessibleName(label)
        form.addRow(label, field)
        return field


class ScalePage(Page):
    """How the photo is put to scale."""

    board_wanted = Signal()
    """The printed board is to be saved as PDF."""

    def __init__(self, desk: PhotoDesk, units: Units) -> None:
        super().__init__(desk, units)
        self.method = Combo()
        self.method.setAccessibleName("How the photo is put to scale")
        self.method.addItems([words for _, words in METHODS])
        self.method.currentIndexChanged.connect(self._on_method)
        self.stack = QStackedWidget()
        self.stack.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Maximum)
        self.ways = (self._board_page(), self._rectangle_page(), self._length_page())
        for way in self.ways:
            self.stack.addWidget(way)
        self.result = wrapped("title")
        self.notes = wrapped("quiet")
        self.column.addWidget(self.method)
        self.column.addWidget(self.stack)
        self.column.addWidget(self.result)
        self.column.addWidget(self.notes)
        self.finish()
        desk.changed.connect(self.follow)
        self.follow()

    def _board_page(self) -> QWidget:
        page, form = _form_page(
            "Print the board, lay one sheet or more flat beside the part, and photograph both "
            "from above. It is found by itself."
        )
        self.check_line = self.add_length(form, "Check line measures", 100.0)
        self.find_board = _button("Find the board", "search", self._find)
        self.save_board = _button("Save board as PDF…", "export", self.board_wanted.emit)
        form.addRow(self.find_board)
        form.addRow(self.save_board)
        return page

    def _rectangle_page(self) -> QWidget:
        page, form = _form_page(
            "Drag the four marks onto the corners of a rectangle whose size you know, such as "
            "a sheet of board that lies flat beside the part."
        )
        self.across = self.add_length(form, "Width", SPAN_MM)
        self.upright = self.add_length(form, "Height", 500.0)
        self.use_corners = _button("Use these corners", "check", self._use_corners)
        form.addRow(self.use_corners)
        return page

    def _length_page(self) -> QWidget:
        page, form = _form_page(
            "Only for a photo taken squarely from above: drag both marks onto the ends of a "
            "length that you measured."
        )
        self.length = self.add_length(form, "Length", SPAN_MM)
        self.use_length = _button("Use this length", "check", self._use_length)
        form.addRow(self.use_length)
        return page

    def _on_method(self, index: int) -> None:
        self.refuse(None)
        self.desk.set_method(METHODS[index][0])
        self.take_tool()

    def take_tool(self) -> None:
        """Take the tool of the chosen way in hand."""
        is_board = self.desk.draft.method is Method.BOARD
        self.desk.set_tool("" if is_board else "places")

    def _find(self) -> None:
        self.trying(
            lambda: self.desk.scale_by_board(
                read_length(self.check_line, self.units, least_mm=1.0)
            )
        )

    def _use_corners(self) -> None:
        self.trying(
            lambda: self.desk.scale_by_rectangle(
                read_length(self.across, self.units), read_length(self.upright, self.units)
            )
        )

    def _use_length(self) -> None:
        self.trying(lambda: self.desk.scale_by_length(read_length(self.length, self.units)))

    def follow(self) -> None:
        """Show what stands."""
        draft = self.desk.draft
        index = [method for method, _ in METHODS].index(draft.method)
        if self.method.currentIndex() != index:
            self.method.setCurrentIndex(index)
        self.stack.setCurrentIndex(index)
        for i, page in enumerate(self.ways):  # else all take the room of the tallest
            down = QSizePolicy.Policy.Preferred if i == index else QSizePolicy.Policy.Ignored
            page.setSizePolicy(QSizePolicy.Policy.Preferred, down)
        self.stack.adjustSize()
        scale = draft.scale
        is_own = scale is not None and scale.method is draft.method
        self.result.setVisible(is_own)
        self.notes.setVisible(is_own)
        if scale is not None and is_own:
            self.result.setText(error_words(scale, self.units))
            self.notes.setText("\n".join([*_seen(scale), *scale.notes]))


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
        form = _form()
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
        self.radius = self.add_length(form, "Its radius", desk.mark_radius_mm)
        self.radius.editingFinished.connect(self._on_radius)
        form.addRow("", self.catch)
        self.column.addLayout(form)
        self.found = wrapped("quiet")
        self.column.addWidget(self.found)
        self.finish()
        desk.changed.connect(self.follow)
        desk.tool_changed.connect(self._on_tool_changed)
        self.follow()

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
            _count(len(tracing.openings), "opening"),
            _count(len(tracing.marks), "mark"),
        ]
        self.found.setText("\n".join(lines))


class PanelPage(Page):
    """What the panel is called and made of."""

    def __init__(self, desk: PhotoDesk, job: Job) -> None:
        super().__init__(desk, job.units)
        self.job = job
        form = _form()
        self.name = QLineEdit(f"Panel {len(job.panels) + 1}")
        self.name.setAccessibleName("Name")
        form.addRow("Name", self.name)
        self.film = Combo()
        self.film.setAccessibleName("Base film")
        self._films = sorted(job.films, key=lambda f: f.rank)
        self.film.addItems([f.name for f in self._films])
        form.addRow("Base film", self.film)
        self.turn = self.add_length(form, "Edge turn", 10.0)
        self.column.addLayout(form)
        self.pair = Tick("There is a left and a right one")
        self.pair.setToolTip("The right one is mirrored")
        self.column.addWidget(self.pair)
        self.summary = wrapped("quiet")
        self.column.addWidget(self.summary)
        self.finish()

    def wish(self) -> PanelWish:
        """Return what is asked for. LaplineError when a field is not usable."""
        if not self._films:
            raise InputError("The job has no film.", mend="Add a film first.")
        return PanelWish(
            name=read_name(self.name),
            base_film=self._films[self.film.currentIndex()].id,
            edge_turn_mm=read_length(self.turn, self.units),
            is_pair=self.pair.isChecked(),
            at=free_place(self.job),
        )

    def showEvent(self, event: QShowEvent) -> None:  # noqa: N802
        """Sum up what was traced."""
        super().showEvent(event)
        tracing = self.desk.tracing
        if tracing.outline:
            openings = sum(ring_area(o) for o in tracing.openings)
            area = (ring_area(tracing.outline) - openings) / 1e6
            self.summary.setText(
                f"{area:.3f} m² without its openings. The photo goes under the panel on the "
                "canvas; the place and time that its file names do not go into the job."
            )


def error_words(scale: PhotoScale, units: Units) -> str:
    """Return the scale's error in words: "±1.2 mm over 800 mm"."""
    import numpy as np  # noqa: PLC0415 - only here

    w, h = scale.size_px
    middle = scale.to_mm(np.array([[w / 2, h / 2]]))[0]
    half = SPAN_MM / 2
    error = max(
        scale.error_mm((middle[0] - half, middle[1]), (middle[0] + half, middle[1])),
        scale.error_mm((middle[0], middle[1] - half), (middle[0], middle[1] + half)),
    )
    return f"±{format_length(error, units)} over {format_length(SPAN_MM, units)}"


def _seen(scale: PhotoScale) -> list[str]:
    if scale.method is not Method.BOARD or scale.residual_mm is None:
        return []
    count = len(scale.clutter)
    whose = "its" if count == 1 else "their"
    off = max(scale.residual_mm, 0.01)
    return [
        f"{_count(count, 'sheet')} found; {whose} marks lie within {off:.2f} mm on average."
    ]


def _count(number: int, word: str) -> str:
    return f"{number or 'No'} {word}{'' if number == 1 else 's'}"


def wrapped(look: str) -> QLabel:
    """Return a label whose text wraps."""
    label = QLabel()
    label.setWordWrap(True)
    label.setTextFormat(Qt.TextFormat.PlainText)
    dress(label, look)
    return label


def _form() -> QFormLayout:
    form = QFormLayout()
    form.setContentsMargins(0, 0, 0, 0)
    form.setHorizontalSpacing(12)
    form.setVerticalSpacing(8)
    form.setFieldGrowthPolicy(QFormLayout.FieldGrowthPolicy.AllNonFixedFieldsGrow)
    return form


def _form_page(words: str) -> tuple[QWidget, QFormLayout]:
    page = QWidget()
    column = QVBoxLayout(page)
    column.setContentsMargins(0, 0, 0, 0)
    column.setSpacing(10)
    label = wrapped("quiet")
    label.setText(words)
    column.addWidget(label)
    form = _form()
    column.addLayout(form)
    column.addStretch()
    return page, form


def _button(words: str, picture: str, slot: Callable[[], None]) -> QPushButton:
    button = QPushButton(icon(picture), f" {words}")
    button.setAutoDefault(False)
    button.clicked.connect(lambda _checked: slot())
    return button


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
