"""The costs of film and tape as a table: a row a panel, the whole job last."""

from PySide6.QtCore import Qt
from PySide6.QtGui import QFont
from PySide6.QtWidgets import QAbstractItemView, QHeaderView, QTableWidget, QTableWidgetItem

from app.money_text import money_text
from core.roll.costs import CostRow, CostTable

HEADS = ("Panel", "Film", "Waste", "Tape", "Job", "Retakes", "All")


class CostView(QTableWidget):
    """Shows costs; nothing in it can be edited."""

    def __init__(self) -> None:
        super().__init__(0, len(HEADS))
        self.setAccessibleName("Costs")
        self.setHorizontalHeaderLabels(list(HEADS))
        self.verticalHeader().hide()
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        header = self.horizontalHeader()
        header.setMinimumSectionSize(64)
        header.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        header.setSectionResizeMode(0, QHeaderView.ResizeMode.Stretch)
        self.setShowGrid(False)

    def show_costs(self, table: CostTable | None) -> None:
        """Show another table; None empties it."""
        rows = [*table.rows, table.total] if table else []
        self.setRowCount(len(rows))
        for i, row in enumerate(rows):
            self._fill(i, row, is_total=i == len(rows) - 1)

    def _fill(self, i: int, row: CostRow, *, is_total: bool) -> None:
        amounts = (row.film, row.waste, row.tape, row.job, row.retakes, row.total)
        texts = (row.name, *(money_text(a, "") for a in amounts))
        for j, text in enumerate(texts):
            item = QTableWidgetItem(text)
            if j:
                item.setTextAlignment(
                    Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
                )
            if is_total:
                font = QFont(self.font())
                font.setBold(True)
                item.setFont(font)
            self.setItem(i, j, item)
