"""Tables and texts as they are written: a table in cells, a text in lines."""

import csv
import io
from pathlib import PurePath

from PySide6.QtWidgets import (
    QPlainTextEdit,
    QStackedWidget,
    QTableWidget,
    QTableWidgetItem,
)

_READABLE = {".csv", ".md", ".txt", ".json"}


def can_be_read(name: str) -> bool:
    """Return whether a file of that name is text."""
    return PurePath(name).suffix in _READABLE


class TextView(QStackedWidget):
    """Shows what a table or a text file holds."""

    def __init__(self) -> None:
        super().__init__()
        self.table = QTableWidget()
        self.table.setEditTriggers(QTableWidget.EditTrigger.NoEditTriggers)
        self.table.verticalHeader().hide()
        self.table.setAccessibleName("Table")
        self.lines = QPlainTextEdit()
        self.lines.setReadOnly(True)
        self.lines.setAccessibleName("Text")
        self.addWidget(self.table)
        self.addWidget(self.lines)

    def show_data(self, name: str, data: bytes) -> None:
        """Show a file's content."""
        text = data.decode("utf-8-sig")
        if PurePath(name).suffix != ".csv":
            self.lines.setPlainText(text)
            self.setCurrentWidget(self.lines)
            return
        head, *rows = csv.reader(io.StringIO(text))
        self.table.setColumnCount(len(head))
        self.table.setHorizontalHeaderLabels(head)
        self.table.setRowCount(len(rows))
        for i, row in enumerate(rows):
            for k, cell in enumerate(row):
                self.table.setItem(i, k, QTableWidgetItem(cell))
        self.table.resizeColumnsToContents()
        self.setCurrentWidget(self.table)
