"""A pencil for the samples: node paths from short path texts, y up, in millimetres.

Knows the letters M, L, C, Q and Z of SVG path data (SVG 2, chapter 9), absolute only.
"""

import math
import re
from collections.abc import Mapping

from msgspec.structs import replace

from core.document.panel import Mark, MarkKind, Opening
from core.document.path import Node, Path

Point = tuple[float, float]
_LETTERS = {"M": 1, "L": 1, "C": 3, "Q": 2}
_CIRCLE = 4 * (math.sqrt(2) - 1) / 3


def drawn(text: str, turns: Mapping[int, float] | None = None) -> Path:
    """Return the path of a text; nodes are n1, n2, ... in its order.

    Nodes through which it runs without a kink are smooth, but for those in ``turns``: at those,
    counted from 1, an edge starts that has a turn of its own.
    """
    turns = turns or {}
    nodes: list[Node] = []
    for letter, numbers in re.findall(r"([MLCQ])([^MLCQZ]*)", text):
        flat = [float(n) for n in numbers.split()]
        points = list(zip(flat[::2], flat[1::2], strict=True))
        if len(points) != _LETTERS[letter]:
            raise ValueError(f"{letter} with {len(points)} points")
        _add(nodes, letter, points)
    if text.rstrip().endswith("Z") and nodes[-1].at == nodes[0].at:
        nodes[0] = replace(nodes[0], before=nodes[-1].before)
        nodes.pop()
    is_closed = text.rstrip().endswith("Z")
    return tuple(
        replace(
            node,
            id=f"n{i + 1}",
            smooth=i + 1 not in turns and _is_smooth(nodes, i, is_closed=is_closed),
            turn_mm=turns.get(i + 1),
        )
        for i, node in enumerate(nodes)
    )


def circle(x: float, y: float, radius: float) -> Path:
    """Return a circle of four smooth nodes, counter-clockwise."""
    k = radius * _CIRCLE
    ways = ((1, 0), (0, 1), (-1, 0), (0, -1))
    return tuple(
        Node(
            id=f"n{i}",
            at=(x + radius * c, y + radius * s),
            smooth=True,
            before=(s * k, -c * k),
            after=(-s * k, c * k),
        )
        for i, (c, s) in enumerate(ways, 1)
    )


def slot(x: float, y: float, w: float, h: float, r: float) -> Path:
    """Return a rectangle with rounded corners, from its lower left point."""
    return drawn(
        f"M {x + r} {y} L {x + w - r} {y} Q {x + w} {y} {x + w} {y + r} "
        f"L {x + w} {y + h - r} Q {x + w} {y + h} {x + w - r} {y + h} "
        f"L {x + r} {y + h} Q {x} {y + h} {x} {y + h - r} "
        f"L {x} {y + r} Q {x} {y} {x + r} {y} Z"
    )


def opening(number: int, nodes: Path, turn_mm: float, name: str) -> Opening:
    """Return an opening."""
    return Opening(id=f"o{number}", nodes=nodes, turn_mm=turn_mm, name=name)


def bolts(first: int, *places: Point, radius: float = 5.0) -> tuple[Mark, ...]:
    """Return bolts, numbered from ``first``."""
    return tuple(
        mark(first + i, MarkKind.BOLT, place, radius=radius) for i, place in enumerate(places)
    )


def mark(
    number: int, kind: MarkKind, *path: Point, radius: float = 5.0, note: str = ""
) -> Mark:
    """Return a mark."""
    points = tuple((float(x), float(y)) for x, y in path)
    return Mark(id=f"m{number}", kind=kind, path=points, radius_mm=radius, note=note)


def _add(nodes: list[Node], letter: str, points: list[Point]) -> None:
    at = points[-1]
    before = after = None
    if letter in "CQ":
        start = nodes[-1].at
        if letter == "Q":
            c1, c2 = _toward(start, points[0]), _toward(at, points[0])
        else:
            c1, c2 = points[0], points[1]
        after = (c1[0] - start[0], c1[1] - start[1])
        before = (c2[0] - at[0], c2[1] - at[1])
        nodes[-1] = replace(nodes[-1], after=after)
    nodes.append(Node(id="n1", at=at, before=before))


def _toward(end: Point, control: Point) -> Point:
    """Return the cubic's control point for a quadratic's: two thirds of the way to it."""
    return (
        end[0] + (control[0] - end[0]) * 2 / 3,
        end[1] + (control[1] - end[1]) * 2 / 3,
    )


def _is_smooth(nodes: list[Node], i: int, *, is_closed: bool) -> bool:
    node = nodes[i]
    if (node.before is None and node.after is None) or (
        not is_closed and i in (0, len(nodes) - 1)
    ):
        return False
    behind, ahead = nodes[i - 1].at, nodes[(i + 1) % len(nodes)].at
    into = node.before or (behind[0] - node.at[0], behind[1] - node.at[1])
    out = node.after or (ahead[0] - node.at[0], ahead[1] - node.at[1])
    bend = math.atan2(out[1], out[0]) - math.atan2(-into[1], -into[0])
    return abs(math.remainder(bend, math.tau)) < math.radians(0.5)
