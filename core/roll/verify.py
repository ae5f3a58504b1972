"""The judge of law 5: does a layout hold? It shares no code with what it judges.

It turns and moves every outline by itself and compares true outlines, never simplified ones.
What it finds is a list of breaches in words; an empty list is a pass.
"""

import math
from collections import Counter
from collections.abc import Iterable

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon, STRtree

from core.roll.model import FilmRolls, Item, Placement, Sheet, SheetPlan
from core.roll.problem import FilmProblem

TOLERANCE_MM = 1e-6
"""A gap this much too small, or an edge this much outside, is rounding and no breach."""
TOLERANCE_DEG = 1e-6


def verify(problem: FilmProblem, rolls: FilmRolls) -> tuple[str, ...]:
    """Return every breach of law 5 in a film's layout; empty when it holds."""
    breaches = [*_accounting(problem, rolls), *_left_out(problem, rolls)]
    if rolls.film != problem.film.id:
        breaches.append(f"the layout is for film {rolls.film}, not {problem.film.id}")
    known = {s.id: s for s in (*problem.stock, problem.buy)}
    used = Counter(plan.sheet.id for plan in rolls.sheets)
    breaches += [f"sheet {i} is used {n} times" for i, n in used.items() if n > 1]
    for plan in rolls.sheets:
        if known.get(plan.sheet.id) != plan.sheet:
            breaches.append(f"sheet {plan.sheet.id} is not in stock as it is drawn")
        breaches += verify_sheet(plan, problem.gap_mm)
    return tuple(breaches)


def verify_sheet(plan: SheetPlan, gap_mm: float) -> tuple[str, ...]:
    """Return every breach on one sheet: place, turn, shape, room, gap and used length."""
    breaches = [
        f"{p.item.piece} (try {p.item.attempt}) lies nowhere: its place is not a number"
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
        breaches.append(f"sheet {plan.sheet.id} is laid with gap {plan.gap_mm}, not {gap_mm}")
    if breaches or not plan.placements:
        return tuple(breaches)
    breaches += _room_breaches(plan, shapes)
    breaches += _gap_breaches(plan, shapes, gap_mm)
    return tuple(breaches)


def _accounting(problem: FilmProblem, rolls: FilmRolls) -> Iterable[str]:
    """Check that every item lies on a sheet once, or is listed as fitting nowhere."""
    wanted = Counter(_key(item) for item in problem.items)
    laid = Counter(_key(p.item) for plan in rolls.sheets for p in plan.placements)
    nowhere = Counter(_key(i) for m in rolls.missing if m.length_mm is None for i in m.items)
    for key in wanted | laid | nowhere:
        if laid[key] + nowhere[key] != wanted[key]:
            name = f"{key[0]} (try {key[1]})"
            counts = f"laid {laid[key]}, left out {nowhere[key]} times"
            yield f"{name} is wanted {wanted[key]} times, {counts}"
    own = {_key(item): item for item in problem.items}
    for plan in rolls.sheets:
        for p in plan.placements:
            if own.get(_key(p.item), p.item) != p.item:
                yield f"{p.item.piece} (try {p.item.attempt}) is laid in another shape"


def _left_out(problem: FilmProblem, rolls: FilmRolls) -> Iterable[str]:
    """Check that what is listed as fitting nowhere is broken, or wider than the film."""
    x0, y0, x1, y1 = _usable(problem.buy)
    room = y1 - y0 - TOLERANCE_MM if x1 > x0 else -math.inf
    for item in (i for m in rolls.missing if m.length_mm is None for i in m.items):
        shape = item.polygon
        is_sound = bool(np.isfinite(shapely.get_coordinates(shape)).all() and shape.is_valid)
        if is_sound and shape.area > 0 and _least_width(item) < room:
            yield f"{item.piece} (try {item.attempt}) is left out, but fits"


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


def _key(item: Item) -> tuple[str, int]:
    return item.piece, item.attempt


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
    name = f"{item.piece} (try {item.attempt})"
    if item.angles_deg is not None:
        off = [abs((placement.angle_deg - a + 180.0) % 360.0 - 180.0) for a in item.angles_deg]
        if min(off, default=360.0) > TOLERANCE_DEG:
            yield f"{name} is turned by {placement.angle_deg}°, which its grain forbids"
    drawn = placement.polygon
    if shapely.get_num_coordinates(drawn) != shapely.get_num_coordinates(laid):
        yield f"{name} is drawn in another shape"
        return
    apart = np.abs(shapely.get_coordinates(drawn) - shapely.get_coordinates(laid)).max(
        initial=0
    )
    if apart > TOLERANCE_MM:
        yield f"{name} is drawn {apart:.6f} mm from where its turn and move put it"


def _room_breaches(plan: SheetPlan, shapes: NDArray[np.object_]) -> Iterable[str]:
    """Check that all lies in the usable rectangle, and that the used length is told truly."""
    x0, y0, x1, y1 = _usable(plan.sheet)
    bounds = shapely.bounds(shapes)
    outside = np.maximum.reduce(
        (x0 - bounds[:, 0], y0 - bounds[:, 1], bounds[:, 2] - x1, bounds[:, 3] - y1)
    )
    for i in np.flatnonzero(outside > TOLERANCE_MM):
        piece = plan.placements[i].item.piece
        yield f"{piece} reaches {outside[i]:.6f} mm outside {plan.sheet.id}"
    clear = max(plan.sheet.margin_mm, plan.sheet.trail_mm)
    reach = float(bounds[:, 2].max()) + clear
    if abs(plan.used_length_mm - reach) > TOLERANCE_MM:
        yield f"{plan.sheet.id} uses {reach:.6f} mm, not {plan.used_length_mm:.6f}"


def _usable(sheet: Sheet) -> tuple[float, float, float, float]:
    m = sheet.margin_mm
    length = math.inf if sheet.length_mm is None else sheet.length_mm
    start, clear = max(m, sheet.lead_mm), max(m, sheet.trail_mm)
    return start, m, length - clear, sheet.width_mm - m


def _gap_breaches(plan: SheetPlan, shapes: NDArray[np.object_], gap_mm: float) -> Iterable[str]:
    """Check every pair of neighbours on the true outlines."""
    shapely.prepare(shapes)
    least = gap_mm - TOLERANCE_MM
    near = STRtree(shapes).query(shapely.envelope(shapes), "dwithin", max(gap_mm, 0.0) + 1.0)
    first, second = near[:, near[0] < near[1]]
    if least > 0:
        is_close = shapely.dwithin(shapes[first], shapes[second], least)
    else:
        is_close = _overlap_depth(shapes[first], shapes[second]) > TOLERANCE_MM
    for a, b in zip(first[is_close], second[is_close], strict=True):
        distance = shapes[a].distance(shapes[b])
        names = f"{plan.placements[a].item.piece} and {plan.placements[b].item.piece}"
        yield f"{names} lie {distance:.6f} mm apart on {plan.sheet.id}, gap is {gap_mm} mm"


def _overlap_depth(a: NDArray[np.object_], b: NDArray[np.object_]) -> NDArray[np.float64]:
    """Return how deep pairs overlap: a strip of depth d and length l has area dl, girth 2l."""
    shared = shapely.intersection(a, b)
    area, girth = shapely.area(shared), shapely.length(shared)
    return np.divide(2 * area, girth, out=np.zeros(len(area)), where=girth > 0)
