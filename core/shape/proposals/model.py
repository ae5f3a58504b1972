"""The words of seam proposals: what is asked, and what is proposed."""

from dataclasses import dataclass
from enum import StrEnum

from shapely import LineString, Polygon

from core.shape.model import Network, Window


class LineKind(StrEnum):
    """What a proposed line is."""

    SEAM = "seam"
    STRIPE = "stripe"
    RELIEF = "relief"


@dataclass(frozen=True)
class ProposedLine:
    """A line to draw.

    Attributes:
        path: few nodes in the panel's map, from rim to rim; a relief cut runs from the rim
            inwards.
        width_mm: of a stripe, whose centre line the path is; else 0.
    """

    kind: LineKind
    path: LineString
    width_mm: float = 0.0


@dataclass(frozen=True)
class Proposal:
    """One answer to where seams must go, with its numbers.

    Attributes:
        lines: what to draw.
        family: in plain words, what kind of lines these are.
        ranges_pct: the range of strain of each piece, on a fine mesh, the worst first.
        seam_mm: length of all seams, stripe edges and relief cuts, on the surface.
        hidden_share: how much of that lies along what hides it, from 0 to 1.
        limit_pct: what the film can take.
        sentence: the whole in plain words.
        reserve_pct: what is kept free below the limit, as readings are not exact.
        drawn: lines along which films end already; they divide the panel as well.
    """

    lines: tuple[ProposedLine, ...]
    family: str
    ranges_pct: tuple[float, ...]
    seam_mm: float
    hidden_share: float
    limit_pct: float
    sentence: str
    reserve_pct: float = 0.0
    drawn: tuple[LineString, ...] = ()

    @property
    def pieces(self) -> int:
        """How many pieces of film there are, a stripe among them."""
        return len(self.ranges_pct)

    @property
    def worst_range_pct(self) -> float:
        """The range of the piece that is hardest to lay."""
        return self.ranges_pct[0]

    @property
    def can_lay(self) -> bool:
        """Whether every piece can be worked down."""
        return self.worst_range_pct + self.reserve_pct <= self.limit_pct

    @property
    def seams(self) -> int:
        """How many seams there are to look at, besides a stripe's own edges."""
        return sum(line.kind is LineKind.SEAM for line in self.lines)


@dataclass(frozen=True, eq=False)
class Question:
    """A panel that may need seams.

    Attributes:
        network: the panel's surface over its map.
        area: the panel's outline with its openings, in the map.
        window: what the film can take.
        own_lines: seams and edges of stripes along which films end already: they stay, divide
            the panel and cost nothing; lines beside them are tried too.
        hiding: what hides a seam: ridges, edges of a part, borders of dark film; lines along
            them are tried too.
        stripe_mm: the width of the stripe that is tried as a relief; 0 for none.
        reserve_pct: how much more the surface may need than it seems to, as readings are not
            exact; pieces are kept so far below what the film can take.
    """

    network: Network
    area: Polygon
    window: Window
    own_lines: tuple[LineString, ...] = ()
    hiding: tuple[LineString, ...] = ()
    stripe_mm: float = 90.0
    reserve_pct: float = 0.0

    @property
    def goal_pct(self) -> float:
        """The range that pieces are to keep to: with reserve, never under half the limit."""
        limit = self.window.range_pct
        return max(limit - self.reserve_pct, limit / 2)


@dataclass(frozen=True)
class Answer:
    """What came out.

    Attributes:
        whole_pct: the range of the panel in one piece.
        limit_pct: what the film can take.
        proposals: the best first; three that can be drawn, and relief cuts if those are enough;
            none where one piece can lay.
    """

    whole_pct: float
    limit_pct: float
    proposals: tuple[Proposal, ...]

    @property
    def needs_seam(self) -> bool:
        """Whether one piece cannot be worked down."""
        return self.whole_pct > self.limit_pct
