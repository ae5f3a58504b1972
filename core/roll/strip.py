"""Strip packing by a solver in its own process: better and better layouts of one open roll.

What the solver is known to do, and what is done about it:

* It keeps the gap from the strip's edges too: it gets the usable width and two gaps, and its
  answer is shifted back. The gap itself is a hair wider than asked, as it counts in single
  precision.
* It panics on a piece exactly as wide as the strip: the strip is a hair wider, and the answer
  is pressed back into the usable width.
* It panics on broken outlines, spikes, and outlines far from the origin: each is turned level,
  moved to the origin and simplified outwards.
* It overruns its time and cannot be told to stop: its process is ended.
"""

import json
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from queue import Empty, Queue
from typing import Any

import numpy as np
import shapely
from shapely import Polygon
from shapely.affinity import affine_transform, translate

from core.errors import LaplineError
from core.roll import worker
from core.roll.model import Item, Placement, Sheet
from core.roll.outlines import grown_outlines
from core.roll.profiles import candidate_turns
from core.roll.room import usable_size

_OUTLINE_MM = 0.2
"""Outlines may grow by twice this when simplified."""
_HAIR_MM = 0.01
"""Added to the gap: over the solver's rounding, some 1e-3 mm on ten metres of film."""
_WIDER_MM = 1e-3
"""Added to the strip's width, for pieces exactly as wide."""
_FREE_STEP_DEG = 5.0
"""Turns offered where any will do; on 60 rounded pieces 5° came out 7 % shorter than 90°."""
_POLL_SECONDS = 0.05
WORKER = Path(worker.__file__)


class SolverFailed(LaplineError):  # noqa: N818 - named for what happened
    """The solver's process died or gave up; the layout found before stands."""


@dataclass(frozen=True, slots=True)
class _Shape:
    """An item as the solver sees it.

    Attributes:
        base_deg: the turn that was made before; the solver's turns come on top.
        shift_mm: the move to the origin that followed it.
    """

    item: Item
    base_deg: float
    turns_deg: tuple[float, ...]
    shift_mm: tuple[float, float]
    ring: list[tuple[float, float]]


def strip_layouts(
    items: Sequence[Item],
    sheet: Sheet,
    gap_mm: float,
    seconds: float,
    is_cancelled: Callable[[], bool],
) -> Iterator[tuple[Placement, ...]]:
    """Yield better and better layouts of the items on an open roll as wide as the sheet.

    Ends when the time is over, the solver is content, or the caller cancels; no process is
    left behind. Layouts are not yet verified.

    Raises:
        SolverFailed: when the solver's process dies; layouts yielded before hold.
    """
    width = usable_size(sheet)[1]
    shapes = {str(k): s for k, s in enumerate(_shapes(items, width))}
    gap = gap_mm + _HAIR_MM
    request = {
        "height": width + 2 * gap + _WIDER_MM,
        "gap": gap,
        "seconds": seconds,
        "threads": None,
        "seed": 1,
        "items": [[k, s.ring, s.turns_deg] for k, s in shapes.items()],
    }
    for answer in _answers(request, seconds, is_cancelled):
        yield _placements(answer["placed"], shapes, sheet, width)


def _shapes(items: Sequence[Item], width_mm: float) -> list[_Shape]:
    outlines = grown_outlines([i.polygon for i in items], 0.0, _OUTLINE_MM)
    turns = candidate_turns(items, outlines, width_mm)
    return [
        _shape(item, outline, angles)
        for item, outline, angles in zip(items, outlines, turns, strict=True)
    ]


def _shape(item: Item, outline: Polygon, angles: tuple[float, ...]) -> _Shape:
    base = angles[0]
    turned = Placement(item, base, 0.0, 0.0)
    x0, y0, x1, y1 = turned.polygon.bounds
    level = affine_transform(outline, turned.matrix)
    # Growing must not make it wider than it is: a piece may be exactly as wide as the roll.
    inside = shapely.intersection(level, shapely.box(x0, y0, x1, y1))
    simple = max(shapely.get_parts(inside), key=lambda part: part.area)
    ring = shapely.get_coordinates(translate(simple, -x0, -y0).exterior)[:-1]
    if item.angles_deg is None:
        turns = tuple(np.arange(0.0, 360.0, _FREE_STEP_DEG).tolist())
    else:
        turns = tuple((a - base) % 360.0 for a in angles)
    points = [(float(x), float(y)) for x, y in ring]
    return _Shape(item, base, turns, (-x0, -y0), points)


def _placements(
    placed: list[list[Any]], shapes: dict[str, _Shape], sheet: Sheet, width: float
) -> tuple[Placement, ...]:
    """Return the answer as placements, pressed into the usable width and to the start."""
    raw = []
    for name, turn, x, y in placed:
        shape = shapes[name]
        # The solver turns in single precision; the turn meant is the nearest that was offered.
        off = [abs((turn - t + 180.0) % 360.0 - 180.0) for t in shape.turns_deg]
        exact = shape.turns_deg[int(np.argmin(off))]
        spin = Placement(shape.item, exact, 0.0, 0.0).matrix
        sx, sy = shape.shift_mm
        dx, dy = spin[0] * sx + spin[1] * sy + x, spin[2] * sx + spin[3] * sy + y
        raw.append(Placement(shape.item, (shape.base_deg + exact) % 360.0, dx, dy))
    bounds = shapely.bounds([p.polygon for p in raw])
    m = sheet.margin_mm
    dx = sheet.start_mm - float(bounds[:, 0].min())
    # The strip began one gap below the usable width; each piece is then pressed into it.
    low = float(bounds[:, 1].min())
    free = np.clip(
        bounds[:, 1] - low, 0.0, np.maximum(width - (bounds[:, 3] - bounds[:, 1]), 0.0)
    )
    return tuple(
        Placement(p.item, p.angle_deg, p.dx_mm + dx, p.dy_mm - b + m + f)
        for p, b, f in zip(raw, bounds[:, 1].tolist(), free.tolist(), strict=True)
    )


def _answers(
    request: dict[str, Any], seconds: float, is_cancelled: Callable[[], bool]
) -> Iterator[dict[str, Any]]:
    """Run the worker and yield its answers, the newest only when several wait."""
    deadline = time.monotonic() + seconds
    lines: Queue[str | None] = Queue()
    process = _start_worker()
    reader = threading.Thread(target=_read, args=(process, lines), daemon=True)
    reader.start()
    try:
        _send(process, request)
        while time.monotonic() < deadline and not is_cancelled():
            waiting = _waiting(lines)
            answers = [json.loads(line) for line in waiting if line and line.startswith("{")]
            better = [a for a in answers if "placed" in a]
            if better:
                yield better[-1]
            for answer in answers:
                if "error" in answer:
                    raise SolverFailed(f"The layout solver gave up: {answer['error']}.")
            if any(a.get("done") for a in answers):
                return
            if None in waiting:
                raise SolverFailed("The layout solver stopped unexpectedly.")
    finally:
        process.kill()
        process.wait()
        reader.join()
        _close(process)


def _start_worker() -> "subprocess.Popen[str]":
    try:
        return subprocess.Popen(
            [sys.executable, "-P", str(WORKER)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            text=True,
        )
    except OSError as error:
        raise SolverFailed(f"The layout solver did not start: {error}.") from error


def _send(process: "subprocess.Popen[str]", request: dict[str, Any]) -> None:
    """Hand the request over; a worker that is gone already is found when its output ends."""
    assert process.stdin is not None
    try:
        process.stdin.write(json.dumps(request) + "\n")
        process.stdin.flush()
    except OSError:
        return


def _close(process: "subprocess.Popen[str]") -> None:
    for pipe in (process.stdin, process.stdout):
        assert pipe is not None
        try:
            pipe.close()
        except OSError:  # a dead worker did not take all of its request
            continue


def _read(process: "subprocess.Popen[str]", lines: "Queue[str | None]") -> None:
    assert process.stdout is not None
    for line in process.stdout:
        lines.put(line)
    lines.put(None)


def _waiting(lines: "Queue[str | None]") -> list[str | None]:
    """Return all lines that wait, after waiting a little for the first."""
    found: list[str | None] = []
    try:
        found.append(lines.get(timeout=_POLL_SECONDS))
        while True:
            found.append(lines.get_nowait())
    except Empty:
        return found
