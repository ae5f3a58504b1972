"""The shelf of one film as a table: rolls and offcuts with their sizes."""

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QPushButton,
    QTableWidget,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)

from core.document.edits.ids import taken_ids
from core.document.film import Film, Offcut, Roll, Stock
from core.document.job import Job
from core.errors import InputError, LaplineError
from core.ids import next_id
from core.units import format_length, parse_length

KIND, LENGTH, WIDTH, NOTE = range(4)


class StockTable(QWidget):
    """Edits the stock of a film in place."""

    def __init__(self, film: Film, job: Job) -> None:
        super().__init__()
        self._film, self._job = film, job
        self._ids: list[str] = []
        self.table = QTableWidget(0, 4)
        self.table.setAccessibleName("Stock")
        self.table.setHorizontalHeaderLabels(["What", "Length", "Width", "Note"])
        self.table.verticalHeader().hide()
        self.table.horizontalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Stretch)
        self.table.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.table.setFixedHeight(132)
        row = QHBoxLayout()
        row.addWidget(QLabel("In stock"))
        row.addStretch()
        for text, slot in (
            ("Add roll", self.add_roll),
            ("Add offcut", self.add_offcut),
            ("Remove", self._remove),
        ):
            button = QPushButton(text)
            button.setAutoDefault(False)
            button.clicked.connect(slot)
            row.addWidget(button)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.addLayout(row)
        column.addWidget(self.table)
        for stock in film.stock:
            self._add(stock)

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

    def _read_row(self, row: int) -> Stock:
        try:
            length = self._length(row, LENGTH)
            note = self._text(row, NOTE)
            if self._text(row, KIND) == "Roll":
                return Roll(id=self._ids[row], length_mm=length, note=note)
            width = self._length(row, WIDTH)
            return Offcut(id=self._ids[row], length_mm=length, width_mm=width, note=note)
        except LaplineError as error:
            where = f"Stock, row {row + 1}"
            raise InputError(error.what, where=where, mend=error.mend) from error

    def _length(self, row: int, column: int) -> float:
        value = parse_length(self._text(row, column), self._job.units)
        if value <= 0:
            raise InputError("A length above 0 is needed.")
        return value

    def _text(self, row: int, column: int) -> str:
        item = self.table.item(row, column)
        return item.text().strip() if item else ""

    def _add(self, stock: Stock) -> None:
        row = self.table.rowCount()
        self.table.insertRow(row)
        self._ids.append(stock.id)
        units = self._job.units
        is_roll = isinstance(stock, Roll)
        width = "" if isinstance(stock, Roll) else format_length(stock.width_mm, units)
        texts = ("Roll" if is_roll else "Offcut", format_length(stock.length_mm, units), width,
                 stock.note)  # fmt: skip
        for column, text in enumerate(texts):
            item = QTableWidgetItem(text)
            if column == KIND or (column == WIDTH and is_roll):
                item.setFlags(item.flags() & ~_EDITABLE)
            self.table.setItem(row, column, item)
        self.table.setCurrentCell(row, LENGTH)

    def _remove(self) -> None:
        row = self.table.currentRow()
        if row >= 0:
            self.table.removeRow(row)
            del self._ids[row]

    def _free(self, prefix: str) -> str:
        return next_id(prefix, [*taken_ids(self._job), *self._ids])


_EDITABLE = Qt.ItemFlag.ItemIsEditable
