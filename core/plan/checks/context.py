"""What every check is given."""

from dataclasses import dataclass

from core.document.film import Film
from core.document.job import Settings
from core.document.panel import Panel
from core.document.variant import Scheme
from core.plan.model import Piece
from core.plan.panel_shape import PanelShape
from core.plan.regions import RegionMap
from core.plan.stacking import Stacking
from core.plan.traced_line import TracedLine


@dataclass(frozen=True, slots=True)
class Review:
    """One panel's plan, as the checks see it."""

    panel: Panel
    scheme: Scheme
    shape: PanelShape
    traced: tuple[TracedLine, ...]
    mapped: RegionMap
    stacking: Stacking
    pieces: tuple[Piece, ...]
    films: dict[str, Film]
    settings: Settings
