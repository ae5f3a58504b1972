"""Edits that make one panel of two or two of one: cut, join, cut away, make symmetric.

Lines, openings, marks and paint spots follow to where they lie.
"""

from collections.abc import Iterable, Sequence
from itertools import pairwise

import shapely
from msgspec.structs import replace
from shapely import LineString, Point, Polygon

from core.document import combining, shaping
from core.document.edits.accept import accept
from core.document.edits.ids import free_id, taken_ids
from core.document.edits.outlines import Axis, opening_name, refuse_broken
from core.document.edits.panels import add_panel, delete_panels, replace_panel
from core.document.edits.paths import insert_node
from core.document.edits.variants import replace_scheme
from core.document.hit import control_points
from core.document.job import Job
from core.document.lines import Inlay, Line, PaintSpot, Relief, Seam, Stripe
from core.document.panel import Mark, Opening, Panel, Symmetry
from core.document.path import Node, Path
from core.document.placing import (
    Placing,
    mirrored,
    place_mark,
    place_opening,
    place_panel,
    place_path,
    place_scheme,
    unit_at,
)
from core.document.shaping import chain_of
from core.document.symmetry import symmetric_ring
from core.document.variant import Scheme
from core.errors import EditRefused
from core.geometry.bezier import Segment, length_of, line_crossings, point_at
from core.geometry.boolean_paths import flat_ring
from core.ids import next_id


def split_panel(
    job: Job, panel: str, first: str, last: str, cut_turn_mm: float | None = None
) -> Job:
    """Cut a panel in two along the straight line between two nodes of its outline.

    The panel keeps the part from the first node to the last; the other part is a new panel
    beside it, at the end of the list. Seams and stripes are cut where they cross; inlays that
    lie on both parts stay whole on both.

    Raises:
        EditRefused: the cut leaves the outline or runs through an opening.
    """
    old = job.panel(panel)
    rings = shaping.split_ring(old.outline, first, last, cut_turn_mm)
    halves = [_solid(r) for r in rings]
    a, b = (old.outline[shaping.find_node(old.outline, n)].at for n in (first, last))
    for opening in old.openings:
        if LineString([a, b]).intersects(_solid(opening.nodes)):
            raise EditRefused(
                f"The cut runs through {opening_name(opening)}.",
                mend="Choose other nodes, or delete the opening first.",
            )
    names = f"{old.name} 1", f"{old.name} 2"
    fresh = free_id(job, "p")
    parts = [
        replace(old, name=names[0], outline=rings[0], symmetry=None),
        replace(old, id=fresh, name=names[1], outline=rings[1], symmetry=None),
    ]
    own_ids = taken_ids(job) | {fresh}
    parts[0] = _with_belongings(parts[0], old, halves[0], own_ids)
    taken = {m.id for m in parts[0].marks}
    parts[1] = _with_belongings(parts[1], old, halves[1], own_ids, but=taken)
    schemes = {v.id: job.scheme(v.id, panel) for v in job.variants}
    job = add_panel(replace_panel(job, parts[0]), parts[1])
    cut = complex(*a), complex(*b)
    for variant, scheme in schemes.items():
        if scheme.lines or scheme.spots:
            job = _with_schemes(job, variant, scheme, (panel, fresh), halves, cut)
    return job


def _with_belongings(
    part: Panel, old: Panel, area: Polygon, taken: set[str], but: Iterable[str] = ()
) -> Panel:
    """Give a part the openings and marks that lie on it; a mark on both gets another id."""
    openings = tuple(o for o in old.openings if _solid(o.nodes).intersects(area))
    marks = []
    for mark in old.marks:
        if not _spine(mark).intersects(area):
            continue
        one = mark
        if mark.id in but:
            one = replace(mark, id=next_id("m", taken))
            taken.add(one.id)
        marks.append(one)
    return replace(part, openings=openings, marks=tuple(marks))


def _spine(mark: Mark) -> Point | LineString:
    return Point(mark.path[0]) if len(mark.path) == 1 else LineString(mark.path)


def _solid(ring: Path) -> Polygon:
    points = flat_ring(chain_of(ring), 0.05)
    shape = Polygon(points) if len(points) > 2 else Polygon()
    if shape.is_empty or not shape.is_valid:
        raise EditRefused(
            "An outline or opening crosses itself or has no area.", mend="Mend it first."
        )
    return shape


def _with_schemes(
    job: Job,
    variant: str,
    scheme: Scheme,
    panels: tuple[str, str],
    halves: Sequence[Polygon],
    cut: tuple[complex, complex],
) -> Job:
    """Share what is drawn out between the two parts of a panel."""
    ids = set(taken_ids(job))
    shared: list[list[Line]] = [[], []]
    for line in scheme.lines:
        for n, bit in enumerate(_bits(line, cut)):
            home = [k for k in (0, 1) if _lies_on(bit, halves[k])] or [0]
            for k in home:
                one = bit
                if n or k != home[0]:
                    one = replace(bit, id=next_id(line.id[0], ids))
                    ids.add(one.id)
                shared[k].append(one)
    for k in (0, 1):
        spots = tuple(s for s in scheme.spots if _nearer(s.at, halves) == k)
        job = replace_scheme(job, variant, _scheme(panels[k], shared[k], spots=spots))
    return job


def _scheme(panel: str, lines: Iterable[Line], *, spots: tuple[PaintSpot, ...]) -> Scheme:
    own = list(lines)
    return Scheme(
        panel=panel,
        seams=tuple(x for x in own if isinstance(x, Seam)),
        stripes=tuple(x for x in own if isinstance(x, Stripe)),
        inlays=tuple(x for x in own if isinstance(x, Inlay)),
        reliefs=tuple(x for x in own if isinstance(x, Relief)),
        spots=spots,
    )


def _nearer(at: tuple[float, float], halves: Sequence[Polygon]) -> int:
    return min((0, 1), key=lambda k: halves[k].distance(Point(at)))


def _lies_on(line: Line, area: Polygon) -> bool:
    """Whether some of a line (of an inlay's area) lies on a part, beyond a touch."""
    if isinstance(line, Inlay):
        points = flat_ring(chain_of(line.nodes), 0.05)
        shape = shapely.make_valid(Polygon(points)) if len(points) > 2 else Polygon()
        return bool(area.intersection(shape).area > 1.0)
    run = LineString([at for s in _open_chain(line.nodes) for at in _samples(s)])
    return area.intersection(run).length > 0.5


def _samples(s: Segment) -> list[tuple[float, float]]:
    points = (point_at(s, k / 32) for k in range(33))
    return [(p.real, p.imag) for p in points]


def _open_chain(path: Path) -> list[Segment]:
    return [_segment(a, b) for a, b in pairwise(path)]


def _segment(a: Node, b: Node) -> Segment:
    p0, p1, p2, p3 = (complex(x, y) for x, y in control_points(a, b))
    return Segment(p0, p1, p2, p3, is_straight=a.after is None and b.before is None)


def _bits(line: Line, cut: tuple[complex, complex]) -> list[Line]:
    """Return an open line cut where it crosses the straight line between two points."""
    if isinstance(line, Inlay):
        return [line]
    path, joints = line.nodes, [line.nodes[0].id]
    for _ in range(100):
        found = _first_crossing(path, cut)
        if found is None:
            break
        after, t = found
        known = {n.id for n in path}
        path = insert_node(path, after, t, closed=False)
        joints.append(next(n.id for n in path if n.id not in known))
    places = [*sorted(shaping.find_node(path, n) for n in joints), len(path) - 1]
    total = sum(map(length_of, _open_chain(path))) or 1.0
    bits, gone = [], 0.0
    for i, j in pairwise(places):
        run = [*path[i : j + 1]]
        run[0] = replace(run[0], before=None, smooth=False)
        run[-1] = replace(run[-1], after=None, smooth=False)
        long = sum(map(length_of, _open_chain(tuple(run))))
        bits.append(_bit(line, tuple(run), gone / total, (gone + long) / total))
        gone += long
    return bits


def _bit(line: Seam | Stripe | Relief, nodes: Path, start: float, end: float) -> Line:
    if isinstance(line, Seam | Relief):
        return replace(line, nodes=nodes)
    a, b = line.start_width_mm, line.end_width_mm
    widths = a + (b - a) * start, a + (b - a) * end
    return replace(line, nodes=nodes, start_width_mm=widths[0], end_width_mm=widths[1])


def _first_crossing(path: Path, cut: tuple[complex, complex]) -> tuple[str, float] | None:
    a, run = cut[0], cut[1] - cut[0]
    for node, s in zip(path, _open_chain(path), strict=False):
        for t in line_crossings(s, a, run):
            share = ((point_at(s, t) - a) / run).real
            if 0 <= share <= 1 and 1e-6 < t < 1 - 1e-6:
                return node.id, t
    return None


def overlapping_panels(job: Job, panel: str) -> list[str]:
    """Return the panels that lie over a panel on the canvas."""
    own = _on_canvas(job.panel(panel))
    others = (p for p in job.panels if p.id != panel)
    return [p.id for p in others if _on_canvas(p).intersects(own)]


def _on_canvas(panel: Panel) -> Polygon:
    return _solid(place_path(panel.outline, Placing(dx=panel.at[0], dy=panel.at[1])))


def join_panels(job: Job, panel: str, other: str) -> Job:
    """Make one panel of two that overlap; all that lies on the other one comes along.

    Raises:
        EditRefused: they do not overlap; one is a pair, or there are more of one; or an opening
            of one would be covered by the other.
    """
    a, b = job.panel(panel), job.panel(other)
    if panel == other:
        raise EditRefused("A panel is joined with another one.", mend="Choose another.")
    if (a.is_pair, a.count) != (b.is_pair, b.count):
        raise EditRefused(
            f"There are not as many of {a.name} as of {b.name}.",
            mend="Make pair and number alike first.",
        )
    move = Placing(dx=b.at[0] - a.at[0], dy=b.at[1] - a.at[1])
    moved = _at_home(b, move, a.edge_turn_mm)
    for body, openings in ((moved, a.openings), (a, moved.openings)):
        for opening in openings:
            if _solid(opening.nodes).intersects(_solid(body.outline)):
                raise EditRefused(
                    f"{opening_name(opening)} would be covered by {body.name}.",
                    mend="Delete it first, or move the panels.",
                )
    shape = combining.join_rings(a.outline, moved.outline)
    made = replace(
        a,
        outline=shape.outline,
        symmetry=None,
        openings=(*a.openings, *moved.openings, *_new_openings(job, shape)),
        marks=(*a.marks, *moved.marks),
    )
    schemes = {v.id: (job.scheme(v.id, panel), job.scheme(v.id, other)) for v in job.variants}
    job = replace_panel(delete_panels(job, [other]), made)
    for variant, (own, theirs) in schemes.items():
        job = _with_both(job, variant, own, accept(place_scheme(theirs, move)))
    return job


def _at_home(panel: Panel, move: Placing, turn_mm: float) -> Panel:
    """Return a panel as it lies in another one's frame, its edge turns spelled out."""
    moved = place_panel(panel, move)
    if panel.edge_turn_mm == turn_mm:
        return moved
    starts = set(shaping.edge_start_ids(moved.outline))
    outline = tuple(
        replace(n, turn_mm=panel.edge_turn_mm) if n.id in starts and n.turn_mm is None else n
        for n in moved.outline
    )
    return replace(moved, outline=outline)


def _new_openings(job: Job, shape: combining.Shape) -> tuple[Opening, ...]:
    taken = taken_ids(job)
    openings = []
    for hole in shape.holes:
        fresh = Opening(id=next_id("o", taken), nodes=hole)
        taken.add(fresh.id)
        openings.append(fresh)
    return tuple(openings)


def _with_both(job: Job, variant: str, own: Scheme, theirs: Scheme) -> Job:
    if not theirs.lines and not theirs.spots:
        return job
    both = _scheme(own.panel, [*own.lines, *theirs.lines], spots=own.spots + theirs.spots)
    return replace_scheme(job, variant, both)


def cut_away(job: Job, panel: str, other: str, *, keeps_other: bool = True) -> Job:
    """Cut the shape of another panel, as it lies on the canvas, out of a panel.

    A panel kept symmetric is cut on both halves. Lines stay: they end where the panel does.
    Openings, marks and spots in what is cut away go with it.

    Raises:
        EditRefused: nothing or more than one part would be left; an opening would be cut.
    """
    a, b = job.panel(panel), job.panel(other)
    if panel == other:
        raise EditRefused("Nothing would be left.", mend="Choose another panel.")
    move = Placing(dx=b.at[0] - a.at[0], dy=b.at[1] - a.at[1])
    moved = _at_home(b, move, a.edge_turn_mm)
    knife = _solid(moved.outline)
    for opening in a.openings:
        hole = _solid(opening.nodes)
        if hole.intersects(knife) and not knife.contains(hole):
            raise EditRefused(
                f"The cut runs through {opening_name(opening)}.", mend="Delete it first."
            )
    shape = combining.cut_ring(a.outline, moved.outline)
    made = replace(
        a,
        outline=shape.outline,
        openings=(
            *(o for o in a.openings if not _solid(o.nodes).intersects(knife)),
            *_new_openings(job, shape),
        ),
        marks=tuple(m for m in a.marks if not knife.contains(_spine(m))),
    )
    try:
        job = replace_panel(job, made)
    except EditRefused:  # it cannot be mirrored: the halves are free from now on
        job = replace_panel(job, replace(made, symmetry=None))
    for variant in job.variants:
        scheme = job.scheme(variant.id, panel)
        kept = tuple(s for s in scheme.spots if not knife.contains(Point(s.at)))
        if kept != scheme.spots:
            job = replace_scheme(job, variant.id, replace(scheme, spots=kept))
    return job if keeps_other else delete_panels(job, [other])


def make_symmetric(
    job: Job, panel: str, axis: Axis, *, keeps_left: bool, is_kept: bool = False
) -> Job:
    """Keep one half of a panel and mirror it, welded at the axis; ``is_kept``: so for good.

    Openings and marks of the kept half are mirrored too, those of the other half go; an opening
    across the axis becomes symmetric. Lines and paint spots stay as they are.

    Raises:
        EditRefused: the kept half is not one stretch from axis to axis.
    """
    old = job.panel(panel)
    mirror = mirrored(axis.through, axis.angle_deg)
    outline = symmetric_ring(old.outline, axis.through, axis.angle_deg, keeps_left=keeps_left)
    taken = taken_ids(job)
    openings: list[Opening] = []
    marks: list[Mark] = []
    for opening in old.openings:
        sides = _sides([n.at for n in opening.nodes], axis, keeps_left=keeps_left)
        if sides >= {1, -1}:
            nodes = symmetric_ring(
                opening.nodes, axis.through, axis.angle_deg, keeps_left=keeps_left
            )
            openings.append(replace(opening, nodes=nodes))
        elif 1 in sides:
            other = replace(place_opening(opening, mirror), id=next_id("o", taken))
            taken.add(other.id)
            openings += [opening, other]
    for mark in old.marks:
        sides = _sides(mark.path, axis, keeps_left=keeps_left)
        if 1 in sides:
            image = replace(place_mark(mark, mirror), id=next_id("m", taken))
            taken.add(image.id)
            marks += [mark, image]
        elif sides == {0}:
            marks.append(mark)
    kept = Symmetry(through=axis.through, angle_deg=axis.angle_deg) if is_kept else None
    made = replace(
        old, outline=outline, openings=tuple(openings), marks=tuple(marks), symmetry=kept
    )
    refuse_broken(old, made)
    return replace_panel(job, made)


def _sides(points: Iterable[tuple[float, float]], axis: Axis, *, keeps_left: bool) -> set[int]:
    """Return on which sides of an axis points lie: 1 the kept one, -1 the other, 0 on it."""
    along = unit_at(axis.angle_deg)
    sign = 1 if keeps_left else -1
    found = set()
    for x, y in points:
        gap = complex(x - axis.through[0], y - axis.through[1])
        off = sign * (along.conjugate() * gap).imag
        found.add(0 if abs(off) < 0.01 else (1 if off > 0 else -1))
    return found
