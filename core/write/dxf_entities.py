"""Polylines and texts as the content of a DXF: many thousands of them, written at once.

The library that writes the rest of the file keeps an object for every vertex of an R12 file and
a table of attributes for every line and text, which takes seconds for a long roll. Each is a
few group codes, so it is written as such.

Source: DXF reference (group codes of POLYLINE, VERTEX, SEQEND, LWPOLYLINE and TEXT).
"""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.write.drawing import Text

Points = NDArray[np.float64]

DECIMALS = 5


@dataclass(frozen=True, slots=True, eq=False)
class DxfLine:
    """One polyline; a bulge for each point, or None where there are no arcs."""

    layer: str
    points: Points
    is_closed: bool
    bulges: Points | None = None


def old_lines(lines: Iterable[DxfLine], next_handle: Callable[[], str]) -> str:
    """Return POLYLINE entities of R12, with a VERTEX for each point."""
    out: list[str] = []
    for line in lines:
        flag = int(line.is_closed)
        out.append(
            f"  0\nPOLYLINE\n  5\n{next_handle()}\n  8\n{line.layer}\n 66\n1\n"
            f" 10\n0.0\n 20\n0.0\n 30\n0.0\n 70\n{flag}\n"
        )
        out += [
            f"  0\nVERTEX\n  5\n{next_handle()}\n  8\n{line.layer}\n"
            f" 10\n{x}\n 20\n{y}\n 30\n0.0\n{_bulge(b)}"
            for x, y, b in _rows(line)
        ]
        out.append(f"  0\nSEQEND\n  5\n{next_handle()}\n  8\n{line.layer}\n")
    return "".join(out)


def new_lines(lines: Iterable[DxfLine], next_handle: Callable[[], str], owner: str) -> str:
    """Return LWPOLYLINE entities, as R2000 and later have them, of an owner by its handle."""
    out: list[str] = []
    for line in lines:
        out.append(
            f"  0\nLWPOLYLINE\n  5\n{next_handle()}\n330\n{owner}\n100\nAcDbEntity\n"
            f"  8\n{line.layer}\n100\nAcDbPolyline\n 90\n{len(line.points)}\n"
            f" 70\n{int(line.is_closed)}\n"
        )
        if line.bulges is None:
            pairs = (np.round(line.points, DECIMALS) + 0.0).ravel().tolist()
            out.append(" 10\n%s\n 20\n%s\n" * len(line.points) % tuple(pairs))
        else:
            out += [f" 10\n{x}\n 20\n{y}\n{_bulge(b)}" for x, y, b in _rows(line)]
    return "".join(out)


_JUSTIFIED = {"start": "", "middle": " 72\n1\n", "end": " 72\n2\n"}


def text_entities(
    texts: Iterable[Text], next_handle: Callable[[], str], owner: str | None = None
) -> str:
    """Return TEXT entities, each a line without control characters; R12 has no owner."""
    entity = subclass = ""
    if owner is not None:
        entity, subclass = f"330\n{owner}\n100\nAcDbEntity\n", "100\nAcDbText\n"
    out = []
    for text in texts:
        x, y = map(float, text.at)
        turn = f" 50\n{float(text.angle_deg)}\n" if text.angle_deg else ""
        out.append(
            f"  0\nTEXT\n  5\n{next_handle()}\n{entity}  8\n{text.layer}\n{subclass}"
            f" 10\n{x}\n 20\n{y}\n 30\n0.0\n 40\n{float(text.height_mm)}\n  1\n{text.text}\n"
            f"{turn}{_JUSTIFIED[text.anchor]} 11\n{x}\n 21\n{y}\n 31\n0.0\n{subclass}"
        )
    return "".join(out)


def _rows(line: DxfLine) -> Iterator[tuple[float, float, float]]:
    points = (np.round(line.points, DECIMALS) + 0.0).tolist()
    bulges = [0.0] * len(points) if line.bulges is None else line.bulges.tolist()
    return ((x, y, b) for (x, y), b in zip(points, bulges, strict=True))


def _bulge(bulge: float) -> str:
    return f" 42\n{bulge:.9f}\n" if bulge else ""
