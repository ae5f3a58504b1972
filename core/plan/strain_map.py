"""Bunching and stretch of a panel's pieces as a picture of its map, and the values in it."""

from dataclasses import dataclass

import numpy as np

from core.document.film import Film
from core.document.job import Job
from core.plan.memory import Memory
from core.plan.model import PanelPlan, Piece
from core.plan.shape_check import easy_window, warm_window
from core.progress import Progress, Silent, stop_if_cancelled
from core.shape.elements import elements_of
from core.shape.flattening import as_complex
from core.shape.judging import strain_ends, worked
from core.shape.model import Development, Points, Window
from core.shape.strain_colours import Limits, colours_of, greater_share, shares_of_limit
from core.shape.threads import one_thread
from core.shape.view_paint import MapPicture, MapValues, map_values
from core.shape.view_raster import NONE

LONGEST_PX = 800
_EASED = (2,)


@dataclass(frozen=True, slots=True)
class Strain:
    """What film suffers at one place.

    Attributes:
        piece: the piece that is seen there.
        bunching_pct, stretch_pct: how much, each 0 or more.
        limits: what the piece's film takes.
        share: how much of its limit is needed there, bunching below zero.
    """

    piece: Piece
    bunching_pct: float
    stretch_pct: float
    limits: Limits
    share: float


@dataclass(frozen=True, eq=False)
class StrainMap:
    """The strain on one panel.

    Attributes:
        picture: colours over the map, clear where nothing is curved.
        shares: how much of the limits is needed where.
        pieces: those with strain, in lay order, with what their films take.
    """

    picture: MapPicture
    shares: MapValues
    pieces: tuple[tuple[Piece, Limits], ...]

    def at(self, x_mm: float, y_mm: float) -> Strain | None:
        """Return the strain at a place of the map; None where there is none."""
        pixel = self.shares.pixel(x_mm, y_mm)
        if pixel is None:
            return None
        piece, limits = self.pieces[int(self.shares.which[pixel][0])]
        bunching, stretch = self.shares.values[pixel].tolist()
        return Strain(
            piece,
            bunching * limits.bunching_pct,
            stretch * limits.stretch_pct,
            limits,
            -bunching if bunching > stretch else stretch,
        )


def strain_map(
    panel: PanelPlan, job: Job, progress: Progress | None = None
) -> StrainMap | None:
    """Paint the strain of a panel's pieces; None where all of it is flat.

    Film is shown eased at its worst places and pulled as a whole until it bunches no more, or
    until it can be pulled no further; what is left over bunches. Where pieces overlie each
    other the one that goes down last is seen. It may take a while: pieces are developed.

    Raises:
        Cancelled: the user stopped it.
    """
    progress = progress or Silent()
    pieces, networks = [], []
    for piece in panel.pieces:
        stop_if_cancelled(progress)
        development = piece.development
        if development is None:
            continue
        window = _window(job.film(piece.film), development)
        limits = Limits(window.bunching_pct, window.stretch_pct)
        strains = _worked(development, window, progress)
        pieces.append((piece, limits))
        networks.append((development.network, shares_of_limit(strains, limits)))
    if not networks:
        return None
    spread = map_values(networks, panel.extended.bounds, LONGEST_PX)
    return StrainMap(_picture(spread), spread, tuple(pieces))


def _window(film: Film, development: Development) -> Window:
    """Return what the film takes: cold if that is enough, else with warmth."""
    cold = easy_window(film)
    return cold if development.range_pct <= cold.range_pct else warm_window(film)


def _worked(development: Development, window: Window, progress: Progress) -> Points:
    """Return the strains of film that was eased at its worst places and pulled as a whole.

    Worked to the very end every place would need as much as the worst; it would not show any
    more where the trouble comes from.
    """
    values = (window.bunching_pct, window.stretch_pct)
    return _strains.recall(
        (development,), values, lambda: _eased(development, window, progress)
    )


def _eased(development: Development, window: Window, progress: Progress) -> Points:
    elements = elements_of(development.network)
    with one_thread():
        film = worked(elements, as_complex(development.laying.points), progress, _EASED)
    strains = elements.strains(film)
    least, greatest = strain_ends(strains, elements.areas)
    wanted = max(1.0, (1 - window.bunching_pct / 100) / (1 + least))
    # No further than the film goes: what is left over bunches, as the verdict says.
    pull = min(wanted, (1 + window.stretch_pct / 100) / (1 + greatest))
    return np.asarray((1 + strains) * pull - 1)


_strains: Memory[Points] = Memory(200)


def _picture(spread: MapValues) -> MapPicture:
    height, width = spread.which.shape[:2]
    rgba = np.zeros((height * width, 4), dtype=np.uint8)
    filled = np.flatnonzero(spread.which[..., 0].ravel() != NONE)
    rgba[filled] = colours_of(greater_share(spread.values.reshape(-1, 2)[filled]))
    rgba = rgba.reshape(height, width, 4)
    return MapPicture(rgba, spread.left_mm, spread.top_mm, spread.mm_per_px)


def strain_words(strain: Strain) -> str:
    """Return a strain in words, the greater one first."""
    parts = [
        (f"bunches {strain.bunching_pct:.1f} %", strain.bunching_pct),
        (f"stretches {strain.stretch_pct:.1f} %", strain.stretch_pct),
    ]
    if strain.share > 0:
        parts.reverse()
    told = [words for words, value in parts if value >= 0.05]
    return ", ".join(told) if told else "lies without strain"
