"""Edits of outlines and of whole panels by measures: what lies on the panel follows.

A ring of a panel is named by the panel's id (its outline) or by an opening's.
"""

from collections.abc import Callable, Collection
from dataclasses import dataclass
from itertools import combinations

import shapely
from msgspec.structs import replace
from shapely import Polygon

from core.document import measures, shaping
from core.document.edits.accept import accept
from core.document.edits.panels import replace_panel
from core.document.edits.variants import replace_scheme
from core.document.job import Job
from core.document.kept_symmetry import keep_symmetric
from core.document.panel import Opening, Panel
from core.document.path import Path, Point
from core.document.placing import (
    Placing,
    angle_of,
    mirrored,
    place_panel,
    place_scheme,
    scaled,
    turned,
)
from core.document.shaping import chain_of, find_node
from core.errors import EditRefused
from core.geometry.boolean_paths import flat_ring
from core.geometry.path_offset import Corners
from core.units import Units


@dataclass(frozen=True, slots=True)
class Axis:
    """A line to mirror about, in the panel's frame: a point of it and its angle to x."""

    through: Point
    angle_deg: float


def find_ring(panel: Panel, ring: str) -> Path:
    """Return the outline or an opening of a panel; KeyError when it has none of that id."""
    if ring == panel.id:
        return panel.outline
    for opening in panel.openings:
        if opening.id == ring:
            return opening.nodes
    raise KeyError(ring)


def middle_axis(panel: Panel, *, is_level: bool) -> Axis:
    """Return the axis through a panel's middle, level or upright."""
    return Axis(measures.ring_middle(panel.outline), 0.0 if is_level else 90.0)


def axis_between(panel: Panel, first: str, last: str) -> Axis:
    """Return the axis through two nodes of the outline."""
    a, b = (complex(*panel.outline[find_node(panel.outline, n)].at) for n in (first, last))
    if abs(b - a) < 1e-6:
        raise EditRefused("An axis needs two different places.", mend="Choose two nodes.")
    return Axis((a.real, a.imag), angle_of(b - a))


def place_whole(job: Job, panel: str, placing: Placing) -> Job:
    """Move a panel within its frame with all its lines and spots, in every variant.

    Raises:
        EditRefused: something would come to lie farther away than a job can hold.
    """
    job = replace_panel(job, place_panel(job.panel(panel), placing))
    for variant in job.variants:
        scheme = job.scheme(variant.id, panel)
        if scheme.lines or scheme.spots:
            job = replace_scheme(job, variant.id, accept(place_scheme(scheme, placing)))
    return job


def mirror_panel(job: Job, panel: str, axis: Axis) -> Job:
    """Mirror a panel with all that is drawn on it; the same films stay on top."""
    return place_whole(job, panel, mirrored(axis.through, axis.angle_deg))


def rotate_panel(job: Job, panel: str, angle_deg: float) -> Job:
    """Turn a panel with all that is drawn on it about its middle, counter-clockwise."""
    middle = measures.ring_middle(job.panel(panel).outline)
    return place_whole(job, panel, turned(middle, angle_deg))


def rotate_to_flow(job: Job, panel: str, wanted_deg: float = 0.0) -> Job:
    """Turn a panel with all that is drawn on it so that its flow arrow points as wanted.

    Raises:
        EditRefused: the panel has no flow arrow.
    """
    flow = job.panel(panel).flow_deg
    if flow is None:
        raise EditRefused(
            "Air flows over this panel in no set direction.",
            where=job.panel(panel).name,
            mend="Choose one under Air flows first.",
        )
    return rotate_panel(job, panel, wanted_deg - flow)


def scale_panel(job: Job, panel: str, across: float, upright: float) -> Job:
    """Scale a panel with all that is drawn on it; typed widths and radii stay.

    The least corner of the rectangle round it stays where it is.
    """
    for factor in (across, upright):
        if not 1e-3 <= factor <= 1e3:
            raise EditRefused(
                "The panel would change its size more than a thousandfold.",
                mend="Check the measure and its unit.",
            )
    outline = job.panel(panel).outline
    middle, size = measures.ring_middle(outline), measures.ring_size(outline)
    corner = middle[0] - size[0] / 2, middle[1] - size[1] / 2
    return place_whole(job, panel, scaled(corner, across, upright))


def scale_to_length(
    job: Job, panel: str, nodes: tuple[str, str], length_mm: float, *, is_along: bool
) -> Job:
    """Scale a panel so that the length between two nodes of its outline is as measured.

    Args:
        job: the job.
        panel: the panel.
        nodes: the first and the last node.
        length_mm: as measured on the part.
        is_along: along the outline from first to last, else straight across.
    """
    _positive(length_mm)
    now = measures.length_between(job.panel(panel).outline, *nodes, is_along=is_along)
    if now < 1e-6:
        raise EditRefused("These two nodes lie on one spot.", mend="Choose two others.")
    return scale_panel(job, panel, length_mm / now, length_mm / now)


def scale_to_size(job: Job, panel: str, width_mm: float | None, height_mm: float | None) -> Job:
    """Scale a panel to the width and height measured over the surface; None keeps one."""
    size = measures.ring_size(job.panel(panel).outline)
    factors = []
    for wanted, now in ((width_mm, size[0]), (height_mm, size[1])):
        if wanted is None:
            factors.append(1.0)
            continue
        _positive(wanted)
        factors.append(wanted / now)
    return scale_panel(job, panel, factors[0], factors[1])


def set_length_of_edge(job: Job, panel: str, ring: str, edge: str, length_mm: float) -> Job:
    """Give an edge a typed length: its end node moves along its direction, the rest stays."""
    return change_ring(
        job, panel, ring, lambda path: measures.set_edge_length(path, edge, length_mm)
    )


def round_corners(
    job: Job, panel: str, ring: str, nodes: Collection[str] | None, radius_mm: float
) -> Job:
    """Round corners of a ring by a radius; None rounds all."""
    units: Units = job.units
    return change_ring(
        job, panel, ring, lambda path: shaping.round_corners(path, nodes, radius_mm, units)
    )


def offset_outline(job: Job, panel: str, distance_mm: float, corners: Corners) -> Job:
    """Move a panel's whole outline outward by a distance; negative moves it inward."""
    return change_ring(
        job, panel, panel, lambda path: shaping.offset_path(path, distance_mm, corners)
    )


def straighten_outline(job: Job, panel: str, ring: str, first: str, last: str) -> Job:
    """Make a ring straight from one node to another."""
    return change_ring(job, panel, ring, lambda path: shaping.straighten(path, first, last))


def simplify_outline(job: Job, panel: str, ring: str, tolerance_mm: float) -> tuple[Job, float]:
    """Take nodes out of a ring; return the job and how far the new ring strays, mm."""
    path = find_ring(job.panel(panel), ring)
    fresh, off = shaping.simplify_ring(path, tolerance_mm)
    if fresh is path:
        return job, 0.0
    return change_ring(job, panel, ring, lambda _: fresh), off


def align_nodes(job: Job, panel: str, ring: str, nodes: list[str], *, is_level: bool) -> Job:
    """Put nodes of a ring in line with the first of them."""
    return change_ring(
        job, panel, ring, lambda path: measures.align_nodes(path, nodes, is_level=is_level)
    )


def weld_nodes(job: Job, panel: str, ring: str, first: str, second: str) -> Job:
    """Make two neighbouring nodes of a ring one."""
    return change_ring(job, panel, ring, lambda path: measures.weld_nodes(path, first, second))


def change_ring(job: Job, panel: str, ring: str, change: Callable[[Path], Path]) -> Job:
    """Give a panel another ring, unless that breaks what was sound.

    Raises:
        EditRefused: the ring would cross itself, or an opening would not lie inside any more.
    """
    old = job.panel(panel)
    fresh = change(find_ring(old, ring))
    made = replace(old, outline=fresh) if ring == panel else _with_opening(old, ring, fresh)
    made = keep_symmetric(old, made)
    refuse_broken(old, made)
    return replace_panel(job, made)


def _with_opening(panel: Panel, opening: str, nodes: Path) -> Panel:
    openings = tuple(replace(o, nodes=nodes) if o.id == opening else o for o in panel.openings)
    return replace(panel, openings=openings)


def refuse_broken(old: Panel, made: Panel) -> None:
    """Refuse a panel that an edit would make unusable where it was usable before."""
    was, now = _area(old.outline), _area(made.outline)
    if now is None and was is not None:
        raise EditRefused(
            "The outline would cross or touch itself.", where=old.name, mend="Choose less."
        )
    before = {o.id: o for o in old.openings}
    for opening in made.openings:
        hole = _area(opening.nodes)
        if hole is None or now is None:
            if opening.id in before and _area(before[opening.id].nodes) is not None:
                raise EditRefused(f"{opening_name(opening)} would cross itself.")
            continue
        if not now.contains_properly(hole) and _was_inside(was, before.get(opening.id)):
            raise EditRefused(
                f"{opening_name(opening)} would not lie inside the outline any more.",
                where=old.name,
                mend="Move or delete it first.",
            )
    _refuse_meeting(old, made)


def _was_inside(body: Polygon | None, opening: Opening | None) -> bool:
    if opening is None or body is None:
        return body is not None
    hole = _area(opening.nodes)
    return hole is not None and bool(body.contains_properly(hole))


def _refuse_meeting(old: Panel, made: Panel) -> None:
    """Refuse openings that would meet and did not before."""
    met = {(a.id, b.id) for a, b in _meetings(old)}
    for a, b in _meetings(made):
        if (a.id, b.id) not in met:
            raise EditRefused(
                f"{opening_name(a)} and {opening_name(b)} would meet.",
                where=old.name,
                mend="Move or delete one first.",
            )


def _meetings(panel: Panel) -> list[tuple[Opening, Opening]]:
    areas = [(o, _area(o.nodes)) for o in panel.openings]
    return [
        (a, b)
        for (a, one), (b, two) in combinations(areas, 2)
        if one is not None and two is not None and one.intersects(two)
    ]


def _area(ring: Path) -> Polygon | None:
    points = flat_ring(chain_of(ring), 0.05)
    if len(points) < 3:
        return None
    shape = Polygon(points)
    shapely.prepare(shape)
    return shape if shape.is_valid and shape.area >= 1.0 else None


def opening_name(opening: Opening) -> str:
    """Return what an opening is called in sentences."""
    return opening.name or f"Opening {opening.id[1:]}"


def _positive(length_mm: float) -> None:
    if not 0 < length_mm < 1e6:
        raise EditRefused("A measure has to be longer than nothing.")
