"""Limits found on a ball."""

import math

import pytest

from core.errors import InputError
from core.shape.calibrating import BallTrial, limits_by_ball


def test_the_edge_of_a_free_disc_bunches_by_an_eighth_of_the_angle_squared():
    # 5 degrees: 0.0952 %; see the table of check values: derived, Grason & Davidovitch 2013.
    across = math.radians(5.0) * 300
    found = limits_by_ball(BallTrial(300, across, across, across))
    assert found.bunching_pct == pytest.approx(0.0952, abs=1e-4)


@pytest.mark.parametrize(("angle_deg", "range_pct"), [(20, 2.060), (40, 8.610), (60, 20.920)])
def test_what_can_be_worked_down_is_milnors_range(angle_deg, range_pct):
    # J. Milnor, A problem in cartography, 1969: a / sin a - 1 for a cap of angle a.
    across = math.radians(angle_deg) * 300
    found = limits_by_ball(BallTrial(300, 1.0, across, across))
    spread = (1 + found.stretch_pct / 100) / (1 - found.bunching_pct / 100) - 1
    assert 100 * spread == pytest.approx(range_pct, abs=1e-3)


@pytest.mark.parametrize(
    "trial",
    [
        BallTrial(0, 1, 1, 1),
        BallTrial(220, 0, 90, 100),
        BallTrial(220, 95, 90, 100),
        BallTrial(220, 80, 120, 100),
        BallTrial(220, 80, 120, 400),
    ],
)
def test_what_cannot_be_is_refused(trial):
    with pytest.raises(InputError):
        limits_by_ball(trial)
