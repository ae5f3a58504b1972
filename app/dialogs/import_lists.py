"""The lists of the import dialog: layers, panels, and what was mended or left out."""

from collections.abc import Sequence
from html import escape

from PySide6.QtCore import QSignalBlocker, Qt, Signal
from PySide6.QtWidgets import (
    QHeaderView,
    QTextBrowser,
    QTreeWidget,
    QTreeWidgetItem,
    QWidget,
)

from app.panes.ticked_rows import TickRow
from core.document.job import Units
from core.document.panel import Panel
from core.read.outlines import LayerFound, Outlines
from core.units import format_length

_ID = Qt.ItemDataRole.UserRole
MOST_LINES = 400
MOST_LAYERS = 5
"""So many are seen without scrolling."""


class TickList(QTreeWidget):
    """Rows with a box to tick and a note."""

    ticked = Signal()
    """A box was ticked or cleared, or a text typed."""
    pointed = Signal(str)
    """Key of the row that is current now."""

    def __init__(self, label: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName(label)
        self.setColumnCount(2)
        self.setHeaderHidden(True)
        self.setRootIsDecorated(False)
        self.setUniformRowHeights(True)
        self.header().setStretchLastSection(False)
        self.header().setSectionResizeMode(0, QHeaderView.ResizeMode.Stretch)
        self.header().setSectionResizeMode(1, QHeaderView.ResizeMode.ResizeToContents)
        self.setItemDelegate(TickRow(self))
        self.itemChanged.connect(self._on_changed)
        self.currentItemChanged.connect(self._on_current)

    def add(self, key: str, text: str, note: str, *, is_on: bool, is_editable: bool) -> None:
        """Add a row."""
        item = QTreeWidgetItem([text, note])
        item.setData(0, _ID, key)
        item.setCheckState(0, _check(is_on))
        item.setToolTip(0, text)
        if is_editable:
            item.setFlags(item.flags() | Qt.ItemFlag.ItemIsEditable)
        item.setTextAlignment(1, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        self.addTopLevelItem(item)

    def rows(self) -> list[tuple[str, str, bool]]:
        """Return key, text and tick of each row."""
        found = []
        for i in range(self.topLevelItemCount()):
            item = self.topLevelItem(i)
            if item is not None:
                is_on = item.checkState(0) is Qt.CheckState.Checked
                found.append((str(item.data(0, _ID)), item.text(0), is_on))
        return found

    def toggle(self, key: str) -> None:
        """Tick or clear a row, and scroll to it."""
        for i in range(self.topLevelItemCount()):
            item = self.topLevelItem(i)
            if item is not None and item.data(0, _ID) == key:
                is_on = item.checkState(0) is Qt.CheckState.Checked
                item.setCheckState(0, _check(not is_on))
                self.scrollToItem(item)

    def _on_current(self, item: QTreeWidgetItem | None) -> None:
        self.pointed.emit("" if item is None else str(item.data(0, _ID)))

    def _on_changed(self, _item: QTreeWidgetItem, column: int) -> None:
        if column == 0:
            self.ticked.emit()


class LayerList(TickList):
    """The layers of the file; ticked are those that are read."""

    def show_layers(self, layers: Sequence[LayerFound]) -> None:
        """Fill the list."""
        with QSignalBlocker(self):
            self.clear()
            for layer in layers:
                name = layer.name or "(no layer)"
                hidden = "" if layer.is_shown else "hidden, "
                note = f"{hidden}{layer.count} line{'' if layer.count == 1 else 's'}"
                self.add(layer.name, name, note, is_on=layer.is_read, is_editable=False)
        rows = min(len(layers), MOST_LAYERS)
        self.setFixedHeight(rows * max(self.sizeHintForRow(0), 1) + 4)

    def chosen(self) -> tuple[str, ...]:
        """Return the names of the ticked layers."""
        return tuple(key for key, _, is_on in self.rows() if is_on)


class PanelList(TickList):
    """The panels that were found; ticked are those that are imported, names can be typed."""

    def show_panels(self, panels: Sequence[Panel], units: Units, left_out: set[str]) -> None:
        """Fill the list; panels whose id is in ``left_out`` are not ticked."""
        with QSignalBlocker(self):
            self.clear()
            for panel in panels:
                note = _size(panel, units)
                is_on = panel.id not in left_out
                self.add(panel.id, panel.name, note, is_on=is_on, is_editable=True)


class Report(QTextBrowser):
    """What the reader mended, left out, and wants known."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName("What was mended and left out")

    def show_outlines(self, outlines: Outlines) -> None:
        """Say it."""
        left_out = [
            f"{s.count} × {s.kind}: {s.reason}" if s.count > 1 else f"{s.kind}: {s.reason}"
            for s in outlines.skipped
        ]
        deviation = f"Curves keep within {outlines.deviation_mm:g} mm of those in the file."
        self.setHtml(
            _part("To know", [*outlines.notes, deviation])
            + _part("Mended", list(outlines.repairs))
            + _part("Left out", left_out)
        )


def _part(title: str, lines: list[str]) -> str:
    if not lines:
        return ""
    shown = lines[:MOST_LINES]
    if len(lines) > MOST_LINES:
        shown.append(f"… and {len(lines) - MOST_LINES} more")
    items = "".join(f"<p style='margin:2px 0 2px 0'>{escape(line)}</p>" for line in shown)
    count = f" ({len(lines)})" if title != "To know" else ""
    return f"<p style='margin:8px 0 2px 0'><b>{title}{count}</b></p>{items}"


def _size(panel: Panel, units: Units) -> str:
    xs = [n.at[0] for n in panel.outline]
    ys = [n.at[1] for n in panel.outline]
    width, height = max(xs) - min(xs), max(ys) - min(ys)
    holes = len(panel.openings)
    more = f", {holes} opening{'' if holes == 1 else 's'}" if holes else ""
    return f"{format_length(width, units)} × {format_length(height, units)}{more}"


def _check(is_on: bool) -> Qt.CheckState:  # noqa: FBT001 - the state itself
    return Qt.CheckState.Checked if is_on else Qt.CheckState.Unchecked
