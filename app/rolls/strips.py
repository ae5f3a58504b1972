"""Where each sheet of film stands in the view: film after film, wrapped like words."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from PySide6.QtCore import QPointF, QRectF, QSizeF
from PySide6.QtGui import QPainterPath

from app.panes.shapes import painter_path
from core.document.film import Film
from core.roll.model import FilmRolls, Placement, SheetPlan

HEAD_PX = 192
RULER_PX = 20
GAP_PX = 16
MIN_STRIP_PX, MAX_STRIP_PX = 84.0, 240.0
LARGER_STRIPS_PX = (300.0, 360.0, 430.0, 520.0, 620.0)
"""Tried in turn where all films are still in sight; in steps, so that a small change of the
layout seldom changes the scale under the hand."""
LEAST_BLOCK_PX = 112.0
SPARE_MM = 150.0
"""How much unused film is shown past the last piece."""


@dataclass(frozen=True)
class Strip:
    """One sheet's place in the view, in content pixels; paths are in the sheet's mm."""

    film: Film
    sheet: SheetPlan
    rect: QRectF
    scale: float
    paths: tuple[QPainterPath, ...]

    def to_sheet(self, at: QPointF) -> QPointF:
        """Return a point of the content in mm on the sheet."""
        return QPointF((at.x() - self.rect.left()) / self.scale,
                       (self.rect.bottom() - at.y()) / self.scale)  # fmt: skip

    def to_content(self, x_mm: float, y_mm: float) -> QPointF:
        """Return a place on the sheet as a point of the content."""
        return QPointF(
            self.rect.left() + x_mm * self.scale, self.rect.bottom() - y_mm * self.scale
        )

    def placement_at(self, at: QPointF) -> Placement | None:
        """Return what lies under a point of the content: the uppermost where one is nested."""
        on_sheet = self.to_sheet(at)
        pairs = list(zip(self.sheet.placements, self.paths, strict=True))
        return next((p for p, path in reversed(pairs) if path.contains(on_sheet)), None)


Known = Mapping[int, tuple[SheetPlan, tuple[QPainterPath, ...]]]
"""Paths by the identity of their sheet."""


@dataclass(frozen=True)
class Head:
    """One film's name and numbers at the left of its strips."""

    film: Film
    rolls: FilmRolls
    rect: QRectF


@dataclass
class Strips:
    """All strips and heads, and how much room they take."""

    strips: list[Strip] = field(default_factory=list)
    heads: list[Head] = field(default_factory=list)
    size: QPointF = field(default_factory=QPointF)

    def under(self, at: QPointF) -> Strip | None:
        """Return the strip under a point of the content."""
        return next((s for s in self.strips if s.rect.contains(at)), None)

    def place_of(self, piece: str) -> QPointF | None:
        """Return a point of the content inside a piece, or None where it is not laid."""
        for strip in self.strips:
            for placement, path in zip(strip.sheet.placements, strip.paths, strict=True):
                if placement.item.piece == piece:
                    centre = path.boundingRect().center()
                    return strip.to_content(centre.x(), centre.y())
        return None


def lay_strips(
    films: Mapping[str, Film],
    rolls: tuple[FilmRolls, ...],
    room: QSizeF,
    zoom: float,
    known: "Strips",
) -> Strips:
    """Lay all sheets out.

    Args:
        films: of the job, by id.
        rolls: what is laid.
        room: size of the viewport.
        zoom: 1 fits a film's full width to the room's height, or all films to a large room.
        known: strips of before, whose paths are used again.
    """
    paths = {id(s.sheet): (s.sheet, s.paths) for s in known.strips}
    strip_px = _least_strip_px(room)
    for larger_px in LARGER_STRIPS_PX if strip_px == MAX_STRIP_PX else ():
        size = _flow(films, rolls, room, larger_px, paths).size
        if size.y() > room.height() or size.x() > room.width():
            break
        strip_px = larger_px
    return _flow(films, rolls, room, strip_px * zoom, paths)


def _flow(
    films: Mapping[str, Film],
    rolls: tuple[FilmRolls, ...],
    room: QSizeF,
    strip_px: float,
    paths: Known,
) -> Strips:
    """Lay the sheets of films so high that a roll's whole width takes the given pixels."""
    laid = Strips()
    corner, row_height, widest = QPointF(0, 4), 0.0, 0.0
    for film_rolls in rolls:
        film = films[str(film_rolls.film)]
        scale = strip_px / film.roll_width_mm
        size = _block_size(film_rolls, scale)
        if corner.x() > 0 and corner.x() + size.width() > room.width():
            corner = QPointF(0, corner.y() + row_height + GAP_PX)
            row_height = 0.0
        laid.strips += _block(film, film_rolls, corner, scale, paths)
        laid.heads.append(
            Head(film, film_rolls, QRectF(corner, QSizeF(HEAD_PX, size.height())))
        )
        corner += QPointF(size.width() + GAP_PX, 0)
        row_height = max(row_height, size.height())
        widest = max(widest, corner.x())
    laid.size = QPointF(widest, corner.y() + row_height + GAP_PX)
    return laid


def _least_strip_px(room: QSizeF) -> float:
    """Return how high a roll is shown at least, whether or not all films are in sight then."""
    return min(MAX_STRIP_PX, max(MIN_STRIP_PX, room.height() - RULER_PX - 28.0))


def _block_size(rolls: FilmRolls, scale: float) -> QSizeF:
    width = sum(_shown_length_mm(s) * scale + GAP_PX for s in rolls.sheets)
    height = max((s.sheet.width_mm * scale for s in rolls.sheets), default=0.0)
    return QSizeF(HEAD_PX + width, max(height + RULER_PX, LEAST_BLOCK_PX))


def _block(
    film: Film,
    rolls: FilmRolls,
    corner: QPointF,
    scale: float,
    known: Known,
) -> list[Strip]:
    strips = []
    x = corner.x() + HEAD_PX
    for sheet in rolls.sheets:
        size = QSizeF(_shown_length_mm(sheet) * scale, sheet.sheet.width_mm * scale)
        rect = QRectF(QPointF(x, corner.y() + RULER_PX), size)
        found, paths = known.get(id(sheet), (None, ()))
        if found is not sheet:
            paths = tuple(painter_path(p.polygon, p.inner_cuts) for p in sheet.placements)
        strips.append(Strip(film, sheet, rect, scale, paths))
        x += rect.width() + GAP_PX
    return strips


def _shown_length_mm(sheet: SheetPlan) -> float:
    whole = sheet.sheet.length_mm
    if whole is not None and sheet.sheet.kind == "offcut":
        return whole
    used = sheet.used_length_mm + SPARE_MM
    return used if whole is None else min(whole, used)
