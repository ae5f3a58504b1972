"""Area and length of node paths by quadrature of their curves: nothing of ours is judged by it.

The area under a cubic Bezier curve is an integral of a polynomial of degree 5, so the 3-point
Gauss rule gives it exactly; lengths take 24 points.
"""

import numpy as np

from core.document.panel import Panel
from core.document.path import Path

_AREA = np.polynomial.legendre.leggauss(3)
_LENGTH = np.polynomial.legendre.leggauss(24)


def area(path: Path) -> float:
    """Signed area of a closed path, counter-clockwise positive."""
    total = 0.0
    for controls in _curves(path):
        z, dz, w = _sampled(controls, _AREA)
        total += float(np.sum((z.conjugate() * dz).imag * w)) / 2
    return total


def length(path: Path) -> float:
    """Length of a closed path."""
    return sum(float(np.sum(abs(dz) * w)) for _, dz, w in _all_sampled(path, _LENGTH))


def panel_area(panel: Panel) -> float:
    """Area of a panel without its openings."""
    return area(panel.outline) - sum(area(o.nodes) for o in panel.openings)


def panel_length(panel: Panel) -> float:
    """Length of a panel's outline and of all its openings."""
    return length(panel.outline) + sum(length(o.nodes) for o in panel.openings)


def dense_points(path: Path, count: int = 200) -> np.ndarray:
    """Points along a closed path, as complex numbers."""
    t = np.linspace(0, 1, count, endpoint=False)
    return np.concatenate([_bezier(c, t) for c in _curves(path)])


def _curves(path):
    for a, b in zip(path, (*path[1:], path[0]), strict=True):
        p0, p3 = complex(*a.at), complex(*b.at)
        if a.after is None and b.before is None:
            yield p0, p0 + (p3 - p0) / 3, p0 + (p3 - p0) * 2 / 3, p3
        else:
            yield (
                p0,
                p0 + complex(*(a.after or (0, 0))),
                p3 + complex(*(b.before or (0, 0))),
                p3,
            )


def _all_sampled(path, rule):
    for controls in _curves(path):
        yield _sampled(controls, rule)


def _sampled(controls, rule):
    nodes, weights = rule
    t = (nodes + 1) / 2
    p0, p1, p2, p3 = controls
    s = 1 - t
    slope = 3 * (s * s * (p1 - p0) + 2 * s * t * (p2 - p1) + t * t * (p3 - p2))
    return _bezier(controls, t), slope, weights / 2


def _bezier(controls, t):
    p0, p1, p2, p3 = controls
    s = 1 - t
    return s**3 * p0 + 3 * s * s * t * p1 + 3 * s * t * t * p2 + t**3 * p3
