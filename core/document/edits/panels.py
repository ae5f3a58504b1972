"""Edits of panels."""

from collections.abc import Collection

from msgspec.structs import replace

from core.document.edits.accept import accept, refuse_repeated_nodes, refuse_repeats
from core.document.edits.drafting import without_panels
from core.document.edits.ids import taken_ids
from core.document.edits.pieces import without_pieces_of
from core.document.job import Job
from core.document.kept_symmetry import keep_symmetric
from core.document.panel import Panel
from core.document.path import Length, Path, edge_starts
from core.errors import EditRefused


def add_panel(job: Job, panel: Panel) -> Job:
    """Add a panel at the end.

    Raises:
        EditRefused: an id of it is taken; a value out of its limits.
        KeyError: its base film is not there.
    """
    fresh = _sound(job, panel)
    refuse_repeats([*taken_ids(job), *_own_ids(fresh)], fresh.name)
    return replace(job, panels=(*job.panels, fresh))


def replace_panel(job: Job, panel: Panel) -> Job:
    """Put a panel in the place of the one of the same id.

    Every edit of a panel comes by here, so this is where one that is kept symmetric stays so.
    """
    old = job.panel(panel.id)
    taken = taken_ids(job)
    fresh = keep_symmetric(old, _sound(job, panel), taken)
    others = taken - set(_own_ids(old))
    refuse_repeats([*others, *_own_ids(fresh)], fresh.name)
    return replace(job, panels=tuple(fresh if p.id == fresh.id else p for p in job.panels))


def delete_panels(job: Job, ids: Collection[str]) -> Job:
    """Delete panels with all that is drawn on them, in every variant, photos and sizes."""
    gone = {job.panel(panel_id).id for panel_id in ids}
    if not gone:
        return job
    return replace(
        job,
        panels=tuple(p for p in job.panels if p.id not in gone),
        photos=tuple(p for p in job.photos if p.panel not in gone),
        dimensions=without_panels(job.dimensions, gone),
        variants=tuple(
            without_pieces_of(
                replace(v, schemes=tuple(s for s in v.schemes if s.panel not in gone)), gone
            )
            for v in job.variants
        ),
    )


def move_panel(job: Job, panel: str, at: tuple[float, float]) -> Job:
    """Stand a panel elsewhere on the canvas."""
    return replace_panel(job, replace(job.panel(panel), at=at))


def set_outline(job: Job, panel: str, nodes: Path) -> Job:
    """Give a panel another outline."""
    return replace_panel(job, replace(job.panel(panel), outline=nodes))


def set_edge_turn(job: Job, panel: str, edge_id: str, turn_mm: Length | None) -> Job:
    """Set the turn of one edge; None takes the panel's or the opening's own.

    An edge is named after the node at which it starts; an opening's edge after the opening and
    the node: ``o1/n3``.

    Raises:
        EditRefused: the node starts no edge, since the outline runs through it smoothly.
        KeyError: no such panel, opening or node.
    """
    old = job.panel(panel)
    opening_id, slash, node_id = edge_id.rpartition("/")
    if not slash:
        outline = _with_turn(old.outline, node_id, turn_mm, old.name)
        return replace_panel(job, replace(old, outline=outline))
    if opening_id not in {o.id for o in old.openings}:
        raise KeyError(edge_id)
    openings = tuple(
        replace(o, nodes=_with_turn(o.nodes, node_id, turn_mm, old.name))
        if o.id == opening_id
        else o
        for o in old.openings
    )
    return replace_panel(job, replace(old, openings=openings))


def let_go_of_symmetry(job: Job, panel: str) -> Job:
    """Let the halves of a panel be edited each on its own; nothing moves."""
    return replace_panel(job, replace(job.panel(panel), symmetry=None))


def set_base_film(job: Job, panel: str, film: str) -> Job:
    """Give a panel another base film."""
    return replace_panel(job, replace(job.panel(panel), base_film=job.film(film).id))


def _with_turn(ring: Path, node_id: str, turn_mm: float | None, where: str) -> Path:
    if node_id not in {node.id for node in ring}:
        raise KeyError(node_id)
    if node_id not in {ring[i].id for i in edge_starts(ring)}:
        raise EditRefused(
            f"No edge starts at node {node_id}.",
            where=where,
            mend="Choose a corner, or make the node one.",
        )
    return tuple(
        replace(node, turn_mm=turn_mm) if node.id == node_id else node for node in ring
    )


def _own_ids(panel: Panel) -> list[str]:
    return [panel.id, *(o.id for o in panel.openings), *(m.id for m in panel.marks)]


def _sound(job: Job, panel: Panel) -> Panel:
    fresh = accept(panel)
    job.film(fresh.base_film)
    refuse_repeated_nodes(fresh.outline, f"{fresh.name}, outline")
    for opening in fresh.openings:
        refuse_repeated_nodes(opening.nodes, f"{fresh.name}, opening {opening.id}")
    return fresh
