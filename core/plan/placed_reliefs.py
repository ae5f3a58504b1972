"""Relief cuts as they run through the pieces of a panel, and why some cannot be made.

A relief cut is drawn from a rim (the panel's, an opening's, or a seam) inwards, in either
direction. It divides nothing: it cuts the film that is seen where it runs, through edge turn or
lap out to the piece's own edge, and no film beneath.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import partial

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString, MultiLineString, Point, Polygon

from core.document.flatten import flatten
from core.document.lines import Relief, line_name
from core.document.panel import Panel
from core.document.variant import Scheme
from core.geometry.run_on import end_direction, is_on_rim, leaving_direction
from core.ids import LineId
from core.plan.cutting import ReliefCut
from core.plan.memory import Memory
from core.plan.model import Finding, Piece, Region, Severity, Stretch
from core.plan.panel_shape import PanelShape
from core.plan.side_words import rim_words
from core.shape.relief import opened
from core.tolerance import JOIN_MM, REACH_MM

LEAST_MM = 5.0
"""A relief cut runs at least so far through film that is seen, and as clear of other edges."""
_CROSSES_MM = 1.0
_AROUND_HOLE_MM = 1.0

Points = NDArray[np.float64]
Around = tuple[tuple[str, LineString | MultiLineString], ...]
"""The borders about a region, each with the name of its line."""


@dataclass(frozen=True, slots=True)
class Cuttable:
    """What relief cuts of a panel run through."""

    panel: Panel
    scheme: Scheme
    shape: PanelShape
    regions: tuple[Region, ...]
    stretches: tuple[Stretch, ...]
    pieces: tuple[Piece, ...]


class _Flaw(Exception):  # noqa: N818 - never seen outside
    """Why a relief cut cannot be made."""

    def __init__(self, check: str, text: str, at: Point) -> None:
        super().__init__(text)
        self.check, self.text, self.at = check, text, at

    def again(self) -> "_Flaw":
        """Return the same flaw, to be raised anew."""
        return _Flaw(self.check, self.text, self.at)


def with_reliefs(ground: Cuttable) -> tuple[tuple[Piece, ...], tuple[Finding, ...]]:
    """Give each piece the relief cuts that run through it; tell of those that cannot be."""
    if not ground.scheme.reliefs or not ground.pieces:
        return ground.pieces, ()
    cuts: dict[int, list[ReliefCut]] = {}
    findings = []
    for relief in ground.scheme.reliefs:
        try:
            home = _home(relief, ground)
            number = next(i for i, p in enumerate(ground.pieces) if home.id in p.regions)
            cut = _cut_in(relief, home, ground.pieces[number].final, ground)
            _refuse_meeting(cut, cuts.get(number, []))
        except _Flaw as flaw:
            findings.append(_told(relief, flaw))
            continue
        cuts.setdefault(number, []).append(cut)
    pieces = tuple(
        replace(piece, relief_cuts=tuple(cuts[i])) if i in cuts else piece
        for i, piece in enumerate(ground.pieces)
    )
    findings += [_told_of(pieces[i]) for i in sorted(cuts)]
    return pieces, tuple(findings)


def _told_of(piece: Piece) -> Finding:
    """Say how a piece is cut into, and what that asks of whoever lays it."""
    cuts = piece.relief_cuts
    runs = "; ".join(f"{c.name}, {c.seen_mm:.0f} mm in from {c.start}" for c in cuts)
    sides = "its sides meet" if len(cuts) == 1 else "the sides of each meet"
    by_hand = (
        " The piece is cut as a blank: cut it by its template before it is laid; on the part"
        " only over cutting tape, never with a blade over paint."
    )
    text = f"{piece.label} is cut into: {runs}; {sides} when the film is laid."
    x, y = cuts[0].path.coords[0]
    return Finding(
        "S215",
        Severity.NOTE,
        text + (by_hand if piece.is_blank else ""),
        where=(float(x), float(y)),
        lines=tuple(c.line for c in cuts),
    )


def _cut_in(relief: Relief, home: Region, final: Polygon, ground: Cuttable) -> ReliefCut:
    """Return a relief cut in its piece; remembered, as most stay the same while one drags."""
    lines = {line.id: line_name(line) for line in ground.scheme.dividing_lines}
    around = tuple(
        (lines[s.line], s.path) for s in ground.stretches if home.id in (s.top, s.under)
    )
    made = _made.recall(
        (relief, ground.shape),
        (home.polygon.wkb, final.wkb, tuple(name for name, _ in around), _named(ground.panel)),
        partial(_tried, relief, home.polygon, final, around, ground),
    )
    if isinstance(made, _Flaw):
        raise made.again()
    return made


def _named(panel: Panel) -> tuple[object, ...]:
    """Return what the words for a place on a panel depend on."""
    return panel.flow_deg, *(o.name for o in panel.openings)


def _told(relief: Relief, flaw: _Flaw) -> Finding:
    where = (float(flaw.at.x), float(flaw.at.y))
    text = f"{line_name(relief)} {flaw.text} It is left out."
    return Finding(flaw.check, Severity.WARNING, text, where=where, lines=(LineId(relief.id),))


def _tried(
    relief: Relief,
    home: Polygon,
    final: Polygon,
    around: Around,
    ground: Cuttable,
) -> "ReliefCut | _Flaw":
    try:
        return _placed(relief, home, final, around, ground)
    except _Flaw as flaw:
        return flaw.again()  # without its traceback, which would keep all this alive


_made: "Memory[ReliefCut | _Flaw]" = Memory(1000)


def _placed(
    relief: Relief,
    home: Polygon,
    final: Polygon,
    around: Around,
    ground: Cuttable,
) -> ReliefCut:
    points = flatten(relief.nodes, closed=False)
    ends = [_start_of(points[at], around, ground) for at in (0, -1)]
    if ends[0] is None and ends[1] is None:
        raise _Flaw(
            "S210",
            "starts at no rim and would be a hole in the film. Draw one end on to the rim, an"
            " opening or a seam.",
            Point(points[0]),
        )
    if ends[0] is not None and ends[1] is not None:
        raise _through(LineString(points).interpolate(0.5, normalized=True))
    inwards = points if ends[0] is not None else points[::-1]
    path = _run_out(inwards, ground, final, home)
    seen = float(path.intersection(home).intersection(_outline(ground)).length)
    start = (ends[0] or ends[1]) or ""
    cut = ReliefCut(LineId(relief.id), line_name(relief), path, seen, start, relief.hole_mm)
    _refuse_odd(cut, final)
    return cut


def _outline(ground: Cuttable) -> Polygon:
    assert ground.shape.outline is not None
    return ground.shape.outline


def _home(relief: Relief, ground: Cuttable) -> Region:
    """Return the region that a relief cut runs through; it may run through no other."""
    points = flatten(relief.nodes, closed=False)
    drawn = LineString(points if len(points) > 1 else np.vstack([points, points]))
    middle = drawn.interpolate(0.5, normalized=True)
    if drawn.length < JOIN_MM or not drawn.is_simple:
        raise _Flaw("S214", "crosses itself or has no length. Move its nodes.", middle)
    met = [r for r in ground.regions if drawn.intersects(r.polygon)]
    lengths = [float(drawn.intersection(r.polygon).length) for r in met]
    most = int(np.argmax(lengths)) if met else 0
    if not met or lengths[most] < LEAST_MM:
        raise _too_short(middle)
    if sum(lengths) - lengths[most] > _CROSSES_MM:
        other = next(r for i, r in enumerate(met) if i != most and lengths[i] > 0)
        raise _Flaw(
            "S212",
            "crosses a seam. End it before the seam, or start it there.",
            drawn.intersection(other.polygon).representative_point(),
        )
    return met[most]


def _too_short(at: Point) -> "_Flaw":
    return _Flaw(
        "S213",
        f"runs through less than {LEAST_MM:g} mm of film that is seen. Draw it further in, or"
        " delete it.",
        at,
    )


def _start_of(end: Points, around: Around, ground: Cuttable) -> str | None:
    """Return what an end of a relief cut lies on, in words; None where it lies inside."""
    outline, at = _outline(ground), Point(end)
    if is_on_rim(end, outline):
        return _rim_words(at, ground)
    return next((name for name, path in around if path.distance(at) <= REACH_MM), None)


def _rim_words(at: Point, ground: Cuttable) -> str:
    outline = _outline(ground)
    distances = [r.distance(at) for r in (outline.exterior, *outline.interiors)]
    nearest = int(np.argmin(distances))
    if nearest == 0:
        words = rim_words(outline, ground.panel.flow_deg, (float(at.x), float(at.y)))
        return f"the {words}" if words else "the rim"
    opening = ground.panel.openings[nearest - 1]
    return opening.name or f"Opening {opening.id[1:]}"


def _run_out(inwards: Points, ground: Cuttable, final: Polygon, home: Polygon) -> LineString:
    """Run a relief cut out to the piece's own edge, through its edge turn or lap."""
    outline = _outline(ground)
    if is_on_rim(inwards[0], outline):
        ahead = leaving_direction(inwards, outline, at_start=True)
    else:
        ahead = end_direction(inwards, at_start=True)
    x0, y0, x1, y1 = final.bounds
    far = inwards[0] + ahead * (math.hypot(x1 - x0, y1 - y0) + 1)
    whole = LineString(np.vstack([far, inwards]))
    end = Point(inwards[-1])
    parts = shapely.get_parts(whole.intersection(final))
    own = [p for p in parts if isinstance(p, LineString) and p.distance(end) <= JOIN_MM]
    drawn = float(LineString(inwards).intersection(home).length)
    if not own or drawn > own[0].intersection(home).length + _CROSSES_MM:
        raise _through(Point(inwards[0]))
    path = own[0]
    return path if end.distance(Point(path.coords[-1])) <= JOIN_MM else path.reverse()


def _refuse_odd(cut: ReliefCut, final: Polygon) -> None:
    """Refuse what is too short, or comes out, or nearly so, on another side."""
    inner = Point(cut.path.coords[-1])
    if cut.seen_mm < LEAST_MM:
        raise _too_short(inner)
    clear = max(min(LEAST_MM, cut.path.length / 2), cut.hole_mm / 2 + _AROUND_HOLE_MM)
    if final.boundary.distance(inner) < clear or not _opens(final, cut.path):
        raise _through(inner)


def _opens(final: Polygon, path: LineString) -> bool:
    """Whether an area stays in one part, without a new hole, when it is opened along a path."""
    rest = opened(final, (path,))
    return (
        abs(rest.area - final.area) < path.length
        and len(rest.interiors) <= len(final.interiors)
        and rest.is_valid
    )


def _refuse_meeting(cut: ReliefCut, others: Sequence[ReliefCut]) -> None:
    """Refuse a cut that meets another. Those that do not cannot part the film together."""
    for other in others:
        if cut.path.distance(other.path) < LEAST_MM + (cut.hole_mm + other.hole_mm) / 2:
            at = shapely.shortest_line(cut.path, other.path).interpolate(0.5, normalized=True)
            raise _Flaw(
                "S212",
                f"meets {other.name}: the film between them would come away. Keep them"
                f" {LEAST_MM:g} mm apart, or delete one.",
                at,
            )


def _through(at: Point) -> _Flaw:
    return _Flaw(
        "S211",
        f"cuts the piece through, or nearly. End it inside, {LEAST_MM:g} mm clear of every"
        " edge; or draw a seam there.",
        at,
    )
