"""A panel's own geometry: outline, openings, and the extended panel with its edge turns."""

from collections import defaultdict
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString, Point, Polygon

from core.document.flatten import flatten_owned
from core.document.panel import Panel
from core.document.path import Path, edge_of_segments
from core.geometry.offset import grow_labelled
from core.plan.memory import Memory
from core.plan.model import Finding, Severity, Source, SourceKind

Codes = NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class PanelShape:
    """The geometry that all plans of a panel start from.

    Attributes:
        outline: None when the drawing cannot be worked with; ``findings`` then say why.
        extended: outline with edge turns.
        sources: what the rim codes stand for.
        rim_codes: a code for each boundary segment of ``extended``, one array a ring.
    """

    outline: Polygon | None
    extended: Polygon
    sources: tuple[Source, ...]
    rim_codes: tuple[Codes, ...]
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class _Ring:
    """One drawn ring, flattened: a source and a turn for each segment."""

    points: NDArray[np.float64]
    sources: tuple[Source, ...]
    turns: NDArray[np.float64]


_shapes: Memory[PanelShape] = Memory(400)


def panel_shape(panel: Panel) -> PanelShape:
    """Return the panel's geometry, remembered by the identity of what is drawn."""
    drawn = (panel.outline, panel.openings)
    return _shapes.recall(drawn, panel.edge_turn_mm, lambda: _make(panel))


def _make(panel: Panel) -> PanelShape:
    outer = _ring(panel.outline, panel.edge_turn_mm, SourceKind.RIM, "")
    holes = [_ring(o.nodes, o.turn_mm, SourceKind.OPENING, f"{o.id}/") for o in panel.openings]
    findings = _check_rings(panel, outer, holes)
    if findings:
        return PanelShape(None, Polygon(), (), (), tuple(findings))
    shape = Polygon(outer.points, [h.points for h in holes])
    outline = shapely.orient_polygons(shape)
    rings = [_oriented(outer, ccw=True), *(_oriented(h, ccw=False) for h in holes)]
    # Built from the very rings, so that segments and turns keep their order.
    outline = Polygon(rings[0].points, [r.points for r in rings[1:]])
    extended, segments = grow_labelled(outline, [r.turns for r in rings])
    drawn = [s for r in rings for s in r.sources]
    sources = tuple(dict.fromkeys(drawn))
    number = {source: i for i, source in enumerate(sources)}
    of_segment = np.array([number[s] for s in drawn], dtype=np.intp)
    codes = tuple(of_segment[which] for which in segments)
    notes = [*_check_turns(panel, holes, outer, extended)]
    notes += _check_slots(rings[0], {sources[c] for c in codes[0].tolist()})
    return PanelShape(outline, extended, sources, codes, tuple(notes))


def _ring(path: Path, own_turn: float, kind: SourceKind, prefix: str) -> _Ring:
    points, owner = flatten_owned(path, closed=True)
    edges = edge_of_segments(path)
    turn_of = {n.id: own_turn if n.turn_mm is None else n.turn_mm for n in path}
    sources = tuple(Source(kind, f"{prefix}{edges[i]}") for i in owner)
    turns = np.array([turn_of[edges[i]] for i in owner])
    return _Ring(points, sources, turns)


def _oriented(ring: _Ring, *, ccw: bool) -> _Ring:
    """Return the ring running the wanted way round, segments keeping their source and turn."""
    if shapely.is_ccw(shapely.linearrings(ring.points)) == ccw:
        return ring
    # Reversed, the segment that started at point i now ends there.
    sources = ring.sources[-2::-1] + ring.sources[-1:]
    return _Ring(ring.points[::-1], sources, np.append(ring.turns[-2::-1], ring.turns[-1]))


def _stop(check: str, text: str, where: tuple[float, float] | None) -> Finding:
    return Finding(check, Severity.STOP, text, where=where)


def _check_rings(panel: Panel, outer: _Ring, holes: list[_Ring]) -> list[Finding]:
    """Return what makes the drawing unusable."""
    bad = _check_ring(outer, "The outline", "G101")
    if bad:
        return [bad]
    found = []
    body = Polygon(outer.points)
    shapes: list[tuple[str, Polygon]] = []
    for opening, ring in zip(panel.openings, holes, strict=True):
        name = opening.name or f"Opening {opening.id[1:]}"
        bad = _check_ring(ring, name, "G102")
        if bad:
            found.append(bad)
            continue
        hole = Polygon(ring.points)
        at = hole.representative_point()
        if not body.contains_properly(hole):
            text = (
                f"{name} does not lie wholly inside the outline. Move it in, or join the two."
            )
            found.append(_stop("G103", text, (at.x, at.y)))
        for other, taken in shapes:
            if taken.intersects(hole):
                text = f"{name} meets {other}. Move them apart, or draw one opening for both."
                found.append(_stop("G104", text, (at.x, at.y)))
        shapes.append((name, hole))
    return found


def _check_ring(ring: _Ring, name: str, check: str) -> Finding | None:
    where = (float(ring.points[0][0]), float(ring.points[0][1]))
    if len(ring.points) < 3:
        return _stop(
            check, f"{name} has no area. Draw it again with at least three nodes.", where
        )
    shape = Polygon(ring.points)
    if not shape.is_valid:
        spot = _crossing(ring.points)
        text = f"{name} crosses or touches itself. Move its nodes apart at the place shown."
        return _stop(check, text, spot or where)
    if shape.area < 1.0:
        return _stop(check, f"{name} has no area. Draw it again at its true size.", where)
    return None


def _crossing(points: NDArray[np.float64]) -> tuple[float, float] | None:
    """Return a place where a ring crosses itself: where its noded parts meet again."""
    noded = shapely.node(LineString(np.vstack([points, points[:1]])))
    ends = shapely.get_coordinates(
        [p for line in shapely.get_parts(noded) for p in (Point(line.coords[0]),)]
    )
    spots, counts = np.unique(ends.round(6), axis=0, return_counts=True)
    if counts.size and counts.max() > 1:
        x, y = spots[int(np.argmax(counts))]
        return float(x), float(y)
    return None


def _check_turns(
    panel: Panel, openings: list[_Ring], outer: _Ring, extended: Polygon
) -> list[Finding]:
    """Tell when turned film closes an opening or a notch."""
    found = []
    holes = [Polygon(h) for h in extended.interiors]
    for opening, ring in zip(panel.openings, openings, strict=True):
        area = Polygon(ring.points)
        if not any(area.intersects(h) for h in holes):
            at = area.representative_point()
            name = opening.name or f"Opening {opening.id[1:]}"
            text = (
                f"The film turned into {name} closes it. Lay over it and slit it on the part,"
                " or make its edge turn smaller."
            )
            found.append(Finding("A305", Severity.NOTE, text, where=(at.x, at.y)))
    body = Polygon(outer.points)
    for hole in holes:
        if not body.intersects(hole):
            at = hole.representative_point()
            found.append(_turns_meet((at.x, at.y)))
    return found


def _check_slots(outer: _Ring, seen: set[Source]) -> list[Finding]:
    """Tell of edges whose turn lies wholly on another's: the two sides of a narrow slot."""
    runs = np.hypot(*(np.roll(outer.points, -1, axis=0) - outer.points).T)
    length: dict[Source, float] = defaultdict(float)
    for source, run in zip(outer.sources, runs.tolist(), strict=True):
        length[source] += run
    found = []
    was_hidden = False
    for i, source in enumerate(outer.sources):
        if source in seen:
            was_hidden = False
        elif length[source] > 2 * outer.turns[i] > 0 and not was_hidden:
            was_hidden = True
            x, y = (outer.points[i] + np.roll(outer.points, -1, axis=0)[i]) / 2
            found.append(_turns_meet((float(x), float(y))))
    return found


def _turns_meet(where: tuple[float, float]) -> Finding:
    text = (
        "The edge turns of both sides of a notch meet. Make the edge turn smaller there, or"
        " slit the film on the part."
    )
    return Finding("A306", Severity.WARNING, text, where=where)
