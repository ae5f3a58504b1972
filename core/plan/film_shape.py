"""The film of a piece, laid flat: what becomes of its final shape on a curved panel.

A plan stays in the panel's flat map. What is cut off the roll is the film that covers that
area of the part; on a flat panel it is the area itself. Developing takes a while, so it is done
when somebody asks, and remembered by surface and area. What it needs is loaded then, too: jobs
of flat panels start without it.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, TypeVar

import shapely
from shapely import LineString, Polygon

from core.document.surface import ScannedSurface
from core.document.surface import Surface as Recorded
from core.errors import GeometryError
from core.ids import LineId
from core.plan.cutting import FilmRelief, ReliefCut
from core.plan.memory import Memory
from core.shape.mirroring import mirrored_development, mirrored_points, mirrored_polygon
from core.shape.model import Development, Network

if TYPE_CHECKING:
    from core.shape.surface import CurvedSurface, FlatSurface

G = TypeVar("G", bound=shapely.Geometry)

CLOSES_MM = 1.0
"""The banks of a relief cut may overlie each other by this: film gives as much when laid."""

FINE_MM = 5.0
"""Lines are bent at least this often where they are carried over to the film."""


@dataclass(frozen=True)
class Ground:
    """What a panel's pieces are laid on.

    Attributes:
        recorded: what was measured or scanned on the panel as drawn.
        scan: the scan's network, where it is one and there.
        is_mirrored: whether this is the mirrored one of a pair.
    """

    recorded: Recorded
    scan: Network | None = None
    is_mirrored: bool = False

    @cached_property
    def surface(self) -> "FlatSurface | CurvedSurface":
        """The surface of the panel as drawn."""
        from core.shape.surface import surface_of  # noqa: PLC0415 - see the module's docstring

        if isinstance(self.recorded, ScannedSurface) and self.scan is not None:
            return surface_of(self.recorded, {self.recorded.file: self.scan})
        return surface_of(self.recorded)

    def drawn(self, final: Polygon) -> Polygon:
        """Return a shape on the panel as drawn.

        In a normal form, so that both of a pair have the same film, only mirrored.
        """
        drawn: Polygon = shapely.normalize(
            mirrored_polygon(final) if self.is_mirrored else final
        )
        return drawn

    def drawn_cuts(self, cuts: tuple[ReliefCut, ...]) -> tuple[LineString, ...]:
        """Return where relief cuts run on the panel as drawn."""
        if not self.is_mirrored:
            return tuple(cut.path for cut in cuts)
        return tuple(shapely.transform(cut.path, mirrored_points) for cut in cuts)

    def film_of(self, final: Polygon, cuts: tuple[ReliefCut, ...] = ()) -> "FilmShape":
        """Return the film of a final shape with relief cuts, in the frame of this panel."""
        surface = self.surface
        if surface.network is None:
            return _AS_DRAWN
        drawn, paths = self.drawn(final), self.drawn_cuts(cuts)
        key = (drawn.wkb, tuple(p.wkb for p in paths), tuple((c.line, c.name) for c in cuts))
        film = _films.recall((surface,), key, lambda: _developed(surface, drawn, cuts, paths))
        if self.is_mirrored and film.development is not None:
            return _mirrored.recall((film,), None, lambda: _mirror(film))
        return film


@dataclass(frozen=True, eq=False)
class FilmShape:
    """The film of one piece, flat.

    Attributes:
        development: None where the film is the final shape itself.
        refusal: why it cannot be laid flat in one piece, or "".
        closes: the relief cut along which it would overlie itself.
    """

    development: Development | None = None
    refusal: str = ""
    closes: LineId | None = None

    def reliefs(self, cuts: tuple[ReliefCut, ...]) -> tuple[FilmRelief, ...]:
        """Return what becomes of the piece's relief cuts in its film."""
        if self.development is None:
            return tuple(FilmRelief(cut, cut.path) for cut in cuts)
        return tuple(
            FilmRelief(
                cut,
                LineString(made.middle),
                made.notch if made.is_open else None,
                made.opening_mm,
            )
            for cut, made in zip(cuts, self.development.cuts, strict=True)
        )


_AS_DRAWN = FilmShape()
_films: Memory[FilmShape] = Memory(600)
_mirrored: Memory[FilmShape] = Memory(300)


def _developed(
    surface: "CurvedSurface",
    final: Polygon,
    cuts: tuple[ReliefCut, ...],
    paths: tuple[LineString, ...],
) -> FilmShape:
    try:
        development = surface.develop(final, cuts=paths)
    except GeometryError as error:
        return FilmShape(refusal=error.sentence())
    for cut, made in zip(cuts, development.cuts, strict=True):
        if made.closing_mm > CLOSES_MM:
            return FilmShape(refusal=_closes(cut, made.closing_mm), closes=cut.line)
    return FilmShape(development)


def _closes(cut: ReliefCut, closing_mm: float) -> str:
    return (
        f"Along {cut.name} the film would overlie itself by {closing_mm:.1f} mm. A relief cut"
        " helps where film bunches, and runs straight in from the rim: move it there, delete"
        " it, or divide the film with a seam."
    )


def _mirror(film: FilmShape) -> FilmShape:
    assert film.development is not None
    return FilmShape(mirrored_development(film.development))


def on_film(development: Development | None, geometry: G) -> G:
    """Return where a geometry of the map lies on the flat film, straight runs bent along."""
    if development is None:
        return geometry
    from core.shape.developing import to_film  # noqa: PLC0415 - see the module's docstring

    fine = shapely.segmentize(geometry, FINE_MM)
    moved: G = shapely.transform(fine, lambda points: to_film(development, points))
    return moved


def ground_of(recorded: Recorded | None, scans: Mapping[str, Network]) -> Ground | None:
    """Return what the pieces of a panel are laid on; None where it is flat."""
    if recorded is None:
        return None
    scan = scans.get(recorded.file) if isinstance(recorded, ScannedSurface) else None
    return Ground(recorded, scan)
