"""A piece in hand on the rolls: dragged, turned, laid down and pinned, the rest around it."""

from dataclasses import dataclass, replace

from PySide6.QtCore import QObject, Signal

from app.session import Session
from core.document.choices import Pin, Place
from core.document.edits.pieces import pin_piece, unpin_piece
from core.errors import LaplineError
from core.ids import FilmId, PieceId, StockId
from core.roll.hand import Touch, moved, slid_onto_film, touch_of, turned
from core.roll.model import ItemKey, Placement, SheetPlan


@dataclass(frozen=True)
class Held:
    """What is in hand: where it is held, and what it runs into there."""

    sheet: StockId
    placement: Placement
    touch: Touch


class RollHand(QObject):
    """Takes one piece at a time; what it lays down is one undo step each."""

    changed = Signal()

    def __init__(self, session: Session, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self.chosen: ItemKey | None = None
        """The piece and try that keys act on."""
        self.held: Held | None = None
        """In hand, or laid down and waiting for the rest to be laid around it."""
        self.film: str = ""
        self.is_dragging = False
        self._turn_deg = 0.0
        self._last: tuple[SheetPlan, Placement, tuple[float, float], float] | None = None

    # What is pinned

    @property
    def pinned(self) -> frozenset[ItemKey]:
        """Tries that lie where they were put."""
        return self._keys(has_place=True)

    @property
    def tied(self) -> frozenset[ItemKey]:
        """Tries tied to a sheet, but to no place on it."""
        return self._keys(has_place=False)

    def _keys(self, *, has_place: bool) -> frozenset[ItemKey]:
        variant = self._session.job.variant(self._session.variant)
        return frozenset(
            (PieceId(choice.piece), pin.attempt)
            for choice in variant.pieces
            for pin in choice.pins
            if (pin.place is not None) is has_place
        )

    def choose(self, key: ItemKey | None) -> None:
        """Let keys act on a piece, or on none."""
        self.chosen = key
        self.changed.emit()

    # Dragging

    def begin(self, film: str, sheet: SheetPlan, placement: Placement) -> None:
        """Take a piece in hand."""
        self.film, self.is_dragging = film, True
        self._turn_deg = 0.0
        self._hold(sheet, placement)

    def hold(
        self,
        sheet: SheetPlan,
        start: Placement,
        shift_mm: tuple[float, float],
        catch_mm: float,
    ) -> None:
        """Hold the piece over a sheet, so far from where it lay; edges of the film catch it."""
        self._last = (sheet, start, shift_mm, catch_mm)
        piece = moved(start, *shift_mm)
        if self._turn_deg:
            piece = turned(piece, self._turn_deg)
        self._hold(sheet, slid_onto_film(piece, sheet.sheet, catch_mm))

    def turn_held(self, by_deg: float) -> None:
        """Turn what is in hand."""
        if self.held is None or self._last is None:
            return
        sheet, start, shift, catch = self._last
        before = moved(start, *shift)
        now = turned(before, self._turn_deg) if self._turn_deg else before
        after = turned(now, by_deg)
        self._turn_deg = (after.angle_deg - before.angle_deg) % 360.0
        self.hold(sheet, start, shift, catch)

    def lay_down(self) -> None:
        """Pin the piece where it is held; off the film or on a pinned one it goes back."""
        held, self.is_dragging = self.held, False
        if held is None:
            return
        if not held.touch.is_lawful:
            self.held = None
            self._session.message(_why_not(held.touch))
            self.changed.emit()
            return
        self._pin(held, "Pin", merge=None)

    def cancel(self) -> None:
        """Put back what is in hand."""
        self.held, self.is_dragging = None, False
        self.changed.emit()

    def _hold(self, sheet: SheetPlan, placement: Placement) -> None:
        touch = touch_of(placement, sheet.sheet, sheet.placements, self.pinned, sheet.gap_mm)
        self.held = Held(sheet.sheet.id, placement, touch)
        self.changed.emit()

    # Keys

    def nudge(self, dx_mm: float, dy_mm: float) -> None:
        """Move the chosen piece a little and pin it there."""
        found = self._chosen_place()
        if found is not None:
            self._put(found[0], moved(found[1], dx_mm, dy_mm), "Move")

    def turn(self, by_deg: float) -> None:
        """Turn the chosen piece and pin it there."""
        found = self._chosen_place()
        if found is None:
            return
        sheet, placement = found
        after = turned(placement, by_deg)
        if after == placement:
            self._session.message("The grain of its film allows no other turn")
            return
        self._put(sheet, slid_onto_film(after, sheet.sheet, _reach(after)), "Turn")

    def pin_or_let_go(self) -> None:
        """Pin the chosen piece where it lies; let go of it where it is pinned."""
        if self.chosen in self.pinned | self.tied:
            self.let_go()
            return
        found = self._chosen_place()
        if found is not None:
            self._put(*found, "Pin")

    def let_go(self) -> None:
        """Leave the chosen piece to the layout again."""
        if self.chosen is None:
            return
        piece, attempt = self.chosen
        job = unpin_piece(self._session.committed_job, self._session.variant, piece, attempt)
        self.held = None
        self._session.do(f"Let go of {self._name(piece)}", job)
        self.changed.emit()

    def tie(self, sheet: str) -> None:
        """Tie the chosen piece to a sheet, wherever on it there is room."""
        if self.chosen is None:
            return
        piece, attempt = self.chosen
        self._do(
            f"Tie {self._name(piece)} to {sheet}", piece, Pin(stock=sheet, attempt=attempt)
        )

    def _put(self, sheet: SheetPlan, placement: Placement, what: str) -> None:
        touch = touch_of(placement, sheet.sheet, sheet.placements, self.pinned, sheet.gap_mm)
        if not touch.is_lawful:
            self._session.message(_why_not(touch))
            return
        key = placement.item.key
        held = Held(sheet.sheet.id, placement, touch)
        self._pin(held, what, merge=f"{what} {key}")

    def _pin(self, held: Held, what: str, merge: str | None) -> None:
        place, item = held.placement, held.placement.item
        pin = Pin(
            stock=held.sheet,
            attempt=item.attempt,
            place=Place(angle_deg=place.angle_deg, dx_mm=place.dx_mm, dy_mm=place.dy_mm),
        )
        self.held = held
        if not self._do(f"{what} {self._name(item.piece)}", item.piece, pin, merge=merge):
            self.held = None
        self.changed.emit()

    def _do(self, sentence: str, piece: str, pin: Pin, *, merge: str | None = None) -> bool:
        session = self._session
        try:
            job = pin_piece(session.committed_job, session.variant, piece, pin)
        except LaplineError as error:
            session.message(error.sentence())
            return False
        session.do(sentence, job, merge=merge)
        return True

    def _chosen_place(self) -> tuple[SheetPlan, Placement] | None:
        """Return the sheet and place of the chosen piece, as it was put last."""
        report = self._session.rolls
        if self.chosen is None or report is None:
            return None
        for film in report.rolls.films:
            for sheet in film.sheets:
                for placement in sheet.placements:
                    if placement.item.key == self.chosen:
                        self.film = str(FilmId(film.film))
                        return self._as_put(film.sheets, sheet, placement)
        return None

    def _as_put(
        self, sheets: tuple[SheetPlan, ...], sheet: SheetPlan, placement: Placement
    ) -> tuple[SheetPlan, Placement]:
        held = self.held
        if held is None or held.placement.item.key != self.chosen:
            return sheet, placement
        over = next((s for s in sheets if s.sheet.id == held.sheet), None)
        if over is None:  # nothing lies there yet
            return sheet, placement
        return over, replace(held.placement, item=placement.item)

    def _name(self, piece: str) -> str:
        pieces = (p for p in self._session.plan.pieces if p.id == piece)
        return next((p.label for p in pieces), piece)

    def settle(self) -> None:
        """Let go of what was put down once the rest was laid around it."""
        is_waiting = self.held is not None and not self.is_dragging
        if is_waiting and self._session.are_rolls_current:
            self.held = None


def _why_not(touch: Touch) -> str:
    if touch.is_off_film:
        return "It would not lie on usable film"
    return "Another piece is pinned there: let go of that one first"


def _reach(placement: Placement) -> float:
    """Return how far a turned piece may have to be moved to lie on the film again."""
    x0, y0, x1, y1 = placement.polygon.bounds
    return max(x1 - x0, y1 - y0) / 2
