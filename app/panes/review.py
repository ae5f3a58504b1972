"""What the plan has found: what stops the job, what to mind, and where."""

from PySide6.QtCore import (
    QEvent,
    QObject,
    QRect,
    QRectF,
    QSize,
    Qt,
    Signal,
)
from PySide6.QtGui import QColor, QFontMetrics, QPainter
from PySide6.QtWidgets import (
    QAbstractItemView,
    QListWidget,
    QListWidgetItem,
    QStyleOptionViewItem,
    QWidget,
)

from app.icons import draw_icon
from app.panes.pane import Pane, quiet_label
from app.panes.rows import PAD, AnyIndex, ListRow, paint_text, sized
from app.session import Session
from app.shapes import Shapes
from app.theme import Theme
from core.plan.model import Finding, Severity
from core.write.wording import panel_told

WORDS = {
    Severity.STOP: "Stops the job",
    Severity.WARNING: "Mind this",
    Severity.NOTE: "Note",
}
_FINDING, _PLACE = Qt.ItemDataRole.UserRole, Qt.ItemDataRole.UserRole + 1
_TEXT_FLAGS = int(Qt.TextFlag.TextWordWrap | Qt.AlignmentFlag.AlignLeft)


class ReviewPane(Pane):
    """All findings, those that stop the job first."""

    chosen = Signal(object)
    """The Finding that was clicked."""

    def __init__(self, session: Session, shapes: Shapes, parent: QWidget | None = None) -> None:
        super().__init__("Review", session, parent)
        self._shapes = shapes
        self._shown: object = None
        self._fine = quiet_label("")
        self._fine.setContentsMargins(PAD, 4, PAD, 0)
        self.list = QListWidget()
        self.list.setAccessibleName("Findings")
        self.list.setItemDelegate(_FindingRow(38, self.list))
        self.list.setMouseTracking(True)
        self.list.setResizeMode(QListWidget.ResizeMode.Adjust)
        self.list.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.list.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.list.itemClicked.connect(lambda item: self.chosen.emit(item.data(_FINDING)))
        self.list.itemActivated.connect(lambda item: self.chosen.emit(item.data(_FINDING)))
        self.list.viewport().installEventFilter(self)
        self.body.addWidget(self._fine)
        self.body.addWidget(self.list, 1)
        self.body.addStretch()
        session.plan_changed.connect(self.refresh_soon)
        session.rolls_changed.connect(self.refresh_soon)
        shapes.changed.connect(self.refresh_soon)
        self.refresh()

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What is shown, in its order."""
        rolls = self.session.rolls
        plan = self.session.plan
        there = {p.id for p in plan.panels}
        # Those of the plan before are shown until the new ones are there.
        shapes = [f for f in self._shapes.report.findings if f.panel in there]
        found = (*plan.findings, *shapes, *(rolls.findings if rolls else ()))
        order = list(Severity)
        return tuple(sorted(found, key=lambda f: order.index(f.severity)))

    def refresh(self) -> None:
        """Show the findings as they are now."""
        found = self.findings
        has_panels = bool(self.session.plan.panels)
        if (found, has_panels) == self._shown:
            return
        self._shown = (found, has_panels)
        self.list.clear()
        for finding in found:
            self.list.addItem(_item(finding, panel_told(self.session.plan, finding)))
        self.list.setVisible(bool(found))
        self._fine.setVisible(not found)
        self._fine.setText(
            "Nothing to mend: every panel is covered and every lap holds."
            if has_panels
            else "Each panel is checked while you draw. What needs mending is listed here."
        )
        self.set_count(str(len(found)) if found else "")

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:  # noqa: N802
        """Wrap the rows anew when the pane's width changes."""
        if event.type() == QEvent.Type.Resize:
            self.list.scheduleDelayedItemsLayout()
        return super().eventFilter(watched, event)


def _item(finding: Finding, place: str) -> QListWidgetItem:
    item = QListWidgetItem()
    item.setData(_FINDING, finding)
    item.setData(_PLACE, place)
    spoken = f"{WORDS[finding.severity]}: {place} {finding.text}"
    item.setData(Qt.ItemDataRole.AccessibleTextRole, spoken)
    item.setToolTip("Click to go there" if finding.panel else "")
    return item


class _FindingRow(ListRow):
    def sizeHint(self, option: QStyleOptionViewItem, index: AnyIndex) -> QSize:  # noqa: N802
        view = self.parent()
        width = view.viewport().width() if isinstance(view, QListWidget) else 240
        metrics = QFontMetrics(sized(option.font, 13))
        space = QRect(0, 0, width - 2 * PAD - 28, 10_000)
        text = metrics.boundingRect(space, _TEXT_FLAGS, index.data(_FINDING).text)
        return QSize(width, text.height() + self.height_px)

    def draw(self, painter: QPainter, box: QRectF, index: AnyIndex, theme: Theme) -> None:
        finding = index.data(_FINDING)
        box = box.adjusted(0, 8, 0, -8)
        colour = _colour(finding.severity, theme)
        mark = QRectF(box.left(), box.top(), 20, 20)
        draw_icon(painter, mark, str(finding.severity), QColor(colour))
        words = box.adjusted(28, 0, 0, 0)
        font = painter.font()
        painter.setFont(sized(font, 12, is_bold=True))
        head = WORDS[finding.severity]
        line = QRectF(words.left(), words.top(), words.width(), 18)
        paint_text(painter, line, head, colour)
        used = painter.fontMetrics().horizontalAdvance(head) + 10
        painter.setFont(sized(font, 12))
        paint_text(painter, line.adjusted(used, 0, 0, 0), index.data(_PLACE), theme.ink_soft)
        painter.setFont(sized(font, 13))
        painter.setPen(QColor(theme.ink))
        painter.drawText(words.adjusted(0, 20, 0, 0), _TEXT_FLAGS, finding.text)


def _colour(severity: Severity, theme: Theme) -> str:
    return {Severity.STOP: theme.stop, Severity.WARNING: theme.warn}.get(
        severity, theme.ink_soft
    )
