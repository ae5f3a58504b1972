"""The one neutral drawing: what is to be drawn, in millimetres, before any file format.

A drawing has layers, shapes on them, and texts. Every writer (DXF, SVG, and whatever comes
later) reads this and nothing else, so that all files of one drawing agree. The *purpose* of a
layer says what its content is for; a machine that cuts reads the cut layers alone, and no text
may stand there. *Looks* (fill, stroke) matter to pictures only; a DXF ignores them.

Coordinates are millimetres, y up. It does not know panels, films or rolls.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass, field
from enum import StrEnum
from itertools import pairwise

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString, Polygon
from shapely.geometry.base import BaseGeometry

Points = NDArray[np.float64]
Extent = tuple[float, float, float, float]
"""x and y of the lower left corner, then of the upper right one."""


class Purpose(StrEnum):
    """What the content of a layer is for."""

    CUT = "cut"
    WEED = "weed"
    TICK = "tick"
    CENTRE = "centre"
    REGISTER = "register"
    LABEL = "label"
    FRAME = "frame"
    PICTURE = "picture"

    @property
    def is_cut(self) -> bool:
        """Whether a knife follows it: outlines, openings, and the box to weed by."""
        return self in (Purpose.CUT, Purpose.WEED)


@dataclass(frozen=True, slots=True)
class Layer:
    """A named layer."""

    name: str
    purpose: Purpose


@dataclass(frozen=True, slots=True)
class Look:
    """How a shape looks in a picture; colours are ``#rrggbb``.

    Attributes:
        fill: None leaves it open.
        stroke: None draws no line.
        width_mm: of the stroke.
        dash_mm: lengths of dashes and gaps in turn; empty for a whole line.
        opacity: of the whole shape.
        is_round: round line ends and joins.
    """

    fill: str | None = None
    stroke: str | None = None
    width_mm: float = 0.0
    dash_mm: tuple[float, ...] = ()
    opacity: float = 1.0
    is_round: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class Run:
    """One polyline; a closed one does not repeat its first point.

    Attributes:
        is_opening: an inner ring of an area or a part of one, or a line within it: cut before
            the outer one.
    """

    points: Points
    is_closed: bool
    is_opening: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class Shape:
    """One or more runs that belong together: an area with its openings, or a set of lines.

    Attributes:
        source: what it stands for (a piece's id, a seam's id), or "".
        label: what a person calls that, or "".
    """

    layer: str
    runs: tuple[Run, ...]
    source: str = ""
    look: Look = field(default_factory=Look)
    label: str = ""


@dataclass(frozen=True, slots=True)
class Text:
    """One line of text.

    Attributes:
        at: where its base line starts, has its middle or ends, by ``anchor``.
        height_mm: height of its capital letters.
        anchor: "start", "middle" or "end".
        source: what it is written on, as a shape's.
    """

    layer: str
    text: str
    at: tuple[float, float]
    height_mm: float
    angle_deg: float = 0.0
    anchor: str = "start"
    colour: str = "#1b1f24"
    is_bold: bool = False
    source: str = ""


@dataclass(frozen=True, slots=True)
class Drawing:
    """A drawing; the order of its shapes is the order in which they cover each other.

    Attributes:
        name: what it is called, for titles and file names.
        extent: the sheet that it fills; a picture is cropped to it.
        background: colour behind everything, or None.

    Raises:
        ValueError: for content on a layer that is not there, text on a cut layer, coordinates
            that are not finite, or a run with too few points.
    """

    name: str
    extent: Extent
    layers: tuple[Layer, ...]
    shapes: tuple[Shape, ...] = ()
    texts: tuple[Text, ...] = ()
    background: str | None = None

    def __post_init__(self) -> None:
        purposes = {layer.name: layer.purpose for layer in self.layers}
        if not all(map(math.isfinite, self.extent)):
            raise ValueError("the extent of a drawing must be finite")
        for shape in self.shapes:
            _check_shape(shape, purposes)
        for text in self.texts:
            if purposes.get(text.layer, Purpose.CUT).is_cut:
                raise ValueError(f"no text may stand on layer {text.layer}")

    def purpose(self, layer: str) -> Purpose:
        """Return the purpose of a layer; KeyError when there is none of that name."""
        return {item.name: item.purpose for item in self.layers}[layer]

    def shapes_for(self, purpose: Purpose) -> tuple[Shape, ...]:
        """Return the shapes on all layers of a purpose."""
        names = {layer.name for layer in self.layers if layer.purpose is purpose}
        return tuple(shape for shape in self.shapes if shape.layer in names)


def _check_shape(shape: Shape, purposes: dict[str, Purpose]) -> None:
    if shape.layer not in purposes:
        raise ValueError(f"there is no layer {shape.layer}")
    for run in shape.runs:
        if not np.isfinite(run.points).all():
            raise ValueError(f"{shape.source or shape.layer}: coordinates must be finite")
        if len(run.points) < (3 if run.is_closed else 2):
            raise ValueError(f"{shape.source or shape.layer}: too few points for a line")


def closed_run(
    points: Iterable[tuple[float, float]] | Points, *, is_opening: bool = False
) -> Run:
    """Return a closed run through the points; a repeated first point at the end is dropped."""
    ring = np.array(points if isinstance(points, np.ndarray) else list(points), dtype=float)
    if len(ring) > 1 and bool((ring[0] == ring[-1]).all()):
        ring = ring[:-1]
    ring.setflags(write=False)
    return Run(ring, is_closed=True, is_opening=is_opening)


def open_run(
    points: Iterable[tuple[float, float]] | Points, *, is_opening: bool = False
) -> Run:
    """Return an open run through the points."""
    line = np.array(points if isinstance(points, np.ndarray) else list(points), dtype=float)
    line.setflags(write=False)
    return Run(line, is_closed=False, is_opening=is_opening)


def area_runs(geometry: BaseGeometry) -> tuple[Run, ...]:
    """Return the rings of all polygons of a geometry: outer ring first, then its openings.

    Degenerate input: lines and points in it are left out; empty gives no runs.
    """
    runs = []
    for part in shapely.get_parts(geometry):
        for polygon in shapely.get_parts(part):
            if isinstance(polygon, Polygon) and not polygon.is_empty:
                runs.append(closed_run(shapely.get_coordinates(polygon.exterior)))
                runs += [
                    closed_run(shapely.get_coordinates(r), is_opening=True)
                    for r in polygon.interiors
                ]
    return tuple(runs)


def line_runs(geometry: BaseGeometry) -> tuple[Run, ...]:
    """Return all lines of a geometry as open runs, rings of polygons included.

    Degenerate input: points in it are left out; empty gives no runs.
    """
    lines: list[BaseGeometry] = []
    for part in shapely.get_parts(geometry):
        if isinstance(part, Polygon):
            lines += [part.exterior, *part.interiors]
        elif isinstance(part, LineString):  # a ring is one, too
            lines.append(part)
    points = shapely.get_coordinates(lines)
    points.setflags(write=False)
    ends = np.cumsum(shapely.get_num_coordinates(lines)).tolist()
    return tuple(
        Run(points[start:end], is_closed=False)
        for start, end in pairwise([0, *ends])
        if end > start
    )
