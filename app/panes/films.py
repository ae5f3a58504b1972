"""The films of the job: what each costs in metres, and which one the tools use."""

from PySide6.QtCore import QRectF, Qt, Signal
from PySide6.QtGui import QColor, QPainter
from PySide6.QtWidgets import (
    QAbstractItemView,
    QListWidget,
    QListWidgetItem,
    QWidget,
)

from app.actions import Actions
from app.film_use import FilmUse, film_uses
from app.money_text import money_text
from app.panes.pane import Pane
from app.panes.rows import AnyIndex, ListRow, paint_swatch, paint_text, sized
from app.session import Session
from app.theme import Theme
from core.document.film import Film
from core.document.job import Job
from core.roll.wording import length_on_hand, length_to_buy
from core.units import Units

ROW_PX = 64
_FILM, _USE, _COST, _TEXT = (Qt.ItemDataRole.UserRole + i for i in range(4))


class FilmsPane(Pane):
    """The films by rank, highest first: as they lie on one another."""

    picked = Signal(str)
    """Id of the film that the tools use now."""

    def __init__(
        self, session: Session, actions: Actions, parent: QWidget | None = None
    ) -> None:
        super().__init__("Films", session, parent)
        self._film = session.job.films[-1].id
        for name in ("film_to_buy", "add_film", "edit_film", "delete_film"):
            self.add_button(actions[name])
        self.list = QListWidget()
        self.list.setAccessibleName("Films, highest rank first")
        self.list.setItemDelegate(_FilmRow(ROW_PX, self.list))
        self.list.setMouseTracking(True)
        self.list.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.list.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.list.currentItemChanged.connect(self._on_current)
        self.list.itemDoubleClicked.connect(lambda _: actions["edit_film"].trigger())
        self.body.addWidget(self.list)
        session.job_changed.connect(self.refresh_soon)
        session.rolls_changed.connect(self.refresh_soon)
        session.opened.connect(self._on_opened)
        self.refresh()

    @property
    def film(self) -> str:
        """Id of the film that the tools use."""
        return self._film

    def pick(self, film: str) -> None:
        """Choose the film that the tools use."""
        if film != self._film:
            self._film = film
            self.picked.emit(film)
        self._show_current()

    def refresh(self) -> None:
        """Show films, ranks and lengths as they are now."""
        job = self.session.job
        films = sorted(job.films, key=lambda f: -f.rank)
        uses = film_uses(job, self.session.rolls)
        self.list.blockSignals(True)  # noqa: FBT003 - Qt's own signature
        while self.list.count() > len(films):
            self.list.takeItem(self.list.count() - 1)
        for row, film in enumerate(films):
            item = self.list.item(row) or QListWidgetItem(self.list)
            _fill(item, film, uses[film.id], job)
        self.list.blockSignals(False)  # noqa: FBT003
        if self._film not in [f.id for f in films] and films:
            self.pick(films[0].id)
        self._show_current()

    def _show_current(self) -> None:
        for row in range(self.list.count()):
            if self.list.item(row).data(_FILM).id == self._film:
                self.list.setCurrentRow(row)

    def _on_current(self, item: QListWidgetItem | None) -> None:
        if item is not None:
            self.pick(item.data(_FILM).id)

    def _on_opened(self) -> None:
        films = sorted(self.session.job.films, key=lambda f: -f.rank)
        if films:
            self._film = films[0].id
            self.picked.emit(self._film)
        self.refresh()


def _fill(item: QListWidgetItem, film: Film, use: FilmUse, job: Job) -> None:
    cost = money_text(use.cost, job.currency) if use.cost else ""
    whole = use_text(use, job.units)
    used = f"\nFilm used, from stock too: {cost}" if cost else ""
    item.setData(_FILM, film)
    item.setData(_USE, use)
    item.setData(_COST, cost)
    item.setData(_TEXT, row_text(use, job.units))
    spoken = f"{film.name}, rank {film.rank}, {whole} {cost}".strip()
    item.setData(Qt.ItemDataRole.AccessibleTextRole, spoken)
    tip = f"{film.name}: {whole}{used}\nRank {film.rank}: the higher rank lies on top"
    item.setToolTip(tip)


def use_text(use: FilmUse, units: Units) -> str:
    """Say a film's length in one line."""
    if use.has_failed:
        return "Could not be laid out: see Review"
    if use.is_stuck:
        return "A piece is larger than the roll"
    if use.used_mm == 0 and use.is_on_offcuts:
        return "From offcuts alone"
    if use.used_mm == 0:
        there = length_on_hand(use.stock_mm, units)
        return f"Not used, {there} in stock" if use.stock_mm else "Not used"
    if use.stock_mm == 0:
        return f"{_taken(use, units)} to buy"
    return f"{_taken(use, units)} of {length_on_hand(use.stock_mm, units)}{_short(use, units)}"


def row_text(use: FilmUse, units: Units) -> str:
    """Say the same in the width of a row: where there are retakes, only the whole."""
    if use.used_mm - use.job_mm < 1 or not use.stock_mm or use.is_stuck:
        return use_text(use, units)
    number, _, _ = length_to_buy(use.used_mm, units).rpartition(" ")
    whole = f"{number} of {length_on_hand(use.stock_mm, units)}"
    return whole + (_short(use, units) or " with retakes")


def _taken(use: FilmUse, units: Units) -> str:
    """Return the job's length, and what retakes add to it."""
    more = use.used_mm - use.job_mm
    if more < 1:
        return length_to_buy(use.used_mm, units)
    bare, again = (length_to_buy(mm, units) for mm in (use.job_mm, more))
    return f"{bare} + {again} retakes"


def _short(use: FilmUse, units: Units) -> str:
    return f", {length_to_buy(use.buy_mm, units)} short" if use.buy_mm else ""


class _FilmRow(ListRow):
    def draw(self, painter: QPainter, box: QRectF, index: AnyIndex, theme: Theme) -> None:
        film, use = index.data(_FILM), index.data(_USE)
        words = index.data(_TEXT), index.data(_COST)
        box = box.adjusted(0, 8, 0, -8)
        paint_swatch(painter, QRectF(box.left(), box.top() + 6, 32, 32), film.colour, theme)
        _paint_words(painter, box.adjusted(44, 0, 0, 0), (film, use), words, theme)


def _paint_words(
    painter: QPainter,
    box: QRectF,
    what: tuple[Film, FilmUse],
    words: tuple[str, str],
    theme: Theme,
) -> None:
    film, use = what
    text, cost = words
    font = painter.font()
    head = QRectF(box.left(), box.top(), box.width(), 20)
    line = head.translated(0, 20)
    painter.setFont(sized(font, 12))
    metrics = painter.fontMetrics()
    wide = metrics.horizontalAdvance(cost)
    is_beside = metrics.horizontalAdvance(text) + 12 + wide <= line.width()
    is_bad = bool(use.buy_mm) and use.stock_mm > 0
    colour = theme.stop if use.is_stuck else theme.warn if is_bad else theme.ink_soft
    paint_text(painter, line, text, colour)
    at = line if is_beside else head  # a long sum stands beside the name
    paint_text(painter, at, cost, theme.ink_soft, Qt.AlignmentFlag.AlignRight)
    painter.setFont(sized(font, 13, is_bold=True))
    room = head if is_beside else head.adjusted(0, 0, -wide - 8, 0)
    paint_text(painter, room, film.name, theme.ink)
    _paint_bar(painter, QRectF(box.left(), box.top() + 42, box.width(), 5), use, theme)


def _paint_bar(painter: QPainter, box: QRectF, use: FilmUse, theme: Theme) -> None:
    """Paint used length against stock; what is short is in the warning colour."""
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(QColor(theme.line))
    painter.drawRoundedRect(box, 2.5, 2.5)
    whole = max(use.stock_mm, use.used_mm)
    if not whole or not use.used_mm:
        return
    painter.setBrush(QColor(theme.accent))
    used = QRectF(box)
    used.setWidth(max(5.0, box.width() * use.used_mm / whole))
    painter.drawRoundedRect(used, 2.5, 2.5)
    if use.buy_mm:
        short = QRectF(box)
        short.setLeft(box.right() - box.width() * min(1.0, use.buy_mm / whole))
        painter.setBrush(QColor(theme.warn))
        painter.drawRoundedRect(short, 2.5, 2.5)
