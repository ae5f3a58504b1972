"""The buying window: film money at a glance, beside the job and always up to date."""

from PySide6.QtCore import Qt
from PySide6.QtGui import QCloseEvent, QShowEvent
from PySide6.QtWidgets import (
    QDialog,
    QHBoxLayout,
    QLabel,
    QScrollArea,
    QSplitter,
    QVBoxLayout,
    QWidget,
)

from app.buying.cost_table import CostView
from app.buying.curve import TriesCurve
from app.buying.film_card import FilmCard
from app.buying.money import MoneyKeeper
from app.buying.pack_row import PackRow
from app.buying.width_packing import WidthPacking
from app.buying.words import sum_text, total_text
from app.money_text import money_text
from app.panes.pane import quiet_label
from app.session import Session
from app.style import dress
from core.document.edits.films import choose_width
from core.errors import LaplineError
from core.roll.width_search import take_width

_USED_WORDS = (
    "It is counted by area at its price, from stock too; what goes back on the shelf costs "
    "nothing. Waste is shared out by the areas of the pieces."
)


class BuyingWindow(QDialog):
    """What to buy of each film, what it costs, and how many retakes it affords."""

    def __init__(self, session: Session, parent: QWidget | None) -> None:
        super().__init__(parent)
        self.setWindowTitle("Film to buy")
        self.setModal(False)
        self.resize(1200, 700)
        self.setMinimumSize(900, 480)
        self._session = session
        self.keeper = MoneyKeeper(session, self)
        self.keeper.changed.connect(self.refresh)
        self.packing = WidthPacking(session, self)
        self.packing.found.connect(self.keeper.add_packed)
        self._film = ""
        self.cards: list[FilmCard] = []
        self.total, self.saving = QLabel(), QLabel()
        dress(self.total, "big")
        dress(self.saving, "quiet")
        self.saving.setWordWrap(True)
        self.curve, self.table = TriesCurve(), CostView()
        self._curve_title = QLabel()
        dress(self._curve_title, "title")
        column = QVBoxLayout(self)
        column.setContentsMargins(24, 20, 24, 20)
        column.setSpacing(12)
        column.addLayout(self._head())
        column.addWidget(self._body(), 1)
        self.refresh()

    def _head(self) -> QHBoxLayout:
        row = QHBoxLayout()
        row.setSpacing(16)
        row.addWidget(self.total)
        row.addWidget(self.saving, 1, Qt.AlignmentFlag.AlignBottom)
        self.pack_row = PackRow(self.packing)
        row.addWidget(self.pack_row, 0, Qt.AlignmentFlag.AlignVCenter)
        return row

    def _body(self) -> QSplitter:
        self._list = QWidget()
        self._column = QVBoxLayout(self._list)
        self._column.setContentsMargins(0, 0, 8, 0)
        self._column.setSpacing(10)
        self._column.addStretch()
        area = QScrollArea()
        area.setWidgetResizable(True)
        area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        area.setWidget(self._list)
        area.setMinimumWidth(540)
        right = QWidget()
        column = QVBoxLayout(right)
        column.setContentsMargins(16, 0, 0, 0)
        column.setSpacing(8)
        column.addWidget(self._curve_title)
        column.addWidget(self.curve, 2)
        costs = QLabel("Costs")
        dress(costs, "title")
        column.addWidget(costs)
        column.addWidget(self.table, 3)
        self.used = quiet_label(_USED_WORDS)
        column.addWidget(self.used)
        body = QSplitter(Qt.Orientation.Horizontal)
        body.setChildrenCollapsible(False)
        body.setHandleWidth(1)
        body.addWidget(area)
        body.addWidget(right)
        body.setSizes([580, 560])
        return body

    def refresh(self) -> None:
        """Show the newest money."""
        self.pack_row.refresh()
        money = self.keeper.money
        if money is None:
            is_coming = bool(self._session.job.panels)
            self.total.setText("…" if is_coming else "Nothing to buy")
            self.saving.setText(
                "The rolls are being laid out" if is_coming else "There is no panel yet"
            )
            self._show_cards()
            self.curve.show_film(None, 500.0)
            self.table.show_costs(None)
            self.used.setText(_USED_WORDS)
            return
        buying = money.buying
        self.total.setText(sum_text(buying))
        self.saving.setText(total_text(buying, money.plan.job.units))
        used = money_text(money.costs.total.film_used, buying.currency)
        self.used.setText(f"Film used: {used} (film, waste and retakes). {_USED_WORDS}")
        self._show_cards()
        self.table.show_costs(money.costs)
        films = [f.film for f in buying.films]
        if self._film not in films:
            self._film = films[0] if films else ""
        self._show_curve()

    def pick(self, film: str) -> None:
        """Show the curve of another film."""
        self._film = film
        self._show_curve()

    def _show_cards(self) -> None:
        for card in self.cards:
            self._column.removeWidget(card)
            card.deleteLater()  # it may be in the middle of a click
        self.cards = []
        money = self.keeper.money
        for buying in money.buying.films if money else ():
            job = money.plan.job if money else self._session.job
            film = job.film(buying.film)
            card = FilmCard(film, buying, job.units, job.currency)
            card.chosen.connect(self.pick)
            card.width_wanted.connect(self._on_width)
            self._column.insertWidget(len(self.cards), card)
            self.cards.append(card)

    def _show_curve(self) -> None:
        money = self.keeper.money
        films = money.buying.films if money else ()
        buying = next((f for f in films if f.film == self._film), None)
        if money is None or buying is None:
            self._curve_title.setText("")
            self.curve.show_film(None, 500.0)
            return
        self._curve_title.setText(f"Film against retakes: {buying.name}")
        self.curve.show_film(buying, money.plan.job.film(buying.film).buy_step_mm)

    def _on_width(self, film: str, width_mm: float) -> None:
        job, plan = self._session.committed_job, self._session.plan
        try:
            name = job.film(film).name
            packed = self.keeper.packed if plan.job is job else {}
            fresh = (
                take_width(plan, film, width_mm, packed)
                if packed
                else choose_width(job, film, width_mm)
            )
            self._session.do(f"Lay {name} out on another width", fresh)
        except LaplineError as error:
            self._session.message(error.sentence())

    def showEvent(self, event: QShowEvent) -> None:  # noqa: N802
        """Begin to keep up."""
        super().showEvent(event)
        self.keeper.watch(is_on=True)

    def closeEvent(self, event: QCloseEvent) -> None:  # noqa: N802
        """Leave off keeping up, and searching."""
        self.keeper.watch(is_on=False)
        self.packing.stop()
        super().closeEvent(event)
