"""The values of snapping: what may be caught, and what was."""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

Points = NDArray[np.float64]
Vector = tuple[float, float]


class CatchKind(StrEnum):
    """What kind of place was caught."""

    NODE = "node"
    MIDDLE = "middle"
    CROSSING = "crossing"
    SQUARE = "square"
    ALONG = "along"
    ON = "on"
    TANGENT = "tangent"
    RULE = "rule"
    GRID = "grid"


@dataclass(frozen=True, slots=True)
class Track:
    """A polyline that may be caught.

    Attributes:
        name: handed back with a catch.
        points: shape (n, 2), n >= 2; a closed track does not repeat its first point.
        nodes, middles: shape (k, 2), its notable places; they may be empty.
    """

    name: str
    points: Points
    closed: bool
    nodes: Points
    middles: Points


@dataclass(frozen=True, slots=True)
class Catch:
    """The place that was caught.

    Attributes:
        track: name of the track it lies on; None in the open.
        distance: from the point that was asked for.
    """

    at: Vector
    kind: CatchKind
    track: str | None
    distance: float


@dataclass(frozen=True, slots=True)
class Guide:
    """Where a line is being drawn from, and the directions that it favours.

    Attributes:
        directions: unit vectors with the kind they are caught as.
    """

    origin: Vector
    directions: tuple[tuple[Vector, CatchKind], ...]


@dataclass(frozen=True, slots=True)
class SnapField:
    """All tracks of a drawing, laid out for quick questions.

    Attributes:
        spots: shape (n, 2); with their kinds and the track of each.
        starts, ends: shape (m, 2), the segments; with the track of each.
    """

    names: tuple[str, ...]
    spots: Points
    spot_kinds: tuple[CatchKind, ...]
    spot_tracks: NDArray[np.int64]
    starts: Points
    ends: Points
    segment_tracks: NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Rules:
    """Straight lines right across the drawing, and a grid.

    Attributes:
        xs: of upright lines.
        ys: of level lines.
        spacing: of the grid; None for no grid.
        origin: a point of the grid.
    """

    xs: tuple[float, ...] = ()
    ys: tuple[float, ...] = ()
    spacing: float | None = None
    origin: Vector = (0.0, 0.0)


NO_RULES = Rules()
