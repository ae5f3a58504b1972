"""Regions: the faces of the extended panel, each with its film and a lasting name."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import STRtree

from core.document.lines import Inlay, PaintSpot, Seam, Side, Stripe
from core.document.panel import Panel
from core.document.variant import Scheme
from core.geometry.arrangement import Arrangement, Border, Cutter, split
from core.ids import CopyId, FilmId, RegionId
from core.plan.model import (
    Finding,
    LabelledRing,
    Region,
    Severity,
    Source,
    SourceKind,
)
from core.plan.panel_shape import PanelShape
from core.plan.traced_line import TracedLine

_KINDS = {Seam: SourceKind.SEAM, Stripe: SourceKind.STRIPE, Inlay: SourceKind.INLAY}


@dataclass(frozen=True, slots=True)
class RegionMap:
    """The regions of a panel and the borders between them.

    Attributes:
        borders: borders whose face indices are positions in ``regions``.
        cutting: the lines that the borders' cutter numbers stand for.
    """

    regions: tuple[Region, ...]
    borders: tuple[Border, ...]
    cutting: tuple[TracedLine, ...]
    arrangement: Arrangement
    findings: tuple[Finding, ...]


def map_regions(
    panel: Panel, copy: CopyId, scheme: Scheme, shape: PanelShape, traced: Sequence[TracedLine]
) -> RegionMap:
    """Split the extended panel by its lines and give each face its film and id."""
    cutting = tuple(t for t in traced if t.cutter is not None)
    sources = list(shape.sources)
    cutters = []
    for line in cutting:
        kind = _KINDS[type(line.line)]
        cutters.append(Cutter(_points(line), len(sources), len(sources) + 1))
        sources += [
            Source(kind, line.line.id, Side.LEFT),
            Source(kind, line.line.id, Side.RIGHT),
        ]
    made = split(shape.extended, list(shape.rim_codes), cutters)
    films, findings = _films(panel, scheme, made, cutting)
    ids = _ids(copy, made, sources)
    regions = tuple(
        Region(
            ids[i],
            films[i],
            face,
            tuple(
                LabelledRing(r.points, tuple(sources[c] for c in r.codes.tolist()))
                for r in made.rings[i]
            ),
        )
        for i, face in enumerate(made.faces)
    )
    return RegionMap(regions, made.borders, cutting, made, tuple(findings))


def _points(line: TracedLine) -> NDArray[np.float64]:
    assert line.cutter is not None
    return line.cutter


def _films(
    panel: Panel, scheme: Scheme, made: Arrangement, cutting: Sequence[TracedLine]
) -> tuple[list[FilmId], list[Finding]]:
    """Give each face the film of its spot, else of the last area over it, else the base."""
    films = [FilmId(panel.base_film)] * len(made.faces)
    faces = np.array(made.faces, dtype=object)
    inside = shapely.point_on_surface(faces)
    for line in cutting:
        if isinstance(line.line, Stripe | Inlay) and line.area is not None:
            shapely.prepare(line.area)
            for i in np.flatnonzero(shapely.contains(line.area, inside)).tolist():
                films[i] = FilmId(line.line.film)
    findings: list[Finding] = []
    spotted: dict[int, PaintSpot] = {}
    if scheme.spots:
        places = shapely.points([s.at for s in scheme.spots])
        hits: dict[int, int] = {}
        pairs = STRtree(faces).query(places, predicate="intersects")
        for spot, face in zip(*pairs.tolist(), strict=True):
            hits.setdefault(spot, face)
        for i, spot_value in enumerate(scheme.spots):
            if i not in hits:
                findings.append(_lost(spot_value))
                continue
            first = spotted.setdefault(hits[i], spot_value)
            films[hits[i]] = FilmId(first.film)
            if first.film != spot_value.film:
                findings.append(_contested(spot_value))
    return films, findings


def _lost(spot: PaintSpot) -> Finding:
    text = (
        "A colour lies off the panel and paints nothing. Paint the region again, or delete it."
    )
    return Finding("A302", Severity.WARNING, text, where=spot.at)


def _contested(spot: PaintSpot) -> Finding:
    text = "Two colours lie in one region; the earlier one holds. Paint the region again."
    return Finding("A301", Severity.WARNING, text, where=spot.at)


def _ids(copy: CopyId, made: Arrangement, sources: list[Source]) -> list[RegionId]:
    """Name each face after the line sides around it; alike ones are told apart by their rim."""
    order = {s: i for i, s in enumerate(sources)}
    groups: dict[str, list[tuple[tuple[str, ...], float, float, int]]] = defaultdict(list)
    for i, rings in enumerate(made.rings):
        codes = np.unique(np.concatenate([r.codes for r in rings]))
        around = [sources[c] for c in codes.tolist()]
        sides = sorted((s for s in around if s.side), key=order.__getitem__)
        name = (
            "-".join(f"{s.id}{'L' if s.side is Side.LEFT else 'R'}" for s in sides) or "whole"
        )
        rim = tuple(sorted(s.id for s in around if not s.side))
        x, y, *_ = made.faces[i].bounds
        groups[name].append((rim, round(x, 3), round(y, 3), i))
    ids = [RegionId("")] * len(made.faces)
    for name, members in groups.items():
        for number, (*_, i) in enumerate(sorted(members), 1):
            suffix = f".{number}" if number > 1 else ""
            ids[i] = RegionId(f"{copy}.{name}{suffix}")
    return ids
