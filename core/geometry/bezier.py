"""Cubic Bézier segments, exact where cubics allow it: splitting, lengths, areas, meetings.

Points are complex numbers, x + iy: a turn is a product, and one value holds both coordinates.
A straight segment is a cubic too, with its handles at the thirds, so that its parameter runs
evenly. A segment remembers which drawn segment it is a stretch of, and which stretch.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from core.geometry.curves import steps_within

Complex = NDArray[np.complex128]
Floats = NDArray[np.float64]

_GAUSS_T, _GAUSS_W = np.polynomial.legendre.leggauss(16)
_AREA_T, _AREA_W = np.polynomial.legendre.leggauss(3)


@dataclass(frozen=True, slots=True)
class Segment:
    """One cubic segment.

    Attributes:
        p0, p3: its ends.
        p1, p2: its handles, absolute.
        is_straight: whether it was drawn as a straight line.
        source: the number of the drawn segment that it is a stretch of; -1 for a new one.
        t0, t1: the stretch of the source, in the source's parameter.
    """

    p0: complex
    p1: complex
    p2: complex
    p3: complex
    is_straight: bool = False
    source: int = -1
    t0: float = 0.0
    t1: float = 1.0


Chain = list[Segment]


def straight(a: complex, b: complex, source: int = -1) -> Segment:
    """Return the straight segment from a to b."""
    third = (b - a) / 3
    return Segment(a, a + third, b - third, b, True, source)  # noqa: FBT003 - is_straight


def point_at(segment: Segment, t: float) -> complex:
    """Return the point at parameter t."""
    u = 1 - t
    s = segment
    return u**3 * s.p0 + 3 * u * u * t * s.p1 + 3 * u * t * t * s.p2 + t**3 * s.p3


def points_at(segment: Segment, t: Floats) -> Complex:
    """Return the points at parameters t."""
    s, u = segment, 1 - t
    result: Complex = u**3 * s.p0 + 3 * u * u * t * s.p1 + 3 * u * t * t * s.p2 + t**3 * s.p3
    return result


def derivatives_at(segment: Segment, t: Floats) -> tuple[Complex, Complex]:
    """Return the first and second derivatives at parameters t."""
    s, u = segment, 1 - t
    a, b, c = s.p1 - s.p0, s.p2 - s.p1, s.p3 - s.p2
    first = 3 * (u * u * a + 2 * u * t * b + t * t * c)
    second = 6 * (u * (b - a) + t * (c - b))
    return first, second


def directions_at(segment: Segment, t: Floats) -> Complex:
    """Return the unit tangents at parameters t.

    Degenerate input: at an end whose handle lies on it, the direction in which the curve leaves
    or arrives all the same; a segment without length gives 0.
    """
    s = segment
    first, _ = derivatives_at(s, t)
    scale = max(abs(s.p1 - s.p0), abs(s.p2 - s.p1), abs(s.p3 - s.p2))
    weak = np.abs(first) <= 1e-9 * scale
    if weak.any():
        ahead, behind = (
            _first_step(s.p0, s.p1, s.p2, s.p3),
            -_first_step(s.p3, s.p2, s.p1, s.p0),
        )
        first = np.where(weak, np.where(t < 0.5, ahead, behind), first)
    size = np.abs(first)
    return np.where(size > 0, first / np.where(size > 0, size, 1), 0)


def _first_step(*points: complex) -> complex:
    return next((p - points[0] for p in points[1:] if abs(p - points[0]) > 1e-9), 0j)


def direction_at(segment: Segment, t: float) -> complex:
    """Return the unit tangent at parameter t."""
    return complex(directions_at(segment, np.array([t]))[0])


def curvatures_at(segment: Segment, t: Floats) -> Floats:
    """Return the signed curvature at parameters t, 1/mm, positive to the left."""
    first, second = derivatives_at(segment, t)
    speed = np.maximum(np.abs(first), 1e-12)
    result: Floats = (np.conj(first) * second).imag / speed**3
    return result


def sub_segment(segment: Segment, t0: float, t1: float) -> Segment:
    """Return the stretch from t0 to t1, exactly (de Casteljau)."""
    if t0 == 0 and t1 == 1:
        return segment
    s = segment
    ends = point_at(s, t0), point_at(s, t1)
    first, _ = derivatives_at(s, np.array([t0, t1]))
    reach = (t1 - t0) / 3
    a = s.p0 if t0 == 0 else ends[0]
    b = s.p3 if t1 == 1 else ends[1]
    span = s.t1 - s.t0
    times = s.t0 + span * t0, s.t1 if t1 == 1 else s.t0 + span * t1
    if s.is_straight:
        return replace(straight(a, b, s.source), t0=times[0], t1=times[1])
    handles = a + complex(first[0]) * reach, b - complex(first[1]) * reach
    return Segment(a, *handles, b, False, s.source, *times)  # noqa: FBT003 - is_straight


def mapped(segment: Segment, move: Callable[[complex], complex]) -> Segment:
    """Return the segment with each of its points moved; exact for affine moves."""
    s = segment
    return replace(s, p0=move(s.p0), p1=move(s.p1), p2=move(s.p2), p3=move(s.p3))


def backward(segment: Segment) -> Segment:
    """Return the segment run the other way; its stretch is counted from the other end."""
    s = segment
    return replace(s, p0=s.p3, p1=s.p2, p2=s.p1, p3=s.p0, t0=1 - s.t1, t1=1 - s.t0)


def length_of(segment: Segment) -> float:
    """Return the length, exact to about 1e-9 relative.

    Source: Gauss-Legendre quadrature, 16 points, on parts that are halved until they agree.
    """
    if segment.is_straight:
        return abs(segment.p3 - segment.p0)

    def part(a: float, b: float) -> float:
        t = (a + b) / 2 + (b - a) / 2 * _GAUSS_T
        return float((b - a) / 2 * (np.abs(derivatives_at(segment, t)[0]) @ _GAUSS_W))

    def refined(a: float, b: float, whole: float, depth: int) -> float:
        middle = (a + b) / 2
        left, right = part(a, middle), part(middle, b)
        if depth == 0 or abs(left + right - whole) <= 1e-11 * (1 + abs(whole)):
            return left + right
        return refined(a, middle, left, depth - 1) + refined(middle, b, right, depth - 1)

    return refined(0.0, 1.0, part(0.0, 1.0), 20)


def area_of(chain: Sequence[Segment]) -> float:
    """Return the signed area inside a closed chain, positive when counter-clockwise; exact.

    Source: Green's theorem; the integrand is a polynomial of degree 5, which three Gauss points
    integrate exactly.
    """
    total = 0.0
    origin = chain[0].p0 if chain else 0j
    t = (1 + _AREA_T) / 2
    for s in chain:
        at, (first, _) = points_at(s, t) - origin, derivatives_at(s, t)
        total += float((np.conj(at) * first).imag @ _AREA_W) / 4
    return total


def flat_parameters(segment: Segment, tolerance: float) -> Floats:
    """Return parameters from 0 to 1 between which chords stay within the tolerance."""
    if segment.is_straight:
        return np.array([0.0, 1.0])
    corners = (
        np.array([p.real, p.imag]) for p in (segment.p0, segment.p1, segment.p2, segment.p3)
    )
    p0, p1, p2, p3 = corners
    return np.linspace(0, 1, max(steps_within(p0, p1, p2, p3, tolerance), 2) + 1)


def arc(centre: complex, radius: float, start_rad: float, sweep_rad: float) -> Chain:
    """Return a circular arc as cubics of at most 90° each.

    Source: handles of 4/3 tan(sweep/4), the standard approximation: its ends and their tangents
    are exact, and it strays from the circle by at most 2.8e-4 of the radius, outward.
    """
    count = max(1, math.ceil(abs(sweep_rad) / (math.pi / 2) - 1e-9))
    step = sweep_rad / count
    handle = 4 / 3 * math.tan(step / 4) * radius
    chain = []
    for i in range(count):
        a, b = (np.exp(1j * (start_rad + step * (i + k))) for k in (0, 1))
        p0, p3 = centre + radius * complex(a), centre + radius * complex(b)
        chain.append(
            Segment(p0, p0 + 1j * handle * complex(a), p3 - 1j * handle * complex(b), p3)
        )
    return chain


def meeting(a: Segment, ta: float, b: Segment, tb: float) -> tuple[float, float] | None:
    """Return the parameters at which two segments meet near given ones; None when not found.

    Source: Newton's method in both parameters. Degenerate input: where they touch along a
    stretch the method has no single answer and gives None.
    """
    for _ in range(30):
        gap = point_at(b, tb) - point_at(a, ta)
        va = complex(derivatives_at(a, np.array([ta]))[0][0])
        vb = complex(derivatives_at(b, np.array([tb]))[0][0])
        cross = (va.conjugate() * vb).imag
        if abs(cross) <= 1e-9 * abs(va) * abs(vb):
            return None
        da, db = (gap.conjugate() * vb).imag / cross, (gap.conjugate() * va).imag / cross
        ta, tb = ta + da, tb + db
        if not (-0.5 < ta < 1.5 and -0.5 < tb < 1.5):
            return None
        if abs(da) + abs(db) < 1e-14:
            break
    return ta, tb


def line_crossings(segment: Segment, through: complex, along: complex) -> list[float]:
    """Return the parameters from 0 to 1 at which a segment crosses a line, rising.

    Degenerate input: a segment that lies in the line has none.
    """
    s, d = segment, along.conjugate() / abs(along)
    a, b, c, e = ((d * (p - through)).imag for p in (s.p0, s.p1, s.p2, s.p3))
    power = [e - 3 * c + 3 * b - a, 3 * c - 6 * b + 3 * a, 3 * b - 3 * a, a]
    if s.is_straight:
        power = [0, 0, e - a, a]
    size = max(map(abs, (a, b, c, e)))
    if size < 1e-9:
        return []
    terms = np.array([0.0 if abs(k) < 1e-12 * size else k for k in power])
    kept = np.trim_zeros(terms, "f")
    roots = np.roots(kept) if len(kept) > 1 else np.array([])
    real = roots.real[np.abs(np.imag(roots)) < 1e-7]
    return sorted(float(t) for t in np.clip(real[(real > -1e-9) & (real < 1 + 1e-9)], 0, 1))


def bounds_of(chain: Sequence[Segment]) -> tuple[float, float, float, float]:
    """Return least x, least y, largest x and largest y of a chain, exactly."""
    controls = np.array([(s.p0, s.p1, s.p2, s.p3) for s in chain])
    low_high = []
    for part in (controls.real, controls.imag):
        spots = [part[:, 0], part[:, 3]]
        a, b, c = (part[:, k + 1] - part[:, k] for k in range(3))
        for t in _turning_points(a - 2 * b + c, 2 * (b - a), a):
            t = np.where((t > 0) & (t < 1), t, 0.0)  # noqa: PLW2901 - others are no extremes
            u = 1 - t
            basis = (u**3, 3 * u * u * t, 3 * u * t * t, t**3)
            spots.append(sum(w * part[:, k] for k, w in enumerate(basis)))
        every = np.concatenate(spots)
        low_high.append((float(every.min()), float(every.max())))
    (x0, x1), (y0, y1) = low_high
    return x0, y0, x1, y1


def _turning_points(a: Floats, b: Floats, c: Floats) -> tuple[Floats, Floats]:
    """Return the roots of quadratics a t^2 + b t + c, 0 where there are none.

    Source: the form that loses no digits, from -(b + sign(b) sqrt(D)) / 2.
    """
    root = np.sqrt(np.maximum(b * b - 4 * a * c, 0))
    q = -(b + np.where(b < 0, -1.0, 1.0) * root) / 2
    with np.errstate(divide="ignore", invalid="ignore"):
        first, second = q / a, c / q
    return np.nan_to_num(first, posinf=0, neginf=0), np.nan_to_num(second, posinf=0, neginf=0)
