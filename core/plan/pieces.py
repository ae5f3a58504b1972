"""Pieces: each region with its laps, and the tape runs along its seams."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

from core.document.film import Film
from core.document.job import Settings
from core.document.lines import SeamCut
from core.document.panel import Panel, Trim
from core.ids import PieceId, RegionId
from core.plan.copies import Copy
from core.plan.cutting import CutSpec
from core.plan.memory import Memory
from core.plan.model import Piece, Region, Stretch, TapeRun
from core.plan.stacking import Stacking
from core.plan.tries import planned_tries

ARC_STEPS = 16
"""Segments a quarter circle in lap bands; with GEOS's own simplification of curved input a lap
is at most 1.2 % short where its seam bends (0.1 mm of 8), and exact where it is straight."""

PINHOLE_MM2 = 1e-3

GRID_MM = 1e-6
"""Grid to which pieces are joined: far above rounding, far below all that is drawn."""


def lap_bands(stretches: Sequence[Stretch]) -> NDArray[np.object_]:
    """Return for each stretch the area within its lap width, on both sides of the border."""
    paths = np.array([s.path for s in stretches], dtype=object)
    bands: NDArray[np.object_] = shapely.buffer(
        paths, [s.lap_mm for s in stretches], quad_segs=ARC_STEPS
    )
    return bands


def final_shapes(regions: Sequence[Region], stacking: Stacking) -> list[Polygon]:
    """Return the final shape of each group of the stacking: its regions, and film under others.

    Beneath each top region the film reaches every point within the lap of the border, or, where
    the lap is full, all of the region. It is clipped to regions that lie on top of the piece,
    so what is seen stays the region.
    """
    number = {r.id: i for i, r in enumerate(regions)}
    beneath: dict[RegionId, list[Stretch]] = defaultdict(list)
    for stretch in stacking.stretches:
        beneath[stretch.under].append(stretch)
    wkb = shapely.to_wkb(np.array([r.polygon for r in regions], dtype=object))
    finals = []
    for group, above in zip(stacking.groups, stacking.above, strict=True):
        laps = [s for g in group for s in beneath[regions[g].id]]
        full = [number[s.top] for s in laps if s.is_full]
        bands = [s for s in laps if not s.is_full and s.lap_mm > 0]
        own = _Own(
            [regions[i].polygon for i in (*group, *full)],
            [regions[i].polygon for i in sorted(above)] if bands else [],
            bands,
        )
        parts = (*group, *full)
        key = (
            tuple(wkb[i] for i in parts),
            frozenset(wkb[i] for i in above) if bands else frozenset(),
            tuple((s.path.wkb, s.lap_mm) for s in bands),
        )
        finals.append(_finals.recall((), key, own.shape))
    return finals


_finals: Memory[Polygon] = Memory(2000)
"""By content: while one seam is dragged, the pieces that it does not touch stay the same."""


@dataclass(frozen=True, slots=True)
class _Own:
    """What a final shape is made of: areas of its own, and bands clipped to a cover."""

    areas: list[Polygon]
    cover: list[Polygon]
    bands: list[Stretch]

    def shape(self) -> Polygon:
        parts: list[shapely.Geometry] = [*self.areas]
        cover = np.array(self.cover, dtype=object)
        for band in lap_bands(self.bands):
            shapely.prepare(band)
            near = cover[shapely.intersects(band, cover)]
            parts += list(shapely.intersection(band, near))
        if len(parts) == 1:
            return self.areas[0]
        pieces = [p for p in shapely.get_parts(parts) if isinstance(p, Polygon)]
        # A band clipped to a region ends on its edge but for rounding. Plain union would leave
        # a slit of no width there, or lose the part, or, once in a great many, an area.
        return _connected(shapely.union_all(pieces, grid_size=GRID_MM), self.areas[0])


def _connected(joined: shapely.Geometry, core: Polygon) -> Polygon:
    """Return the part that holds the region, without pinholes where bands meet.

    A band can reach across a notch into film that the piece does not touch; that part is
    dropped.
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
    copy: Copy,
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
            panel=copy.id,
            label=copy.label_of(panel, order, len(finals)),
            regions=tuple(r.id for r in own),
            film=own[0].film,
            order=order,
            final=final,
            tries=planned_tries(panel, settings),
            flow_deg=flow,
            spec=spec,
            seam_paths=tuple(p for r in own for p in paths[r.id]),
        )
        pieces.append(piece)
    return tuple(pieces)


def tape_runs(stretches: Sequence[Stretch], pieces: Sequence[Piece]) -> tuple[TapeRun, ...]:
    """Return the runs of cutting tape, in the lay order of the pieces cut along them."""
    order = {region: p for p in pieces for region in p.regions}
    runs = [
        TapeRun(s.id, s.line, order[s.top].id, s.path, s.length_mm)
        for s in stretches
        if s.cut is SeamCut.CUTTING_TAPE and s.top in order
    ]
    return tuple(sorted(runs, key=lambda r: (order[RegionId(r.piece)].order, r.stretch)))
