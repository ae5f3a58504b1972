"""The first page: how the photo is put to scale."""

import numpy as np
from PySide6.QtCore import Signal
from PySide6.QtWidgets import (
    QFormLayout,
    QSizePolicy,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from app.dialogs.form import read_length
from app.panes.controls import Combo
from app.photo.desk import PhotoDesk
from app.photo.page import SPAN_MM, Page, count_words, new_form, push_button, wrapped
from core.document.job import Units
from core.read.photo_scale import Method, PhotoScale
from core.units import format_length

METHODS = (
    (Method.BOARD, "A printed marker board"),
    (Method.RECTANGLE, "Four corners of a rectangle"),
    (Method.LENGTH, "One known length"),
)


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
        self.find_board = push_button("Find the board", "search", self._find)
        self.save_board = push_button("Save board as PDF…", "export", self.board_wanted.emit)
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
        self.use_corners = push_button("Use these corners", "check", self._use_corners)
        form.addRow(self.use_corners)
        return page

    def _length_page(self) -> QWidget:
        page, form = _form_page(
            "Only for a photo taken squarely from above: drag both marks onto the ends of a "
            "length that you measured."
        )
        self.length = self.add_length(form, "Length", SPAN_MM)
        self.use_length = push_button("Use this length", "check", self._use_length)
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


def _form_page(words: str) -> tuple[QWidget, QFormLayout]:
    page = QWidget()
    column = QVBoxLayout(page)
    column.setContentsMargins(0, 0, 0, 0)
    column.setSpacing(10)
    label = wrapped("quiet")
    label.setText(words)
    column.addWidget(label)
    form = new_form()
    column.addLayout(form)
    column.addStretch()
    return page, form


def error_words(scale: PhotoScale, units: Units) -> str:
    """Return the scale's error in words: "±1.2 mm over 800 mm"."""
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
    sheets = count_words(count, "sheet")
    return [f"{sheets} found; {whose} marks lie within {off:.2f} mm on average."]
