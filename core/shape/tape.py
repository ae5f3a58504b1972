"""From a tape's readings to a surface, with all the surfaces that the readings allow.

G - 1 (see fermi.py) is a sum of terms t to t⁴ times 1, s, s². A prior says how large each
may be on a part that film is laid on: little for t³ and t⁴, which let curvature gather at a
shoulder or on one side. So noise is not taken for curvature, and what the readings cannot
tell, above all what lies between three lines, stays wide in the answer, not left out of it.

The fit is that of least squares with correlated errors: each gap's lengths share the error of
its spine, and the lengths along a line share a part of theirs (see readings.py). A misfit
beyond the reading error widens it (Birge's ratio). Draws from what it leaves open carry every
error through to every answer.

Source: normal equations and posterior of a linear model with normal errors, as in any
textbook of statistics (from memory); R. T. Birge, Phys. Rev. 40 (1932) 207, for the ratio.
The priors are own judgement, checked on simulated readings (tests/core/shape/test_tape.py).
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from core.document.surface import (
    MeasuredSurface,
    ReadingKind,
    ReadingPlace,
)
from core.shape.fermi import Fermi, Spread, Values
from core.shape.model import Points
from core.shape.odd_offsets import odd_offsets
from core.shape.readings import Doubt, Grid, doubts_before, grid_of
from core.shape.slips import slip_doubt, slips_of
from core.shape.steering import steering_doubts

DRAWS = 200
_POWERS = tuple((m, k) for m in (1, 2, 3, 4) for k in (0, 1, 2))
_SIZES = {1: 0.1, 2: 0.3, 3: 0.03, 4: 0.03}
"""How large a term may well be at the outermost line, in G."""
_UNSEEN_SIZE = 0.05
"""The same of t³ and t⁴ where there are three lines, which do not look at the shoulders."""
_ALONG = (1.0, 0.5, 0.3)
"""The same for powers of s, as shares."""
_LEAST_G = 0.6
_POOR_FIT = 2.0
_WRONG = 4.3
"""So many standard errors one reading may be off."""
_ALLOWED = 4.0
"""An offset that jumps is not asked for if lengths fit it so many squared errors better."""
_TRIFLE = 1e-9
_SPOTS = 6
"""At so many places a term is taken along a stretch of line."""
_FREEDOM = 2.0
"""Below this many degrees of freedom a misfit says nothing."""


@dataclass(frozen=True, eq=False)
class TapeFit:
    """A surface fitted to readings.

    Attributes:
        fermi: the likeliest surface.
        draws: shape (k, terms): coefficients of surfaces that the readings allow.
        noise: shape (k, terms): what the readings of a flat part would be taken for.
        misfit: how many times the reading error the readings miss the surface by; None where
            there are too few to tell.
        doubts: why no judgement should be built on it.
        questions: what is worth another look, though a judgement stands without it.
    """

    fermi: Fermi
    draws: Values
    noise: Values
    misfit: float | None
    doubts: tuple[Doubt, ...]
    questions: tuple[Doubt, ...] = ()


@dataclass(frozen=True, eq=False)
class _Observed:
    """G - 1 along each stretch of line, the terms there, and how the errors hang together."""

    widening: Values
    terms: Values
    precision: Values
    variance: Values
    moved: Values
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
    stretches, prior = _Stretches.of(grid, spread), _prior(surface.lines)
    # Tape pulled tight runs straighter than its line does; how much, the fit itself tells.
    for _ in range(2):
        fermi = replace(
            fermi, coefficients=_solved(_observed(grid, fermi, stretches), prior)[0]
        )
    seen = _observed(grid, fermi, stretches)
    best, covariance = _solved(seen, prior)
    fermi = replace(fermi, coefficients=best)
    misfit = _misfit(seen, best, covariance)
    wider = covariance * max(1.0, misfit or 1.0) ** 2
    random = np.random.default_rng(seed).standard_normal((draws, len(best)))
    chosen = best + random @ _root(wider)
    noisy = random @ _root(
        covariance @ (seen.terms.T @ seen.precision @ seen.terms) @ covariance
    )
    fit = TapeFit(fermi, chosen, noisy, misfit, ())
    doubts = (
        *_misfits(surface, seen, prior, misfit),
        *_too_curved(fit),
        *steering_doubts(surface, grid, fermi, chosen),
    )
    return replace(fit, doubts=doubts, questions=_questions(surface, grid, fermi, prior))


def find_doubts(surface: MeasuredSurface) -> tuple[Doubt, ...]:
    """Return every doubt about a grid: of its readings, or else of what fits them.

    Questions come last.
    """
    before = doubts_before(surface)
    if before:
        return before
    fit = fit_tape(surface)
    return (*fit.doubts, *fit.questions)


def _solved(seen: _Observed, prior: Values) -> tuple[Values, Values]:
    """Return the likeliest coefficients, and how they may vary together."""
    weighed = seen.terms.T @ seen.precision
    covariance = np.asarray(np.linalg.inv(weighed @ seen.terms + prior), dtype=np.float64)
    return covariance @ weighed @ seen.widening, covariance


def _root(covariance: Values) -> Values:
    """Return what makes draws of a covariance out of plain ones."""
    trifle = _TRIFLE * float(np.trace(covariance)) / len(covariance)
    even = (covariance + covariance.T) / 2 + trifle * np.eye(len(covariance))
    return np.asarray(np.linalg.cholesky(even).T)


def _prior(lines: int) -> Values:
    """Return how firmly each term is held near nothing."""
    sizes = {m: max(v, _UNSEEN_SIZE) if lines == 3 else v for m, v in _SIZES.items()}
    return np.diag([1 / (sizes[m] * _ALONG[k]) ** 2 for m, k in _POWERS])


@dataclass(frozen=True, eq=False)
class _Stretches:
    """The stretches of line between stations, but for the spine's.

    Attributes:
        gap, line: of each, its numbers.
        start, end: shape (n, 2), where it starts and ends, (s, t) each.
        terms: shape (n, terms), the mean of each term along it.
    """

    gap: NDArray[np.int64]
    line: NDArray[np.int64]
    start: Points
    end: Points
    terms: Values

    @classmethod
    def of(cls, grid: Grid, spread: Spread) -> "_Stretches":
        stations, lines = grid.offsets.shape
        beside = np.delete(np.arange(lines), grid.spine)
        gap, line = (
            v.ravel() for v in np.meshgrid(np.arange(stations - 1), beside, indexing="ij")
        )
        start = np.column_stack([grid.along[gap], grid.offsets[gap, line]])
        end = np.column_stack([grid.along[gap + 1], grid.offsets[gap + 1, line]])
        shares = ((np.arange(_SPOTS) + 0.5) / _SPOTS)[:, None, None]
        spots = (start + shares * (end - start)).reshape(-1, 2)
        terms = spread.terms(*spots.T).reshape(_SPOTS, len(gap), -1).mean(axis=0)
        return cls(gap, line, start, end, terms)


def _observed(grid: Grid, fermi: Fermi, stretches: _Stretches) -> _Observed:
    i, j = stretches.gap, stretches.line
    gap, across = (stretches.end - stretches.start).T
    bend = fermi.bend(stretches.start, stretches.end)
    even = np.sqrt(grid.lengths[i, j] ** 2 + bend - across**2)
    widening = even / gap
    stations, lines = grid.offsets.shape
    row = np.arange(len(gap))
    by_length = np.zeros((len(gap), stations - 1, lines))
    by_length[row, i, j] = grid.lengths[i, j] / even / gap
    by_length[row, i, grid.spine] = -widening / gap
    by_offset = np.zeros((len(gap), stations, lines))
    by_offset[row, i, j] = across / even / gap
    by_offset[row, i + 1, j] = -across / even / gap
    # What a line's lengths share grows with them: a tape that is slack, or held askew.
    shared = np.einsum("nij,ij->nj", by_length, grid.lengths / grid.lengths.mean(axis=0))
    own = (by_length / np.sqrt(grid.repeats)).reshape(len(gap), -1)
    marks = by_offset.reshape(len(gap), -1)
    variance = grid.own_mm**2 * (own @ own.T) + grid.shared_mm**2 * (shared @ shared.T)
    variance += grid.error_mm**2 * (marks @ marks.T)
    precision = np.asarray(np.linalg.inv(variance), dtype=np.float64)
    places, moved = _readings(by_length, by_offset, grid.spine)
    return _Observed(widening - 1, stretches.terms, precision, variance, moved, places)


def _readings(
    by_length: Values, by_offset: Values, spine: int
) -> tuple[tuple[ReadingPlace, ...], Values]:
    """Return the places of all lengths and offsets, and what a millimetre of each moves."""
    count, gaps, lines = by_length.shape
    places = [ReadingPlace(ReadingKind.LENGTH, *at) for at in np.ndindex(gaps, lines)]
    columns = [by_length.reshape(count, -1)]
    for i, j in np.ndindex(gaps + 1, lines):
        if j != spine:
            places.append(ReadingPlace(ReadingKind.OFFSET, i, j))
            columns.append(by_offset[:, i, j][:, None])
    return tuple(places), np.hstack(columns)


def _misfit(seen: _Observed, best: Values, covariance: Values) -> float | None:
    """Return the misfit as a multiple of the reading error."""
    off = seen.widening - seen.terms @ best
    hat = seen.terms @ covariance @ seen.terms.T @ seen.precision
    freedom = len(off) - float(np.trace(hat))
    if freedom < _FREEDOM:
        return None
    return float(np.sqrt(off @ seen.precision @ off / freedom))


def _misfits(
    surface: MeasuredSurface, seen: _Observed, prior: Values, misfit: float | None
) -> tuple[Doubt, ...]:
    if misfit is None:
        return ()
    slips = slips_of(seen.widening, _widely(seen, prior), seen.moved, seen.places)
    if misfit <= _POOR_FIT and slips.worst < _WRONG:
        return ()
    return (slip_doubt(slips, surface),)


def _widely(seen: _Observed, prior: Values) -> Values:
    """Return how what was observed scatters over all parts and errors."""
    return seen.variance + seen.terms @ np.linalg.solve(prior, seen.terms.T)


def _questions(
    surface: MeasuredSurface, grid: Grid, fermi: Fermi, prior: Values
) -> tuple[Doubt, ...]:
    """Ask for offsets that jump further than lengths bear out."""

    def misfit(read: Grid) -> float:
        moved = _Stretches.of(read, fermi.spread)
        seen = _observed(read, fermi, moved)
        return float(seen.widening @ np.linalg.solve(_widely(seen, prior), seen.widening))

    asked = []
    for odd in odd_offsets(grid):
        row, line = odd.places[0].row, odd.places[0].line
        offsets = grid.offsets.copy()
        offsets[row, line] -= np.sign(offsets[row, line]) * odd.off_mm
        if misfit(replace(grid, offsets=offsets)) < misfit(grid) + _ALLOWED:
            asked.append(odd.question(surface))
    return tuple(asked)


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
