"""A polygon from measured sides and diagonals, as a surveyor works it out with a tape alone.

Each point follows from two distances to points already known. Where more was measured than is
needed, all measures are adjusted by least squares, and what each is off is told. Measures that
cannot belong together are refused, with the one named that is most likely wrong.

Sources: two-distance intersection by the law of cosines; adjustment of trilateration nets by
Gauss-Newton, redundancy numbers and the test of single measures after W. Baarda (1968), all
from memory of surveying textbooks.
"""

import itertools
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.errors import InputError
from core.units import Units, format_length

Floats = NDArray[np.float64]
Pair = tuple[int, int]

CRITICAL = 3.29
"""A measure off by more than this many standard errors is wrong, at a risk of 0.1 %: Baarda."""
MOST_CORNERS = 12


@dataclass(frozen=True, slots=True)
class Survey:
    """What was measured on a polygon.

    Attributes:
        count: how many corners; they are numbered from 0, counter-clockwise.
        lengths: mm, by the two corners between which they were taken, lower number first.
        inward: corners that point into the polygon.
        accuracy_mm: standard error of one measure with the tape.
        units: for what is said when measures do not fit.
    """

    count: int
    lengths: Mapping[Pair, float]
    inward: frozenset[int] = frozenset()
    accuracy_mm: float = 1.0
    units: Units = Units.MM


@dataclass(frozen=True, slots=True)
class Surveyed:
    """The polygon that fits the measures best.

    Attributes:
        points: shape (count, 2), counter-clockwise, the first corner at the origin, the second
            to its right.
        residuals_mm: adjusted minus measured, for each measure.
        spare: how many measures more than are needed.
        spread_mm: standard error of one measure, as the residuals show it; None without spares.
    """

    points: Floats
    residuals_mm: Mapping[Pair, float]
    spare: int
    spread_mm: float | None


def survey_polygon(survey: Survey) -> Surveyed:
    """Return the polygon that was measured.

    Raises:
        InputError: a side is missing; a point hangs on fewer than two measures; measures
            contradict each other; or no simple polygon has corners that point inward as told.
    """
    _check(survey)
    starts = _placings(survey)
    if not starts:
        _refuse_gap(survey)
    fitting = [s for s in starts if _inward(s) == survey.inward and _is_simple(s)]
    if not fitting:
        raise InputError(
            "No outline has these measures and just those corners pointing inward.",
            mend="Tick the corners that point inward, or measure another diagonal.",
        )
    solved = [_adjusted(survey, start) for start in fitting]
    best = min(solved, key=lambda s: sum(v * v for v in s.residuals_mm.values()))
    _refuse_wrong(survey, best)
    for other in solved:
        is_alike = np.allclose(other.points, best.points, atol=0.5)
        if not is_alike and _is_good(survey, other):
            raise InputError(
                "Two different outlines have these measures.",
                mend="Measure one more diagonal, so that one of them is left.",
            )
    return best


def name_of(pair: Pair) -> str:
    """Return what a measure is called: by its two corners, counted from 1.

    >>> name_of((0, 2))
    '1–3'
    """
    return f"{pair[0] + 1}–{pair[1] + 1}"


def needed_measures(count: int) -> int:
    """Return how many measures fix a polygon of so many corners: 2n - 3.

    >>> needed_measures(4)
    5
    """
    return 2 * count - 3


def _check(survey: Survey) -> None:
    if not 3 <= survey.count <= MOST_CORNERS:
        raise InputError(f"An outline by measures has 3 to {MOST_CORNERS} corners.")
    for pair, length in survey.lengths.items():
        if not 0 < length < 1e6:
            raise InputError("A measure has to be longer than nothing.", where=name_of(pair))
    for i in range(survey.count):
        side = _pair(i, (i + 1) % survey.count)
        if side not in survey.lengths:
            raise InputError(f"The side {name_of(side)} has no length.", mend="Measure it.")
    missing = needed_measures(survey.count) - len(survey.lengths)
    if missing > 0:
        words = "one more diagonal" if missing == 1 else f"{missing} more diagonals"
        raise InputError(
            f"{survey.count} corners need {needed_measures(survey.count)} measures.",
            mend=f"Measure {words}.",
        )


def _pair(a: int, b: int) -> Pair:
    return (a, b) if a < b else (b, a)


def _placings(survey: Survey) -> list[Floats]:
    """Return places of all corners, one for each choice of side at each corner.

    Each corner is worked out from the two known ones that give the best angle. Of both sides
    those are followed further that contradict no other measure grossly.
    """
    first = np.full((survey.count, 2), np.nan)
    first[0], first[1] = (0.0, 0.0), (survey.lengths[(0, 1)], 0.0)
    open_ends = [first]
    for _ in range(survey.count - 2):
        grown = []
        for points in open_ends:
            grown += _with_next(survey, points)
        open_ends = _least_off(survey, grown)
    return [p for p in open_ends if _area(p) > 0]


def _with_next(survey: Survey, points: Floats) -> list[Floats]:
    best: tuple[float, int, list[Floats]] | None = None
    for corner in np.flatnonzero(np.isnan(points[:, 0])):
        known = [
            k for k in range(survey.count)
            if not np.isnan(points[k, 0]) and _pair(k, int(corner)) in survey.lengths
        ]  # fmt: skip
        for a, b in itertools.combinations(known, 2):
            r = [survey.lengths[_pair(k, int(corner))] for k in (a, b)]
            spots = _intersect(points[a], r[0], points[b], r[1])
            base = math.dist(points[a], points[b])
            sine = _height(base, *r) * base / max(r[0] * r[1], 1e-12)
            if spots and (best is None or sine > best[0]):
                best = (sine, int(corner), spots)
    if best is None:
        return []
    result = []
    for spot in best[2]:
        if not survey.inward and not _is_convex_with(points, best[1], spot):
            continue
        more = points.copy()
        more[best[1]] = spot
        result.append(more)
    return result


def _is_convex_with(points: Floats, corner: int, spot: Floats) -> bool:
    """Whether a corner lies as in a convex polygon to every two corners that are known."""
    known = [int(k) for k in np.flatnonzero(~np.isnan(points[:, 0]))]
    for a, b in itertools.combinations(known, 2):
        # Any three corners of a convex polygon, in their order, turn left.
        is_between = a < corner < b
        side = _side(points[a], points[b], spot) * (-1 if is_between else 1)
        if side < -1e-6 * math.dist(points[a], points[b]) ** 2:
            return False
    return True


def _least_off(survey: Survey, grown: list[Floats], most: int = 4096) -> list[Floats]:
    """Keep the placings that agree best with all measures between corners placed so far."""
    if len(grown) <= 1:
        return grown

    def off(points: Floats) -> float:
        gaps = [
            abs(math.dist(points[a], points[b]) - length)
            for (a, b), length in survey.lengths.items()
            if not np.isnan(points[[a, b]]).any()
        ]
        return max(gaps)

    return sorted(grown, key=off)[:most]


def _height(base: float, ra: float, rb: float) -> float:
    """Return the height of a triangle over its base, by the law of cosines; 0 when flat."""
    along = (base * base + ra * ra - rb * rb) / (2 * base) if base > 0 else math.inf
    return math.sqrt(max(ra * ra - along * along, 0.0)) if math.isfinite(along) else 0.0


def _intersect(a: Floats, ra: float, b: Floats, rb: float) -> list[Floats]:
    """Return the two places at distances ra from a and rb from b; none when they cannot meet.

    Circles that miss each other by little (a tape's error) meet half-way.
    """
    base = math.dist(a, b)
    if base < 1e-9:
        return []
    slack = 0.02 * max(ra, rb, base)
    if ra + rb < base - slack or abs(ra - rb) > base + slack:
        return []
    along = (base * base + ra * ra - rb * rb) / (2 * base)
    height = _height(base, ra, rb)
    ahead = (b - a) / base
    foot, square = a + ahead * along, np.array([-ahead[1], ahead[0]])
    if height < 1e-6 * base:
        return [foot]
    return [foot + square * height, foot - square * height]


def _area(points: Floats) -> float:
    x, y = points.T
    return float(x @ np.roll(y, -1) - y @ np.roll(x, -1)) / 2


def _inward(points: Floats) -> frozenset[int]:
    into, out = points - np.roll(points, 1, axis=0), np.roll(points, -1, axis=0) - points
    cross = into[:, 0] * out[:, 1] - into[:, 1] * out[:, 0]
    size = np.hypot(*into.T) * np.hypot(*out.T)
    return frozenset(int(i) for i in np.flatnonzero(cross < -1e-6 * size))


def _is_simple(points: Floats) -> bool:
    count = len(points)
    for i, j in itertools.combinations(range(count), 2):
        if j - i in (1, count - 1):
            continue
        a, b, c, d = points[i], points[(i + 1) % count], points[j], points[(j + 1) % count]
        if _side(a, b, c) * _side(a, b, d) < 0 and _side(c, d, a) * _side(c, d, b) < 0:
            return False
    return True


def _side(a: Floats, b: Floats, c: Floats) -> float:
    return float((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]))


def _adjusted(survey: Survey, start: Floats) -> Surveyed:
    """Adjust all measures by least squares, from a first placing (Gauss-Newton)."""
    pairs = list(survey.lengths)
    measured = np.array([survey.lengths[p] for p in pairs])
    points = start.copy()
    for _ in range(50):
        design, lengths = _design(points, pairs)
        step, *_ = np.linalg.lstsq(design, measured - lengths, rcond=None)
        points += _spread(np.asarray(step, dtype=np.float64), survey.count)
        if float(np.abs(step).max()) < 1e-11 * float(measured.max()):
            break
    _, lengths = _design(points, pairs)
    residuals = lengths - measured
    spare = len(pairs) - needed_measures(survey.count)
    spread = math.sqrt(float(residuals @ residuals) / spare) if spare else None
    told = {p: float(v) for p, v in zip(pairs, residuals, strict=True)}
    return Surveyed(points, told, spare, spread)


def _design(points: Floats, pairs: Sequence[Pair]) -> tuple[Floats, Floats]:
    """Return how lengths change with the free coordinates, and the lengths.

    Free are all but the first corner and the second one's y.
    """
    count = len(points)
    design = np.zeros((len(pairs), 2 * count))
    lengths = np.zeros(len(pairs))
    for row, (a, b) in enumerate(pairs):
        run = points[b] - points[a]
        lengths[row] = max(float(np.hypot(*run)), 1e-12)
        design[row, 2 * b : 2 * b + 2] = run / lengths[row]
        design[row, 2 * a : 2 * a + 2] = -run / lengths[row]
    free = [2, *range(4, 2 * count)]
    return design[:, free], lengths


def _spread(step: Floats, count: int) -> Floats:
    full = np.zeros(2 * count)
    full[[2, *range(4, 2 * count)]] = step
    return full.reshape(count, 2)


def _tests(survey: Survey, result: Surveyed) -> tuple[Floats, Floats]:
    """Return each measure's redundancy number and its residual in standard errors."""
    pairs = list(survey.lengths)
    design, _ = _design(result.points, pairs)
    hat = design @ np.linalg.pinv(design)
    share = np.clip(1 - np.diag(hat), 0, 1)
    residuals = np.array([result.residuals_mm[p] for p in pairs])
    safe = np.where(share > 1e-6, share, 1.0)
    tests = np.where(share > 1e-6, np.abs(residuals) / np.sqrt(safe), 0.0)
    return share, tests / survey.accuracy_mm


def _is_good(survey: Survey, result: Surveyed) -> bool:
    return float(_tests(survey, result)[1].max(initial=0.0)) <= CRITICAL


def _refuse_wrong(survey: Survey, result: Surveyed) -> None:
    """Refuse measures that contradict each other, and name the likeliest culprit."""
    share, tests = _tests(survey, result)
    worst = float(tests.max(initial=0.0))
    if worst <= CRITICAL:
        return
    pairs = list(survey.lengths)
    suspects = [i for i in range(len(pairs)) if tests[i] > worst * (1 - 1e-3)]
    # The one that has to change least is the likeliest: small slips are commoner.
    needed = {i: -result.residuals_mm[pairs[i]] / share[i] for i in suspects}
    culprit = min(suspects, key=lambda i: abs(needed[i]))
    pair = pairs[culprit]
    fits = format_length(_fit_without(survey, pair, result), survey.units)
    if len(suspects) == 1:
        what = f"The measure {name_of(pair)} does not fit the others: they give {fits}."
        raise InputError(what, mend="Measure it again.")
    raise InputError(
        "The measures contradict each other, and with no more spare ones it cannot be told"
        f" which is wrong. Likeliest is {name_of(pair)}: the others give {fits}.",
        mend="Measure it again, or take one more diagonal.",
    )


def _fit_without(survey: Survey, pair: Pair, result: Surveyed) -> float:
    """Return what the other measures give for one of them."""
    rest = {p: length for p, length in survey.lengths.items() if p != pair}
    if len(rest) < needed_measures(survey.count):
        return survey.lengths[pair] + result.residuals_mm[pair]
    others = Survey(survey.count, rest, survey.inward, survey.accuracy_mm, survey.units)
    points = _adjusted(others, result.points).points
    return math.dist(points[pair[0]], points[pair[1]])


def _refuse_gap(survey: Survey) -> None:
    """Say why the corners could not be placed: a triangle that cannot close, or a loose one."""
    for a, b, c in itertools.combinations(range(survey.count), 3):
        pairs = [_pair(a, b), _pair(b, c), _pair(a, c)]
        if all(p in survey.lengths for p in pairs):
            sides = sorted(pairs, key=lambda p: survey.lengths[p])
            rest = survey.lengths[sides[0]] + survey.lengths[sides[1]]
            if survey.lengths[sides[2]] > rest:
                raise InputError(
                    f"{name_of(sides[2])} is longer than {name_of(sides[0])} and"
                    f" {name_of(sides[1])} together: these three cannot meet.",
                    mend=f"Measure {name_of(sides[2])} again first.",
                )
    loose = [
        k + 1 for k in range(survey.count) if sum(k in pair for pair in survey.lengths) < 3
    ]
    words = f" Corner {loose[0]} has only its two sides." if loose else ""
    raise InputError(
        f"The corners cannot be worked out one from another.{words}",
        mend="Measure diagonals that make triangles of the whole outline.",
    )
