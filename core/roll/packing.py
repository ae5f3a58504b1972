"""The polygon solver for fixed sheets, where it is installed (it needs Python 3.12)."""

from collections.abc import Callable, Iterator, Sequence

from core.roll.model import Item, Placement, Sheet
from core.roll.room import Layout


def has_packing() -> bool:
    """Return whether the solver is installed."""
    return False


def packing_layouts(
    items: Sequence[Item],
    sheet: Sheet,
    gap_mm: float,
    pinned: Sequence[Placement],
    seconds: float,
    is_cancelled: Callable[[], bool],
) -> Iterator[Layout]:
    """Yield better and better layouts of items on a sheet of any shape."""
    yield from ()
