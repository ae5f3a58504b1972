"""A layout pressed together: all pieces moved a little at once so that the end comes nearer.

A linear programme moves and, where they may turn freely, turns the pieces, each by no more than
a small step, and makes the layout's end as near as it goes. Its constraints keep each corner of
a piece from each side of another: along the line between a corner and the nearest point of a
side, the two keep the gap. That line only underrates how far apart they are, so a step without
turns keeps the gap exactly; turns leave an error of the second order, for which there is a
reserve. Steps get smaller until they gain nothing.

Source: compaction of layouts by linear programmes: Li and Milenkovic, Compaction and separation
algorithms for non-convex polygons and their applications, European Journal of Operational
Research 84 (1995); theirs keeps pieces apart by other constraints. From memory.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy import sparse
from scipy.optimize import linprog

from core.roll.model import Placement, Sheet
from core.roll.room import usable_size

_FIRST_STEP_MM, _LAST_STEP_MM = 6.0, 0.1
_GAIN = 0.02
"""A step that gains less than this share of itself is followed by smaller ones."""
_LEAST_GAP_MM = 1e-3
"""Kept where no gap is asked: the direction between pieces that touch is not known."""
_MOVE_SHARE, _TURN_SHARE = 0.5, 0.29
"""Of a step: the most a piece moves along each axis, and its farthest corner by turning."""
_ROUNDING_MM = 1e-9
_LONGEST_SECONDS = 2.0
"""For one step; on many pieces one that takes longer is given up."""
_PULL = 1e-4
"""Weight of every piece's own place: those behind the last one move up too."""

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class _Piece:
    """A piece where it lies.

    Attributes:
        ring: shape (n + 1, 2), its corners, closed.
        centre: what it turns about.
        reach_mm: from there to its farthest corner; 0 where it may not turn.
    """

    ring: Floats
    centre: Floats
    reach_mm: float

    def moved(self, dx_mm: float, dy_mm: float, turn: float) -> "_Piece":
        """Return the piece turned by so many radians, and moved."""
        c, s = math.cos(turn), math.sin(turn)
        spin = np.array([[c, -s], [s, c]])
        shift = np.array([dx_mm, dy_mm])
        ring = (self.ring - self.centre) @ spin.T + self.centre + shift
        return _Piece(ring, self.centre + shift, self.reach_mm)


def pressed(
    placements: Sequence[Placement],
    sheet: Sheet,
    gap_mm: float,
    is_over: Callable[[], bool],
) -> tuple[Placement, ...]:
    """Return a layout pressed towards the start of the roll, never longer than it was.

    Args:
        placements: of a sound layout.
        sheet: plain film.
        gap_mm: between pieces, kept.
        is_over: asked between steps; then what was reached is returned.

    Degenerate input: a layout whose pieces touch is returned as it is, as an empty one.
    """
    if not placements:
        return ()
    press = _Press(placements, sheet, max(gap_mm, _LEAST_GAP_MM))
    step = _FIRST_STEP_MM
    while step > _LAST_STEP_MM and not is_over():
        gain = press.squeeze(step)
        if gain < _GAIN * step:
            step /= 2
    return press.placements()


class _Press:
    """The pieces as they lie now, and steps that press them."""

    def __init__(self, placements: Sequence[Placement], sheet: Sheet, gap_mm: float) -> None:
        self._placements = placements
        self._start, self._low = sheet.start_mm, sheet.margin_mm
        self._high = sheet.margin_mm + usable_size(sheet)[1]
        self._gap = gap_mm
        self._pieces = [_piece(p) for p in placements]
        self._moves = np.zeros((len(placements), 3))

    @property
    def _end(self) -> float:
        return max(float(p.ring[:, 0].max()) for p in self._pieces)

    def squeeze(self, step_mm: float) -> float:
        """Make one step, and return how much nearer the end came: 0 if nothing was moved."""
        pairs = self._near_pairs(self._gap + 2 * step_mm)
        for may_turn in (True, False):
            if may_turn and not any(p.reach_mm for p in self._pieces):
                continue
            moves = self._solved(pairs, step_mm, step_mm * _TURN_SHARE * may_turn)
            if moves is None:
                continue
            pieces = [p.moved(*m) for p, m in zip(self._pieces, moves.tolist(), strict=True)]
            gain = self._end - max(float(p.ring[:, 0].max()) for p in pieces)
            if gain > 0 and self._is_sound(pieces, pairs):
                self._pieces = pieces
                self._moves = self._moves + moves
                return gain
        return 0.0

    def placements(self) -> tuple[Placement, ...]:
        """Return the layout as it was pressed."""
        return tuple(
            _placed(old, piece, float(turn))
            for old, piece, turn in zip(
                self._placements, self._pieces, self._moves[:, 2], strict=True
            )
        )

    def _near_pairs(self, reach_mm: float) -> list[tuple[int, int]]:
        shapes = _shapes(self._pieces)
        tree = shapely.STRtree(shapes)
        left, right = tree.query(shapes, predicate="dwithin", distance=reach_mm)
        pairs = zip(left.tolist(), right.tolist(), strict=True)
        return [(i, j) for i, j in pairs if i != j]

    def _is_sound(self, pieces: Sequence[_Piece], pairs: Sequence[tuple[int, int]]) -> bool:
        """Return whether pieces keep their gaps and lie on the film, but for rounding."""
        shapes = _shapes(pieces)
        if pairs:
            left, right = np.array([(i, j) for i, j in pairs if i < j]).T
            if shapely.distance(shapes[left], shapes[right]).min() < self._gap - _ROUNDING_MM:
                return False
        x0, y0, _, y1 = shapely.total_bounds(shapes).tolist()
        return bool(
            x0 >= self._start - _ROUNDING_MM
            and y0 >= self._low - _ROUNDING_MM
            and y1 <= self._high + _ROUNDING_MM
        )

    def _solved(
        self, pairs: Sequence[tuple[int, int]], step_mm: float, turning_mm: float
    ) -> Floats | None:
        """Return dx, dy and turn in radians of each piece; nothing where there is no way."""
        system = _System(self._pieces, turning_mm)
        for i, j in pairs:
            system.keep_apart(i, j, self._gap, 2 * step_mm)
        for i in range(len(self._pieces)):
            system.keep_before(i, (-1.0, 0.0), -self._start, step_mm)
            system.keep_before(i, (0.0, -1.0), -self._low, step_mm)
            system.keep_before(i, (0.0, 1.0), self._high, step_mm)
            system.keep_before_end(i, self._end - 2 * step_mm)
        found = system.least_end(step_mm * _MOVE_SHARE)
        if found is None:
            return None
        reach = np.array([max(p.reach_mm, 1.0) for p in self._pieces])
        return np.column_stack((found[:, :2], found[:, 2] / reach))


class _System:
    """The constraints of one step, and its solution.

    Unknowns are dx, dy and the way of the farthest corner by turning of each piece, then the
    end of the layout.
    """

    def __init__(self, pieces: Sequence[_Piece], turning_mm: float) -> None:
        self._pieces = pieces
        self._turning = turning_mm
        self._rows: list[Floats] = []
        self._right: list[Floats] = []
        self._columns: list[Ints] = []

    def _reserve(self, i: int) -> float:
        """Return by how much a turn may take a corner elsewhere than the first order says."""
        reach = self._pieces[i].reach_mm
        return self._turning**2 / (2 * reach) if reach else 0.0

    def _add(self, columns: Sequence[int], factors: Floats, right: Floats) -> None:
        """Add rows: factors, shape (k, len(columns)), times unknowns are at most the right."""
        self._columns.append(np.broadcast_to(np.array(columns), factors.shape))
        self._rows.append(factors)
        self._right.append(right)

    def _lever(self, i: int, points: Floats, ways: Floats) -> Floats:
        """Return how fast points of a piece move along ways as the piece turns."""
        piece = self._pieces[i]
        if not piece.reach_mm:
            return np.zeros(len(points))
        arm = (points - piece.centre) / piece.reach_mm
        return np.asarray(ways[:, 1] * arm[:, 0] - ways[:, 0] * arm[:, 1])

    def keep_apart(self, i: int, j: int, gap_mm: float, reach_mm: float) -> None:
        """Keep the corners of one piece from the sides of another."""
        corners, sides, ways = _near(self._pieces[i], self._pieces[j], gap_mm + reach_mm)
        least = gap_mm + self._reserve(i) + self._reserve(j)
        own = self._lever(i, corners, ways)
        apart = ((corners[:, None] - sides) * ways[:, None]).sum(axis=2)
        if not (self._turning and self._pieces[j].reach_mm):
            # A side that does not turn is as far away as its nearer end.
            nearer = np.arange(len(sides)), apart.argmin(axis=1)
            sides, apart = sides[nearer][:, None], apart[nearer][:, None]
        columns = (3 * i, 3 * i + 1, 3 * i + 2, 3 * j, 3 * j + 1, 3 * j + 2)
        for k in range(sides.shape[1]):
            other = self._lever(j, sides[:, k], ways)
            factors = np.column_stack((-ways, -own, ways, other))
            self._add(columns, factors, apart[:, k] - least)

    def keep_before(
        self, i: int, way: tuple[float, float], limit_mm: float, reach_mm: float
    ) -> None:
        """Keep a piece's corners from going farther along a way than a limit."""
        along = self._pieces[i].ring[:-1] @ np.array(way)
        near = along > limit_mm - reach_mm
        factors = self._along(i, near, way)
        right = limit_mm - along[near] - self._reserve(i)
        self._add((3 * i, 3 * i + 1, 3 * i + 2), factors, right)

    def keep_before_end(self, i: int, from_mm: float) -> None:
        """Keep a piece before the end, which is to be found, where it reaches so far."""
        along = self._pieces[i].ring[:-1, 0]
        near = along > from_mm
        factors = np.column_stack((self._along(i, near, (1.0, 0.0)), np.full(near.sum(), -1.0)))
        columns = (3 * i, 3 * i + 1, 3 * i + 2, 3 * len(self._pieces))
        self._add(columns, factors, -along[near] - self._reserve(i))

    def _along(self, i: int, which: NDArray[np.bool_], way: tuple[float, float]) -> Floats:
        """Return how fast corners of a piece go along a way, by its three unknowns."""
        corners = self._pieces[i].ring[:-1][which]
        ways = np.broadcast_to(np.array(way), corners.shape)
        return np.column_stack((ways, self._lever(i, corners, ways)))

    def least_end(self, move_mm: float) -> Floats | None:
        """Return the unknowns of the pieces, shape (n, 3), that bring the end nearest."""
        count = len(self._pieces)
        sizes = [rows.shape for rows in self._rows]
        numbers = np.arange(sum(k for k, _ in sizes))
        parts = np.split(numbers, np.cumsum([k for k, _ in sizes])[:-1])
        at = [np.repeat(part, wide) for part, (_, wide) in zip(parts, sizes, strict=True)]
        entries = (
            np.concatenate([r.ravel() for r in self._rows]),
            (np.concatenate(at), np.concatenate([c.ravel() for c in self._columns])),
        )
        matrix = sparse.csr_array(entries, shape=(len(numbers), 3 * count + 1))
        cost = np.zeros(3 * count + 1)
        cost[0:-1:3], cost[-1] = _PULL, 1.0
        most = np.tile([move_mm, move_mm, 0.0], (count, 1))
        most[:, 2] = [self._turning if p.reach_mm else 0.0 for p in self._pieces]
        bounds = [(-m, m) for m in most.ravel().tolist()]
        found = linprog(
            cost,
            matrix,
            np.concatenate(self._right),
            bounds=[*bounds, (None, None)],
            options={"time_limit": _LONGEST_SECONDS},
        )
        return None if found.status else np.asarray(found.x[:-1]).reshape(count, 3)


def _shapes(pieces: Sequence[_Piece]) -> NDArray[np.object_]:
    numbers = np.repeat(np.arange(len(pieces)), [len(p.ring) for p in pieces])
    rings = shapely.linearrings(np.concatenate([p.ring for p in pieces]), indices=numbers)
    return np.asarray(shapely.polygons(rings), dtype=object)


def _piece(placement: Placement) -> _Piece:
    ring = shapely.get_coordinates(placement.polygon.exterior)
    centre = (ring.min(axis=0) + ring.max(axis=0)) / 2
    reach = float(np.hypot(*(ring - centre).T).max())
    return _Piece(ring, centre, reach if placement.item.angles_deg is None else 0.0)


def _placed(old: Placement, piece: _Piece, turn: float) -> Placement:
    """Return a placement that lays the item as the piece lies."""
    angle = (old.angle_deg + math.degrees(turn)) % 360.0 if turn else old.angle_deg
    there = Placement(old.item, angle, 0.0, 0.0)
    lies = shapely.get_coordinates(there.polygon.exterior)
    dx, dy = (piece.ring - lies).mean(axis=0).tolist()
    return Placement(old.item, angle, dx, dy)


def _near(a: _Piece, b: _Piece, reach_mm: float) -> tuple[Floats, Floats, Floats]:
    """Return corners of one piece and sides of another that are near each other.

    Returns:
        Corners, shape (k, 2), sides, (k, 2, 2), and unit ways, (k, 2), from the nearest point
        of the side to the corner.
    """
    corners = _within(a.ring[:-1], b.ring, reach_mm)
    starts, ends = b.ring[:-1], b.ring[1:]
    low, high = np.minimum(starts, ends), np.maximum(starts, ends)
    if len(corners):
        near = (low <= corners.max(axis=0) + reach_mm) & (
            high >= corners.min(axis=0) - reach_mm
        )
        starts, ends = starts[near.all(axis=1)], ends[near.all(axis=1)]
    along = ends - starts
    square = np.maximum((along**2).sum(axis=1), 1e-300)
    share = ((corners[:, None] - starts) * along).sum(axis=2) / square
    nearest = starts + np.clip(share, 0.0, 1.0)[..., None] * along
    way = corners[:, None] - nearest
    far = np.hypot(way[..., 0], way[..., 1])
    c, s = np.nonzero(far < reach_mm)
    sides = np.stack((starts[s], ends[s]), axis=1)
    return corners[c], sides, way[c, s] / np.maximum(far[c, s], 1e-12)[:, None]


def _within(points: Floats, ring: Floats, reach_mm: float) -> Floats:
    """Return the points that lie within a ring's box, grown."""
    inside = (points >= ring.min(axis=0) - reach_mm) & (points <= ring.max(axis=0) + reach_mm)
    return np.asarray(points[inside.all(axis=1)])
