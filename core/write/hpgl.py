"""A drawing as HP-GL/2, the language that most roll plotters take as it comes.

Coordinates are whole plotter units of 0.025 mm, absolute, from the lower left corner of what is
fed: x runs along the feed, y across it. What is drawn by the pen comes before what is cut by
the knife. Letters are drawn as strokes, as a machine's own differ.

Source: HP-GL/2 and HP RTL Reference Guide, HP 5961-3526 (from memory): IN, DF, PA, SP, PU, PD;
units of 1/40 mm; coordinates from -2^23 to 2^23 - 1.
"""

from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from core.errors import ExportFailed
from core.write.drawing import Drawing, Purpose
from core.write.plotter import Pens
from core.write.stroke_font import text_strokes

Points = NDArray[np.float64]

UNITS_A_MM = 40
MOST_UNITS = 2**23 - 1
_POINTS_A_LINE = 30
"""Plotters read into small buffers: no command is longer than this many points."""


def drawing_to_hpgl(
    drawing: Drawing, pens: Pens | None = None, *, is_turned: bool = False
) -> bytes:
    """Return the drawing as the bytes of a plotter file. Frames are not drawn.

    Args:
        drawing: its extent's lower left corner becomes the plotter's origin.
        pens: tool numbers.
        is_turned: for machines whose x runs across the roll: the feed becomes y.

    Raises:
        ExportFailed: when it is larger than the language has numbers for.
    """
    tools = pens or Pens()
    drawn: list[Points] = []
    cut: list[Points] = []
    for shape in drawing.shapes:
        purpose = drawing.purpose(shape.layer)
        if purpose not in (Purpose.FRAME, Purpose.PICTURE):
            lines = cut if purpose.is_cut else drawn
            for run in shape.runs:
                closing = run.points[:1] if run.is_closed else run.points[:0]
                lines.append(np.vstack([run.points, closing]))
    for text in drawing.texts:
        drawn += text_strokes(text)
    commands = ["IN;DF;PA;"]
    for pen, lines in ((tools.draw, drawn), (tools.cut, cut)):
        if lines:
            commands.append(f"SP{pen};")
            commands += _strokes(_units(lines, drawing, is_turned=is_turned))
    commands.append("PU0,0;SP0;")
    return ("\n".join(commands) + "\n").encode("ascii")


def _units(
    lines: Sequence[Points], drawing: Drawing, *, is_turned: bool
) -> Iterator[list[tuple[int, int]]]:
    """Yield lines in plotter units; points that fall together are one."""
    x0, y0, _, y1 = drawing.extent
    points = np.concatenate(lines)
    if is_turned:
        placed = np.column_stack([y1 - points[:, 1], points[:, 0] - x0])
    else:
        placed = points - (x0, y0)
    units = np.rint(placed * UNITS_A_MM)
    if np.abs(units).max() > MOST_UNITS:
        raise ExportFailed(
            "It is too long for HP-GL/2.",
            where=drawing.name,
            mend=f"Cut it in sections of at most {MOST_UNITS // UNITS_A_MM // 1000} m.",
        )
    pairs = list(map(tuple, units.astype(int).tolist()))
    first = 0
    for line in lines:
        one = pairs[first : first + len(line)]
        first += len(line)
        kept = [one[0], *(b for a, b in pairwise(one) if a != b)]
        yield kept if len(kept) > 1 else one[:2]


def _strokes(lines: Iterable[Sequence[tuple[int, int]]]) -> Iterator[str]:
    for line in lines:
        yield f"PU{line[0][0]},{line[0][1]};"
        for i in range(1, len(line), _POINTS_A_LINE):
            pairs = ",".join(f"{x},{y}" for x, y in line[i : i + _POINTS_A_LINE])
            yield f"PD{pairs};"
    yield "PU;"
