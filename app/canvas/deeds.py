"""Edits that keys, menus and clicks share: delete, flip, bend, reverse, colour.

Each makes one undo step, or says why it cannot be done.
"""

from collections.abc import Callable
from dataclasses import dataclass

from msgspec import structs

from app.canvas.gestures.base import Desk
from app.canvas.owners import PathOwner, owners_of, with_runs
from app.selection import NOTHING, Selection
from core.document.edits.belongings import (
    Belonging,
    belonging_at,
    delete_belongings,
    find_belonging,
    move_belongings,
    words_for,
)
from core.document.edits.drafting import delete_dimensions, delete_guides, move_guide
from core.document.edits.lines import (
    delete_lines,
    find_dividing_line,
    find_line,
    flip_top,
    move_lines,
    replace_line,
    set_lap,
    set_rule,
)
from core.document.edits.panels import delete_panels, move_panel, set_base_film
from core.document.edits.paths import delete_node, insert_node, move_node, set_smooth
from core.document.edits.spots import delete_spots, paint
from core.document.hit import distance_mm, moved_by, nearest_on_path, reversed_line
from core.document.job import Job
from core.document.lines import Side, Under, line_name
from core.document.panel import Opening, Panel
from core.document.path import Node, Path, Point
from core.ids import NodeId, PanelId
from core.plan.lookup import drawn_plans, spots_in, to_panel
from core.plan.model import Region

_FEWEST_NODES = {"opening": 3, "ridge": 2}
"""An opening or a ridge that would have fewer goes."""


def delete_selected(desk: Desk) -> bool:
    """Delete what is selected; a region loses the film it was given."""
    selection = desk.session.selection
    job, variant = desk.job, desk.variant
    match selection.kind:
        case "line":
            ids = with_runs(job, variant, selection.ids)
            names = _line_names(job, variant, ids)
            done = desk.do(f"Delete {names}", lambda: delete_lines(job, variant, ids))
        case "panel":
            count = len(selection.ids)
            names = job.panel(selection.ids[0]).name if count == 1 else f"{count} panels"
            done = desk.do(f"Delete {names}", lambda: delete_panels(job, selection.ids))
        case "node":
            return delete_selected_node(desk)
        case "region" | "piece":
            return clear_paint(desk, selection)
        case "mark" | "opening":
            return _delete_belongings(desk, selection)
        case "guide":
            done = desk.do("Delete guides", lambda: delete_guides(job, selection.ids))
        case "dimension":
            done = desk.do("Delete dimensions", lambda: delete_dimensions(job, selection.ids))
        case _:
            return False
    if done:
        desk.session.select(NOTHING)
    return done


def _line_names(job: Job, variant: str, ids: tuple[str, ...]) -> str:
    if len(ids) < 4:
        return " and ".join(_name(job, variant, i) for i in ids)
    return f"{len(ids)} lines"


def _name(job: Job, variant: str, line_id: str) -> str:
    return line_name(find_line(job, variant, line_id)[1])


@dataclass(frozen=True, slots=True)
class HeldNode:
    """The selected node with the path that it is on."""

    owner: PathOwner
    path: Path
    closed: bool
    node: Node


def held_node(desk: Desk) -> HeldNode | None:
    """Return the selected node; None when none is, or when an undo has taken it away."""
    selection = desk.session.selection
    for owner in owners_of(selection, desk.job, desk.variant):
        if owner.id not in selection.ids:
            continue
        path, closed = owner.read(desk.job, desk.variant)
        for node in path:
            if node.id == selection.node:
                return HeldNode(owner, path, closed, node)
    return None


def _write(desk: Desk, held: HeldNode, sentence: str, change: Callable[[], Path]) -> bool:
    job, variant = desk.job, desk.variant
    return desk.do(sentence, lambda: held.owner.write(job, variant, change()))


def delete_selected_node(desk: Desk) -> bool:
    """Delete the selected node."""
    held = held_node(desk)
    if held is None:
        return False
    path, node, closed = held.path, held.node, held.closed
    if len(path) <= _FEWEST_NODES.get(held.owner.kind, 0):
        return delete_opening_or_mark(desk, held.owner.belonging)
    sentence = f"Delete a node of {held.owner.name(desk.job, desk.variant)}"
    done = _write(desk, held, sentence, lambda: delete_node(path, node.id, closed=closed))
    if done:
        _select_owner(desk, held.owner)
    return done


def belonging_under(desk: Desk, at: Point) -> Belonging | None:
    """Return the mark or opening at a place of the canvas, on a panel that may be edited."""
    for panel in reversed(desk.job.panels):
        if panel.is_locked or panel.is_hidden:
            continue
        found = belonging_at(panel, to_panel(panel, at), desk.reach_mm)
        if found is not None:
            return found
    return None


def delete_opening_or_mark(desk: Desk, one: Belonging) -> bool:
    """Delete an opening or a mark."""
    job, is_selected = desk.job, one.id in desk.session.selection.ids
    sentence = f"Delete {one.words} of {job.panel(one.panel).name}"
    done = desk.do(sentence, lambda: delete_belongings(job, [one.id]))
    if done and is_selected:
        panel = PanelId(one.panel)
        desk.session.select(Selection("panel", (panel,), panel))
    return done


def _delete_belongings(desk: Desk, selection: Selection) -> bool:
    job, ids = desk.job, selection.ids
    words = belonging_words(job, ids)
    done = desk.do(f"Delete {words}", lambda: delete_belongings(job, ids))
    if done:
        desk.session.select(NOTHING)
    return done


def belonging_words(job: Job, ids: tuple[str, ...]) -> str:
    """Return what openings or marks are called together: one with its panel, or how many."""
    panel, one = find_belonging(job, ids[0])
    if len(ids) > 1:
        return f"{len(ids)} {'openings' if isinstance(one, Opening) else 'marks'}"
    return f"{words_for(one)} of {panel.name}"


def _select_owner(desk: Desk, owner: PathOwner) -> None:
    if owner.kind in ("line", "run"):
        desk.session.select(Selection("line", (owner.id,), owner.panel))
    elif owner.kind == "ridge":
        desk.session.select(Selection("mark", (owner.id,), owner.panel))
    else:
        desk.session.select(Selection("panel", (owner.panel,), owner.panel))


def insert_at(desk: Desk, owner: PathOwner, at: Point) -> bool:
    """Insert a node where a path passes nearest to a point of its frame, and select it."""
    job, variant = desk.job, desk.variant
    path, closed = owner.read(job, variant)
    hit = nearest_on_path(path, at, closed=closed)
    if hit is None or not 0 < hit.t < 1:
        desk.session.message("There is a node here already.")
        return False
    old = {n.id for n in path}
    longer = insert_node(path, hit.after, hit.t, closed=closed)
    sentence = f"Insert a node in {owner.name(job, variant)}"
    if not desk.do(sentence, lambda: owner.write(job, variant, longer)):
        return False
    made = next(node for node in longer if node.id not in old)
    _select_node_at(desk, owner, made.at)
    return True


def _select_node_at(desk: Desk, owner: PathOwner, at: Point) -> None:
    """Select the node at a place: by that it is known, whatever it is called now."""
    path, _ = owner.read(desk.job, desk.variant)
    node = min(path, key=lambda n: distance_mm(n.at, at))
    desk.session.select(Selection("node", (owner.id,), owner.panel, NodeId(node.id)))


def insert_after_selected(desk: Desk) -> bool:
    """Insert a node half-way along the segment that starts at the selected node."""
    held = held_node(desk)
    if held is None:
        return False
    path, closed = held.path, held.closed
    is_end = not closed and path[-1].id == held.node.id
    before = path[-2].id if is_end else held.node.id
    sentence = f"Insert a node in {held.owner.name(desk.job, desk.variant)}"
    done = _write(desk, held, sentence, lambda: insert_node(path, before, 0.5, closed=closed))
    if done:
        _select_node_at(desk, held.owner, held.node.at)
    return done


def toggle_smooth(desk: Desk) -> bool:
    """Make the selected node smooth, or a corner when it is smooth."""
    held = held_node(desk)
    if held is None:
        return False
    if held.owner.kind == "ridge":
        desk.session.message("A ridge runs straight from point to point.")
        return False
    path, node, closed = held.path, held.node, held.closed
    sentence = "Make a node a corner" if node.smooth else "Make a node smooth"
    return _write(
        desk, held, sentence, lambda: set_smooth(path, node.id, not node.smooth, closed=closed)
    )


def flip_line(desk: Desk, line_id: str, stretch_id: str | None = None) -> bool:
    """Put the other film on top along a line."""
    top = _side_on_top(desk, line_id, stretch_id)
    if top is None:
        desk.session.message("No films meet along this line yet, so none lies on top.")
        return False
    job, variant = desk.job, desk.variant
    sentence = f"Flip {_name(job, variant, line_id)}"
    return desk.do(sentence, lambda: flip_top(job, variant, line_id, top))


def _side_on_top(desk: Desk, line_id: str, stretch_id: str | None) -> Side | None:
    """Return the side on top along a stretch, or along most of the line."""
    stretches = [
        s
        for plan in drawn_plans(desk.session.plan).values()
        for s in plan.stretches
        if s.line == line_id
    ]
    if not stretches:
        return None
    chosen = [s for s in stretches if s.id == stretch_id] or stretches
    return max(chosen, key=lambda s: s.length_mm).top_side


def reverse_line(desk: Desk, line_id: str) -> bool:
    """Turn a line's direction round; what lies on top and a taper stay as they are."""
    job, variant = desk.job, desk.variant
    panel, line = find_line(job, variant, line_id)
    return desk.do(
        f"Reverse {line_name(line)}",
        lambda: replace_line(job, variant, panel, reversed_line(line)),
    )


def set_line_lap(desk: Desk, line_id: str, lap_mm: float | None) -> bool:
    """Give a line a lap width; None takes the job's."""
    job, variant = desk.job, desk.variant
    sentence = f"Set the lap of {_name(job, variant, line_id)}"
    return desk.do(sentence, lambda: set_lap(job, variant, line_id, lap_mm))


def toggle_full_under(desk: Desk, line_id: str) -> bool:
    """Let the under film run all the way beneath, or a lap only."""
    job, variant = desk.job, desk.variant
    rule = find_dividing_line(job, variant, line_id).rule
    under = Under.LAP if rule.under is Under.FULL else Under.FULL
    sentence = f"Set how far film runs beneath {_name(job, variant, line_id)}"
    return desk.do(
        sentence, lambda: set_rule(job, variant, line_id, structs.replace(rule, under=under))
    )


def colour_region(desk: Desk, panel: Panel, region: Region, at: Point, film: str) -> bool:
    """Give a region a film by a paint spot at a point in it."""
    job, variant = desk.job, desk.variant
    replaced = spots_in(region, job.scheme(variant, panel.id))
    name = job.film(film).name
    return desk.do(
        f"Colour a region of {panel.name} with {name}",
        lambda: paint(job, variant, panel.id, at, film, replacing=replaced),
    )


def clear_paint(desk: Desk, selection: Selection) -> bool:
    """Take the paint off regions."""
    job, variant = desk.job, desk.variant
    spots = [
        spot
        for plan in drawn_plans(desk.session.plan).values()
        for region in plan.regions
        if region.id in selection.ids
        for spot in spots_in(region, job.scheme(variant, plan.of))
    ]
    if not spots:
        desk.session.message("This region was given no film of its own.")
        return False
    return desk.do("Take paint off a region", lambda: delete_spots(job, variant, spots))


def turn_base(desk: Desk, panel: Panel, film: str) -> bool:
    """Give a panel another base film."""
    job = desk.job
    return desk.do(
        f"Cover {panel.name} in {job.film(film).name}",
        lambda: set_base_film(job, panel.id, film),
    )


def nudge(desk: Desk, dx: float, dy: float) -> bool:
    """Move what is selected a step; steps in a row are one undo step."""
    session, job, variant = desk.session, desk.job, desk.variant
    selection, held = session.selection, held_node(desk)
    moved = job
    match selection.kind:
        case "node" if held is not None:
            at = moved_by(held.node.at, (dx, dy))
            moved = held.owner.write(job, variant, move_node(held.path, held.node.id, at))
        case "line":
            moved = move_lines(moved, variant, selection.ids, dx, dy)
        case "mark" | "opening":
            return _nudge_belongings(desk, selection, dx, dy)
        case "panel":
            for panel_id in selection.ids:
                at = moved_by(moved.panel(panel_id).at, (dx, dy))
                moved = move_panel(moved, panel_id, at)
        case "guide":
            for guide_id in selection.ids:
                guide = job.guide(guide_id)
                step = dx if guide.way == "upright" else dy
                moved = move_guide(moved, guide_id, guide.at_mm + step)
        case _:
            return False
    merge = f"nudge {selection.kind} {selection.ids} {selection.node}"
    return desk.do("Move by arrow keys", lambda: moved, merge=merge)


def _nudge_belongings(desk: Desk, selection: Selection, dx: float, dy: float) -> bool:
    job, ids = desk.job, selection.ids
    merge = f"nudge {selection.kind} {ids}"
    return desk.do("Move by arrow keys", lambda: move_belongings(job, ids, dx, dy), merge=merge)
