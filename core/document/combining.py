"""Union and difference of two rings of nodes; curves, node ids and edge turns are kept."""

from dataclasses import dataclass

from core.document.edits.paths import reverse_path
from core.document.path import Path
from core.document.shaping import Drawn, chain_of, counter_clockwise, drawn, ring_of
from core.errors import EditRefused
from core.geometry.bezier import area_of
from core.geometry.boolean_paths import CurvedArea, united, without


@dataclass(frozen=True, slots=True)
class Shape:
    """An outline with holes in it."""

    outline: Path
    holes: tuple[Path, ...] = ()


def join_rings(a: Path, b: Path) -> Shape:
    """Return the outline round two rings, with the holes that they enclose between them.

    Raises:
        EditRefused: the rings do not overlap, or touch in single points only.
    """
    a, b = counter_clockwise(a), counter_clockwise(b)
    areas = united(chain_of(a), chain_of(b, len(a)))
    if len(areas) != 1:
        raise EditRefused(
            "The two outlines do not overlap.", mend="Move one so that they overlap first."
        )
    return _shape(areas[0], drawn(a, b))


def cut_ring(a: Path, b: Path) -> Shape:
    """Return what is left of ring a when ring b is cut away.

    Raises:
        EditRefused: nothing or more than one part is left, or the rings do not overlap.
    """
    a, b = counter_clockwise(a), reverse_path(counter_clockwise(b))
    chain = chain_of(a)
    areas = without(chain, chain_of(b, len(a)))
    if not areas:
        raise EditRefused("Nothing would be left.")
    if len(areas) > 1:
        raise EditRefused(
            f"The panel would fall into {len(areas)} parts.",
            mend="Cut it in two first, then cut the shape away from each half.",
        )
    left = area_of(areas[0].outer) + sum(area_of(h) for h in areas[0].holes)
    if abs(area_of(chain) - left) < 1.0:
        raise EditRefused(
            "The two outlines do not overlap.", mend="Move one so that they overlap first."
        )
    return _shape(areas[0], drawn(a, b))


def _shape(area: CurvedArea, source: Drawn) -> Shape:
    return Shape(ring_of(area.outer, source), tuple(ring_of(h, source) for h in area.holes))
