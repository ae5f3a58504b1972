"""Pieces: each region with its laps, and the tape runs along its seams."""

from collections import defaultdict
from collections.abc import Mapping, Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

from core.document.film import Film
from core.document.job import Settings
from core.document.lines import SeamCut
from core.document.panel import Panel, Trim
from core.ids import CopyId, PieceId, RegionId
from core.plan.cutting import CutSpec
from core.plan.model import Piece, Region, Stretch, TapeRun
from core.plan.stacking import Stacking

ARC_STEPS = 16
"""Segments a quarter circle in lap bands: an 8 mm lap is then at most 0.01 mm short."""

PINHOLE_MM2 = 1e-3


def lap_bands(stretches: Sequence[Stretch]) -> NDArray[np.object_]:
    """Return for each stretch the area within its lap width, on both sides; empty for none."""
    paths = np.array([s.path for s in stretches], dtype=object)
    laps = np.array([0.0 if s.is_full else s.lap_mm for s in stretches])
    bands = np.full(len(stretches), Polygon(), dtype=object)
    wide = laps > 0
    bands[wide] = shapely.buffer(paths[wide], laps[wide], quad_segs=ARC_STEPS)
    return bands


def final_shapes(regions: Sequence[Region], stacking: Stacking) -> list[Polygon]:
    """Return the final shape of each group of the stacking: its regions, and film under others.

    Beneath each top region the film reaches every point within the lap of the border, or, where
    the lap is full, all of the region. It is clipped to regions that lie on top of the piece, so
    what is seen stays the region.
    """
    number = {r.id: i for i, r in enumerate(regions)}
    bands = lap_bands(stacking.stretches)
    beneath: dict[RegionId, list[int]] = defaultdict(list)
    for i, stretch in enumerate(stacking.stretches):
        beneath[stretch.under].append(i)
    return [
        _final(
            [regions[i] for i in group],
            [regions[i] for i in sorted(above)],
            [(bands[i], stacking.stretches[i]) for g in group for i in beneath[regions[g].id]],
            regions,
            number,
        )
        for group, above in zip(stacking.groups, stacking.above, strict=True)
    ]


def _final(
    own: list[Region],
    above: list[Region],
    laps: list[tuple[Polygon, Stretch]],
    regions: Sequence[Region],
    number: Mapping[RegionId, int],
) -> Polygon:
    parts: list[shapely.Geometry] = [r.polygon for r in own]
    parts += [regions[number[s.top]].polygon for _, s in laps if s.is_full]
    bands = [b for b, s in laps if not s.is_full and not b.is_empty]
    if bands and above:
        cover = np.array([r.polygon for r in above], dtype=object)
        for band in bands:
            shapely.prepare(band)
            near = cover[shapely.intersects(band, cover)]
            parts += list(shapely.intersection(band, near))
    if len(parts) == 1:
        return own[0].polygon
    joined = shapely.union_all([p for p in shapely.get_parts(parts) if isinstance(p, Polygon)])
    return _connected(joined, own[0].polygon)


def _connected(joined: shapely.Geometry, core: Polygon) -> Polygon:
    """Return the part that holds the region, without pinholes where bands meet.

    A band can reach across a notch into film that the piece does not touch; that part is dropped.
    """
    part: Polygon
    if isinstance(joined, Polygon):
        part = joined
    else:
        inside = core.point_on_surface()
        part = next(p for p in shapely.get_parts(joined) if p.intersects(inside))
    holes = [h for h in part.interiors if Polygon(h).area > PINHOLE_MM2]
    if len(holes) < len(part.interiors):
        part = Polygon(part.exterior, holes)
    oriented: Polygon = shapely.orient_polygons(part)
    return oriented


def make_pieces(
    panel: Panel,
    copy: CopyId,
    regions: Sequence[Region],
    stacking: Stacking,
    films: Mapping[str, Film],
    settings: Settings,
) -> tuple[Piece, ...]:
    """Return the pieces in lay order."""
    finals = final_shapes(regions, stacking)
    taped = {s.top for s in stacking.stretches if s.cut is SeamCut.CUTTING_TAPE}
    paths = defaultdict(list)
    for stretch in stacking.stretches:
        paths[stretch.top].append(stretch.path)
        paths[stretch.under].append(stretch.path)
    flow = panel.flow_deg or 0.0
    pieces = []
    for order, (group, final) in enumerate(zip(stacking.groups, finals, strict=True), 1):
        own = [regions[i] for i in group]
        film = films[own[0].film]
        spec = CutSpec(
            is_blank=panel.trim is Trim.ON_PART or any(r.id in taped for r in own),
            inside_radius_mm=film.min_inside_radius_mm,
            grip_mm=settings.grip_mm,
            blank_step_mm=settings.blank_step_mm,
            grain_deg=flow,
            tick_spacing_mm=settings.tick_spacing_mm,
        )
        piece = Piece(
            id=PieceId(own[0].id),
            panel=copy,
            label=f"{panel.name} {order}",
            regions=tuple(r.id for r in own),
            film=own[0].film,
            order=order,
            final=final,
            tries=panel.tries or settings.tries,
            flow_deg=flow,
            spec=spec,
            seam_paths=tuple(p for r in own for p in paths[r.id]),
        )
        pieces.append(piece)
    return tuple(pieces)


def tape_runs(stretches: Sequence[Stretch], pieces: Sequence[Piece]) -> tuple[TapeRun, ...]:
    """Return the runs of cutting tape, in the lay order of the pieces that are cut along them."""
    order = {region: p for p in pieces for region in p.regions}
    runs = [
        TapeRun(s.id, s.line, order[s.top].id, s.path, s.length_mm)
        for s in stretches
        if s.cut is SeamCut.CUTTING_TAPE and s.top in order
    ]
    return tuple(sorted(runs, key=lambda r: (order[RegionId(r.piece)].order, r.stretch)))
