"""The files that would be written, by kind, each with a tick."""

from collections.abc import Iterable, Sequence
from itertools import takewhile
from pathlib import PurePosixPath

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHeaderView, QTreeWidget, QTreeWidgetItem, QWidget

from app.panes.ticked_rows import TickRow
from core.write.planned_file import FileKind, PlannedFile

KIND_WORDS = {
    FileKind.PLOTTER: "Plotter files",
    FileKind.TEMPLATE: "Paper templates",
    FileKind.BENCH: "Bench sheet",
    FileKind.TABLE: "Tables",
    FileKind.PICTURE: "Pictures",
}
_FILE = Qt.ItemDataRole.UserRole


class FileList(QTreeWidget):
    """Lists planned files; what was unticked stays so while choices change."""

    chosen = Signal(object)
    """The PlannedFile that is looked at, or None."""
    ticks_changed = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setHeaderHidden(True)
        self.setAccessibleName("Files")
        self.setIndentation(18)
        self.setTextElideMode(Qt.TextElideMode.ElideMiddle)
        self.header().setSectionResizeMode(QHeaderView.ResizeMode.Stretch)
        self.setItemDelegate(TickRow(self))
        self._off: set[str] = set()
        self._is_filling = False
        self.currentItemChanged.connect(self._on_current)
        self.itemChanged.connect(self._on_item)

    def show_files(self, files: Iterable[PlannedFile]) -> None:
        """List files; the one looked at stays so where it is still there."""
        looked_at = self.current_name
        self._is_filling = True
        self.clear()
        groups: dict[FileKind, QTreeWidgetItem] = {}
        current: QTreeWidgetItem | None = None
        planned = tuple(files)
        shown = short_names([file.name for file in planned])
        for file, name in zip(planned, shown, strict=True):
            if file.kind not in groups:
                groups[file.kind] = self._group(file.kind)
            item = QTreeWidgetItem(groups[file.kind], [name])
            item.setToolTip(0, file.name)
            item.setData(0, Qt.ItemDataRole.AccessibleTextRole, file.name)
            item.setData(0, _FILE, file)
            is_off = file.name in self._off
            item.setCheckState(0, Qt.CheckState.Unchecked if is_off else Qt.CheckState.Checked)
            if current is None or file.name == looked_at:
                current = item
        for group in groups.values():
            group.setText(0, f"{group.text(0)}  ({group.childCount()})")
        self._is_filling = False
        if current is not None:
            self.setCurrentItem(current)
        else:
            self.chosen.emit(None)
        self.ticks_changed.emit()

    def _group(self, kind: FileKind) -> QTreeWidgetItem:
        group = QTreeWidgetItem(self, [KIND_WORDS[kind]])
        group.setFlags(group.flags() | Qt.ItemFlag.ItemIsAutoTristate)
        group.setCheckState(0, Qt.CheckState.Checked)
        font = group.font(0)
        font.setBold(True)
        group.setFont(0, font)
        group.setExpanded(kind is not FileKind.PICTURE)
        return group

    @property
    def current_name(self) -> str:
        """The name of the file looked at, or ""."""
        file = self.current_file
        return file.name if file else ""

    @property
    def current_file(self) -> PlannedFile | None:
        """The file looked at."""
        item = self.currentItem()
        file = item.data(0, _FILE) if item else None
        return file if isinstance(file, PlannedFile) else None

    def ticked(self) -> list[PlannedFile]:
        """Return the files to be written, in order."""
        return [
            item.data(0, _FILE)
            for item in self._items()
            if item.checkState(0) is Qt.CheckState.Checked
        ]

    def count(self) -> int:
        """Return how many files are listed."""
        return sum(1 for _ in self._items())

    def _items(self) -> Iterable[QTreeWidgetItem]:
        for i in range(self.topLevelItemCount()):
            group = self.topLevelItem(i)
            if group is not None:
                children = (group.child(k) for k in range(group.childCount()))
                yield from (child for child in children if child is not None)

    def _on_current(self, item: QTreeWidgetItem | None, _: object) -> None:
        if self._is_filling:
            return
        if item is not None and item.childCount():
            item = item.child(0)
        self.chosen.emit(item.data(0, _FILE) if item is not None else None)

    def _on_item(self, item: QTreeWidgetItem, _column: int) -> None:
        file = item.data(0, _FILE)
        if self._is_filling or not isinstance(file, PlannedFile):
            return
        if item.checkState(0) is Qt.CheckState.Checked:
            self._off.discard(file.name)
        else:
            self._off.add(file.name)
        self.ticks_changed.emit()


def short_names(names: Sequence[str]) -> list[str]:
    """Return files' names without their folders and without what all of them begin or end with.

    >>> short_names(["van-red-r1-may.dxf", "van-red-r2-may.dxf", "tables/van-film-may.csv"])
    ['red-r1.dxf', 'red-r2.dxf', 'film.csv']
    """
    paths = [PurePosixPath(name) for name in names]
    stems, endings = [path.stem for path in paths], [path.suffix for path in paths]
    if len(stems) > 1:
        start = _alike(stems).rfind("-") + 1
        stems = [stem[start:] for stem in stems]
        tail = _alike([stem[::-1] for stem in stems])[::-1]
        if "-" in tail:
            stems = [stem.removesuffix(tail[tail.index("-") :]) for stem in stems]
    return [stem + ending for stem, ending in zip(stems, endings, strict=True)]


def _alike(words: Sequence[str]) -> str:
    """Return the letters that all words begin with."""
    columns = zip(*words, strict=False)  # as long as the shortest
    return "".join(column[0] for column in takewhile(lambda c: len(set(c)) == 1, columns))
