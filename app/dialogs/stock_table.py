"""The stock of one film in the job as a table: rolls and offcuts, their sizes, their damage."""

from functools import partial

from msgspec.structs import replace
from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QMenu,
    QPushButton,
    QTableWidget,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)

from app.dialogs.damage_text import damage_text, read_damage
from app.dialogs.stock_words import kind_of
from core.document.edits.ids import stock_in_choices, taken_ids
from core.document.film import Film, Offcut, Roll, Stock
from core.document.job import Job
from core.document.offcuts import offcut_like
from core.errors import InputError, LaplineError
from core.ids import next_id
from core.units import format_length, parse_length

KIND, LENGTH, WIDTH, DAMAGE, NOTE = range(5)
HEADS = ("What", "Length", "Width", "Damaged", "Note")


class StockTable(QWidget):
    """Edits the stock of a film in place."""

    def __init__(self, film: Film, job: Job) -> None:
        super().__init__()
        self._film, self._job = film, job
        self._stock: list[Stock] = []
        self.table = QTableWidget(0, len(HEADS))
        self.table.setAccessibleName("Stock")
        self.table.setHorizontalHeaderLabels(list(HEADS))
        self.table.verticalHeader().hide()
        header = self.table.horizontalHeader()
        header.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        for column in (DAMAGE, NOTE):
            header.setSectionResizeMode(column, QHeaderView.ResizeMode.Stretch)
        self.table.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.table.setMinimumHeight(132)
        self.table.currentCellChanged.connect(self._ready)
        self.shape = QPushButton("Shape")
        self.shape.setToolTip("What an offcut's outline is like: traced as a panel, or plain")
        self.shape.setAutoDefault(False)
        self.shapes = QMenu(self.shape)
        self.shapes.aboutToShow.connect(self._fill_shapes)
        self.shape.setMenu(self.shapes)
        self.opened = _button("Opened", self._on_opened)
        self.opened.setCheckable(True)
        self.opened.setToolTip("Opened rolls are used up before new ones")
        row = QHBoxLayout()
        row.setSpacing(6)
        row.addWidget(QLabel("In stock"))
        row.addStretch()
        for button in (
            _button("Add roll", self.add_roll),
            _button("Add offcut", self.add_offcut),
            _button("Remove", self._remove),
        ):
            row.addWidget(button)
        whole = QVBoxLayout(self)
        whole.setContentsMargins(0, 0, 0, 0)
        whole.addLayout(row)
        whole.addWidget(self.table, 1)
        below = QHBoxLayout()
        below.setSpacing(6)
        below.addWidget(self.opened)
        below.addWidget(self.shape)
        below.addStretch()
        whole.addLayout(below)
        for stock in film.stock:
            self._add(stock)
        self._ready()

    def add_roll(self) -> None:
        """Add a roll of a usual length."""
        self._add(Roll(id=self._free("r"), length_mm=10_000.0))

    def add_offcut(self) -> None:
        """Add an offcut of half a metre by the roll's width."""
        width = self._film.roll_width_mm
        self._add(Offcut(id=self._free("k"), length_mm=500.0, width_mm=width))

    def read(self) -> tuple[Stock, ...]:
        """Return the stock. InputError names the row that is not usable."""
        return tuple(self._read_row(row) for row in range(self.table.rowCount()))

    def give_shape(self, panel: str | None) -> None:
        """Give the current offcut the outline of a panel, or make it a plain rectangle."""
        row = self.table.currentRow()
        stock = self._stock[row]
        if not isinstance(stock, Offcut):
            return
        if panel is None:
            fresh = replace(stock, outline=None, openings=())
        else:
            fresh = offcut_like(self._job.panel(panel), stock)
        self._stock[row] = fresh
        self._show(row)
        self._ready()

    def _read_row(self, row: int) -> Stock:
        units, stock = self._job.units, self._stock[row]
        try:
            length, width = self._length(row, LENGTH), self._width(row)
            across = self._film.roll_width_mm if width is None else width
            damaged = read_damage(self._text(row, DAMAGE), units, length, across)
            note = self._text(row, NOTE)
            if isinstance(stock, Roll):
                return replace(
                    stock, length_mm=length, width_mm=width, damaged=damaged, note=note
                )
            if stock.outline is not None:
                return replace(stock, damaged=damaged, note=note)
            return replace(stock, length_mm=length, width_mm=across, damaged=damaged, note=note)
        except LaplineError as error:
            where = f"Stock, row {row + 1}"
            raise InputError(error.what, where=where, mend=error.mend) from error

    def _length(self, row: int, column: int) -> float:
        value = parse_length(self._text(row, column), self._job.units)
        if value <= 0:
            raise InputError("A length above 0 is needed.")
        return value

    def _width(self, row: int) -> float | None:
        """Return a width; a roll whose field is empty is as wide as its film."""
        if isinstance(self._stock[row], Roll) and not self._text(row, WIDTH):
            return None
        return self._length(row, WIDTH)

    def _text(self, row: int, column: int) -> str:
        item = self.table.item(row, column)
        return item.text().strip() if item else ""

    def _add(self, stock: Stock) -> None:
        row = self.table.rowCount()
        self.table.insertRow(row)
        self._stock.append(stock)
        self._show(row)
        self.table.setCurrentCell(row, LENGTH)

    def _show(self, row: int) -> None:
        stock, units = self._stock[row], self._job.units
        width = "" if stock.width_mm is None else format_length(stock.width_mm, units)
        texts = (
            kind_of(stock),
            format_length(stock.length_mm, units),
            width,
            damage_text(stock.damaged, units),
            stock.note,
        )
        is_shaped = isinstance(stock, Offcut) and stock.outline is not None
        for column, text in enumerate(texts):
            item = QTableWidgetItem(text)
            if column == KIND or (is_shaped and column in (LENGTH, WIDTH)):
                item.setFlags(item.flags() & ~_EDITABLE)
            item.setToolTip(_TIPS.get(column, ""))
            self.table.setItem(row, column, item)

    def _ready(self, *_: object) -> None:
        row = self.table.currentRow()
        stock = self._stock[row] if 0 <= row < len(self._stock) else None
        self.opened.setEnabled(isinstance(stock, Roll))
        self.opened.setChecked(isinstance(stock, Roll) and stock.is_opened)
        self.shape.setEnabled(isinstance(stock, Offcut))

    def _on_opened(self) -> None:
        row = self.table.currentRow()
        stock = self._stock[row]
        if isinstance(stock, Roll):
            self._stock[row] = replace(stock, is_opened=self.opened.isChecked())
            item = self.table.item(row, KIND)
            assert item is not None
            item.setText(kind_of(self._stock[row]))

    def _fill_shapes(self) -> None:
        self.shapes.clear()
        plain = self.shapes.addAction("Plain rectangle")
        plain.triggered.connect(lambda _checked: self.give_shape(None))
        self.shapes.addSeparator()
        for panel in self._job.panels:
            action = self.shapes.addAction(f"Like the panel {panel.name}")
            action.triggered.connect(partial(self._on_shape, panel.id))

    def _on_shape(self, panel: str, _checked: bool = False) -> None:  # noqa: FBT001, FBT002
        self.give_shape(panel)

    def _remove(self) -> None:
        row = self.table.currentRow()
        if row >= 0:
            del self._stock[row]
            self.table.removeRow(row)
            self._ready()

    def _free(self, prefix: str) -> str:
        known = taken_ids(self._job) | stock_in_choices(self._job)
        return next_id(prefix, [*known, *(s.id for s in self._stock)])


def _button(text: str, slot: object) -> QPushButton:
    button = QPushButton(text)
    button.setAutoDefault(False)
    button.clicked.connect(slot)
    return button


_EDITABLE = Qt.ItemFlag.ItemIsEditable
_TIPS = {
    WIDTH: "Empty: as wide as the film's rolls",
    DAMAGE: "Where it is not to be used, from the free end: 1200–1300, or "
    "1200–1300 across 0–300; several with ; between",
}
