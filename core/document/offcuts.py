"""Offcuts of any outline, from shapes that were drawn or traced."""

from msgspec.structs import replace

from core.document.film import Offcut
from core.document.flatten import Points, flatten
from core.document.panel import Panel
from core.document.path import Path
from core.errors import EditRefused

MOST_POINTS = 5000


def offcut_like(panel: Panel, offcut: Offcut) -> Offcut:
    """Return the offcut with a panel's outline and openings, x along the roll.

    A left-over piece of film is traced as a panel is, by photo, drawing or tape.

    Raises:
        EditRefused: the outline has more points than an offcut can have, or no size.
    """
    rings = [flatten(ring, closed=True) for ring in _rings(panel)]
    if any(not 3 <= len(ring) <= MOST_POINTS for ring in rings):
        raise EditRefused(
            f"The outline has too few or more than {MOST_POINTS} points.",
            where=panel.name,
            mend="Simplify the panel's outline.",
        )
    x0, y0 = (float(v) for v in rings[0].min(axis=0))
    x1, y1 = (float(v) for v in rings[0].max(axis=0))
    if x1 <= x0 or y1 <= y0:
        raise EditRefused("The outline has no size.", where=panel.name)
    outline, *openings = (_moved(ring, x0, y0) for ring in rings)
    return replace(
        offcut,
        length_mm=x1 - x0,
        width_mm=y1 - y0,
        outline=outline,
        openings=tuple(openings),
        note=offcut.note or panel.name,
    )


def _rings(panel: Panel) -> tuple[Path, ...]:
    return (panel.outline, *(opening.nodes for opening in panel.openings))


def _moved(ring: Points, x0: float, y0: float) -> tuple[tuple[float, float], ...]:
    return tuple((float(x) - x0, float(y) - y0) for x, y in ring)
