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
from functools import lru_cache

import numpy as np
from shapely import LineString, Polygon

from core.progress import Progress, Silent, stop_if_cancelled
from core.shape.clip import TARGET_TRIANGLES
from core.shape.fermi import Values, seen_from
from core.shape.first_order import FirstOrder
from core.shape.mesh import is_on_rim, vertex_curvatures
from core.shape.model import Development
from core.shape.relief import opened
from core.shape.surface import CurvedSurface, meshed
from core.shape.tape import TapeFit
from core.shape.threads import one_thread

_COARSE = 220
_CERTAIN = 0.95
_SEARCH_SHARE = 0.06
"""So far the layout that is found may lie above the best one there is (Milnor's caps)."""
_PLAIN_RATIO = 0.7
"""Judged range over that of free film, for surfaces too flat to tell."""
_TOO_FLAT_PCT = 0.05
_MARGIN_PCT = 0.3
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
    surface: CurvedSurface,
    area: Polygon,
    progress: Progress | None = None,
    target_triangles: int = TARGET_TRIANGLES,
    cuts: tuple[LineString, ...] = (),
) -> Answer:
    """Return the range that an area of a surface's map needs.

    Args:
        surface: of a panel.
        area: what the film is to cover, in the map.
        progress: asked now and then whether to stop.
        target_triangles: about how many triangles the likeliest surface is reckoned with.
        cuts: relief cuts in the area.

    Raises:
        GeometryError: the film would overlie itself.
        Cancelled: the user stopped it.
    """
    progress = progress or Silent()
    development = surface.develop(area, progress, target_triangles, cuts)
    best = development.range_pct
    if surface.fit is None:
        low = best / (1 + _SEARCH_SHARE)
        return Answer(development, best, low, best, 0.0, mean_curvature(development))
    stop_if_cancelled(progress)
    low, high, floor = _scatter(surface.fit, opened(area, cuts), best)
    curvature = _taped_curvature(surface.fit, development)
    return Answer(development, best, low, high, floor, curvature)


def _taped_curvature(fit: TapeFit, development: Development) -> float:
    """Return the mean curvature of a taped surface over a developed area."""
    network = development.network
    middles = fit.fermi.from_map(network.at[network.triangles].mean(axis=1))
    return float(np.average(fit.fermi.curvature(*middles.T), weights=network.areas))


def _scatter(fit: TapeFit, area: Polygon, best_pct: float) -> tuple[float, float, float]:
    """Return both ends of the interval, and the floor of noise.

    Surfaces that the readings allow differ little from the likeliest one: film on them is film
    on that one, and to first order what each term adds.
    """
    best = fit.fermi.coefficients
    with one_thread():
        film = _film_over(area.wkb, fit.fermi.origin, fit.fermi.angle_deg)
        terms = fit.fermi.spread.terms(*film.middles.T).T
        widening = np.maximum(1 + best @ terms, 0.1)
        likeliest = film.left(_along(np.log(widening)[None]))
        free = float(film.ranges_pct(likeliest)[0])
        added = np.tensordot(fit.draws - best, film.left(_along(terms / widening)), 1)
        draws = film.ranges_pct(likeliest + added)
        noise = film.ranges_pct(np.tensordot(fit.noise, film.left(_along(terms)), 1))
    ratio = best_pct / free if free > _TOO_FLAT_PCT else _PLAIN_RATIO
    tail = (1 - _CERTAIN) / 2
    low, high = np.quantile(draws, [tail, 1 - tail])
    ends = (low, high, 2 * free - low, 2 * free - high)
    floor = float(np.quantile(noise, _CERTAIN))
    least = max(0.0, ratio * float(min(ends)) - _MARGIN_PCT)
    return least, ratio * float(max(ends)) + _MARGIN_PCT, ratio * floor


def _along(strain: Values) -> Values:
    """Return strains along the spine, shape (k, m), as those of a plane, shape (k, m, 3)."""
    own = np.zeros((*strain.shape, 3))
    own[..., 0] = strain
    return own


@lru_cache(maxsize=12)
def _film_over(area_wkb: bytes, origin: tuple[float, float], angle_deg: float) -> FirstOrder:
    """Return film over an area, seen along a spine: the same while its readings are typed."""
    mesh = meshed(area_wkb, _COARSE)
    return FirstOrder.of(seen_from(mesh.points, origin, angle_deg), mesh.triangles)


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
