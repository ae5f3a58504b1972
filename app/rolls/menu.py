"""The menu of a piece on its sheet."""

from collections.abc import Callable

from PySide6.QtWidgets import QMenu

from app.dialogs.stock_words import stock_text
from app.rolls.hand import RollHand
from app.rolls.strips import Strip
from app.session import Session
from core.document.edits.pieces import allow_stock, forbid_stock
from core.document.film import Film
from core.document.job import Job
from core.errors import LaplineError
from core.roll.model import Placement
from core.units import Units, format_length


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
    choice = session.job.variant(session.variant).choice(str(item.piece))
    others, keep_off = menu.addMenu("Cut it from"), menu.addMenu("Keep it off")
    keep_off.setEnabled(not (is_pinned or is_tied))
    for sheet, words in _sheets(strip.film, session.job.units).items():
        action = others.addAction(words)
        action.triggered.connect(lambda _=False, sheet=sheet: hand.tie(sheet))
        if sheet in choice.forbidden:
            continue
        action = keep_off.addAction(words)
        action.triggered.connect(
            lambda _=False, sheet=sheet: _do(
                session,
                f"Keep {item.label} off {_name(sheet)}",
                lambda job: forbid_stock(job, session.variant, str(item.piece), sheet),
            )
        )
    for sheet in choice.forbidden:
        action = menu.addAction(f"Allow it on {_name(sheet)} again")
        action.triggered.connect(
            lambda _=False, sheet=sheet: _do(
                session,
                f"Allow {item.label} on {_name(sheet)}",
                lambda job: allow_stock(job, session.variant, str(item.piece), sheet),
            )
        )


def _sheets(film: Film, units: Units) -> dict[str, str]:
    """Return the sheets that a piece of a film may lie on, by id, with their sizes."""
    wide = format_length(film.roll_width_mm, units)
    return {
        **{s.id: f"{s.id}: {stock_text(s, units, film.roll_width_mm)}" for s in film.stock},
        "buy": f"film to buy, {wide} wide",
    }


def _name(sheet: str) -> str:
    return "film to buy" if sheet == "buy" else sheet


def _do(session: Session, sentence: str, edit: Callable[[Job], Job]) -> None:
    try:
        job = edit(session.committed_job)
    except LaplineError as error:
        session.message(error.sentence())
        return
    session.do(sentence, job)
