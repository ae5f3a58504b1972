"""The physical panels that a drawn panel stands for: copies, and the other of a pair."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import TypeVar

import shapely
from shapely import Polygon
from shapely.affinity import affine_transform

from core.document.panel import Panel
from core.ids import CopyId, PieceId, RegionId
from core.plan.cutting import ReliefCut
from core.plan.film_shape import Ground
from core.plan.memory import Memory
from core.plan.model import Finding, LabelledRing, PanelPlan, Piece, Region, Stretch, TapeRun
from core.plan.side_words import swapped

G = TypeVar("G", bound=shapely.Geometry)

MIRROR_X = (-1.0, 0.0, 0.0, 1.0, 0.0, 0.0)


@dataclass(frozen=True, slots=True)
class Copy:
    """One physical panel.

    Attributes:
        suffix: what its name has behind the panel's, such as "left" or "(2) right".
        side: "left" or "right" of a pair, else None.
    """

    id: CopyId
    suffix: str
    side: str | None

    def name_of(self, panel: Panel) -> str:
        """Return what this physical panel is called."""
        return f"{panel.name} {self.suffix}".strip()

    def label_of(self, panel: Panel, order: int, count: int) -> str:
        """Return what is written on one of the panel's pieces; a sole one needs no number."""
        return f"{self.name_of(panel)} {order}" if count > 1 else self.name_of(panel)

    @property
    def is_mirrored(self) -> bool:
        """Whether it is the mirrored one of a pair."""
        return self.side == "right"


def copies_of(panel: Panel) -> tuple[Copy, ...]:
    """Return the physical panels, the one as drawn first."""
    return tuple(_iter_copies(panel))


def _iter_copies(panel: Panel) -> Iterator[Copy]:
    for number in range(1, panel.count + 1):
        numbered = f".{number}" if panel.count > 1 else ""
        words = [f"({number})"] if panel.count > 1 else []
        if panel.is_pair:
            for letter, side in (("L", "left"), ("R", "right")):
                yield Copy(
                    CopyId(f"{panel.id}{numbered}{letter}"), " ".join([*words, side]), side
                )
        else:
            yield Copy(CopyId(f"{panel.id}{numbered}"), " ".join(words), None)


_copied: Memory[PanelPlan] = Memory(800)


def as_copy(plan: PanelPlan, panel: Panel, copy: Copy) -> PanelPlan:
    """Return the plan of another copy of the panel: renamed, mirrored if it must be."""
    return _copied.recall(
        (plan,), (panel.name, copy), lambda: _Copier(plan, panel, copy).plan()
    )


@dataclass(frozen=True, slots=True)
class _Copier:
    source: PanelPlan
    panel: Panel
    copy: Copy

    def plan(self) -> PanelPlan:
        return replace(
            self.source,
            id=self.copy.id,
            name=self.copy.name_of(self.panel),
            side=self.copy.side,
            is_mirrored=self.copy.is_mirrored,
            outline=self._polygon(self.source.outline),
            extended=self._polygon(self.source.extended),
            regions=tuple(self._region(r) for r in self.source.regions),
            stretches=tuple(self._stretch(s) for s in self.source.stretches),
            pieces=tuple(self._piece(p) for p in self.source.pieces),
            tape_runs=tuple(self._tape_run(t) for t in self.source.tape_runs),
            findings=(),
        )

    def _id(self, of_source: str) -> str:
        return self.copy.id + of_source.removeprefix(self.source.id)

    def _moved(self, geometry: G) -> G:
        if not self.copy.is_mirrored:
            return geometry
        moved: G = affine_transform(geometry, MIRROR_X)
        return moved

    def _polygon(self, polygon: Polygon) -> Polygon:
        if not self.copy.is_mirrored:
            return polygon
        oriented: Polygon = shapely.orient_polygons(self._moved(polygon))
        return oriented

    def _ring(self, ring: LabelledRing) -> LabelledRing:
        if not self.copy.is_mirrored:
            return ring
        points = ring.points[::-1] * (-1.0, 1.0)
        return LabelledRing(points, ring.sources[-2::-1] + ring.sources[-1:])

    def _region(self, region: Region) -> Region:
        return replace(
            region,
            id=RegionId(self._id(region.id)),
            polygon=self._polygon(region.polygon),
            rings=tuple(self._ring(r) for r in region.rings),
        )

    def _stretch(self, stretch: Stretch) -> Stretch:
        return replace(
            stretch,
            top=RegionId(self._id(stretch.top)),
            under=RegionId(self._id(stretch.under)),
            # Mirroring swaps left and right: reversed, what lay on the left still does.
            path=shapely.reverse(self._moved(stretch.path))
            if self.copy.is_mirrored
            else stretch.path,
        )

    def _piece(self, piece: Piece) -> Piece:
        mirrored = self.copy.is_mirrored
        flow = 180.0 - piece.flow_deg if mirrored else piece.flow_deg
        return replace(
            piece,
            id=PieceId(self._id(piece.id)),
            panel=self.copy.id,
            label=self.copy.label_of(self.panel, piece.order, len(self.source.pieces)),
            regions=tuple(RegionId(self._id(r)) for r in piece.regions),
            final=self._polygon(piece.final),
            flow_deg=flow,
            spec=replace(piece.spec, grain_deg=flow),
            seam_paths=tuple(self._moved(p) for p in piece.seam_paths),
            ground=self._ground(piece.ground),
            relief_cuts=tuple(self._relief_cut(cut) for cut in piece.relief_cuts),
        )

    def _relief_cut(self, cut: ReliefCut) -> ReliefCut:
        start = swapped(cut.start) if self.copy.is_mirrored else cut.start
        return replace(cut, path=self._moved(cut.path), start=start)

    def _ground(self, ground: Ground | None) -> Ground | None:
        if ground is None or not self.copy.is_mirrored:
            return ground
        return replace(ground, is_mirrored=True)

    def _tape_run(self, run: TapeRun) -> TapeRun:
        return replace(run, piece=PieceId(self._id(run.piece)), path=self._moved(run.path))


def place_findings(findings: tuple[Finding, ...], copy: CopyId) -> tuple[Finding, ...]:
    """Say on which panel the findings are."""
    return tuple(replace(f, panel=copy) for f in findings)
