"""How much range an area of a panel needs, with how sure that is.

The range is the stretch from the most bunched to the most stretched place that the best laying
still needs (see judging.py). With a tape it is an interval: surfaces that the readings allow as
well are laid to first order, which shows how the answer scatters. Noise makes a surface seem
rounder than it is, so the interval reaches as far below the answer as the draws lie above it,
too (the hull of percentile and basic bootstrap intervals: Efron and Tibshirani, An Introduction
to the Bootstrap, 1993, chapters 12 and 13; from memory). A scan's answer may lie up to a share
above the true least, as measured against the best maps of caps that there can be.
"""

from dataclasses import dataclass

import numpy as np
from shapely import Polygon

from core.progress import Progress, Silent, stop_if_cancelled
from core.shape.first_order import FirstOrder
from core.shape.mesh import is_on_rim, vertex_curvatures
from core.shape.meshing import mesh_area
from core.shape.model import Development
from core.shape.surface import CurvedSurface
from core.shape.tape import TapeFit
from core.shape.threads import one_thread

_COARSE = 220
_CERTAIN = 0.95
_SEARCH_SHARE = 0.06
"""So far the layout that is found may lie above the best one there is (Milnor's caps)."""
_PLAIN_RATIO = 0.7
"""Judged range over that of free film, for surfaces too flat to tell."""
_TOO_FLAT_PCT = 0.05
_MARGIN_PCT = 0.2
"""What smoothness of the fit and the solver may be off by on narrow pieces, which need little:
measured on strips of parts of known curvature."""


@dataclass(frozen=True, eq=False)
class Answer:
    """The range that an area needs.

    Attributes:
        development: its film.
        range_pct: the likeliest, as film is cut for it.
        low_pct, high_pct: between which it lies with 95 % certainty.
        floor_pct: what a flat part would be taken to need by tape errors alone; 0 for scans.
        curvature: mean curvature of the surface in the sense of Gauss, 1/mm².
    """

    development: Development
    range_pct: float
    low_pct: float
    high_pct: float
    floor_pct: float
    curvature: float


def answer_for(
    surface: CurvedSurface, area: Polygon, progress: Progress | None = None
) -> Answer:
    """Return the range that an area of a surface's map needs.

    Raises:
        GeometryError: the film would overlie itself.
        Cancelled: the user stopped it.
    """
    progress = progress or Silent()
    development = surface.develop(area, progress)
    best = development.range_pct
    if surface.fit is None:
        low = best / (1 + _SEARCH_SHARE)
        return Answer(development, best, low, best, 0.0, mean_curvature(development))
    stop_if_cancelled(progress)
    low, high, floor = _scatter(surface.fit, area, best)
    curvature = _taped_curvature(surface.fit, development)
    return Answer(development, best, low, high, floor, curvature)


def _taped_curvature(fit: TapeFit, development: Development) -> float:
    """Return the mean curvature of a taped surface over a developed area."""
    network = development.network
    middles = fit.fermi.from_map(network.at[network.triangles].mean(axis=1))
    return float(np.average(fit.fermi.curvature(*middles.T), weights=network.areas))


def _scatter(fit: TapeFit, area: Polygon, best_pct: float) -> tuple[float, float, float]:
    """Return both ends of the interval, and the floor of noise."""
    mesh = mesh_area(area, _COARSE)
    told = fit.fermi.from_map(mesh.points)
    with one_thread():
        film = FirstOrder.of(told, mesh.triangles)
        terms = fit.fermi.spread.terms(*film.middles.T)
        own = np.vstack([fit.fermi.coefficients, fit.draws])
        free, *draws = _ranges(film, own @ terms.T)
        noise = _ranges(film, fit.noise @ terms.T)
    ratio = best_pct / free if free > _TOO_FLAT_PCT else _PLAIN_RATIO
    tail = (1 - _CERTAIN) / 2
    low, high = np.quantile(draws, [tail, 1 - tail])
    ends = (low, high, 2 * free - low, 2 * free - high)
    floor = float(np.quantile(noise, _CERTAIN))
    least = max(0.0, ratio * float(min(ends)) - _MARGIN_PCT)
    return least, ratio * float(max(ends)) + _MARGIN_PCT, ratio * floor


def _ranges(film: FirstOrder, widening: np.ndarray) -> list[float]:
    """Return the ranges of surfaces with G - 1 given in each triangle, shape (k, m)."""
    own = np.zeros((*widening.shape, 3))
    own[..., 0] = np.log(np.maximum(1 + widening, 0.1))
    return [float(v) for v in film.ranges_pct(own)]


def mean_curvature(development: Development) -> float:
    """Return the mean Gaussian curvature of a developed area of a mesh, 1/mm².

    Source: Gauss-Bonnet for polyhedra; see mesh.py.
    """
    network = development.network
    inner = ~is_on_rim(network)
    shares = np.zeros(len(network.at))
    np.add.at(shares, network.triangles, network.areas[:, None] / 3)
    area = float(shares[inner].sum())
    if area <= 0:
        return 0.0
    return float(vertex_curvatures(network)[inner].sum()) / area


def widest_strip_mm(range_pct: float, curvature: float) -> float | None:
    """Return how wide a long strip may be that needs no more than a range; None: any width.

    This explains and does not judge: on compact areas it errs on the high side several times.

    Source: own derivation; a strip of half-width w on curvature K needs K w² / 2.

    >>> round(widest_strip_mm(2.0, 1 / 300**2))
    120
    """
    if abs(curvature) < 1e-12:
        return None
    return float(2 * np.sqrt(2 * range_pct / 100 / abs(curvature)))
