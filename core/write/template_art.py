"""What a template shows: a piece of film to be cut, or a whole panel to mark seams by.

A piece's template is in the frame of its film, laid flat. What stands in the panel's map
(seams, laps, rim, marks) is brought there by ``Piece.on_film``. A panel's is in its map.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import shapely
from shapely import LineString, MultiLineString, Point, Polygon
from shapely.affinity import affine_transform, rotate
from shapely.geometry.base import BaseGeometry

from core.plan.model import JobPlan, PanelPlan, Piece, Stretch
from core.write.hatching import hatch_lines
from core.write.scheme_panel import hidden_bands
from core.write.template_lines import TemplateLine
from core.write.wording import piece_seams, seam_name

_HATCH_MM = 4.0
_NEAR_MM = 0.05
_NAME_AT = 0.38
"""Where along a seam its name stands: off the middle, where ticks and centre lines are."""

Lines = tuple[TemplateLine, BaseGeometry]


@dataclass(frozen=True, eq=False)
class TemplateArt:
    """One thing at true size.

    Attributes:
        label: what is written on it, line by line; the first names it.
        cut: its outline.
        lines: of each kind, those that cover others last.
        seams: names of seams and where they stand.
        flow_deg: direction of the flow arrow; None has none.
        source: id of the piece or the panel.
    """

    label: tuple[str, ...]
    cut: Polygon
    lines: tuple[Lines, ...]
    seams: tuple[tuple[str, Point], ...]
    flow_deg: float | None
    source: str

    @property
    def name(self) -> str:
        """What it is called."""
        return self.label[0]

    @property
    def kinds(self) -> list[TemplateLine]:
        """The kinds of line that it has, in the order of the legend."""
        drawn = {kind for kind, lines in self.lines if not lines.is_empty}
        return [kind for kind in TemplateLine if kind in drawn]


def piece_art(plan: JobPlan, panel: PanelPlan, piece: Piece) -> TemplateArt:
    """Return the template of a piece."""
    return TemplateArt(
        label=(piece.label, plan.job.film(piece.film).name),
        cut=piece.cut,
        lines=tuple(_piece_lines(plan, panel, piece)),
        seams=tuple(
            (name, piece.on_film(spot))
            for name, spot in _named(plan, panel, piece_seams(panel, piece))
        ),
        flow_deg=piece.flow_deg,
        source=str(piece.id),
    )


def panel_art(plan: JobPlan, panel: PanelPlan) -> TemplateArt:
    """Return the template of a panel: its outline, and all that is marked on the part."""
    flow = plan.job.panel(panel.of).flow_deg
    if flow is not None and panel.is_mirrored:
        flow = 180.0 - flow
    return TemplateArt(
        label=(panel.name,),
        cut=panel.outline,
        lines=tuple(_panel_lines(plan, panel, flow or 0.0)),
        seams=tuple(_named(plan, panel, panel.stretches)),
        flow_deg=flow,
        source=str(panel.id),
    )


def _piece_lines(plan: JobPlan, panel: PanelPlan, piece: Piece) -> Iterator[Lines]:
    regions = {region.id: region for region in panel.regions}
    laps = [piece.on_film(band) for _, band in hidden_bands(piece, regions)]
    if laps:
        area = _on_what_is_left(piece, shapely.union_all(laps))
        yield TemplateLine.LAP, hatch_lines(area, _HATCH_MM, 45.0)
    yield TemplateLine.CENTRE, _centre_lines(piece.flat, piece.cut, piece.flow_deg)
    rim = shapely.intersection(panel.outline.boundary, piece.final.buffer(-_NEAR_MM))
    yield TemplateLine.RIM, _on_what_is_left(piece, piece.on_film(_only_lines(rim)))
    yield TemplateLine.MARK, piece.on_film(_marks(plan, panel, piece.final))
    if piece.is_blank:
        yield TemplateLine.TRIM, piece.flat.boundary
    yield TemplateLine.CUT, piece.cut
    yield TemplateLine.RELIEF, _union(_relief_lines(piece))
    seams = _seams(piece_seams(panel, piece), piece.final.buffer(_NEAR_MM))
    yield TemplateLine.SEAM, _on_what_is_left(piece, piece.on_film(seams))
    yield TemplateLine.TICK, MultiLineString(list(piece.ticks))


def _on_what_is_left(piece: Piece, geometry: BaseGeometry) -> BaseGeometry:
    """Return a geometry of the film without what lies in the notches of relief cuts."""
    notches = [r.notch for r in piece.reliefs if r.notch is not None]
    return shapely.difference(geometry, shapely.union_all(notches)) if notches else geometry


def _relief_lines(piece: Piece) -> list[BaseGeometry]:
    """Return the relief cuts that are no part of the outline; of a blank all."""
    if not piece.is_blank:
        return list(piece.inner_cuts)
    return [r.path if r.notch is None else r.notch.exterior for r in piece.reliefs]


def _panel_lines(plan: JobPlan, panel: PanelPlan, flow_deg: float) -> Iterator[Lines]:
    regions = {region.id: region for region in panel.regions}
    laps = [band for piece in panel.pieces for _, band in hidden_bands(piece, regions)]
    if laps:
        area = shapely.intersection(shapely.union_all(laps), panel.outline)
        yield TemplateLine.LAP, hatch_lines(area, _HATCH_MM, 45.0)
    yield TemplateLine.CENTRE, _centre_lines(panel.outline, panel.outline, flow_deg)
    yield TemplateLine.MARK, _marks(plan, panel, panel.outline)
    yield TemplateLine.CUT, panel.outline
    reliefs = [cut.path for piece in panel.pieces for cut in piece.relief_cuts]
    yield TemplateLine.RELIEF, _only_lines(shapely.intersection(_union(reliefs), panel.outline))
    yield TemplateLine.SEAM, _seams(panel.stretches, panel.outline)
    ticks = [tick for piece in panel.pieces for tick in piece.map_ticks]
    yield TemplateLine.TICK, _only_lines(shapely.intersection(_union(ticks), panel.outline))


def _named(
    plan: JobPlan, panel: PanelPlan, stretches: Sequence[Stretch]
) -> Iterator[tuple[str, Point]]:
    """Yield each seam's name with a place on it, in the panel's map."""
    for stretch in stretches:
        part = max(shapely.get_parts(shapely.line_merge(stretch.path)), key=lambda p: p.length)
        yield seam_name(plan, panel, stretch), part.interpolate(_NAME_AT, normalized=True)


def _seams(stretches: Sequence[Stretch], area: Polygon) -> BaseGeometry:
    """Return the seams, as far as they lie in an area."""
    paths = [shapely.line_merge(stretch.path) for stretch in stretches]
    return shapely.line_merge(_only_lines(shapely.intersection(_union(paths), area)))


def _union(lines: Sequence[BaseGeometry]) -> BaseGeometry:
    return shapely.union_all(lines) if lines else MultiLineString()


def _only_lines(geometry: BaseGeometry) -> MultiLineString:
    parts = shapely.get_parts(shapely.get_parts(geometry))
    lines = ("LineString", "LinearRing")
    return MultiLineString([p for p in parts if p.geom_type in lines and not p.is_empty])


def _centre_lines(shape: Polygon, cut: Polygon, flow_deg: float) -> BaseGeometry:
    """Return the lines through the middle of a shape, along its flow and across it."""
    level = rotate(shape, -flow_deg, origin=(0, 0))
    x0, y0, x1, y1 = level.bounds
    x, y = (x0 + x1) / 2, (y0 + y1) / 2
    both = MultiLineString([[(x0, y), (x1, y)], [(x, y0), (x, y1)]])
    turned = rotate(both, flow_deg, origin=(0, 0))
    return _only_lines(shapely.intersection(turned, cut))


def _marks(plan: JobPlan, panel: PanelPlan, area: Polygon) -> BaseGeometry:
    """Return the rims of the marks in an area of the panel's map."""
    side = -1.0 if panel.is_mirrored else 1.0
    rims = []
    for mark in plan.job.panel(panel.of).marks:
        path = LineString(mark.path) if len(mark.path) > 1 else Point(mark.path[0])
        spot = path.buffer(max(mark.radius_mm, 1.0), quad_segs=12)
        rim = affine_transform(spot, (side, 0, 0, 1, 0, 0))
        if area.intersects(rim):
            rims.append(rim.boundary)
    return _union(rims)
