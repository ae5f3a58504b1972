"""Where the outputs go and which ones are wanted."""

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from PySide6.QtWidgets import (
    QFileDialog,
    QHBoxLayout,
    QLineEdit,
    QPushButton,
    QWidget,
)

from app.dialogs.form import FormDialog
from app.panes.controls import Combo, Tick
from app.panes.pane import quiet_label
from core.errors import InputError
from core.write.outputs import OutputOptions
from core.write.plotter import Plotter, PlotterFormat

FORMAT_WORDS = {
    PlotterFormat.R2000: "DXF R2000 (most plotters)",
    PlotterFormat.R12: "DXF R12 (old plotters)",
    PlotterFormat.R2010: "DXF R2010",
}


@dataclass(frozen=True)
class ExportWish:
    """What the user wants written, and where."""

    folder: Path
    options: OutputOptions


class ExportDialog(FormDialog):
    """Asks for a folder and what to write. ``wish`` is the result after it was accepted."""

    def __init__(self, folder: Path, parent: QWidget | None) -> None:
        super().__init__("Export everything", parent, button="Export")
        self.wish: ExportWish | None = None
        self.folder = QLineEdit(str(folder))
        self.folder.setMinimumWidth(320)
        browse = QPushButton("Choose…")
        browse.setAutoDefault(False)
        browse.clicked.connect(self._on_browse)
        place = QWidget()
        row = QHBoxLayout(place)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(8)
        row.addWidget(self.folder, 1)
        row.addWidget(browse)
        self.add_field("Folder", place)
        self.folder.setAccessibleName("Folder")
        self.format = Combo()
        self.format.addItems(list(FORMAT_WORDS.values()))
        self.add_field("Plotter files", self.format)
        self.pieces = Tick("Also one plotter file for each piece")
        self.pictures = Tick("Pictures of the panels and the rolls")
        self.pictures.setChecked(True)
        self.form.addRow("", self.pieces)
        self.form.addRow("", self.pictures)
        words = "The table of pieces and the bench sheet are always written. "
        self.column.addWidget(
            quiet_label(words + "Files that are there stay; the new ones get a number then.")
        )
        self.finish_layout()

    def check(self) -> None:
        """Read the wish from the fields."""
        text = self.folder.text().strip()
        if not text:
            raise InputError("A folder is needed.", where="Folder")
        folder = Path(text).expanduser()
        if folder.exists() and not folder.is_dir():
            raise InputError("This is a file, not a folder.", where=text)
        self.wish = ExportWish(
            folder,
            OutputOptions(
                plotter=Plotter(format=list(FORMAT_WORDS)[self.format.currentIndex()]),
                has_piece_files=self.pieces.isChecked(),
                has_pictures=self.pictures.isChecked(),
                day=datetime.now().astimezone().date(),
            ),
        )

    def _on_browse(self) -> None:
        folder = QFileDialog.getExistingDirectory(self, "Export into", self.folder.text())
        if folder:
            self.folder.setText(folder)
