"""From a tape's readings to a surface, with all the surfaces that the readings allow.

G - 1 (see fermi.py) is a sum of terms t to t⁴ times 1, s, s². A prior says how large each
may be on a part that film is laid on: little for t³ and t⁴, which let curvature gather at a
shoulder or on one side. So noise is not taken for curvature, and what the readings cannot
tell, above all what lies between three lines, stays wide in the answer, not left out of it.

The fit is that of least squares with correlated errors, since each gap's lengths share the
error of its spine; a misfit beyond the reading error widens it (Birge's ratio). Draws from
what it leaves open carry every error through to every answer.

Source: normal equations and posterior of a linear model with normal errors, as in any
textbook of statistics (from memory); R. T. Birge, Phys. Rev. 40 (1932) 207, for the ratio.
The priors are own judgement, checked on simulated readings (tests/core/shape/test_tape.py).
"""

from dataclasses import dataclass, replace

import numpy as np

from core.document.surface import (
    MeasuredSurface,
    ReadingKind,
    ReadingPlace,
    place_name,
    reading_at,
)
from core.shape.fermi import Fermi, Spread, Values
from core.shape.readings import Doubt, Grid, doubts_before, grid_of
from core.shape.shortest import shortest, steps_between

DRAWS = 200
_POWERS = tuple((m, k) for m in (1, 2, 3, 4) for k in (0, 1, 2))
_SIZES = {1: 0.1, 2: 0.3, 3: 0.03, 4: 0.03}
"""How large a term may well be at the outermost line, in G."""
_ALONG = (1.0, 0.5, 0.3)
"""The same for powers of s, as shares."""
_LEAST_G = 0.6
_POOR_FIT = 2.0
_FAR_OFF = 3.0
_TRIFLE = 1e-9
_FREEDOM = 2.0
"""Below this many degrees of freedom a misfit says nothing."""


@dataclass(frozen=True, eq=False)
class TapeFit:
    """A surface fitted to readings.

    Attributes:
        fermi: the likeliest surface.
        draws: shape (k, terms): coefficients of surfaces that the readings allow.
        noise: shape (k, terms): what the readings of a flat part would be taken for.
        error_mm: standard error of one reading.
        misfit: how many times the reading error the readings miss the surface by; None where
            there are too few to tell.
        doubts: why no judgement should be built on it.
    """

    fermi: Fermi
    draws: Values
    noise: Values
    error_mm: float
    misfit: float | None
    doubts: tuple[Doubt, ...]


@dataclass(frozen=True, eq=False)
class _Observed:
    """G - 1 along each stretch of line, the terms there, and how the errors hang together."""

    widening: Values
    terms: Values
    precision: Values
    places: tuple[ReadingPlace, ...]


def fit_tape(surface: MeasuredSurface, draws: int = DRAWS, seed: int = 1) -> TapeFit:
    """Fit a surface to a whole grid of readings without doubts of their own.

    Args:
        surface: readings for which ``doubts_before`` has none.
        draws: how many surfaces to draw.
        seed: of the draws; the same readings always give the same answer.
    """
    grid = grid_of(surface)
    spread = Spread(
        powers=_POWERS,
        length_mm=float(grid.along[-1]),
        reach_mm=float(np.abs(grid.offsets).max()),
        stations_mm=grid.along,
        left_mm=grid.offsets[:, 0],
        right_mm=grid.offsets[:, -1],
    )
    fermi = Fermi(spread, np.zeros(len(_POWERS)), surface.origin, surface.angle_deg)
    # Tape pulled tight runs straighter than its line does; how much, the fit itself tells.
    for _ in range(2):
        fermi = replace(fermi, coefficients=_solved(_observed(grid, fermi))[0])
    seen = _observed(grid, fermi)
    best, covariance = _solved(seen)
    fermi = replace(fermi, coefficients=best)
    misfit, worst = _misfit(seen, best, covariance)
    wider = covariance * max(1.0, misfit or 1.0) ** 2
    random = np.random.default_rng(seed).standard_normal((draws, len(best)))
    chosen = best + random @ _root(wider)
    noisy = random @ _root(
        covariance @ (seen.terms.T @ seen.precision @ seen.terms) @ covariance
    )
    fit = TapeFit(fermi, chosen, noisy, grid.error_mm, misfit, ())
    doubts = (
        *_misfits(surface, misfit, worst),
        *_too_curved(fit),
        *_diagonals(surface, fit),
    )
    return replace(fit, doubts=doubts)


def find_doubts(surface: MeasuredSurface) -> tuple[Doubt, ...]:
    """Return every doubt about a grid: of its readings, or else of what fits them."""
    return doubts_before(surface) or fit_tape(surface).doubts


def _solved(seen: _Observed) -> tuple[Values, Values]:
    """Return the likeliest coefficients, and how they may vary together."""
    weighed = seen.terms.T @ seen.precision
    covariance = np.asarray(np.linalg.inv(weighed @ seen.terms + _prior()), dtype=np.float64)
    return covariance @ weighed @ seen.widening, covariance


def _root(covariance: Values) -> Values:
    """Return what makes draws of a covariance out of plain ones."""
    trifle = _TRIFLE * float(np.trace(covariance)) / len(covariance)
    even = (covariance + covariance.T) / 2 + trifle * np.eye(len(covariance))
    return np.asarray(np.linalg.cholesky(even).T)


def _prior() -> Values:
    return np.diag([1 / (_SIZES[m] * _ALONG[k]) ** 2 for m, k in _POWERS])


def _observed(grid: Grid, fermi: Fermi) -> _Observed:
    lines = [j for j in range(grid.offsets.shape[1]) if j != grid.spine]
    gaps = np.diff(grid.along)
    rows, terms, places = [], [], []
    variance = np.zeros((len(gaps) * len(lines),) * 2)
    for i, gap in enumerate(gaps.tolist()):
        own = slice(i * len(lines), (i + 1) * len(lines))
        start = np.column_stack([np.full(len(lines), grid.along[i]), grid.offsets[i, lines]])
        end = np.column_stack(
            [np.full(len(lines), grid.along[i + 1]), grid.offsets[i + 1, lines]]
        )
        across = end[:, 1] - start[:, 1]
        even = np.sqrt(grid.lengths[i, lines] ** 2 + fermi.bend(start, end) - across**2)
        widening = even / gap
        rows.append(widening - 1)
        shares = (np.arange(6) + 0.5) / 6
        terms.append(
            np.mean([fermi.spread.terms(*(start + u * (end - start)).T) for u in shares], 0)
        )
        own_error = (grid.lengths[i, lines] / even / gap) ** 2 / grid.repeats[i, lines]
        own_error += 2 * (across / even / gap) ** 2
        shared = np.outer(widening, widening) / gap**2 / grid.repeats[i, grid.spine]
        variance[own, own] = grid.error_mm**2 * (np.diag(own_error) + shared)
        places += [ReadingPlace(ReadingKind.LENGTH, i, j) for j in lines]
    return _Observed(
        np.concatenate(rows),
        np.vstack(terms),
        np.asarray(np.linalg.inv(variance), dtype=np.float64),
        tuple(places),
    )


def _misfit(
    seen: _Observed, best: Values, covariance: Values
) -> tuple[float | None, ReadingPlace]:
    """Return the misfit as a multiple of the reading error, and the worst place."""
    off = seen.widening - seen.terms @ best
    hat = seen.terms @ covariance @ seen.terms.T @ seen.precision
    freedom = len(off) - float(np.trace(hat))
    worst = seen.places[int(np.argmax(np.abs(off) * np.sqrt(np.diag(seen.precision))))]
    if freedom < _FREEDOM:
        return None, worst
    return float(np.sqrt(off @ seen.precision @ off / freedom)), worst


def _misfits(
    surface: MeasuredSurface, misfit: float | None, worst: ReadingPlace
) -> tuple[Doubt, ...]:
    if misfit is None or misfit <= _POOR_FIT:
        return ()
    return (
        Doubt(
            f"The readings do not fit one smooth surface; they miss it by {misfit:.1f} times"
            " the reading error.",
            f"Measure {place_name(worst, surface)} again.",
            worst,
        ),
    )


def _too_curved(fit: TapeFit) -> tuple[Doubt, ...]:
    spread = fit.fermi.spread
    s = np.repeat(np.linspace(0, spread.length_mm, 13), 9)
    share = np.tile(np.linspace(0, 1, 9), 13)
    left = np.interp(s, spread.stations_mm, spread.left_mm)
    right = np.interp(s, spread.stations_mm, spread.right_mm)
    if fit.fermi.widening(s, left + share * (right - left)).min() >= _LEAST_G:
        return ()
    return (
        Doubt(
            "The part rounds over so far that one grid does not hold it.",
            "Divide it along a seam that you will want anyway, and measure each part.",
        ),
    )


@dataclass(frozen=True, slots=True)
class _Diagonal:
    place: ReadingPlace
    off_mm: float
    scatter_mm: float


def _diagonals(surface: MeasuredSurface, fit: TapeFit) -> tuple[Doubt, ...]:
    """Doubt diagonals that are not as long as the fitted surface has them.

    Both are looked at together as well: stations that were steered move both alike.
    """
    taken = [d for kind in _CORNERS if (d := _diagonal(surface, fit, ReadingPlace(kind)))]
    far = [d for d in taken if abs(d.off_mm) > _FAR_OFF * d.scatter_mm]
    if not far and len(taken) == 2:
        both = sum(d.off_mm for d in taken) / 2
        if abs(both) > _FAR_OFF * np.hypot(taken[0].scatter_mm, taken[1].scatter_mm) / 2:
            far = taken[:1]
    return tuple(
        Doubt(
            f"A diagonal is {abs(d.off_mm):.0f} mm {'longer' if d.off_mm > 0 else 'shorter'}"
            f" than the other readings make it: {place_name(d.place, surface)}.",
            "Lay each station again as a narrow strip, flat and not steered: pulled tight from"
            " rim to rim, a tape must run over its mark on the spine.",
            d.place,
        )
        for d in far
    )


_CORNERS = {ReadingKind.TO_LEFT: (-1, 0), ReadingKind.TO_RIGHT: (0, -1)}
"""From which outermost line of the first station to which of the last."""


def _diagonal(surface: MeasuredSurface, fit: TapeFit, place: ReadingPlace) -> _Diagonal | None:
    values = reading_at(surface, place)
    if not values:
        return None
    spread = fit.fermi.spread
    sides = (spread.left_mm, spread.right_mm)
    first, last = _CORNERS[place.kind]
    start = np.array([0.0, sides[first][0]])
    end = np.array([spread.length_mm, sides[last][-1]])
    path = shortest(fit.fermi, start, end)
    reckoned = float(fit.fermi.distances(path[:-1], path[1:]).sum())
    shape = float(np.std(steps_between(spread, fit.draws, path).sum(axis=1)))
    # The reading's own error, and about as much for where its ends are marked.
    own = fit.error_mm * np.sqrt(1 / len(values) + 1)
    return _Diagonal(place, float(np.mean(values)) - reckoned, float(np.hypot(shape, own)))
