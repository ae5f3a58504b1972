"""The judge of law 5: does a layout hold? It shares no code with what it judges.

It turns and moves every outline by itself and compares true outlines, never simplified ones.
What it finds is a list of breaches in words; an empty list is a pass.
"""

import math
from collections import Counter
from collections.abc import Collection, Iterable
from dataclasses import replace

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon, STRtree

from core.ids import StockId
from core.roll.model import FilmRolls, Item, ItemKey, Placement, Sheet, SheetPlan
from core.roll.problem import BUY, FilmProblem

TOLERANCE_MM = 1e-6
"""A gap this much too small, or an edge this much outside, is rounding and no breach."""
TOLERANCE_DEG = 1e-6
TRIM_STAGES = 2
"""Odd film is trimmed to rectangles first, by cuts across and slits: they count apart."""


def verify(problem: FilmProblem, rolls: FilmRolls) -> tuple[str, ...]:
    """Return every breach of law 5 in a film's layout; empty when it holds."""
    breaches = [*_accounting(problem, rolls), *_left_out(problem, rolls)]
    if rolls.film != problem.film.id:
        breaches.append(f"the layout is of another film than {problem.film.name}")
    known = {s.id: s for s in (*problem.stock, problem.buy)}
    used = Counter(plan.sheet.id for plan in rolls.sheets)
    breaches += [f"{_on(i)} is used {_times(n)}" for i, n in used.items() if n > 1]
    for plan in rolls.sheets:
        if known.get(plan.sheet.id) != plan.sheet:
            breaches.append(f"{_on(plan.sheet.id)} is not in stock as it is drawn")
        breaches += verify_sheet(plan, problem.gap_mm)
        breaches += _cut_breaches(problem, plan)
    breaches += _wish_breaches(problem, rolls)
    return tuple(breaches)


def verify_sheet(plan: SheetPlan, gap_mm: float) -> tuple[str, ...]:
    """Return every breach on one sheet: place, turn, shape, room, gap and used length."""
    breaches = [
        f"{_name(p.item)}, lies nowhere: its place is not a number"
        for p in plan.placements
        if not all(map(math.isfinite, (p.angle_deg, p.dx_mm, p.dy_mm)))
    ]
    if breaches:
        return tuple(breaches)
    shapes = np.empty(len(plan.placements), dtype=object)
    for i, placement in enumerate(plan.placements):
        shapes[i] = _laid(placement)
        breaches += _shape_breaches(placement, shapes[i])
    if plan.gap_mm != gap_mm:
        breaches.append(f"{_on(plan.sheet.id)} is laid with gap {plan.gap_mm}, not {gap_mm}")
    if breaches or not plan.placements:
        return tuple(breaches)
    breaches += _room_breaches(plan, shapes)
    breaches += _film_breaches(plan, shapes)
    breaches += _gap_breaches(plan, shapes, gap_mm)
    return tuple(breaches)


def _accounting(problem: FilmProblem, rolls: FilmRolls) -> Iterable[str]:
    """Check that every item lies on a sheet once, or is listed as fitting nowhere."""
    wanted = Counter(_key(item) for item in problem.items)
    laid = Counter(_key(p.item) for plan in rolls.sheets for p in plan.placements)
    nowhere = Counter(_key(i) for m in rolls.missing if m.length_mm is None for i in m.items)
    own = {_key(item): item for item in problem.items}
    lies = {_key(p.item): p.item for plan in rolls.sheets for p in plan.placements}
    known = {_key(i): i for m in rolls.missing for i in m.items} | lies | own
    for key in wanted | laid | nowhere:
        if laid[key] + nowhere[key] != wanted[key]:
            counts = f"laid {laid[key]}, left out {nowhere[key]}"
            yield f"{_name(known[key])}, is wanted {_times(wanted[key])}, {counts}"
    for plan in rolls.sheets:
        for p in plan.placements:
            if own.get(_key(p.item), p.item) != p.item:
                yield f"{_name(p.item)}, is laid in another shape"


def _wish_breaches(problem: FilmProblem, rolls: FilmRolls) -> Iterable[str]:
    """Check that what is pinned lies in its place, and nothing where it is forbidden."""
    lies = {_key(p.item): (s.sheet.id, p) for s in rolls.sheets for p in s.placements}
    for pin in problem.pinned:
        sheet, placed = lies.get(_key(pin.placement.item), (None, None))
        name = _name(pin.placement.item)
        if placed is None or sheet != pin.sheet:
            yield f"{name}, is pinned to {_on(pin.sheet)}, but lies elsewhere"
            continue
        wish = pin.placement
        apart = max(abs(placed.dx_mm - wish.dx_mm), abs(placed.dy_mm - wish.dy_mm))
        turn = abs((placed.angle_deg - wish.angle_deg + 180.0) % 360.0 - 180.0)
        if apart > TOLERANCE_MM or turn > TOLERANCE_DEG:
            yield f"{name}, does not lie where it is pinned"
    for key, sheets in problem.forbidden:
        sheet, _ = lies.get(key, (None, None))
        if sheet in sheets:
            yield f"{_name(lies[key][1].item)}, lies on {_on(sheet)}, which is forbidden"


def _left_out(problem: FilmProblem, rolls: FilmRolls) -> Iterable[str]:
    """Check that what is listed as fitting nowhere is broken, or wider than the film."""
    x0, y0, x1, y1 = _usable(problem.buy)
    room = y1 - y0 - TOLERANCE_MM if x1 > x0 else -math.inf
    section = problem.buy.section_mm
    longest = math.inf if section is None else section - problem.buy.start_mm - TOLERANCE_MM
    for item in (i for m in rolls.missing if m.length_mm is None for i in m.items):
        shape = item.polygon
        is_sound = bool(np.isfinite(shapely.get_coordinates(shape)).all() and shape.is_valid)
        if not is_sound or shape.area <= 0 or _least_width(item) >= room:
            continue
        if shape.minimum_rotated_rectangle.length / 2 < longest:
            yield f"{_name(item)}, is left out, but fits"


def _least_width(item: Item) -> float:
    """Return the least width across the roll; a free item is tried along its hull's sides."""
    ring = shapely.get_coordinates(item.polygon.convex_hull)
    z = ring[:, 0] + 1j * ring[:, 1]
    if item.angles_deg is None:
        sides = np.diff(z)
        turns = np.conj(sides) / np.abs(sides)
    else:
        turns = np.exp(1j * np.radians(item.angles_deg))
    return min((float(np.ptp((z * turn).imag)) for turn in turns), default=math.inf)


def _key(item: Item) -> ItemKey:
    return item.piece, item.attempt


def _name(item: Item) -> str:
    return f"{item.label}, try {item.attempt}"


def _on(sheet: StockId | None) -> str:
    return "film to buy" if sheet == BUY else str(sheet)


def _times(count: int) -> str:
    return "once" if count == 1 else f"{count} times"


def _turned(ring: object, placement: Placement) -> NDArray[np.float64]:
    """Turn a ring by the placement's angle and move it, by complex numbers."""
    points = np.asarray(ring, dtype=float)
    z = points[:, 0] + 1j * points[:, 1]
    turn = np.exp(1j * math.radians(placement.angle_deg))
    z = z * turn + complex(placement.dx_mm, placement.dy_mm)
    return np.column_stack((z.real, z.imag))


def _laid(placement: Placement) -> Polygon:
    shape = placement.item.polygon
    holes = [_turned(ring.coords, placement) for ring in shape.interiors]
    return Polygon(_turned(shape.exterior.coords, placement), holes)


def _shape_breaches(placement: Placement, laid: Polygon) -> Iterable[str]:
    """Check the turn against the grain, and the drawn polygon against the item's own."""
    item = placement.item
    name = _name(item)
    if item.angles_deg is not None:
        off = [abs((placement.angle_deg - a + 180.0) % 360.0 - 180.0) for a in item.angles_deg]
        if min(off, default=360.0) > TOLERANCE_DEG:
            yield f"{name}, is turned by {placement.angle_deg}°, which its grain forbids"
    drawn = placement.polygon
    if shapely.get_num_coordinates(drawn) != shapely.get_num_coordinates(laid):
        yield f"{name}, is drawn in another shape"
        return
    apart = np.abs(shapely.get_coordinates(drawn) - shapely.get_coordinates(laid)).max(
        initial=0
    )
    if apart > TOLERANCE_MM:
        yield f"{name}, is drawn {apart:.4g} mm from where its turn and move put it"


def _room_breaches(plan: SheetPlan, shapes: NDArray[np.object_]) -> Iterable[str]:
    """Check that all lies in the usable rectangle, and that the used length is told truly."""
    x0, y0, x1, y1 = _usable(plan.sheet)
    bounds = shapely.bounds(shapes)
    outside = np.maximum.reduce(
        (x0 - bounds[:, 0], y0 - bounds[:, 1], bounds[:, 2] - x1, bounds[:, 3] - y1)
    )
    for i in np.flatnonzero(outside > TOLERANCE_MM):
        piece = _name(plan.placements[i].item)
        yield f"{piece}, reaches {outside[i]:.4g} mm outside {_on(plan.sheet.id)}"
    clear = max(plan.sheet.margin_mm, plan.sheet.trail_mm)
    reach = float(bounds[:, 2].max()) + clear
    if abs(plan.used_length_mm - reach) > TOLERANCE_MM:
        yield f"{_on(plan.sheet.id)} uses {reach:.4g} mm, not {plan.used_length_mm:.4g}"


def _usable(sheet: Sheet) -> tuple[float, float, float, float]:
    m = sheet.margin_mm
    length = math.inf if sheet.length_mm is None else sheet.length_mm
    start, clear = max(m, sheet.lead_mm), max(m, sheet.trail_mm)
    return start, m, length - clear, sheet.width_mm - m


def _film_breaches(plan: SheetPlan, shapes: NDArray[np.object_]) -> Iterable[str]:
    """Check that all lies on the film that there is, off what is blocked, within one feed."""
    sheet = plan.sheet
    for placement, shape in zip(plan.placements, shapes, strict=True):
        piece = _name(placement.item)
        if sheet.outline is not None:
            inside = sheet.outline.buffer(TOLERANCE_MM).covers(shape)
            near = shape.distance(sheet.outline.boundary)
            if not inside or near < sheet.margin_mm - TOLERANCE_MM:
                place = f"off the film of {_on(sheet.id)}, or {near:.4g} mm from its rim"
                yield f"{piece}, lies {place}"
        if sheet.blocked:
            shut = np.array(sheet.blocked, dtype=object)
            depth = _overlap_depth(np.full(len(shut), shape, dtype=object), shut)
            if depth.max() > TOLERANCE_MM:
                deep = f"{depth.max():.4g} mm deep on blocked film of {_on(sheet.id)}"
                yield f"{piece}, lies {deep}"
        if sheet.section_mm is not None and not placement.item.is_blank:
            x0, _, x1, _ = shape.bounds
            feeds = ((x0 + TOLERANCE_MM), (x1 - TOLERANCE_MM))
            if feeds[0] // sheet.section_mm != feeds[1] // sheet.section_mm:
                yield f"{piece}, lies across the end of a feed of {sheet.section_mm} mm"


def _cut_breaches(problem: FilmProblem, plan: SheetPlan) -> Iterable[str]:
    """Check that straight cuts free the blanks, as far as the user's pins and film allow.

    Where blanks are pinned so that they block each other, the others are still to be freed;
    and a blank that no roll takes may lie on its offcut in any way.
    """
    pinned = {_key(p.placement.item) for p in problem.pinned if p.sheet == plan.sheet.id}
    alone = tuple(p for p in plan.placements if _key(p.item) in pinned)
    is_blocked = any(straight_cut_breaches(replace(plan, placements=alone)))
    blanks = [p.item for p in plan.placements if p.item.is_blank]
    homeless = {_key(item) for item in blanks if not _rolls_for(problem, item)}
    excused = homeless | (pinned if is_blocked else set())
    yield from straight_cut_breaches(plan, None, excused)
    if problem.stages is not None:
        stages, sheet = problem.stages, plan.sheet
        if pinned or sheet.outline is not None or sheet.blocked:
            stages += TRIM_STAGES
        yield from straight_cut_breaches(plan, stages, homeless | pinned)


def _rolls_for(problem: FilmProblem, item: Item) -> list[Sheet]:
    """Return the rolls, bought ones too, that an item may lie on and is not too wide for."""
    rolls = [s for s in (*problem.stock, problem.buy) if s.kind == "roll"]
    barred = problem.barred.get(_key(item), frozenset())
    least = _least_width(item) - TOLERANCE_MM
    return [s for s in rolls if s.id not in barred and least <= _usable(s)[3] - _usable(s)[1]]


def straight_cut_breaches(
    plan: SheetPlan, stages: int | None = None, excused: Collection[ItemKey] = ()
) -> Iterable[str]:
    """Check that cuts from edge to edge, the first across the roll, free every blank.

    Args:
        plan: a sheet; pieces that are no blanks need not be parted from each other.
        stages: how many times the cuts may change direction; None for any.
        excused: blanks that need not be freed; no cut may run through them all the same.
    """
    placed = plan.placements
    is_blank = np.array([p.item.is_blank and _key(p.item) not in excused for p in placed])
    if not is_blank.any():
        return
    bounds = shapely.bounds([p.polygon for p in placed])
    depth = _cut_depth(np.arange(len(placed)), bounds, is_blank, 0, is_whole=True)
    if depth is None:
        yield f"straight cuts do not free the blanks on {_on(plan.sheet.id)}"
    elif stages is not None and depth > stages:
        yield f"freeing the blanks on {_on(plan.sheet.id)} takes {depth} stages, not {stages}"


def _cut_depth(
    which: NDArray[np.int64],
    bounds: NDArray[np.float64],
    is_blank: NDArray[np.bool_],
    axis: int,
    *,
    is_whole: bool = False,
) -> int | None:
    """Return how many stages part these pieces, cut along one axis first; None if none do.

    Cutting at every possible line is never worse than leaving one out. The first cut of all
    parts what is used from the rest of the roll.
    """
    if len(which) == 1 or not is_blank[which].any():
        return 0
    starts, ends = bounds[which, axis], bounds[which, axis + 2]
    order = np.argsort(starts, kind="stable")
    reach = np.maximum.accumulate(ends[order])
    is_line = starts[order][1:] >= reach[:-1] - TOLERANCE_MM
    parts = np.split(which[order], np.flatnonzero(is_line) + 1)
    if len(parts) == 1 and not is_whole:
        return None
    depths = [_cut_depth(part, bounds, is_blank, 1 - axis) for part in parts]
    known = [d for d in depths if d is not None]
    return None if len(known) < len(depths) else 1 + max(known)


def _gap_breaches(plan: SheetPlan, shapes: NDArray[np.object_], gap_mm: float) -> Iterable[str]:
    """Check every pair of neighbours on the true outlines."""
    shapely.prepare(shapes)
    least = gap_mm - TOLERANCE_MM
    near = STRtree(shapes).query(shapely.envelope(shapes), "dwithin", max(gap_mm, 0.0) + 1.0)
    first, second = near[:, near[0] < near[1]]
    is_blank = np.array([p.item.is_blank for p in plan.placements])
    may_touch = is_blank[first] & is_blank[second] if least > 0 else np.ones(len(first), bool)
    is_close = np.zeros(len(first), dtype=bool)
    one, two = shapes[first[may_touch]], shapes[second[may_touch]]
    is_close[may_touch] = _overlap_depth(one, two) > TOLERANCE_MM
    one, two = shapes[first[~may_touch]], shapes[second[~may_touch]]
    is_close[~may_touch] = shapely.dwithin(one, two, least)
    for a, b in zip(first[is_close], second[is_close], strict=True):
        distance = shapes[a].distance(shapes[b])
        names = f"{_name(plan.placements[a].item)}, and {_name(plan.placements[b].item)},"
        yield f"{names} lie {distance:.4g} mm apart on {_on(plan.sheet.id)}, gap is {gap_mm} mm"


def _overlap_depth(a: NDArray[np.object_], b: NDArray[np.object_]) -> NDArray[np.float64]:
    """Return how deep pairs overlap: a strip of depth d and length l has area dl, girth 2l."""
    shared = shapely.intersection(a, b)
    area, girth = shapely.area(shared), shapely.length(shared)
    return np.divide(2 * area, girth, out=np.zeros(len(area)), where=girth > 0)
