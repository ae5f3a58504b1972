"""The menu of a piece on its sheet."""

from collections.abc import Callable

from PySide6.QtWidgets import QMenu

from app.rolls.hand import RollHand
from app.rolls.strips import Strip
from app.session import Session
from core.document.edits.pieces import allow_stock, forbid_stock
from core.document.job import Job
from core.errors import LaplineError
from core.roll.model import Placement


def fill_menu(
    menu: QMenu, session: Session, hand: RollHand, strip: Strip, placement: Placement
) -> None:
    """Offer pins and sheets for the piece under the pointer."""
    item = placement.item
    hand.choose(item.key)
    is_pinned, is_tied = item.key in hand.pinned, item.key in hand.tied
    words = "Let go" if is_pinned or is_tied else "Pin here"
    menu.addAction(f"{words}\tK").triggered.connect(hand.pin_or_let_go)
    menu.addAction("Turn\tR").triggered.connect(lambda: hand.turn(90.0))
    sheets = [s.id for s in strip.film.stock] + ["buy"]
    others = menu.addMenu("Cut it from")
    for sheet in sheets:
        action = others.addAction(_name(sheet))
        action.triggered.connect(lambda _=False, sheet=sheet: hand.tie(sheet))
    own = str(strip.sheet.sheet.id)
    keep_off = menu.addAction(f"Keep it off {_name(own)}")
    keep_off.setEnabled(not (is_pinned or is_tied))
    keep_off.triggered.connect(
        lambda: _do(
            session,
            f"Keep {item.label} off {_name(own)}",
            lambda job: forbid_stock(job, session.variant, str(item.piece), own),
        )
    )
    choice = session.job.variant(session.variant).choice(str(item.piece))
    for sheet in choice.forbidden:
        action = menu.addAction(f"Allow it on {_name(sheet)} again")
        action.triggered.connect(
            lambda _=False, sheet=sheet: _do(
                session,
                f"Allow {item.label} on {_name(sheet)}",
                lambda job: allow_stock(job, session.variant, str(item.piece), sheet),
            )
        )


def _name(sheet: str) -> str:
    return "film to buy" if sheet == "buy" else sheet


def _do(session: Session, sentence: str, edit: Callable[[Job], Job]) -> None:
    try:
        job = edit(session.committed_job)
    except LaplineError as error:
        session.message(error.sentence())
        return
    session.do(sentence, job)
