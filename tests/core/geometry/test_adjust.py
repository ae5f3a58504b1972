import numpy as np
import pytest

from core.errors import GeometryError
from core.geometry.adjust import adjust

XS = np.linspace(0, 2, 60)


def _line(noise, seed=2):
    return 0.7 + 1.3 * XS + np.random.default_rng(seed).normal(0, noise, len(XS))


def test_a_line_is_fitted_as_numpy_fits_it():
    """numpy.polyfit with its covariance is the reference."""
    ys = _line(0.05)
    done = adjust(lambda v: v[0] + v[1] * XS - ys, np.zeros(2))
    (slope, offset), covariance = np.polyfit(XS, ys, 1, cov=True)
    assert done.values == pytest.approx([offset, slope], rel=1e-9)
    ours = done.cofactor * done.spread**2
    assert ours[1, 1] == pytest.approx(covariance[0, 0], rel=1e-6)
    assert ours[0, 0] == pytest.approx(covariance[1, 1], rel=1e-6)


def test_what_bends_is_fitted_too():
    ys = 2.0 * np.exp(-1.5 * XS)
    done = adjust(lambda v: v[0] * np.exp(-v[1] * XS) - ys, np.array([1.0, 0.5]))
    assert done.values == pytest.approx([2.0, 1.5], rel=1e-9)


def test_errors_lie_within_the_spread_as_often_as_they_say():
    off = []
    for seed in range(200):
        ys = _line(0.05, seed)
        done = adjust(lambda v, ys=ys: v[0] + v[1] * XS - ys, np.zeros(2))
        sigma = done.spread * np.sqrt(done.cofactor[1, 1])
        off.append(abs(done.values[1] - 1.3) / sigma)
    assert 0.90 < np.mean(np.array(off) < 1.96) < 0.99


def test_nothing_measured_twice_has_no_spread():
    done = adjust(lambda v: v - np.array([1.0, 2.0]), np.zeros(2))
    assert done.spread == 0


def test_values_that_nothing_settles_are_refused():
    with pytest.raises(GeometryError, match="settle"):
        adjust(lambda v: np.array([v[0] + v[1], 2 * v[0] + 2 * v[1]]), np.zeros(2))
