"""What a film takes, found with round scraps on a ball.

A round scrap on a ball must lose length at its edge or gain it in its middle, the more the
larger it is. The largest one that lies without a wrinkle says what the film takes.
"""

import math
from dataclasses import dataclass

from core.errors import InputError

WIDEST_DEG = 80.0
"""Scraps that reach farther round the ball are refused: there the formulas run away."""


@dataclass(frozen=True, slots=True)
class BallTrial:
    """What was tried, in mm.

    Attributes:
        ball_mm: diameter of the ball.
        laid_mm: diameter of the largest scrap that lay down by itself without a wrinkle.
        worked_mm: of the largest that could be pulled and pressed down cold.
        warm_mm: of the largest that could be worked down with warmth.
    """

    ball_mm: float
    laid_mm: float
    worked_mm: float
    warm_mm: float


@dataclass(frozen=True, slots=True)
class FoundLimits:
    """What the film takes, in percent."""

    bunching_pct: float
    stretch_pct: float
    warm_stretch_pct: float


def limits_by_ball(trial: BallTrial) -> FoundLimits:
    """Return what a film takes by a trial on a ball.

    A scrap of angle a (its radius over the ball's) that is laid without force bunches at its
    edge by a²/8. The best that any working can do spreads a / sin a - 1 between the most
    bunched and the most stretched place.

    Raises:
        InputError: a length that is not there or too large, or scraps that get smaller.

    Source: the least elastic energy of a disc on a sphere, own derivation, after Grason and
    Davidovitch, PNAS 110 (2013) 12893; J. Milnor, A problem in cartography, American
    Mathematical Monthly 76 (1969) 1101-1112.

    >>> found = limits_by_ball(BallTrial(220, 88, 150, 190))
    >>> round(found.bunching_pct, 1), round(found.stretch_pct, 1)
    (2.0, 6.0)
    """
    _refuse(trial)
    laid, worked, warm = (
        d / trial.ball_mm for d in (trial.laid_mm, trial.worked_mm, trial.warm_mm)
    )
    bunching = laid**2 / 8
    stretch, warm_stretch = (
        max((1 - bunching) * a / math.sin(a) - 1, 0.0) for a in (worked, warm)
    )
    return FoundLimits(100 * bunching, 100 * stretch, 100 * warm_stretch)


def _refuse(trial: BallTrial) -> None:
    if not trial.ball_mm > 0:
        raise InputError("The ball has no size.", mend="Measure its girth, divide by 3.14.")
    if not 0 < trial.laid_mm <= trial.worked_mm <= trial.warm_mm:
        raise InputError(
            "A later scrap is smaller than the one before it.",
            mend="What lies by itself can be worked down too, and with warmth all the more:"
            " enter the same size or a larger one.",
        )
    widest = math.radians(WIDEST_DEG) * trial.ball_mm
    if trial.warm_mm > widest:
        raise InputError(
            f"A scrap of {trial.warm_mm:.0f} mm is too large for this ball.",
            mend=f"Take at most {widest:.0f} mm, or a larger ball.",
        )
