"""One panel in a scheme: its films, laps, seams, ticks, openings, marks and lay order."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

import shapely
from shapely import LineString, Point
from shapely.affinity import affine_transform
from shapely.geometry.base import BaseGeometry

from core.document.film import Film
from core.document.lines import SeamCut
from core.document.panel import Mark, MarkKind, Panel
from core.ids import RegionId
from core.plan.memory import Memory
from core.plan.model import PanelPlan, Piece, Region
from core.progress import Progress, Silent, stop_if_cancelled
from core.write.badge_wall import BadgeWall
from core.write.drawing import Look, Shape
from core.write.film_patterns import FilmPattern, pattern_ink, pattern_lines
from core.write.hatching import hatch_lines
from core.write.inks import DARK, LIGHT, apart, mix
from core.write.page import FAINT, PAPER, PICTURE, SOFT, Page
from core.write.piece_marks import arrow_shape

HATCH_DEG = 45.0
BADGE = 1.05
"""Radius of a lay-order number's disc, in units."""
_RELIEF_DASH = (0.9, 0.5)
_RELIEF_END = 0.4
SEAM_DASHES: dict[SeamCut, tuple[float, ...]] = {
    SeamCut.PRE_CUT: (),
    SeamCut.CUTTING_TAPE: (1.1, 0.45),
    SeamCut.BUTT: (0.2, 0.35),
}
_EMPTY_MM2 = 1.0


@dataclass(frozen=True)
class PanelArt:
    """A panel to be painted, with where its frame's origin stands on the page.

    Attributes:
        patterns: spread over films where colours may not be printed.
    """

    plan: PanelPlan
    panel: Panel
    films: Mapping[str, Film]
    at: tuple[float, float]
    patterns: Mapping[str, FilmPattern] = field(default_factory=dict)

    def place(self, geometry: BaseGeometry) -> BaseGeometry:
        """Return a geometry of the panel where it stands on the page."""
        return shapely.transform(geometry, lambda points: points + self.at)

    def colour(self, film: str) -> str:
        """Return a film's colour."""
        return self.films[film].colour

    @cached_property
    def seen(self) -> Mapping[RegionId, BaseGeometry]:
        """What of each region is on the panel's face."""
        return _SEEN.recall((self.plan,), None, lambda: _seen(self.plan))

    @cached_property
    def hidden(self) -> Sequence[tuple[Piece, Region, BaseGeometry]]:
        """Where pieces run on beneath others: the piece, the region over it, and the band."""
        return _HIDDEN.recall((self.plan,), None, lambda: tuple(_hidden(self.plan)))

    @property
    def flow_deg(self) -> float | None:
        """The flow arrow's direction, mirrored where the panel is."""
        flow = self.panel.flow_deg
        return 180.0 - flow if flow is not None and self.plan.is_mirrored else flow


_SEEN: Memory[Mapping[RegionId, BaseGeometry]] = Memory(500)
_RIMS: Memory[BaseGeometry] = Memory(500)
_HIDDEN: Memory[Sequence[tuple[Piece, Region, BaseGeometry]]] = Memory(500)


def _seen(plan: PanelPlan) -> Mapping[RegionId, BaseGeometry]:
    shapely.prepare(plan.outline)
    return {
        region.id: region.polygon
        if plan.outline.covers(region.polygon)
        else shapely.intersection(region.polygon, plan.outline)
        for region in plan.regions
    }


def _hidden(plan: PanelPlan) -> Iterator[tuple[Piece, Region, BaseGeometry]]:
    regions = {region.id: region for region in plan.regions}
    for piece in plan.pieces:
        for region, band in hidden_bands(piece, regions):
            yield piece, region, band


def paint_panel(page: Page, art: PanelArt, progress: Progress | None = None) -> None:
    """Paint a panel, from what lies lowest to what must be read; Cancelled when stopped."""
    for paint in (
        *(_paint_films, _paint_patterns, _paint_laps, _paint_seams, _paint_reliefs),
        *(_paint_rims, _paint_marks, _paint_numbers),
    ):
        stop_if_cancelled(progress or Silent())
        paint(page, art)


def _paint_films(page: Page, art: PanelArt) -> None:
    """Fill regions; what is turned round a rim is paler."""
    if not art.plan.regions:
        page.area(art.place(art.plan.outline), FAINT)
    for region in art.plan.regions:
        colour = art.colour(region.film)
        page.area(art.place(region.polygon), mix(mix(colour, PAPER, 0.6), DARK, 0.05))
        page.area(art.place(art.seen[region.id]), colour, source=str(region.id))


def _paint_patterns(page: Page, art: PanelArt) -> None:
    """Spread the films' signs over what is seen of them on the panel's face."""
    for region in art.plan.regions:
        pattern = art.patterns.get(region.film, FilmPattern.PLAIN)
        if pattern is not FilmPattern.PLAIN:
            signs = pattern_lines(art.place(art.seen[region.id]), pattern, page.unit)
            page.line(signs, pattern_ink(art.colour(region.film)))


def _paint_laps(page: Page, art: PanelArt) -> None:
    """Hatch what lies beneath a top film, in the under film's colour."""
    for piece, region, band in art.hidden:
        ground = art.colour(region.film)
        lines = hatch_lines(art.place(band), hatch_spacing(page.unit), HATCH_DEG)
        page.line(lines, apart(art.colour(piece.film), ground), 0.13)


def hatch_spacing(unit: float) -> float:
    """Return how far apart hatch lines stand, in mm."""
    return 0.42 * unit


def hidden_bands(
    piece: Piece, regions: Mapping[RegionId, Region]
) -> list[tuple[Region, BaseGeometry]]:
    """Return where a piece runs on beneath others: the region that covers it, and the band."""
    others = [region for name, region in regions.items() if name not in piece.regions]
    shapely.prepare(piece.final)
    near = shapely.intersects(piece.final, [region.polygon for region in others])
    met = [region for region, is_near in zip(others, near.tolist(), strict=True) if is_near]
    bands = shapely.intersection(piece.final, [region.polygon for region in met])
    return [
        (region, band)
        for region, band in zip(met, bands, strict=True)
        if band.area > _EMPTY_MM2
    ]


def _paint_rims(page: Page, art: PanelArt) -> None:
    rims = _RIMS.recall((art.plan,), None, lambda: _turned_rims(art.plan))
    page.line(art.place(rims), SOFT, 0.1, (0.6, 0.4))
    page.frame(art.place(art.plan.outline), DARK, 0.16)


def _turned_rims(plan: PanelPlan) -> BaseGeometry:
    """Return the ends of what is turned round a panel's rims; empty where nothing is."""
    if shapely.difference(plan.extended, plan.outline).area <= _EMPTY_MM2:
        return LineString()
    return shapely.difference(plan.extended.boundary, plan.outline.boundary.buffer(0.05))


def _paint_seams(page: Page, art: PanelArt) -> None:
    """Draw seams and match ticks, dark with a light rim so that they show on any film."""
    for stretch in art.plan.stretches:
        path = art.place(shapely.line_merge(stretch.path))
        page.line(path, LIGHT, 0.34)
        page.line(path, DARK, 0.15, SEAM_DASHES[stretch.cut], source=stretch.id)
    for piece in art.plan.pieces:
        for tick in piece.map_ticks:
            page.line(art.place(tick), LIGHT, 0.26)
            page.line(art.place(tick), DARK, 0.12)


def _paint_reliefs(page: Page, art: PanelArt) -> None:
    for piece in art.plan.pieces:
        for cut in piece.relief_cuts:
            draw_relief(page, art.place(cut.path), str(cut.line))


def draw_relief(page: Page, path: BaseGeometry, source: str = "") -> None:
    """Draw a relief cut: bold dashes, and a ring at its inner end."""
    page.line(path, LIGHT, 0.46)
    page.line(path, DARK, 0.26, _RELIEF_DASH, source=source)
    x, y = shapely.get_coordinates(path)[-1].tolist()
    page.disc((x, y), _RELIEF_END * page.unit, page.look(LIGHT, DARK, 0.14))


def _paint_marks(page: Page, art: PanelArt) -> None:
    for mark in art.panel.marks:
        _paint_mark(page, art, mark)


def _paint_mark(page: Page, art: PanelArt, mark: Mark) -> None:
    points = [_on_page(art, p) for p in mark.path]
    if len(points) > 1:
        page.line(LineString(points), LIGHT, 0.5)
        page.line(LineString(points), DARK, 0.16, (0.2, 0.4))
        return
    x, y = points[0]
    radius = max(mark.radius_mm, 0.45 * page.unit)
    page.disc((x, y), radius, page.look(PAPER, DARK, 0.1))
    for line in _sign(mark.kind, x, y, radius * 0.6):
        page.polyline(line, DARK, 0.1)


def _sign(kind: MarkKind, x: float, y: float, r: float) -> list[list[tuple[float, float]]]:
    """Return the strokes of a mark's sign: a cross for a bolt, and so on."""
    upright = [[(x - r, y), (x + r, y)], [(x, y - r), (x, y + r)]]
    slanted = [[(x - r, y - r), (x + r, y + r)], [(x - r, y + r), (x + r, y - r)]]
    square = [[(x - r, y - r), (x + r, y - r), (x + r, y + r), (x - r, y + r), (x - r, y - r)]]
    level = [[(x - r, y), (x + r, y)]]
    return {
        MarkKind.BOLT: upright,
        MarkKind.DAMAGE: slanted,
        MarkKind.BADGE: square,
        MarkKind.RECESS: level,
        MarkKind.RIDGE: level,
    }[kind]


def _on_page(art: PanelArt, point: tuple[float, float]) -> tuple[float, float]:
    x = -point[0] if art.plan.is_mirrored else point[0]
    return (x + art.at[0], point[1] + art.at[1])


def _paint_numbers(page: Page, art: PanelArt) -> None:
    """Put each piece's place in the lay order on each region that it shows."""
    wall = BadgeWall(art.place(art.plan.outline), BADGE * page.unit)
    for mark in art.panel.marks:
        wall.keep_off(art.place(_mark_area(art, mark)))
    for piece in art.plan.pieces:
        for cut in piece.relief_cuts:
            wall.keep_off(art.place(cut.path.buffer(_RELIEF_END * page.unit)))
    for piece in art.plan.pieces:
        for name in piece.regions:
            seen = art.seen[name]
            if seen.area > _EMPTY_MM2:
                badge(page, wall.hang(art.place(seen), name), str(piece.order))


def _mark_area(art: PanelArt, mark: Mark) -> BaseGeometry:
    path = LineString(mark.path) if len(mark.path) > 1 else Point(mark.path[0])
    area = path.buffer(max(mark.radius_mm, 1.0), quad_segs=4)
    return affine_transform(area, (-1, 0, 0, 1, 0, 0)) if art.plan.is_mirrored else area


def badge(page: Page, at: tuple[float, float], number: str) -> None:
    """Draw a lay-order number in its disc."""
    unit = page.unit
    page.disc(at, BADGE * unit, page.look(LIGHT, DARK, 0.12))
    height = 0.85 if len(number) < 3 else 0.6
    page.text(number, (at[0], at[1] - height * unit / 2), height, anchor="middle", is_bold=True)


def paint_flow(page: Page, middle: tuple[float, float], angle_deg: float) -> None:
    """Draw a flow arrow."""
    arrow = arrow_shape(PICTURE.name, middle, 1.8 * page.unit, angle_deg)
    look = Look(stroke=SOFT, width_mm=0.16 * page.unit, is_round=True)
    page.shapes.append(Shape(PICTURE.name, arrow.runs, "", look))
