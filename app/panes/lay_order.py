"""The pieces of every panel in the order in which they are laid."""

from collections.abc import Iterable, Mapping

from PySide6.QtCore import (
    QEvent,
    QObject,
    QRectF,
    Qt,
)
from PySide6.QtGui import QColor, QPainter
from PySide6.QtWidgets import (
    QAbstractItemView,
    QTreeWidget,
    QTreeWidgetItem,
    QWidget,
)

from app.icons import draw_icon
from app.measured.verdict_card import TONE_ICONS, tone_colour
from app.panes.pane import Pane, quiet_label
from app.panes.rows import PAD, AnyIndex, ListRow, paint_swatch, paint_text, sized
from app.session import Selection, Session
from app.shape_words import tone_of
from app.shapes import Shapes
from app.theme import Theme
from core.document.job import Job, Units
from core.ids import PanelId, PieceId
from core.plan.model import JobPlan, PanelPlan, Piece
from core.plan.relief_words import relief_sentence
from core.plan.shape_check import PieceShape
from core.units import format_length
from core.write.wording import counted

_ID, _COLOUR, _ORDER, _NAME, _SIZE, _PANEL, _TONE = (
    Qt.ItemDataRole.UserRole + i for i in range(7)
)


class LayOrderPane(Pane):
    """Panels with their pieces, first laid first."""

    def __init__(self, session: Session, shapes: Shapes, parent: QWidget | None = None) -> None:
        super().__init__("Lay order", session, parent)
        self._shapes = shapes
        self._names: list[tuple[PanelId, bool]] = []
        self._shown: list[object] = []
        self._is_syncing = False
        self._empty = quiet_label("Pieces appear here once there is a panel to cover.")
        self._empty.setContentsMargins(PAD, 4, PAD, 0)
        self.tree = QTreeWidget()
        self.tree.setAccessibleName("Pieces by panel in lay order")
        self.tree.setHeaderHidden(True)
        self.tree.setIndentation(0)
        self.tree.setUniformRowHeights(True)
        self.tree.setMouseTracking(True)
        self.tree.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.tree.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.tree.setItemDelegate(_PieceRow(30, self.tree))
        self.tree.itemClicked.connect(self._on_clicked)
        self.tree.currentItemChanged.connect(self._on_current)
        self.tree.itemEntered.connect(lambda item: session.hover(item.data(0, _ID)))
        self.tree.viewport().installEventFilter(self)
        self.body.addWidget(self._empty)
        self.body.addWidget(self.tree, 1)
        self.body.addStretch()
        session.plan_changed.connect(self.refresh_soon)
        session.rolls_changed.connect(self.refresh_soon)  # by then films are laid flat
        session.selection_changed.connect(self._show_selected)
        shapes.changed.connect(self.refresh_soon)
        self.refresh()

    def refresh(self) -> None:
        """Show the pieces as they are planned now."""
        plan, job = self.session.plan, self.session.job
        groups = _alike(plan)
        names = [(g[0].of, g[0].is_mirrored) for g in groups]
        at = self.tree.verticalScrollBar().value()
        self._is_syncing = True
        if names != self._names:
            self._names, self._shown = names, [None] * len(groups)
            self.tree.clear()
            self.tree.addTopLevelItems([QTreeWidgetItem() for _ in groups])
        for row, copies in enumerate(groups):
            self._refresh_group(row, copies, job)
        self._is_syncing = False
        self.tree.verticalScrollBar().setValue(at)
        self.tree.setVisible(bool(groups))
        self._empty.setVisible(not groups)
        self.set_count(str(len(plan.pieces)) if plan.pieces else "")
        self._show_selected()

    def _refresh_group(self, row: int, copies: list[PanelPlan], job: Job) -> None:
        """Fill one panel's rows anew when anything in them has changed."""
        panel = copies[0]
        shapes = {s.piece: s for s in self._shapes.report.pieces if s.panel == panel.id}
        tries = [piece.known_tries for piece in panel.pieces]  # known once film is laid flat
        drawn = job.panel(panel.of)
        now = (panel.pieces, tries, len(copies), drawn, job.films, job.units, shapes)
        item = self.tree.topLevelItem(row)
        if self._shown[row] == now or item is None:
            return
        self._shown[row] = now
        item.takeChildren()
        _fill_panel(item, copies, job, shapes)
        item.setExpanded(True)

    def _on_current(self, item: QTreeWidgetItem | None) -> None:
        if item is not None and not self._is_syncing:
            self._on_clicked(item)

    def _on_clicked(self, item: QTreeWidgetItem, _column: int = 0) -> None:
        panel = PanelId(item.data(0, _PANEL))
        if item.parent() is None:
            self.session.select(Selection("panel", (panel,), panel))
        else:
            self.session.select(Selection("piece", (item.data(0, _ID),), panel))

    def _show_selected(self) -> None:
        selection = self.session.selection
        wanted = selection.ids[0] if selection.kind in ("piece", "region", "panel") else None
        self._is_syncing = True
        found = next((i for i in self._iter_items() if i.data(0, _ID) == wanted), None)
        self.tree.setCurrentItem(found)  # type: ignore[arg-type]  # None clears it
        self._is_syncing = False

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:  # noqa: N802
        """Point at nothing when the pointer leaves."""
        if event.type() == QEvent.Type.Leave:
            self.session.hover(None)
        return super().eventFilter(watched, event)

    def _iter_items(self) -> Iterable[QTreeWidgetItem]:
        for i in range(self.tree.topLevelItemCount()):
            top = self.tree.topLevelItem(i)
            if top is not None:
                yield top
                children = (top.child(k) for k in range(top.childCount()))
                yield from (child for child in children if child is not None)


def _alike(plan: JobPlan) -> list[list[PanelPlan]]:
    """Group the copies that are the same in everything but their number."""
    groups: dict[tuple[str, bool], list[PanelPlan]] = {}
    for panel in plan.panels:
        groups.setdefault((panel.of, panel.is_mirrored), []).append(panel)
    return list(groups.values())


def _fill_panel(
    item: QTreeWidgetItem,
    copies: list[PanelPlan],
    job: Job,
    shapes: Mapping[PieceId, PieceShape],
) -> None:
    panel = copies[0]
    side = f", {panel.side}" if panel.side else ""
    times = f" × {len(copies)}" if len(copies) > 1 else ""
    name = f"{job.panel(panel.of).name}{side}{times}"
    note = str(job.units) if panel.pieces else "no pieces"
    _fill(item, {_ID: panel.of, _PANEL: panel.of, _NAME: name, _SIZE: note, _COLOUR: ""})
    for piece in panel.pieces:
        item.addChild(_piece_item(piece, panel, job, shapes.get(piece.id)))


def _piece_item(
    piece: Piece, panel: PanelPlan, job: Job, shape: PieceShape | None
) -> QTreeWidgetItem:
    x0, y0, x1, y1 = piece.known_flat.bounds
    film = job.film(piece.film)
    size = rough_size(x1 - x0, y1 - y0, job.units)
    tries = f", {piece.known_tries} tries" if piece.known_tries > 1 else ""
    cuts = f", {counted(len(piece.relief_cuts), 'cut')}" if piece.relief_cuts else ""
    item = QTreeWidgetItem()
    _fill(item, {_ID: piece.id, _PANEL: panel.of, _NAME: film.name + cuts, _SIZE: size,
                 _COLOUR: film.colour, _ORDER: str(piece.order)})  # fmt: skip
    tip = f"{piece.label}: {film.name}, {size} {job.units}{tries}"
    for cut in piece.relief_cuts:
        tip += f"\n{relief_sentence(cut, job.units)}."
    if shape is not None:
        item.setData(0, _TONE, tone_of(shape))
        tip += f"\n{shape.sentence}"
        spoken = f"{item.data(0, Qt.ItemDataRole.AccessibleTextRole)}, {shape.verdict}"
        item.setData(0, Qt.ItemDataRole.AccessibleTextRole, spoken)
    item.setToolTip(0, tip)
    return item


def rough_size(width_mm: float, height_mm: float, units: Units) -> str:
    """Return a piece's size to the millimetre or so, without the unit.

    >>> rough_size(998.7, 257.3, Units.MM)
    '999 × 257'
    """
    sides = (format_length(mm, units, decimals=_ROUGH[units]) for mm in (width_mm, height_mm))
    return " × ".join(side.rpartition(" ")[0] for side in sides)


_ROUGH = {Units.MM: 0, Units.CM: 1, Units.IN: 1}


def _fill(item: QTreeWidgetItem, values: dict[int, str]) -> None:
    for role, value in values.items():
        item.setData(0, role, value)
    spoken = " ".join(values.get(role, "") for role in (_ORDER, _NAME, _SIZE)).strip()
    item.setData(0, Qt.ItemDataRole.AccessibleTextRole, spoken)


class _PieceRow(ListRow):
    def draw(self, painter: QPainter, box: QRectF, index: AnyIndex, theme: Theme) -> None:
        tone = index.data(_TONE)
        if tone:
            mark = QRectF(box.right() - 14, box.center().y() - 8, 16, 16)
            draw_icon(painter, mark, TONE_ICONS[tone], QColor(tone_colour(tone, theme)))
            box.setRight(mark.left() - 8)
        font = painter.font()
        size = index.data(_SIZE)
        painter.setFont(sized(font, 12))
        size_px = painter.fontMetrics().horizontalAdvance(size) + 8
        paint_text(painter, box, size, theme.ink_soft, Qt.AlignmentFlag.AlignRight)
        is_piece = bool(index.data(_COLOUR))
        if is_piece:
            order = QRectF(box.left(), box.top(), 16, box.height())
            paint_text(
                painter, order, index.data(_ORDER), theme.ink_soft, Qt.AlignmentFlag.AlignRight
            )
            swatch = QRectF(box.left() + 24, box.center().y() - 8, 16, 16)
            paint_swatch(painter, swatch, index.data(_COLOUR), theme)
        painter.setFont(sized(font, 13, is_bold=not is_piece))
        words = box.adjusted(48 if is_piece else 0, 0, -size_px, 0)
        paint_text(painter, words, index.data(_NAME), theme.ink)
