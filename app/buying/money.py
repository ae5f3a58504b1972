"""Keeps what is to be bought, and what it costs, up with the rolls: in a worker, on demand."""

from collections.abc import Mapping
from dataclasses import dataclass

from PySide6.QtCore import QObject, Signal

from app.jobs import Control
from app.newest import Newest
from app.session import Session
from core.plan.model import JobPlan
from core.roll.buying import BuyingList, buying_list
from core.roll.costs import CostTable, costs
from core.roll.model import RollPlan
from core.roll.width_search import PackedWidth

Packed = Mapping[str, PackedWidth]
REST_MS = 200


@dataclass(frozen=True, slots=True)
class Money:
    """What to buy and what it costs, for one layout of the rolls."""

    plan: JobPlan
    rolls: RollPlan
    buying: BuyingList
    costs: CostTable


class MoneyKeeper(QObject):
    """Works out the money of the newest rolls while somebody looks at it."""

    changed = Signal()
    """There is another answer, or the old one does not hold any more."""

    def __init__(self, session: Session, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self._is_watched = False
        self.money: Money | None = None
        self.packed: Packed = {}
        """What a search over the widths found, by fingerprint."""
        self._newest: Newest[tuple[JobPlan, RollPlan, Packed]] = Newest(
            _work_out, REST_MS, self
        )
        self._newest.found.connect(self._on_found)
        self._newest.refused.connect(session.message)
        session.rolls_changed.connect(self._ask)

    @property
    def is_busy(self) -> bool:
        """Whether an answer is still to come."""
        return self._newest.is_busy

    def watch(self, *, is_on: bool) -> None:
        """Begin to work, or leave off."""
        self._is_watched = is_on
        if is_on:
            self._ask()
        else:
            self._newest.drop()

    def add_packed(self, found: PackedWidth) -> None:
        """Count with a layout that was packed at a width on offer."""
        self.packed = {**self.packed, found.fingerprint: found}
        self._ask()

    def _ask(self) -> None:
        report = self._session.rolls
        if report is None:
            self.money = None
            self.changed.emit()
        elif self._is_watched:
            self._newest.want((self._session.plan, report.rolls, self.packed))

    def _on_found(self, money: object) -> None:
        assert isinstance(money, Money)
        self.money = money
        self.changed.emit()


def _work_out(question: tuple[JobPlan, RollPlan, Packed], control: Control) -> Money:
    plan, rolls, packed = question
    buying = buying_list(plan, rolls, control.is_cancelled, packed)
    return Money(plan, rolls, buying, costs(plan, rolls))
