"""Which reading is the wrong one where readings of a tape do not fit one smooth surface.

The largest miss is no guide: a fit bends towards a wrong reading, most of all towards one at a
rim, and a wrong length of the spine moves all lines beside it. So each reading in turn is taken
to be wrong by some length, and the one is named that puts the others right best.

Source: W. Baarda, A testing procedure for use in geodetic networks, 1968 (the w-test of one
reading that is off by an unknown length; from memory), with the prior of the fit as readings of
its own.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.document.surface import (
    MeasuredSurface,
    ReadingPlace,
    place_name,
)
from core.shape.readings import Doubt

Values = NDArray[np.float64]

_SURE = 9.0
"""So much more must one reading mend of the squared misfit than another to be told apart from
it: three standard errors."""
_STILL_POOR = 2.0
"""More than one reading is wrong where without it the others miss by so many errors."""
_MOST_NAMED = 3


@dataclass(frozen=True, eq=False)
class Slips:
    """What each reading would mend, were it off by whatever mends most.

    Attributes:
        places: of the readings.
        mended: by how much the squared misfit of all falls, in squared reading errors.
        off_mm: by how much each would be off.
        left: how many times the reading error the others miss by without the likeliest.
    """

    places: tuple[ReadingPlace, ...]
    mended: Values
    off_mm: Values
    left: float

    @property
    def worst(self) -> float:
        """How many standard errors the likeliest reading is off."""
        return float(np.sqrt(self.mended.max()))

    @property
    def likely(self) -> tuple[int, ...]:
        """Numbers of the readings that may be wrong, the likeliest first."""
        order = np.argsort(-self.mended, kind="stable")
        near = self.mended[order] > self.mended.max() - _SURE
        return tuple(order[near][:_MOST_NAMED].tolist())


def slips_of(
    widening: Values, spread: Values, moved: Values, places: tuple[ReadingPlace, ...]
) -> Slips:
    """Return what each reading would mend.

    Args:
        widening: shape (n,): what was observed, near nothing on a plate.
        spread: shape (n, n): how widely and how together that may scatter, over all parts.
        moved: shape (n, readings): by how much a millimetre of each reading moves it.
        places: of the readings.
    """
    weighed = np.linalg.solve(spread, np.column_stack([widening, moved]))
    pull = moved.T @ weighed[:, 0]
    firm = np.maximum((moved * weighed[:, 1:]).sum(axis=0), 1e-15)
    mended = pull**2 / firm
    rest = float(widening @ weighed[:, 0]) - float(mended.max())
    return Slips(
        places, mended, pull / firm, float(np.sqrt(max(rest, 0.0) / max(1, len(widening) - 1)))
    )


def slip_doubt(slips: Slips, surface: MeasuredSurface) -> Doubt:
    """Return the doubt that names the reading that is likeliest wrong, or the few that are."""
    likely = [slips.places[i] for i in slips.likely]
    names = [place_name(place, surface) for place in likely]
    what = "The readings do not fit one smooth surface."
    if len(likely) == 1:
        off = slips.off_mm[slips.likely[0]]
        amount = f"{abs(off):.0f} mm too {'long' if off > 0 else 'short'}"
        what += f" One looks about {amount}: {names[0]}."
    else:
        what += f" One of {len(likely)} looks wrong: {'; '.join(names)}."
    mend = (
        "Measure it again." if len(likely) == 1 else "Measure them again, the first one first."
    )
    return Doubt(what, mend, likely[0], tuple(likely[1:]))
