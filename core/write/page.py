"""A page on which a picture is put together: lines, areas and texts in units of the page.

A picture is true to size, so a small panel gives a small sheet and a vehicle a large one. Lines
and texts are therefore measured in the page's own *unit*, about a hundredth of the page.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from shapely.geometry.base import BaseGeometry

from core.document.job import Units
from core.write.drawing import (
    Drawing,
    Layer,
    Look,
    Purpose,
    Run,
    Shape,
    Text,
    area_runs,
    closed_run,
    line_runs,
    open_run,
)
from core.write.inks import DARK
from core.write.typeface import text_width_mm

PAPER = "#fbfaf7"
SOFT = "#5c636b"
FAINT = "#c9c7c0"
PICTURE = Layer("picture", Purpose.PICTURE)
_TURNS = np.linspace(0, -2 * np.pi, 48, endpoint=False)
_ROUND = np.column_stack([np.cos(_TURNS), np.sin(_TURNS)])
"""What a disc of radius 1 is drawn as."""


@dataclass
class Page:
    """Collects shapes and texts; ``unit`` is what widths and text heights are multiples of."""

    unit: float
    shapes: list[Shape] = field(default_factory=list)
    texts: list[Text] = field(default_factory=list)

    def area(self, geometry: BaseGeometry, fill: str, *, source: str = "") -> None:
        """Fill an area."""
        self._add(area_runs(geometry), Look(fill=fill), source)

    def line(
        self,
        geometry: BaseGeometry,
        stroke: str,
        width: float = 0.14,
        dash: Sequence[float] = (),
        *,
        source: str = "",
    ) -> None:
        """Draw all lines of a geometry; width and dashes in units."""
        runs = line_runs(geometry)
        self._add(runs, self._pen(stroke, width, dash), source)

    def frame(self, geometry: BaseGeometry, stroke: str, width: float = 0.14) -> None:
        """Draw the rings of an area as closed lines."""
        self._add(area_runs(geometry), self._pen(stroke, width, ()), "")

    def polyline(
        self, points: Sequence[tuple[float, float]], stroke: str, width: float
    ) -> None:
        """Draw one open line through points."""
        self._add((open_run(points),), self._pen(stroke, width, ()), "")

    def disc(self, at: tuple[float, float], radius: float, look: Look) -> None:
        """Draw a disc."""
        self._add((closed_run(_ROUND * radius + at),), look, "")

    def rect(self, corner: tuple[float, float], size: tuple[float, float], look: Look) -> None:
        """Draw a rectangle by its lower left corner and its size."""
        (x, y), (w, h) = corner, size
        self._add((closed_run([(x, y), (x + w, y), (x + w, y + h), (x, y + h)]),), look, "")

    def text(  # noqa: PLR0913 - one text has this many properties; all but three have defaults
        self,
        text: str,
        at: tuple[float, float],
        height: float,
        *,
        anchor: str = "start",
        colour: str = DARK,
        is_bold: bool = False,
        angle_deg: float = 0.0,
    ) -> float:
        """Set a line of text, its capitals ``height`` units high; return its width in mm."""
        mm = height * self.unit
        self.texts.append(
            Text(
                PICTURE.name,
                text,
                at,
                mm,
                angle_deg=angle_deg,
                anchor=anchor,
                colour=colour,
                is_bold=is_bold,
            )
        )
        return text_width_mm(text, mm, is_bold=is_bold)

    def look(self, fill: str | None, stroke: str | None = None, width: float = 0.1) -> Look:
        """Return a look with its width in units."""
        return Look(fill=fill, stroke=stroke, width_mm=width * self.unit)

    def drawing(
        self,
        name: str,
        extent: tuple[float, float, float, float],
        background: str | None = PAPER,
    ) -> Drawing:
        """Return what was collected as a drawing."""
        return Drawing(
            name, extent, (PICTURE,), tuple(self.shapes), tuple(self.texts), background
        )

    def _pen(self, stroke: str, width: float, dash: Sequence[float]) -> Look:
        dashes = tuple(d * self.unit for d in dash)
        return Look(
            stroke=stroke, width_mm=width * self.unit, dash_mm=dashes, is_round=not dash
        )

    def _add(self, runs: tuple[Run, ...], look: Look, source: str) -> None:
        if runs:
            self.shapes.append(Shape(PICTURE.name, runs, source, look))


def shortened(text: str, height_mm: float, most_mm: float, *, is_bold: bool = False) -> str:
    """Return the text, cut with an ellipsis where it would be wider than ``most_mm``."""
    if text_width_mm(text, height_mm, is_bold=is_bold) <= most_mm:
        return text
    while text and text_width_mm(text + "…", height_mm, is_bold=is_bold) > most_mm:
        text = text[:-1].rstrip()
    return text + "…"


def wrapped(text: str, height_mm: float, most_mm: float) -> list[str]:
    """Return the text in lines no wider than ``most_mm``, broken between words."""
    lines: list[str] = []
    for word in text.split():
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and text_width_mm(longer, height_mm) <= most_mm:
            lines[-1] = longer
        else:
            lines.append(word)
    return [shortened(line, height_mm, most_mm) for line in lines]


def round_length_mm(about_mm: float, units: Units) -> float:
    """Return a round length near one: 1, 2 or 5 times a power of ten, in the units."""
    whole = 25.4 if units is Units.IN else 1.0
    best = min(
        (m * 10.0**e for e in range(-1, 6) for m in (1, 2, 5)),
        key=lambda n: abs(n * whole / about_mm - 1),
    )
    return best * whole


def draw_scale_bar(
    page: Page, corner: tuple[float, float], about_mm: float, units: Units, text: str
) -> None:
    """Draw a bar of four parts by its lower left corner, with a text after it.

    Args:
        page: where it is drawn.
        corner: lower left corner.
        about_mm: how long the bar should be, about.
        units: the length is round in these.
        text: what is written after the bar: its length.
    """
    length = round_length_mm(about_mm, units)
    x, y = corner
    height = 0.45 * page.unit
    for i in range(4):
        fill = DARK if i % 2 == 0 else PAPER
        page.rect((x + i * length / 4, y), (length / 4, height), page.look(fill, DARK, 0.08))
    page.text(text, (x + length + 0.8 * page.unit, y - 0.12 * page.unit), 0.75, colour=SOFT)
