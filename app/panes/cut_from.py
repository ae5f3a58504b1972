"""From which rolls and offcuts a piece is to be cut, and how often: the user's word for it."""

from functools import partial

from PySide6.QtWidgets import QMenu, QToolButton

from app.dialogs.stock_words import stock_text
from app.panes.editor import Editor
from app.panes.fields import ChoiceField, CountField
from app.style import dress
from core.document.choices import Pin
from core.document.edits.pieces import (
    allow_stock,
    forbid_stock,
    pin_piece,
    set_piece_tries,
    unpin_piece,
)
from core.document.job import Job
from core.plan.model import Piece
from core.plan.tries import planned_tries

BUY = "buy"


class CutFrom:
    """The rows of an editor that say how often a piece is cut, and from what."""

    def __init__(self, editor: Editor) -> None:
        self._editor = editor
        self._piece: Piece | None = None
        self.tries = CountField(0, 20)
        self.tries.counted.connect(self._on_tries)
        editor.add_row("Tries", self.tries)
        self.sheet: ChoiceField = editor.add_choice("Cut from", self._on_sheet)
        self.barred = QToolButton()
        self.barred.setPopupMode(QToolButton.ToolButtonPopupMode.InstantPopup)
        dress(self.barred, "worded")
        self._menu = QMenu(self.barred)
        self.barred.setMenu(self._menu)
        editor.add_row("Not from", self.barred)

    def show_piece(self, piece: Piece | None, panel: str) -> None:
        """Show what is decided about a piece."""
        self._piece = piece
        for widget in (self.tries, self.sheet, self.barred):
            widget.setEnabled(piece is not None)
        if piece is None:
            return
        session = self._editor.session
        job = session.job
        choice = job.variant(session.variant).choice(piece.id)
        usual = planned_tries(job.panel(panel), job.settings)
        is_shape = piece.hard is not None  # who lays it has not said how hard it is
        self.tries.setSpecialValueText("By its shape" if is_shape else f"{usual}, as the panel")
        self.tries.show_count(choice.tries or 0)
        pin = next((p for p in choice.pins if p.attempt == 1), None)
        stock = self._stock(job, piece)
        lies = self._lies_on(piece)
        words = dict(stock)
        free = f"Any; now {_short(lies)}" if lies else "Any"
        options: list[tuple[str, object]] = [(free, None)]
        options += [(text, key) for key, text in stock]
        if pin is not None and pin.stock not in words:
            options.append((f"{pin.stock}, which is gone", pin.stock))
        self.sheet.show_choice(options, pin.stock if pin else None)
        if pin is not None and pin.place is not None:
            self.sheet.setToolTip("Pinned to its place there; another choice lets go of it")
        self._fill(stock, choice.forbidden)

    def _stock(self, job: Job, piece: Piece) -> list[tuple[str, str]]:
        film = job.film(piece.film)
        width = film.roll_width_mm
        listed = [(s.id, f"{s.id}: {stock_text(s, job.units, width)}") for s in film.stock]
        return [*listed, (BUY, "Film to buy")]

    def _lies_on(self, piece: Piece) -> str:
        report = self._editor.session.rolls
        for film in report.rolls.films if report else ():
            for sheet in film.sheets:
                if any(p.item.piece == piece.id for p in sheet.placements):
                    return str(sheet.sheet.id)
        return ""

    def _fill(self, stock: list[tuple[str, str]], forbidden: tuple[str, ...]) -> None:
        self._menu.clear()
        for key, text in stock:
            action = self._menu.addAction(text)
            action.setCheckable(True)
            action.setChecked(key in forbidden)
            action.toggled.connect(partial(self._on_barred, key))
        names = ", ".join(_short(s) for s in forbidden)
        self.barred.setText(names or "Nothing kept off")
        self.barred.setToolTip("Rolls and offcuts that the piece must not be cut from")

    def _on_tries(self, count: int) -> None:
        piece, variant = self._piece, self._editor.session.variant
        if piece is not None:
            self._editor.edit(
                f"Change the tries of {piece.label}",
                lambda job: set_piece_tries(job, variant, piece.id, count or None),
                merge=f"tries {piece.id}",
            )

    def _on_sheet(self, stock: str | None) -> None:
        piece, variant = self._piece, self._editor.session.variant
        if piece is None:
            return

        def change(job: Job) -> Job:
            if stock is None:
                return unpin_piece(job, variant, piece.id, 1)
            return pin_piece(job, variant, piece.id, Pin(stock=stock))

        what = "Let go of the pin of" if stock is None else "Pin"
        self._editor.edit(f"{what} {piece.label}", change)

    def _on_barred(self, stock: str, is_on: bool) -> None:  # noqa: FBT001 - a slot
        piece, variant = self._piece, self._editor.session.variant
        if piece is None:
            return
        edit = forbid_stock if is_on else allow_stock
        word = "Keep" if is_on else "Allow"
        tail = f"off {_short(stock)}" if is_on else f"on {_short(stock)}"
        self._editor.edit(
            f"{word} {piece.label} {tail}", lambda job: edit(job, variant, piece.id, stock)
        )


def _short(stock: str) -> str:
    return "film to buy" if stock == BUY else stock
