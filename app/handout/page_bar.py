"""Above the preview: which page, how large it is, and the buttons to turn and zoom."""

from PySide6.QtCore import QSize
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QToolButton

from app.handout.page_view import STEP, PageView
from app.icons import icon
from app.style import dress


class PageBar(QFrame):
    """Turns and zooms the pages of a view."""

    def __init__(self, view: PageView) -> None:
        super().__init__()
        self._view = view
        self.setFixedHeight(40)
        dress(self, "bar")
        row = QHBoxLayout(self)
        row.setContentsMargins(12, 2, 12, 2)
        row.setSpacing(4)
        self.back = _flat("back", "Previous page (Page Up)")
        self.words = QLabel()
        self.on = _flat("forward", "Next page (Page Down)")
        self.measures = QLabel()
        dress(self.measures, "quiet")
        out, into = _flat("zoom_out", "Smaller (−)"), _flat("zoom_in", "Larger (+)")
        fit = _flat("zoom_fit", "Whole page (0)")
        for widget in (self.back, self.words, self.on):
            row.addWidget(widget)
        row.addSpacing(12)
        row.addWidget(self.measures)
        row.addStretch()
        for button in (out, into, fit):
            row.addWidget(button)
        self.back.clicked.connect(lambda: view.turn_to(view.page - 1))
        self.on.clicked.connect(lambda: view.turn_to(view.page + 1))
        out.clicked.connect(lambda: view.zoom(1 / STEP))
        into.clicked.connect(lambda: view.zoom(STEP))
        fit.clicked.connect(view.fit)
        view.page_changed.connect(self._refresh)
        self._refresh()

    def _refresh(self) -> None:
        view = self._view
        if view.preview is None:
            return
        count = view.page_count
        self.words.setText(f"Page {view.page + 1} of {count}")
        self.back.setEnabled(view.page > 0)
        self.on.setEnabled(view.page < count - 1)
        for widget in (self.back, self.words, self.on):
            widget.setVisible(count > 1)
        width, height = view.preview.sizes_mm[view.page]
        self.measures.setText(f"{width:.0f} × {height:.0f} mm")


def _flat(name: str, tip: str) -> QToolButton:
    button = QToolButton()
    button.setIcon(icon(name))
    button.setIconSize(QSize(18, 18))
    button.setToolTip(tip)
    button.setAccessibleName(tip.partition(" (")[0])
    dress(button, "flat")
    return button
