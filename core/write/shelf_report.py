"""What lies on the shelf, as lines of text for a terminal."""

from collections.abc import Iterator

from core.document.film import Roll
from core.document.shelf import Shelf, ShelfEntry, holder_text
from core.roll.wording import length_on_hand
from core.units import Units
from core.write.wording import text_table


def shelf_lines(shelf: Shelf, place: str) -> Iterator[str]:
    """Yield what lies on the shelf, film by film."""
    yield f"Shelf: {place}"
    if not shelf.entries:
        yield "  nothing lies on it"
    for film in dict.fromkeys(e.film for e in shelf.entries):
        yield ""
        yield film
        yield from text_table([_row(shelf, e) for e in shelf.entries if e.film == film])


def _row(shelf: Shelf, entry: ShelfEntry) -> tuple[str, ...]:
    stock = entry.stock
    if isinstance(stock, Roll):
        kind = "opened roll" if stock.is_opened else "roll"
        size = f"{length_on_hand(stock.length_mm, Units.MM)} × {stock.width_mm or 0:.0f} mm"
    else:
        kind = "offcut" if stock.outline is None else "shaped offcut"
        size = f"{stock.length_mm:.0f} × {stock.width_mm:.0f} mm"
    damage = "damaged" if stock.damaged else ""
    by = f"in {holder_text(shelf, entry)}" if entry.taken_by else ""
    return (f"  {kind}", size, damage, by, stock.note)
